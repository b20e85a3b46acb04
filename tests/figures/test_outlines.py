"""Borders and outlines against what a pencil would draw."""

from __future__ import annotations

from itertools import product

import pytest

from gridcrux.figures.outlines import borders, is_area, outline, trail
from gridcrux.grids.layout import NINE, boxes, latin, regions


def test_areas_are_boxes_and_no_lines():
    assert [is_area(NINE, house) for house in NINE.houses] == [False] * 18 + [True] * 9
    diagonals = NINE.with_diagonals()
    assert not is_area(diagonals, diagonals.houses[-1])


def test_borders_of_boxes():
    right, below = borders(boxes(2, 3))
    assert right == {row * 6 + 2 for row in range(6)}
    assert below == {row * 6 + column for row in (1, 3) for column in range(6)}
    assert borders(latin(5)) == (frozenset(), frozenset())


def test_borders_of_regions_lie_where_marks_change():
    marks = "1112132233243444"
    right, below = borders(regions(marks))
    assert right == {c for c in range(16) if c % 4 < 3 and marks[c] != marks[c + 1]}
    assert below == {c for c in range(12) if marks[c] != marks[c + 4]}


@pytest.mark.parametrize("inset", [0.0, 0.1])
@pytest.mark.parametrize("cells", [{5}, {0, 1, 2, 3}, {0, 1, 4}, {0, 5}, {0, 1, 2, 4, 6, 8, 9, 10}])
def test_within_an_outline_is_what_lies_deep_enough_in_the_set(cells, inset):
    segments = outline(cells, 4, inset)
    for x, y in product([i / 10 + 0.05 for i in range(-2, 42)], repeat=2):
        crossed = sum(x1 == x2 > x and min(y1, y2) < y < max(y1, y2) for x1, y1, x2, y2 in segments)
        corners = product((x - inset, x + inset), (y - inset, y + inset))
        assert crossed % 2 == all(member(cells, *corner) for corner in corners), (x, y)


def member(cells, x, y):
    return 0 <= x < 4 and 0 <= y < 4 and int(y) * 4 + int(x) in cells


def test_a_diagonal_is_a_trail_from_corner_to_corner():
    layout = boxes(2, 2).with_diagonals()
    down, up = (trail(layout, house) for house in layout.houses[-2:])
    assert down == [(0.5, 0.5, 1.5, 1.5), (1.5, 1.5, 2.5, 2.5), (2.5, 2.5, 3.5, 3.5)]
    assert up[0] == (0.5, 3.5, 1.5, 2.5)
