"""The key below a large board: where the candidates of a cell stand, and which digit a letter is.

At 6 cm the letters of 16 candidates in a cell are smaller than can be read, but their places can
be told apart; the key shows one cell as large as needed.
"""

from __future__ import annotations

from collections.abc import Iterator

from gridcrux.figures.marks import Label, Line, Mark
from gridcrux.figures.outlines import outline
from gridcrux.figures.slots import KEY, Slots
from gridcrux.grids.layout import SYMBOLS

_CELL = 2.6
"""Side of the cell that is shown."""

_TEXT = 0.55
_APART = 2.5
"""Font size of the meaning of a letter, and the distance to the next."""


def key_marks(n: int) -> Iterator[Mark]:
    """The marks of the key of a board of n rows."""
    top = n + (KEY - _CELL) * 0.8
    slots = Slots.of(n)
    for x1, y1, x2, y2 in outline([0], 1, 0):
        yield Line("border", _CELL * x1, top + _CELL * y1, _CELL * x2, top + _CELL * y2)
    for digit in range(n):
        right, down = slots.place(digit)
        x, y = _CELL * (0.5 + right), top + _CELL * (0.5 + down)
        yield Label("key", x, y, _CELL * slots.font_size, SYMBOLS[digit])
    letters = [digit for digit in range(n) if SYMBOLS[digit] != str(digit + 1)]
    across = max(int((n - _CELL) / _APART), 1)
    for place, digit in enumerate(letters):
        row, column = divmod(place, across)
        x = _CELL + 0.2 + _APART * (column + 0.5)
        yield Label("key", x, top + 0.5 + 0.8 * row, _TEXT, f"{SYMBOLS[digit]} = {digit + 1}")
