"""Almost locked sets: pairs and stem cells by brute force, loops by SAT and by their order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import chain, combinations, product
from typing import NamedTuple

import pytest

from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.proofs.certify import certify
from gridcrux.techniques.reading import loops
from gridcrux.techniques.reading.stems import read_stem
from gridcrux.techniques.repertoires import DEFAULT
from gridcrux.techniques.solve import available
from samples import JAGGED, seen_from_all, thinned_or_ended

STATES = {
    boxes(2, 2): 40,
    boxes(2, 3): 16,
    latin(6): 24,
    JAGGED: 16,
    boxes(2, 3).with_diagonals(): 12,
    NINE: 12,
}
"""How many states of each layout."""

LARGEST = 4
"""Cells of a set."""

Offers = set[tuple[tuple[int, ...], int]]
"""Premises and what is eliminated."""

each_layout = pytest.mark.parametrize("layout", STATES, ids=lambda layout: layout.name)


class Set(NamedTuple):
    """Cells, and for each of their digits (from zero) its places as a mask."""

    cells: tuple[int, ...]
    places: dict[int, int]


def _sets(state: State) -> list[Set]:
    """Almost locked sets none of whose parts is locked; a cell with two digits is one."""
    layout = state.layout
    held = {
        cell: {digit - 1 for digit in state.digits_of(cell)}
        for cell in range(layout.cells)
        if not state.placed >> cell & 1
    }
    chosen = {
        tuple(sorted(cells))
        for house in layout.houses
        for size in range(1, LARGEST + 1)
        for cells in combinations([cell for cell in house.cells if cell in held], size)
    }
    found = []
    for cells in sorted(chosen):
        digits = set().union(*(held[cell] for cell in cells))
        parts = chain.from_iterable(combinations(cells, size) for size in range(1, len(cells)))
        if len(digits) == len(cells) + 1 and all(
            len(set().union(*(held[cell] for cell in part))) > len(part) for part in parts
        ):
            places = {
                digit: sum(1 << digit * layout.cells + c for c in cells if digit in held[c])
                for digit in digits
            }
            found.append(Set(cells, places))
    return found


def _pairs(state: State) -> dict[str, Offers]:
    """Two disjoint sets, one of two cells or more, with one restricted common digit or two."""
    layout = state.layout
    found: dict[str, Offers] = {"als-xz": set(), "als-loop": set()}
    for one, two in combinations(_sets(state), 2):
        shared = sorted(one.places.keys() & two.places.keys())
        premises = tuple(sorted(one.cells + two.cells))
        if len(shared) < 2 or len(premises) < 3 or len(set(premises)) < len(premises):
            continue
        both = {digit: one.places[digit] | two.places[digit] for digit in shared}
        common = {digit: seen_from_all(layout, mask) & state.open for digit, mask in both.items()}
        restricted = {
            digit
            for digit in shared
            if not two.places[digit] & ~seen_from_all(layout, one.places[digit])
        }
        for _, z in product(restricted, shared):
            if z not in restricted and common[z]:
                found["als-xz"].add((premises, common[z]))
        for x, z in combinations(sorted(restricted), 2):
            fallen = common[x] | common[z]
            for places in (one.places, two.places):
                for digit in places.keys() - {x, z}:
                    fallen |= seen_from_all(layout, places[digit]) & state.open
            if fallen := fallen & ~(both[x] | both[z]):
                found["als-loop"].add((premises, fallen))
    return found


@each_layout
def test_pairs_of_sets_are_all_found(layout: Layout) -> None:
    met = Counter[str]()
    for state, _ in thinned_or_ended(layout, STATES[layout], 61, 0.4):
        for name, expected in _pairs(state).items():
            got = {(step.premises, step.eliminates) for step in available(state, name)}
            assert got == expected, name
            met[name] += len(got)
    assert min(met["als-xz"], met["als-loop"]) > 20, met


def _branches(
    state: State, sets: list[Set], start: int, target: int
) -> list[tuple[tuple[int, ...], int]]:
    """The smallest sets by which a candidate excludes another, and what they exclude; or none."""
    layout = state.layout
    digit, wanted = start // layout.cells, target // layout.cells
    if layout.conflicts[start] >> target & 1:
        return [((), layout.conflicts[start])]
    fit = [
        (each.cells, sees)
        for each in sets
        if digit in each.places
        and wanted in each.places
        and digit != wanted
        and not each.places[digit] & ~layout.conflicts[start]
        and (sees := seen_from_all(layout, each.places[wanted])) >> target & 1
    ]
    least = min((len(cells) for cells, _ in fit), default=0)
    return [(cells, sees) for cells, sees in fit if len(cells) == least]


def _stems(state: State) -> Iterator[tuple[int, list[tuple[tuple[int, ...], int]]]]:
    """A candidate that all digits of a cell exclude, and each narrowest way in which they do.

    A way is the premises, one perhaps twice, and what is eliminated.
    """
    layout, sets = state.layout, _sets(state)
    for cell in range(layout.cells):
        starts = list(bits(layout.rules[cell].mask & state.open))
        if len(starts) < 3:
            continue
        for target in bits(state.open & ~layout.rules[cell].mask):
            branches = [_branches(state, sets, start, target) for start in starts]
            ways = []
            for choice in product(*branches):
                falls = state.open
                for _, sees in choice:
                    falls &= sees
                used = (cell, *chain.from_iterable(cells for cells, _ in choice))
                ways.append((tuple(sorted(used)), falls))
            if ways:
                yield target, ways


@each_layout
def test_stem_cells_are_all_found(layout: Layout) -> None:
    """Where the sets that come first have a cell in common, none may be found."""
    found = 0
    for state, _ in thinned_or_ended(layout, STATES[layout], 62, 0.4):
        got = {(step.premises, step.eliminates) for step in available(state, "stem-cell")}
        possible: Offers = set()
        for _, ways in _stems(state):
            apart = {way for way in ways if len(set(way[0])) == len(way[0])}
            possible |= apart
            assert len(apart) < len(ways) or got & apart
        assert got <= possible
        found += len(got)
    assert found > 3


@pytest.mark.parametrize(
    "name", ["alternating-loop", "grouped-loop", "als-loop", "set-loop", "stem-cell"]
)
def test_what_is_offered_holds_and_can_be_read(name: str) -> None:
    """Every exclusion follows from the premises alone, and these have an order that says so."""
    read = 0
    for layout in STATES:
        for state, solution in thinned_or_ended(layout, 6, 63, 0.4):
            for step in available(state, name)[:60]:
                assert certify(step).holds
                assert not step.removes & solution
                assert not step.relies & state.open
                if name == "stem-cell":
                    one_digit = step.eliminates & -step.eliminates
                    stem = read_stem(layout, state.open, step.premises, one_digit)
                    assert stem is not None
                    assert stem.cell in step.premises
                else:
                    asked = layout, state.open, step.premises, step.eliminates
                    kinds = (True,) if name == "als-loop" else (False, True)
                    loop = next(loop for sets in kinds for loop in loops(*asked, sets=sets))
                    assert loop.is_loop
                read += 1
    assert read > 100


@each_layout
def test_a_width_keeps_just_what_is_no_wider(layout: Layout) -> None:
    names = ("als-xz", "als-loop", "xy-wing", "skyscraper", "turbot-chain", "empty-rectangle")
    kept = 0
    for state, _ in thinned_or_ended(layout, 6, 64, 0.4):
        for name in names:
            whole = available(state, name)
            for width in range(1, 8):
                repertoire = DEFAULT.only(name).widest(width)
                narrow = available(state, repertoire) if len(repertoire) else []
                assert narrow == [step for step in whole if step.width <= width]
                kept += len(narrow)
    assert kept > 20
