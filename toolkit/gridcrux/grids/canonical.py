"""Puzzles that differ by a symmetry of their layout have the same canonical form.

The symmetries are the permutations of rows within a band, of bands, of columns within a stack
and of stacks, the transposition where boxes are as high as wide, and any renaming of digits:
3,359,232 * 9! for 9x9.  A Latin square has bands and stacks of one line.  Of all that a set of
givens can be turned into, the canonical form is the least when written row by row, blank
before 1 before 2 and so on.  The givens need not belong to a puzzle with one solution; grids
are sets of givens too.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from math import factorial, isqrt
from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.canonical_rows import Digits, Sheet, new_sheet
from gridcrux.grids.canonical_search import least
from gridcrux.grids.layout import Layout, boxes, usual
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State, expect_state
from gridcrux.grids.text import format_line

Indices = NDArray[np.int64]

FACTORS = 4
"""Integers of 63 bits whose product has room for the largest group, 2 * 25! * 25!."""


class Shape(NamedTuple):
    """What can be permuted: rows in bands of `height`, columns in stacks of `width`."""

    height: int
    width: int

    @property
    def turns(self) -> bool:
        """Whether the transpose of a grid is a grid."""
        return self.height == self.width


@lru_cache(maxsize=64)
def shape_of(layout: Layout) -> Shape:
    """The height and width of the boxes of a layout; 1 and 1 for a Latin square.

    Raises
    ------
    ValueError : the layout has other houses, so rows and columns cannot be permuted.
    """
    n = layout.size
    houses = {frozenset(house.cells) for house in layout.houses}
    houses -= {frozenset(range(row * n, row * n + n)) for row in range(n)}
    houses -= {frozenset(range(column, n * n, n)) for column in range(n)}
    if not houses:
        return Shape(1, 1)
    for height in range(2, n):
        if n % height == 0:
            found = boxes(height, n // height).houses[2 * n :]
            if houses == {frozenset(house.cells) for house in found}:
                return Shape(height, n // height)
    raise ValueError(
        f"layout {layout.name!r} has houses that permuted rows and columns would break; "
        "canonical forms are known for boxes as in '3x3' and for Latin squares as in 'latin-5'"
    )


def group_order(layout: Layout) -> int:
    """Number of rearrangements of the cells that carry houses to houses, the identity included.

    Raises
    ------
    ValueError : see `shape_of`.

    >>> group_order(usual(9))
    3359232
    """
    height, width = shape = shape_of(layout)
    bands, stacks = layout.size // height, layout.size // width
    rows = factorial(height) ** bands * factorial(bands)
    columns = factorial(width) ** stacks * factorial(stacks)
    return rows * columns * (1 + shape.turns)


@dataclass(frozen=True)
class Canonical:
    """The canonical form of a set of givens; forms are equal where the givens are alike.

    Attributes
    ----------
    layout : of the givens and of the form.
    digits : n*n digits row by row, 0 for a blank.
    automorphisms : rearrangements of the n*n cells (of `group_order` in all) that leave the
        givens as they are but for a renaming of digits; the identity is one.
    transposed, rows, columns, names : an arrangement that leads there: transpose the givens if
        `transposed`, take these rows and columns in this order, and write names[d] for d.
    """

    layout: Layout
    digits: tuple[int, ...]
    automorphisms: int
    transposed: bool = field(compare=False)
    rows: tuple[int, ...] = field(compare=False)
    columns: tuple[int, ...] = field(compare=False)
    names: tuple[int, ...] = field(compare=False)

    @property
    def line(self) -> str:
        """The digits as one line, '.' for a blank."""
        return format_line(self.digits)

    @property
    def orbit(self) -> int:
        """How many sets of givens have this form; digits may be renamed."""
        n = self.layout.size
        names = factorial(n) // factorial(n - len(set(self.digits) - {0}))
        return group_order(self.layout) * names // self.automorphisms

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "canonical": self.line,
            "layout": self.layout.name,
            "givens": len(self.digits) - self.digits.count(0),
            "automorphisms": self.automorphisms,
            "orbit": self.orbit,
        }

    def _repr_html_(self) -> str:
        return f"{facts(self.row())}{State.from_digits(self.digits, self.layout)._repr_svg_()}"


def canonical(puzzle: State | Sequence[int], layout: Layout | None = None) -> Canonical:
    """The canonical form of the givens of a puzzle.

    Parameters
    ----------
    puzzle : a state, of which the givens are taken, or n*n digits with 0 for a blank.
    layout : of the digits; None for the usual one of that size.

    Raises
    ------
    TypeError : it is neither.
    ContradictoryGivens : two equal givens share a house.
    ValueError : the layout has further houses, or the digits do not fit it.

    >>> first = canonical([1, 2, 0, 0, 0, 0, 3, 0, 0, 0, 0, 1, 0, 0, 0, 0])
    >>> first.line, first.automorphisms, first.orbit
    ('.......1..2.13..', 1, 3072)
    >>> second = canonical([0, 0, 0, 0, 4, 0, 0, 0, 0, 2, 0, 0, 0, 0, 4, 3])
    >>> first == second
    True
    """
    if isinstance(puzzle, State):
        layout, digits = puzzle.layout, puzzle.puzzle
    else:
        if isinstance(puzzle, str) or not isinstance(puzzle, Iterable):
            expect_state(puzzle)
        digits = tuple(int(digit) for digit in puzzle)
        layout = layout or usual(isqrt(len(digits)))
        digits = State.from_digits(digits, layout).puzzle
    n = layout.size
    givens = np.array([digits], np.int8)
    forms, automorphisms, ways = _canonical(givens, layout)
    form, way = forms[0].tolist(), ways[0].tolist()
    transposed, rows, columns = way[0] >= n, [line % n for line in way[:n]], way[n:]
    square = givens.reshape(n, n).T if transposed else givens.reshape(n, n)
    moved = square[np.ix_(rows, columns)].reshape(-1).tolist()
    names = {0: 0} | dict(zip(moved, form, strict=True))
    spare = iter(sorted(set(range(n + 1)) - set(names.values())))
    return Canonical(
        layout,
        tuple(form),
        int(automorphisms[0]),
        transposed,
        tuple(rows),
        tuple(columns),
        tuple(names[digit] if digit in names else next(spare) for digit in range(n + 1)),
    )


def canonical_batch(digits: Digits, layout: Layout) -> tuple[Digits, NDArray[Any]]:
    """The canonical forms of many sets of givens in one compiled call, which holds no lock.

    A 9x9 puzzle takes some 25 microseconds, a full 9x9 grid a millisecond, and a full Latin
    square of order 16 half a second; larger full ones take minutes.

    Parameters
    ----------
    digits : (N, n*n) givens, 0 for a blank.

    Returns
    -------
    (N, n*n) canonical forms, and the (N,) numbers of automorphisms (see `Canonical`): int64, or
    Python's integers where `group_order` is above 2**63 - 1, as for 25x25.

    Raises
    ------
    ContradictoryGivens : two equal givens share a house; a note says in which puzzle.
    ValueError : the layout has further houses, or the digits do not fit it.
    """
    forms, automorphisms, _ = _canonical(digits, layout)
    return forms, automorphisms


def _canonical(digits: Digits, layout: Layout) -> tuple[Digits, NDArray[Any], Digits]:
    """Canonical forms, numbers of automorphisms, and (N, 2 n) lines and columns that lead there."""
    n, shape = layout.size, shape_of(layout)
    if digits.ndim != 2 or digits.shape[1] != n * n:
        raise ValueError(f"digits of shape {digits.shape}, expected (N, {n * n}) ({layout.name})")
    wrong = np.flatnonzero(((digits < 0) | (digits > n)).any(axis=1))
    givens = np.array(digits, np.int8, order="C")
    houses = np.array([house.cells for house in layout.houses], np.int64)
    bad = int(wrong[0]) if len(wrong) else _first_contradiction(givens, houses)
    if bad >= 0:
        try:
            State.from_digits(digits[bad].tolist(), layout)
        except ValueError as error:
            error.add_note(f"in puzzle {bad} of {len(digits)}, counted from 0")
            raise
    forms, counts = np.empty_like(givens), np.ones((len(givens), FACTORS), np.int64)
    ways = np.empty((len(givens), 2 * n), np.int8)
    _search(new_sheet(n, *shape, shape.turns), givens, forms, counts, ways)
    is_small = group_order(layout) < 2**63
    automorphisms = (counts if is_small else counts.astype(object)).prod(axis=1)
    squares = forms.reshape(-1, n, n)
    for axis, group in ((2, shape.height), (1, shape.width)):
        blank = np.logical_not(squares.any(axis=axis))
        automorphisms = automorphisms * _orders(blank, group, is_small)
    return forms, automorphisms, ways


def _orders(blank: NDArray[np.bool_], group: int, is_small: bool) -> NDArray[Any]:
    """(N,) in how many orders the blank ones of (N, n) lines can stand, in groups of `group`."""
    counts = blank.reshape(len(blank), blank.shape[1] // group, group).sum(axis=2)
    most = max(counts.shape[1], group) + 1
    factorials = np.array([factorial(i) for i in range(most)], np.int64 if is_small else object)
    whole = (counts == group).sum(axis=1)
    orders: NDArray[Any] = factorials[counts].prod(axis=1) * factorials[whole]
    return orders


@njit(cache=True, nogil=True)
def _first_contradiction(givens: Digits, houses: Indices) -> int:
    """The first of (N, n*n) givens that has a digit twice in a house, or -1."""
    for i in range(len(givens)):
        for house in houses:
            seen = 1
            for cell in house:
                bit = 1 << givens[i, cell]
                if seen & bit & ~1:
                    return i
                seen |= bit
    return -1


@njit(cache=True, nogil=True)
def _search(sheet: Sheet, givens: Digits, forms: Digits, counts: Indices, ways: Digits) -> None:
    """The least representatives, the numbers of ways to them in factors, and the first ways."""
    n = sheet.taken.size
    for i in range(len(givens)):
        least(sheet, givens[i], ways[i])
        for row in range(n):
            for column in range(n):
                forms[i, row * n + column] = sheet.best[row, column]
        factor = 0
        for orbit in sheet.orbits.flat:
            if orbit > 1:
                if counts[i, factor] >= 1 << 57:
                    factor += 1
                counts[i, factor] *= orbit
