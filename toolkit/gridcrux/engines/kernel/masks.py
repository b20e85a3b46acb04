"""The kernel for any layout: one mask of digits a cell, one mask of places a house and digit.

A row of the search stack is C + H*n uint32: the open digits of each cell, then for house h and
digit d, at C + h*n + d, the positions within the house that are open for the digit.  Bit 31 of
a cell says that its digit has been taken from its peers.  Propagation is that of singles:
a cell with one digit, a digit with one place in a house.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.kernel.status import DEAD, OPEN, SOLVED
from gridcrux.grids.arrays import Geometry
from gridcrux.grids.bitwise import lowest, popcount

Row = NDArray[np.uint32]

_SETTLED = 1 << 31
_DIGITS = _SETTLED - 1


def row_length(geometry: Geometry) -> int:
    """Number of uint32 in a row of the stack."""
    return geometry.cell_houses.shape[0] + geometry.house_cells.size


@njit(cache=True)
def exclude_digit(geometry: Geometry, row: Row, digit: int, cell: int) -> None:
    """Make a candidate false, in its cell and in the houses of its cell."""
    n = geometry.size
    cells = geometry.cell_houses.shape[0]
    row[cell] &= np.uint32(0xFFFFFFFF ^ (1 << digit))
    for i in range(geometry.cell_houses.shape[1]):
        house = geometry.cell_houses[cell, i]
        if house < 0:
            break
        row[cells + house * n + digit] &= np.uint32(
            0xFFFFFFFF ^ (1 << geometry.cell_slots[cell, i])
        )


@njit(cache=True)
def assume_digit(geometry: Geometry, row: Row, digit: int, cell: int) -> None:
    """Make a candidate true: take every other digit from its cell."""
    rest = np.int64(row[cell]) & _DIGITS & ~(1 << digit)
    while rest:
        exclude_digit(geometry, row, lowest(rest), cell)
        rest &= rest - 1


@njit(cache=True)
def exclude(geometry: Geometry, row: Row, candidate: int) -> None:
    """Make a candidate false."""
    cells = geometry.cell_houses.shape[0]
    exclude_digit(geometry, row, candidate // cells, candidate % cells)


@njit(cache=True)
def assume(geometry: Geometry, row: Row, candidate: int) -> None:
    """Make a candidate true; if it was false already its cell is left empty."""
    cells = geometry.cell_houses.shape[0]
    assume_digit(geometry, row, candidate // cells, candidate % cells)


@njit(cache=True)
def take_from_peers(geometry: Geometry, row: Row, digit: int, cell: int) -> None:
    """Make a digit that is true in a cell false in the other cells of its houses."""
    n = geometry.size
    cells = geometry.cell_houses.shape[0]
    for i in range(geometry.cell_houses.shape[1]):
        house = geometry.cell_houses[cell, i]
        if house < 0:
            break
        others = np.int64(row[cells + house * n + digit]) & ~(1 << geometry.cell_slots[cell, i])
        while others:
            exclude_digit(geometry, row, digit, geometry.house_cells[house, lowest(others)])
            others &= others - 1


@njit(cache=True)
def propagate(geometry: Geometry, stack: NDArray[np.uint32], top: int) -> int:
    """Bring row `top` to its fixpoint under singles; DEAD, OPEN or SOLVED."""
    row = stack[top]
    n = geometry.size
    cells = geometry.cell_houses.shape[0]
    houses = geometry.house_cells.shape[0]
    while True:
        changed = False
        for cell in range(cells):
            mask = np.int64(row[cell])
            if mask & _SETTLED:
                continue
            if mask == 0:
                return DEAD
            if mask & (mask - 1) == 0:
                take_from_peers(geometry, row, lowest(mask), cell)
                row[cell] |= np.uint32(_SETTLED)
                changed = True
        for house in range(houses):
            for digit in range(n):
                places = np.int64(row[cells + house * n + digit])
                if places == 0:
                    return DEAD
                if places & (places - 1) == 0:
                    cell = geometry.house_cells[house, lowest(places)]
                    mask = np.int64(row[cell]) & _DIGITS
                    if mask & (mask - 1):
                        assume_digit(geometry, row, digit, cell)
                        changed = True
        if not changed:
            break
    settled = 0
    for cell in range(cells):
        mask = np.int64(row[cell])
        if mask & _DIGITS == 0:
            return DEAD
        if mask & _SETTLED:
            settled += 1
    return SOLVED if settled == cells else OPEN


@njit(cache=True)
def choose(geometry: Geometry, row: Row, seen: Row, explore: bool) -> int:
    """A candidate of an open row to decide next.

    It lies in the first rule with the fewest open candidates, cells before houses; to explore,
    among rules of cells with a digit not in `seen` if there is one.  Within the rule it is one
    that is not in `seen` to explore, one that is otherwise, where that can be.
    """
    n = geometry.size
    cells = geometry.cell_houses.shape[0]
    best = -1
    if explore:
        fewest = n + 1
        for cell in range(cells):
            mask = np.int64(row[cell]) & _DIGITS
            size = popcount(mask)
            if 1 < size < fewest and mask & ~np.int64(seen[cell]):
                fewest, best = size, cell
    if best < 0:
        fewest = n + 1
        for rule in range(row.size):
            size = popcount(np.int64(row[rule]) & _DIGITS)
            if 1 < size < fewest:
                fewest, best = size, rule
                if size == 2:
                    break
    mask = np.int64(row[best]) & _DIGITS
    chosen = -1
    while mask:
        position = lowest(mask)
        mask &= mask - 1
        digit, cell = position, best
        if best >= cells:
            digit = (best - cells) % n
            cell = geometry.house_cells[(best - cells) // n, position]
        if chosen < 0:
            chosen = digit * cells + cell
        if (seen[cell] >> np.uint32(digit) & np.uint32(1)) != explore:
            return digit * cells + cell
    return chosen


@njit(cache=True)
def first_unseen(geometry: Geometry, row: Row, seen: Row) -> int:
    """The first open candidate of a row, cell by cell, that is not in `seen`, or -1."""
    cells = geometry.cell_houses.shape[0]
    for cell in range(cells):
        new = np.int64(row[cell]) & _DIGITS & ~np.int64(seen[cell])
        if new:
            return lowest(new) * cells + cell
    return -1


@njit(cache=True)
def add_seen(geometry: Geometry, seen: Row, row: Row) -> None:
    """Add the open candidates of a row to `seen`."""
    for cell in range(geometry.cell_houses.shape[0]):
        seen[cell] |= row[cell]


@njit(cache=True)
def load_words(geometry: Geometry, row: Row, words: NDArray[np.uint64]) -> None:
    """Fill a row from the mask of open candidates."""
    n = geometry.size
    cells = geometry.cell_houses.shape[0]
    row[:] = 0
    for i in range(words.size):
        word = words[i]
        while word:
            low = word & (~word + np.uint64(1))
            word ^= low
            candidate = 64 * i + lowest(low)
            digit, cell = candidate // cells, candidate % cells
            row[cell] |= np.uint32(1 << digit)
            for j in range(geometry.cell_houses.shape[1]):
                house = geometry.cell_houses[cell, j]
                if house < 0:
                    break
                row[cells + house * n + digit] |= np.uint32(1 << geometry.cell_slots[cell, j])


@njit(cache=True)
def load_givens(geometry: Geometry, row: Row, givens: NDArray[np.int8]) -> None:
    """Fill a row from one digit a cell, 0 for a blank."""
    n = geometry.size
    cells = geometry.cell_houses.shape[0]
    row[:] = np.uint32((1 << n) - 1)
    for cell in range(cells):
        if givens[cell]:
            assume_digit(geometry, row, givens[cell] - 1, cell)


@njit(cache=True)
def read_words(geometry: Geometry, row: Row, words: NDArray[np.uint64]) -> None:
    """Write the open candidates of a row as a mask."""
    cells = geometry.cell_houses.shape[0]
    words[:] = 0
    for cell in range(cells):
        mask = np.int64(row[cell]) & _DIGITS
        while mask:
            candidate = lowest(mask) * cells + cell
            words[candidate >> 6] |= np.uint64(1) << np.uint64(candidate & 63)
            mask &= mask - 1
