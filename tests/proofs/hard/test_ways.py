"""Shortest ways, against trying all sets of steps."""

from __future__ import annotations

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.state import State
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.ways import shortest_ways
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY, SINGLES
from gridcrux.techniques.solve import available, closure


def starts(count, seed):
    return [State.from_digits(item.puzzle.tolist()) for item in minimal(count, seed)]


def by_brute_force(state, steps, taken=frozenset()):
    """All sets of what that many steps exclude; of what excludes less than another, none."""
    if steps == 0:
        return {taken} if state.is_solved else set()
    if state.is_solved:
        return set()
    offers = available(state, FIRST_FAMILY.without(*SINGLES.names))
    first = {}
    for step in offers:
        first.setdefault(step.eliminates, step)
    found = set()
    for step in first.values():
        if any(step.eliminates != o and step.eliminates & ~o == 0 for o in first):
            continue
        after = closure(state.without(step.eliminates), SINGLES)
        found |= by_brute_force(after, steps - 1, taken | {step.removes})
    return found


def test_as_many_as_by_brute_force():
    counts = []
    for state in starts(80, 61):
        fewest = fewest_hard_steps(state, FIRST_FAMILY)
        if not fewest.solved or not 0 < fewest.upper <= 3:
            continue
        ways = shortest_ways(fewest, FIRST_FAMILY)
        assert ways.complete
        expected = by_brute_force(closure(state, SINGLES), fewest.upper)
        assert ways.number == len(expected)
        counts.append((fewest.upper, ways.number))
    assert len(counts) > 10
    assert any(steps > 1 and number > 1 for steps, number in counts)


def test_nothing_to_do_is_one_way():
    state = next(s for s in starts(20, 62) if closure(s, SINGLES).is_solved)
    assert shortest_ways(fewest_hard_steps(state)).number == 1


def test_limits():
    for state in starts(60, 63):
        fewest = fewest_hard_steps(state)
        if fewest.exact and fewest.solved and fewest.upper > 1:
            whole = shortest_ways(fewest, limit=10_000, seconds=20)
            if whole.complete and whole.number > 3:
                break
    some = shortest_ways(fewest, limit=3)
    assert (some.number, some.complete, some.stopped_by) == (3, False, "limit")
    assert str(some) == "at least 3"
    assert shortest_ways(fewest, limit=whole.number).complete
    none = shortest_ways(fewest, seconds=0)
    assert (none.number, none.complete, none.stopped_by) == (1, False, "seconds")


def test_only_where_the_number_is_known():
    hard = next(s for s in starts(200, 77) if not fewest_hard_steps(s, DEFAULT, seconds=0).exact)
    with pytest.raises(ValueError, match="more seconds"):
        shortest_ways(fewest_hard_steps(hard, seconds=0))
