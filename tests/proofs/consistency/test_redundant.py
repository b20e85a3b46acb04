"""Redundant houses of small layouts against counts of their fillings."""

from __future__ import annotations

from itertools import combinations, permutations

import pytest

from gridcrux.engines.kernel import KernelEngine
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State
from gridcrux.proofs.consistency.redundant import (
    Implications,
    Symmetries,
    is_redundant,
    redundant_sets,
)


def without(layout, houses):
    kept = [house for number, house in enumerate(layout.houses) if number not in houses]
    return Layout("part", layout.size, tuple(kept))


def is_redundant_by_counting(layout, houses, grids):
    """Houses are redundant if there are no more fillings without them."""
    return KernelEngine().count(State.empty(without(layout, houses)), grids).complete


def test_redundant_houses_of_4x4_leave_as_many_fillings():
    """288 grids: OEIS A107739.  All sets of up to four houses, without the symmetries."""
    layout = boxes(2, 2)
    symmetries = Symmetries(layout)
    for level in redundant_sets(layout, 4):
        redundant = {symmetries.signature(houses) for houses in level.redundant}
        seen = set()
        for houses in combinations(range(12), level.size):
            signature = symmetries.signature(houses)
            found = is_redundant_by_counting(layout, houses, 288)
            assert found == (signature in redundant), houses
            seen.add(signature)
        assert len(seen) == level.classes


def images(layout, height, width):
    """The symmetries of a layout with boxes, as where each house goes, by permuting lines."""
    n = layout.size

    def orders(group):
        for outer in permutations(range(n // group)):
            inner = [list(permutations(range(group)))] * (n // group)
            stack = [[]]
            for block, choices in zip(outer, inner, strict=True):
                stack = [
                    [*done, *(block * group + i for i in choice)]
                    for done in stack
                    for choice in choices
                ]
            yield from stack

    number_of = {frozenset(house.cells): number for number, house in enumerate(layout.houses)}
    for rows in orders(height):
        for columns in orders(width):
            for turned in (False, True) if height == width else (False,):
                goes = [
                    columns[cell % n] * n + rows[cell // n]
                    if turned
                    else rows[cell // n] * n + columns[cell % n]
                    for cell in range(n * n)
                ]
                yield [number_of[frozenset(goes[c] for c in h.cells)] for h in layout.houses]


@pytest.mark.parametrize(("height", "width"), [(2, 2), (2, 3)])
def test_signatures_are_the_orbits_of_sets_of_houses(height, width):
    layout = boxes(height, width)
    symmetries = Symmetries(layout)
    group = {tuple(image) for image in images(layout, height, width)}
    for size in (1, 2, 3):
        orbit_of, by_signature = {}, {}
        for houses in combinations(range(len(layout.houses)), size):
            if houses not in orbit_of:
                for image in group:
                    orbit_of[tuple(sorted(image[house] for house in houses))] = houses
            by_signature.setdefault(symmetries.signature(houses), set()).add(orbit_of[houses])
        assert all(len(orbits) == 1 for orbits in by_signature.values())
        assert len(by_signature) == len(set(orbit_of.values()))


def test_counterexamples_keep_the_rest_and_break_the_house():
    with Implications(NINE) as implications:
        for house, also in ((0, 1), (9, 10), (18, 0)):
            kept = set(range(27)) - {house, also, 2}
            grid = implications.counterexample(kept, house)
            if grid is None:
                continue
            broken = {
                number
                for number, each in enumerate(NINE.houses)
                if len({grid[cell] for cell in each.cells}) < 9
            }
            assert house in broken
            assert not broken & kept
        assert implications.questions == 3
        assert implications.counterexample(set(range(27)) - {0, 1}, 0) is not None


def test_lines_of_latin_squares_are_needed_but_one():
    assert is_redundant(latin(4), [0])
    assert not is_redundant(latin(4), [0, 1])
    assert not is_redundant(latin(4), [0, 4])
    assert [(level.classes, len(level.redundant)) for level in redundant_sets(latin(4), 2)] == [
        (1, 1),
        (2, 0),
    ]


def test_layouts_with_other_houses_are_asked_one_set_at_a_time():
    layout = boxes(2, 3).with_diagonals()
    assert is_redundant(layout, [0])
    assert not is_redundant(layout, [18])
    with pytest.raises(ValueError, match="permuted rows and columns"):
        Symmetries(layout)


def test_a_house_that_is_there_twice_has_no_class_of_its_own():
    with pytest.raises(ValueError, match="has a house twice"):
        Symmetries(boxes(1, 4))
