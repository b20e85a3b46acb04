"""Small words of explanations: lists, houses and cells as people say them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from gridcrux.grids.layout import House, Layout
from gridcrux.grids.state import bits


def listing(items: Iterable[object], last: str = "and") -> str:
    """Items as in speech.

    >>> listing([2, 3, 5], "or")
    '2, 3 or 5'
    """
    words = [str(item) for item in items]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def cells_of(layout: Layout, candidates: int) -> list[int]:
    """The cells of the candidates of a mask, ascending."""
    return sorted({candidate % layout.cells for candidate in bits(candidates)})


def digits_of(layout: Layout, candidates: int) -> list[int]:
    """The digits, from 1, of the candidates of a mask, ascending."""
    return sorted({candidate // layout.cells + 1 for candidate in bits(candidates)})


def candidate_names(layout: Layout, candidates: int) -> tuple[str, ...]:
    """The names of the candidates of a mask, by cell: ``("r4c5=7",)``."""
    by_cell = sorted(bits(candidates), key=lambda number: (number % layout.cells, number))
    return tuple(map(layout.candidate_name, by_cell))


def falsehood(layout: Layout, candidates: int) -> str:
    """That the candidates of a mask are false: ``"r4c5=7 is false"``."""
    verb = "are" if candidates.bit_count() > 1 else "is"
    return f"{listing(candidate_names(layout, candidates))} {verb} false"


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


def candidates_in_words(layout: Layout, rule: int, candidates: int, last: str = "and") -> str:
    """Candidates of a rule as one says them who looks at it: digits of a cell, or cells."""
    if rule < layout.cells:
        return listing(digits_of(layout, candidates), last)
    return listing(map(layout.cell_name, cells_of(layout, candidates)), last)


def single_in_words(layout: Layout, rule: int, candidate: int) -> str:
    """That a rule has one candidate left: ``"r1c2 can only be 3"``.

    >>> from gridcrux.grids.layout import boxes
    >>> layout = boxes(2, 2)
    >>> single_in_words(layout, 1, 33), single_in_words(layout, 18, 33)
    ('r1c2 can only be 3', '3 in row 1 can only be in r1c2')
    """
    named = candidates_in_words(layout, rule, 1 << candidate)
    if rule < layout.cells:
        return f"{layout.cell_name(rule)} can only be {named}"
    return f"{layout.rules[rule].name} can only be in {named}"


def nothing_left(layout: Layout, rule: int) -> str:
    """That a rule has no candidate left: ``"cell r1c2 has no digit left"``."""
    return f"{layout.rules[rule].name} has no {'digit' if rule < layout.cells else 'place'} left"


def verdict_in_words(layout: Layout, candidate: int, holds: bool = True) -> str:
    """That a candidate is true, or false: ``"r1c2 is not 3"``."""
    digit, cell = divmod(candidate, layout.cells)
    return f"{layout.cell_name(cell)} is {'' if holds else 'not '}{digit + 1}"
