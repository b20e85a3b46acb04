"""Chosen digits marked on the picture of a board, and where they are in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gridcrux.figures.palette import GREY, YELLOW
from gridcrux.figures.scene import DIGIT, Slots
from gridcrux.figures.svg import CELL
from gridcrux.grids.state import State, bits
from gridcrux.logic.wording import cells_in_words, cells_of, listing

CANDIDATES, ANY, ALL = "the digits", "cells with any of them", "cells with all of them"

MARKS = (CANDIDATES, ANY, ALL)
"""What can be marked: the digits themselves, or the cells that have some or all of them."""

_BEFORE = '<g class="line"'
"""Marks lie above the grounds of cells and premises, and below lines and digits."""


def highlighted(picture: str, state: State, digits: Sequence[int], marks: str = CANDIDATES) -> str:
    """A picture of a state with the open places of some digits marked.

    Digits are underlaid as by a marker pen, cells are filled and have a dashed outline.

    Parameters
    ----------
    picture : from `figures.svg`, of this state.
    digits : from 1.
    marks : one of `MARKS`.
    """
    if not digits:
        return picture
    if marks == CANDIDATES:
        path = "".join(_strokes(state, digits))
        size = CELL * Slots.of(state.layout.size).radius
        drawn = f'<path d="{path}" stroke="{YELLOW}" stroke-width="{1.5 * size:.1f}"/>'
    else:
        path = "".join(_frames(state, cells_with(state, digits, marks)))
        drawn = (
            f'<path d="{path}" fill="{YELLOW}" fill-opacity="0.6" stroke="{GREY}" '
            f'stroke-width="1.5" stroke-dasharray="4 3"/>'
        )
    overlay = f'<g class="highlight">{drawn}</g>'
    return picture.replace(_BEFORE, overlay + _BEFORE, 1)


def cells_with(state: State, digits: Sequence[int], marks: str) -> list[int]:
    """The cells, ascending, in which any or all of some digits are open or written."""
    cells = state.layout.cells
    plane = (1 << cells) - 1
    planes = [state.open >> (digit - 1) * cells & plane for digit in digits]
    found = planes[0]
    for each in planes[1:]:
        found = found & each if marks == ALL else found | each
    return list(bits(found))


def places_in_words(state: State, digits: Sequence[int], marks: str = CANDIDATES) -> str:
    """What is marked, in words: ``"7 can be in r1c2 and r3c4."``"""
    layout = state.layout
    blank = ~state.placed
    if marks != CANDIDATES and digits:
        cells = [cell for cell in cells_with(state, digits, marks) if blank >> cell & 1]
        chosen = listing(digits, "and" if marks == ALL else "or")
        return f"{chosen} can be in {cells_in_words(layout, cells) or 'no blank cell'}."
    said = []
    for digit in digits:
        mask = state.open & ((1 << layout.cells) - 1) << (digit - 1) * layout.cells
        cells = [cell for cell in cells_of(layout, mask) if blank >> cell & 1]
        said.append(f"{digit} can be in {cells_in_words(layout, cells) or 'no blank cell'}.")
    return " ".join(said)


def _strokes(state: State, digits: Sequence[int]) -> Iterator[str]:
    """A stroke behind every open candidate of some digits, longer behind one that is written."""
    n, slots = state.layout.size, Slots.of(state.layout.size)
    for digit in digits:
        for cell in cells_with(state, [digit], ANY):
            if state.placed >> cell & 1:
                right, down, reach = 0.0, 0.0, DIGIT / 2
            else:
                (right, down), reach = slots.place(digit - 1), slots.radius
            x, y = cell % n + 0.5 + right - reach, cell // n + 0.5 + down
            yield f"M{CELL * x:.1f} {CELL * y:.1f}h{CELL * 2 * reach:.1f}"


def _frames(state: State, cells: Sequence[int]) -> Iterator[str]:
    """A square within each cell."""
    n, inset = state.layout.size, 0.06 * CELL
    side = CELL - 2 * inset
    for cell in cells:
        x, y = CELL * (cell % n) + inset, CELL * (cell // n) + inset
        yield f"M{x:.1f} {y:.1f}h{side:.1f}v{side:.1f}h-{side:.1f}z"
