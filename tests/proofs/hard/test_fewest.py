"""The fewest hard steps, against a search that knows no boards and passes nothing over."""

from __future__ import annotations

from collections import Counter

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State
from gridcrux.proofs.certify import certify
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.uniqueness import NotUnique
from gridcrux.techniques.repertoires import (
    DEFAULT,
    EVERYTHING,
    FIRST_FAMILY,
    LEVELS,
    UnknownLevel,
)
from gridcrux.techniques.solve import available, closure, route

CELLS_ONLY = FIRST_FAMILY.without("full-house", "hidden-single")
"""Nothing is easy but cells with one candidate left, so that small puzzles have hard steps too;
those of 4x4 have none even so."""


def starts(count, seed, layout=NINE):
    puzzles = [item.puzzle.tolist() for item in minimal(count, seed, layout)]
    return [State.from_digits(digits, layout) for digits in puzzles]


def by_brute_force(state, repertoire, above="singles", most=2000):
    """The fewest hard steps by breadth-first search over all states; None if these are too many."""
    known = LEVELS[above].names
    easy = repertoire.only(*(name for name in repertoire.names if name in known))
    hard = repertoire.without(*easy.names)
    layer, seen, steps = [closure(state, easy)], set(), 0
    while layer:
        if any(each.is_solved for each in layer):
            return steps
        after = []
        for each in layer:
            for removed in {step.eliminates for step in available(each, hard)}:
                further = closure(each.without(removed), easy)
                if (further.open, further.placed) not in seen:
                    seen.add((further.open, further.placed))
                    after.append(further)
            if len(seen) > most:
                return None
        layer, steps = after, steps + 1
    return "not solved"


@pytest.mark.parametrize(
    ("layout", "repertoire", "count", "kinds"),
    [
        (boxes(2, 2), CELLS_ONLY, 100, 1),
        (boxes(2, 3), CELLS_ONLY, 40, 3),
        (latin(5), CELLS_ONLY, 60, 3),
        (NINE, FIRST_FAMILY, 60, 3),
    ],
    ids=["2x2", "2x3", "latin-5", "3x3"],
)
def test_as_few_as_by_brute_force(layout, repertoire, count, kinds):
    numbers = Counter()
    for state in starts(count, 31, layout):
        expected = by_brute_force(state, repertoire, most=150)
        if expected is None:
            continue
        found = fewest_hard_steps(state, repertoire)
        assert found.exact
        assert found.upper == (None if expected == "not solved" else expected), state.line
        numbers[expected] += 1
    assert len(numbers) >= kinds
    assert sum(numbers.values()) > count / 3


def test_above_other_levels():
    checked = 0
    for state in starts(60, 32):
        for above in ("locked", "subsets"):
            expected = by_brute_force(state, FIRST_FAMILY, above, most=60)
            if expected not in (None, 0, "not solved"):
                assert fewest_hard_steps(state, FIRST_FAMILY, above).upper == expected
                checked += 1
    assert checked > 4


def test_the_way_is_a_way():
    """Every step stands in its turn and is certified by SAT, and the hard ones are as many."""
    several = 0
    for state in starts(20, 33):
        found = fewest_hard_steps(state, seconds=2)
        if not found.solved:
            assert found.route is None
            continue
        way = found.route
        assert way.flaw is None
        assert way.solved
        assert way.end.is_solved
        hard = [place for place, step in enumerate(way) if step.technique not in SINGLES_NAMES]
        assert tuple(hard) == found.hard
        states = list(way.states())
        for place in hard:
            step = way.steps[place]
            assert closure(states[place], LEVELS["singles"]).open == states[place].open
            assert step.eliminates
            assert certify(step, states[place]).holds
        several += len(hard) > 1
    assert several > 2


SINGLES_NAMES = LEVELS["singles"].names


def test_never_more_than_a_route_takes():
    for state in starts(40, 34):
        found = fewest_hard_steps(state, FIRST_FAMILY)
        for policy in ("easiest", "fewest"):
            way = route(state, FIRST_FAMILY, policy)
            if way.solved:
                taken = sum(step.technique not in SINGLES_NAMES for step in way)
                assert found.lower <= found.upper <= taken


def test_what_is_forbidden_falls_by_placements_only():
    checked = 0
    for state in starts(60, 35):
        usual = fewest_hard_steps(state, FIRST_FAMILY)
        if not usual.solved or not usual.hard:
            continue
        first = usual.route.steps[usual.hard[0]]
        found = fewest_hard_steps(state, FIRST_FAMILY, forbidden=first.eliminates)
        if not found.solved:
            continue
        assert found.lower >= usual.lower
        for step in found.route:
            assert step.places is not None or not step.eliminates & first.eliminates
        assert found.route.flaw is None
        checked += 1
    assert checked > 3


def test_what_is_forbidden_is_not_excluded_by_easy_steps_either():
    checked = 0
    for state in starts(30, 39):
        easy = route(state, LEVELS["locked"])
        step = next((each for each in easy if each.places is None), None)
        if step is None:
            continue
        found = fewest_hard_steps(state, above="locked", forbidden=step.eliminates, seconds=1)
        if found.solved:
            assert found.route.flaw is None
            for other in found.route:
                assert other.places is not None or not other.eliminates & step.eliminates
            checked += 1
    assert checked > 4


def test_limits_leave_bounds():
    hard = [s for s in starts(200, 77) if len(route(s)) and _hard(s) > 15][:2]
    assert hard
    for state in hard:
        found = fewest_hard_steps(state, seconds=0)
        assert found.stopped_by == "seconds"
        assert 1 <= found.lower < found.upper <= _hard(state)
        assert not found.exact
        assert found.route.flaw is None
        assert str(found).startswith("between 1 and")


def _hard(state):
    way = route(state)
    return sum(step.technique not in SINGLES_NAMES for step in way) if way.solved else 0


def test_nothing_hard():
    solved = next(state for state in starts(20, 36) if closure(state, LEVELS["singles"]).is_solved)
    found = fewest_hard_steps(solved)
    assert (found.lower, found.upper, found.hard, found.exact) == (0, 0, (), True)
    assert found.route.end.is_solved
    done = closure(solved, LEVELS["singles"])
    assert fewest_hard_steps(done).upper == 0


def test_errors():
    with pytest.raises(NotUnique):
        fewest_hard_steps(State.from_digits([0] * 81), EVERYTHING)
    with pytest.raises(UnknownLevel, match="did you mean singles"):
        fewest_hard_steps(starts(1, 37)[0], DEFAULT, "single")


def test_reads_well():
    state = next(s for s in starts(30, 38) if _hard(s) > 1)
    found = fewest_hard_steps(state)
    told = found.as_dict()
    assert set(told) == {"upper", "lower", "above", "stopped_by", "route"}
    assert [step for step in told["route"] if step.get("hard")] == [
        told["route"][place] for place in found.hard
    ]
    assert "<ol>" in found._repr_html_()
    assert found.row()["fewest_hard_steps"] == found.upper
