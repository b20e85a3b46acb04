"""Eliminations by one premise or two, against all rules and all pairs."""

from __future__ import annotations

from itertools import combinations

import pytest

from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.proofs.explain.narrow import narrow
from samples import JAGGED, possible, thinned_or_ended


def by_brute_force(state: State, candidate: int) -> tuple[int, ...] | None:
    """The lowest premises, of the fewest, that exclude a candidate."""
    layout = state.layout
    left = state.open & ~layout.conflicts[candidate]
    rules = range(len(layout.rules))
    for size in (1, 2):
        for premises in combinations(rules, size):
            if not possible(layout, premises, left, 1 << candidate):
                return premises
    return None


@pytest.mark.parametrize(
    ("layout", "count"),
    [(boxes(2, 2), 8), (latin(5), 4), (boxes(2, 3), 3), (JAGGED, 3)],
    ids=lambda value: getattr(value, "name", ""),
)
def test_all_are_found_with_the_lowest_premises(layout, count):
    sizes = set()
    for state, _ in thinned_or_ended(layout, count, 81, 0.35):
        found = narrow(state)
        for candidate in bits(state.open):
            least = by_brute_force(state, candidate)
            assert found.get(candidate) == least
            sizes.add(least and len(least))
        assert narrow(state, 1) == {c: p for c, p in found.items() if len(p) == 1}
        assert list(found) == sorted(found)
    assert sizes == {None, 1, 2}


def test_on_a_whole_grid_it_is_the_same():
    for state, _ in thinned_or_ended(NINE, 2, 82, 0.4):
        found = narrow(state)
        for candidate in list(bits(state.open))[::23]:
            assert found.get(candidate) == by_brute_force(state, candidate)


def test_a_rule_without_candidates_excludes_all():
    state = State.from_digits([1, 2, 3, 0, *[0] * 11, 4])
    broken = state.broken_rule
    live = [c for c in bits(state.open) if state.layout.conflicts[c] & state.open]
    assert narrow(state) == {candidate: (broken,) for candidate in live}


def test_only_one_premise_or_two():
    with pytest.raises(ValueError, match="expected 1 or 2"):
        narrow(State.empty(), 3)
