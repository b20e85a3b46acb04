"""A solution as digits: what every engine yields, whatever it computes with."""

from __future__ import annotations

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits


def as_digits(solution: int, layout: Layout) -> tuple[int, ...]:
    """The n*n digits, from 1, of a mask that has one candidate in each cell."""
    digits = [0] * layout.cells
    for candidate in bits(solution):
        digit, cell = divmod(candidate, layout.cells)
        digits[cell] = digit + 1
    return tuple(digits)
