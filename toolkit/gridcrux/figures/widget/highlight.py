"""What of a board is marked for chosen digits, and where they are in words."""

from __future__ import annotations

from collections.abc import Sequence

from gridcrux.grids.state import State, bits
from gridcrux.logic.wording import cells_in_words, cells_of, listing

CANDIDATES, ANY, ALL = "the digits", "cells with any of them", "cells with all of them"

MARKS = (CANDIDATES, ANY, ALL)
"""What can be marked: the digits themselves, or the blank cells that have some or all of them."""


def marked(state: State, digits: Sequence[int], marks: str = CANDIDATES) -> tuple[int, int]:
    """Masks of the candidates and of the cells to be marked; one of the two is 0.

    Parameters
    ----------
    digits : from 1.
    marks : one of `MARKS`.
    """
    if not digits:
        return 0, 0
    if marks != CANDIDATES:
        return 0, sum(1 << cell for cell in cells_with(state, digits, marks))
    cells = state.layout.cells
    planes = sum(((1 << cells) - 1) << (digit - 1) * cells for digit in digits)
    return state.open & planes, 0


def cells_with(state: State, digits: Sequence[int], marks: str) -> list[int]:
    """The blank cells, ascending, in which any or all of some digits can be."""
    cells = state.layout.cells
    plane = (1 << cells) - 1
    planes = [state.open >> (digit - 1) * cells & plane for digit in digits]
    found = planes[0]
    for each in planes[1:]:
        found = found & each if marks == ALL else found | each
    return list(bits(found & ~state.placed))


def places_in_words(state: State, digits: Sequence[int], marks: str = CANDIDATES) -> str:
    """What is marked, in words: ``"7 can be in r1c2 and r3c4."``"""
    layout = state.layout
    if marks != CANDIDATES and digits:
        cells = cells_with(state, digits, marks)
        chosen = listing(digits, "and" if marks == ALL else "or")
        return f"{chosen} can be in {cells_in_words(layout, cells) or 'no blank cell'}."
    said = []
    for digit in digits:
        mask = state.open & ((1 << layout.cells) - 1) << (digit - 1) * layout.cells
        cells = [cell for cell in cells_of(layout, mask) if not state.placed >> cell & 1]
        said.append(f"{digit} can be in {cells_in_words(layout, cells) or 'no blank cell'}.")
    return " ".join(said)
