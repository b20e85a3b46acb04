"""Small words of explanations: lists, houses and cells as people say them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gridcrux.grids.layout import House, Layout


def listing(items: Iterable[object], last: str = "and") -> str:
    """Items as in speech.

    >>> listing([2, 3, 5], "or")
    '2, 3 or 5'
    """
    words = [str(item) for item in items]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def cells_in_words(layout: Layout, cells: Iterable[int]) -> str:
    """The names of cells: ``"r1c2 and r1c3"``."""
    return listing(layout.cell_name(cell) for cell in cells)


def houses_in_words(houses: Sequence[House]) -> str:
    """The names of houses, the kind said once where it is the same.

    >>> from gridcrux.grids.layout import NINE
    >>> houses_in_words(NINE.houses[1:3]), houses_in_words(NINE.houses[8:10])
    ('rows 2 and 3', 'row 9 and column 1')
    """
    kinds = {house.kind for house in houses}
    if len(kinds) == 1 and len(houses) > 1:
        plural = {"box": "boxes"}.get(houses[0].kind, f"{houses[0].kind}s")
        return f"{plural} {listing(house.number for house in houses)}"
    return listing(house.name for house in houses)
