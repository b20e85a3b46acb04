"""Where everything stands on a board, in cells from its top left corner, and how large it is."""

from __future__ import annotations

from math import ceil, isqrt
from typing import NamedTuple

from gridcrux.figures.marks import Frame
from gridcrux.grids.layout import Layout

EDGE = 0.12
"""Room on the right and below."""

DIGIT = 0.66
"""Font size of a digit that has its cell to itself."""

TAG = 0.24
"""Font size of the name of a house on its outline."""

SMALL = 9
"""Up to so many rows a board has its digits as they are, and names of a stated size; with more,
names grow with the board, so that they have the same size in print."""

KEY = 3.1
"""Height of the key below a board of more rows."""

_MARGIN = 0.55
_NAME = 0.26
_ROOM = 0.82
"""Width and height of the part of a cell that candidates share."""


def _growth(n: int) -> float:
    """How much larger the names of rows and columns are; two digits must fit above a cell."""
    return min(max(n / SMALL, 1.0), 16 / 9)


def margin(n: int) -> float:
    """Room for the names of rows and columns on the left and above."""
    return _MARGIN * _growth(n)


def name_size(n: int) -> float:
    """Font size of the names of rows and columns."""
    return _NAME * _growth(n)


def frame(n: int, key: bool = True) -> Frame:
    """The board, the names on two sides, and the key, if the board needs one."""
    below = KEY if key and n > SMALL else 0.0
    return Frame(-margin(n), -margin(n), n + EDGE, n + EDGE + below)


class Slots(NamedTuple):
    """Where the candidates of a cell stand: digit by digit, left to right, then down."""

    columns: int
    rows: int

    @classmethod
    def of(cls, n: int) -> Slots:
        columns = isqrt(n - 1) + 1
        return cls(columns, ceil(n / columns))

    @property
    def radius(self) -> float:
        """Half of the smaller distance between two slots."""
        return _ROOM / max(self.columns, self.rows, 2) / 2

    @property
    def font_size(self) -> float:
        """So that candidates of 9x9 have five points where the board is printed 6 cm wide."""
        return min(0.36, 2.1 * self.radius)

    def place(self, digit: int) -> tuple[float, float]:
        """x and y of a digit (from zero) from the centre of its cell."""
        row, column = divmod(digit, self.columns)
        return (
            ((column + 0.5) / self.columns - 0.5) * _ROOM,
            ((row + 0.5) / self.rows - 0.5) * _ROOM,
        )


def place_of(layout: Layout, candidate: int) -> tuple[float, float]:
    """x and y of the middle of a candidate's slot."""
    digit, cell = divmod(candidate, layout.cells)
    right, down = Slots.of(layout.size).place(digit)
    row, column = divmod(cell, layout.size)
    return column + 0.5 + right, row + 0.5 + down
