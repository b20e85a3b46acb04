"""Lines of a board: the borders between its regions and the outlines of sets of cells."""

from __future__ import annotations

from collections.abc import Collection
from functools import lru_cache
from itertools import pairwise

from gridcrux.grids.layout import House, Layout

Segment = tuple[float, float, float, float]
"""x and y of both ends, in cells from the top left corner of the board."""

_SIDES = ((0, -1), (1, 0), (0, 1), (-1, 0))
"""Steps in column and row over the top, right, bottom and left side of a cell."""


def is_area(layout: Layout, house: House) -> bool:
    """Whether the cells of a house hang together by their sides without being one line."""
    n = layout.size
    if len({cell // n for cell in house.cells}) == 1 or len({c % n for c in house.cells}) == 1:
        return False
    left = set(house.cells)
    todo = [left.pop()]
    while todo:
        row, column = divmod(todo.pop(), n)
        for right, down in _SIDES:
            cell = (row + down) * n + column + right
            if 0 <= column + right < n and cell in left:
                left.remove(cell)
                todo.append(cell)
    return not left


@lru_cache(maxsize=32)
def borders(layout: Layout) -> tuple[frozenset[int], frozenset[int]]:
    """The cells with a border of a region on their right, and those with one below.

    Regions are the houses that are areas (`is_area`); the edge of the board is left out.
    """
    n = layout.size
    areas = [set(house.cells) for house in layout.houses if is_area(layout, house)]

    def parted(first: int, second: int) -> bool:
        return any((first in area) != (second in area) for area in areas)

    right = {c for c in range(layout.cells) if c % n < n - 1 and parted(c, c + 1)}
    below = {c for c in range(layout.cells - n) if parted(c, c + n)}
    return frozenset(right), frozenset(below)


def outline(cells: Collection[int], n: int, inset: float) -> list[Segment]:
    """The outline of a set of cells of an n x n board, drawn `inset` cells inside its edge."""
    members = set(cells)

    def inside(row: int, column: int) -> bool:
        return 0 <= row < n and 0 <= column < n and row * n + column in members

    segments = []
    for cell in sorted(members):
        row, column = divmod(cell, n)
        for right, down in _SIDES:
            if inside(row + down, column + right):
                continue
            ends = []
            for sign in (-1, 1):
                # Along the side; a step to the right for the top, downward for the right side.
                along = (sign * abs(right), sign * abs(down))
                if not inside(row + along[0], column + along[1]):
                    reach = 0.5 - inset
                elif inside(row + along[0] + down, column + along[1] + right):
                    reach = 0.5 + inset
                else:
                    reach = 0.5
                x = column + 0.5 + right * (0.5 - inset) + along[1] * reach
                y = row + 0.5 + down * (0.5 - inset) + along[0] * reach
                ends.append((x, y))
            segments.append((*ends[0], *ends[1]))
    return segments


def trail(layout: Layout, house: House) -> list[Segment]:
    """Lines through the cells of a house from one to the next, as far as they touch."""
    n = layout.size
    points = [divmod(cell, n) for cell in house.cells]
    return [
        (c1 + 0.5, r1 + 0.5, c2 + 0.5, r2 + 0.5)
        for (r1, c1), (r2, c2) in pairwise(points)
        if max(abs(r1 - r2), abs(c1 - c2)) == 1
    ]
