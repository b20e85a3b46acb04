"""The 9x9 kernel: nine digit planes in five vector registers, no loop over cells.

A row of the search stack is 40 uint32: digit d, band b (three rows of the grid) at 4*d + b.
In such a 32-bit lane, row i of the band has its nine columns at bits 10*i .. 10*i + 8; the
tenth bit stays empty, so that adding 511 to a row carries into it just when the row is not
empty.  Two digits share one register of eight lanes; the tenth digit is always empty.

Per digit two facts are enough to keep everything consistent that singles and locked
candidates can see.  In a band, a digit takes one of three boxes in each of three rows, each
box once; so only those of the nine (row, box) pieces survive that lie in a full matching of
rows to boxes (`rows_matched`).  In a stack the same holds for columns and boxes
(`columns_matched`).  With both, every hidden single of a box or column is alone in its row
too, so alone-in-row and alone-in-cell are the only singles to look for.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.kernel.status import DEAD, OPEN, SOLVED
from gridcrux.engines.kernel.vector import (
    any_bit,
    constant,
    lane,
    load,
    next_lane,
    previous_lane,
    store,
    swap_halves,
)
from gridcrux.grids.bitwise import lowest

ROW_LENGTH = 40

_FULL = 0x1FF | 0x1FF << 10 | 0x1FF << 20
_SPARE = 0x200 | 0x200 << 10 | 0x200 << 20
_FIRST = 1 | 1 << 10 | 1 << 20
_PIECES = 0o111 | 0o111 << 10 | 0o111 << 20
_ONES = 0xFFFFFFFF

Row = NDArray[np.uint32]

_BAND = np.array([cell // 27 for cell in range(81)], dtype=np.int64)
_BIT = np.array([10 * (cell // 9 % 3) + cell % 9 for cell in range(81)], dtype=np.int64)
_ONLY = np.array(
    [_ONES ^ (0x1FF << 10 * (cell // 9 % 3)) | 1 << _BIT[cell] for cell in range(81)], np.uint32
)
"""Where a cell lies in its lanes, and the mask that leaves its row no other place."""


@njit(cache=True)
def rows_matched(x: Any) -> Any:
    """Keep the (row, box) pieces of every band that lie in a matching of rows to boxes."""
    piece = (x | x >> 1 | x >> 2) & _PIECES
    right = piece >> 3 | piece << 6
    left = piece >> 6 | piece << 3
    right_below = right >> 10 | right << 20
    right_above = right >> 20 | right << 10
    left_below = left >> 10 | left << 20
    left_above = left >> 20 | left << 10
    kept = (right_below & left_above | left_below & right_above) & _PIECES
    return x & ((kept << 3) - kept)


@njit(cache=True)
def columns_matched(x: Any) -> Any:
    """Keep the (band, column) pieces of every stack that lie in a matching of bands to columns."""
    piece = (x | x >> 10 | x >> 20) & 0x1FF
    right = (piece >> 1 & 0o333) | (piece << 2 & 0o444)
    left = (piece >> 2 & 0o111) | (piece << 1 & 0o666)
    kept = next_lane(right) & previous_lane(left) | next_lane(left) & previous_lane(right)
    return x & (kept | kept << 10 | kept << 20)


@njit(cache=True)
def filled_rows(x: Any) -> Any:
    """All nine columns of each row that has a bit."""
    carry = (x + _FULL) & _SPARE
    return carry - (carry >> 9)


@njit(cache=True)
def alone_in_row(x: Any) -> Any:
    """The bits that are the only one in their row."""
    return x & (filled_rows(x & (x - _FIRST)) ^ _FULL)


@njit(cache=True)
def settled(x: Any, alone: Any, cells: Any) -> Any:
    """Clear the cells that another digit's singles take; one claimed by two keeps both."""
    return x & ((cells ^ alone) ^ _ONES)


@njit(cache=True)
def only_digit(x: Any, cells: Any) -> Any:
    """Where a row holds one of `cells`, in which no other digit is left, keep just that."""
    hit = x & cells
    return x & (filled_rows(hit) ^ hit ^ _ONES)


@njit(cache=True)
def propagate(stack: NDArray[np.uint32], top: int) -> int:
    """Bring row `top` to its fixpoint; DEAD, OPEN or SOLVED.

    SOLVED is said only after a pass that removed nothing, with one digit left in every cell:
    then each row of each plane has one bit, and the matchings make columns and boxes right.
    """
    row = stack[top]
    a = load(row, 0)
    b = load(row, 8)
    c = load(row, 16)
    d = load(row, 24)
    e = load(row, 32)
    real = constant((_ONES, _ONES, _ONES, 0, _ONES, _ONES, _ONES, 0))
    last_padding = constant((0, 0, 0, 0, _ONES, _ONES, _ONES, 0))
    while True:
        a0, b0, c0, d0, e0 = a, b, c, d, e
        a = columns_matched(rows_matched(a))
        b = columns_matched(rows_matched(b))
        c = columns_matched(rows_matched(c))
        d = columns_matched(rows_matched(d))
        e = columns_matched(rows_matched(e))
        filled = (
            (a + _FULL) & (b + _FULL) & (c + _FULL) & (d + _FULL) & ((e + _FULL) | last_padding)
        )
        a1 = alone_in_row(a)
        b1 = alone_in_row(b)
        c1 = alone_in_row(c)
        d1 = alone_in_row(d)
        e1 = alone_in_row(e)
        cells = a1 | b1 | c1 | d1 | e1
        cells = cells | swap_halves(cells)
        a = settled(a, a1, cells)
        b = settled(b, b1, cells)
        c = settled(c, c1, cells)
        d = settled(d, d1, cells)
        e = settled(e, e1, cells)
        once = a | b
        twice = a & b
        twice = twice | (once & c)
        once = once | c
        twice = twice | (once & d)
        once = once | d
        twice = twice | (once & e)
        once = once | e
        other = swap_halves(once)
        twice = twice | swap_halves(twice) | (once & other)
        once = once | other
        lost = ((filled & _SPARE) ^ _SPARE) | (once ^ _FULL) | (cells & twice)
        if any_bit(lost & real):
            return DEAD
        cells = once & (twice ^ _ONES)
        a = only_digit(a, cells)
        b = only_digit(b, cells)
        c = only_digit(c, cells)
        d = only_digit(d, cells)
        e = only_digit(e, cells)
        if not any_bit((a ^ a0) | (b ^ b0) | (c ^ c0) | (d ^ d0) | (e ^ e0)):
            break
    store(row, 0, a)
    store(row, 8, b)
    store(row, 16, c)
    store(row, 24, d)
    store(row, 32, e)
    if any_bit(twice & real):
        return OPEN
    return SOLVED


@njit(cache=True)
def unseen(x: Any, seen: Row, offset: int) -> Any:
    """What a register of a row has that `seen` has not."""
    return x & (load(seen, offset) ^ _ONES)


@njit(cache=True)
def choose(row: Row, seen: Row, explore: bool) -> int:
    """A candidate of an open row to decide next.

    To explore, it lies in a cell of two digits, else of more, that has a digit not in `seen`,
    and is one of those; so the next solution shows much that is new, if one is near.  Otherwise
    it lies in the first cell with the fewest digits, and is in `seen` where that can be.
    """
    once = load(row, 0)
    new = unseen(once, seen, 0)
    twice = once & 0
    thrice = once & 0
    more = once & 0
    for i in range(8, ROW_LENGTH, 8):
        x = load(row, i)
        new = new | unseen(x, seen, i)
        more = more | (thrice & x)
        thrice = thrice | (twice & x)
        twice = twice | (once & x)
        once = once | x
    once2, twice2, thrice2 = swap_halves(once), swap_halves(twice), swap_halves(thrice)
    new = new | swap_halves(new)
    more = more | swap_halves(more) | (once & thrice2) | (twice & twice2) | (thrice & once2)
    thrice = thrice | thrice2 | (once & twice2) | (twice & once2)
    twice = twice | twice2 | (once & once2)
    pairs = twice & (thrice ^ _ONES)
    if explore:
        cells = pairs & new
        if not any_bit(cells):
            cells = thrice & new
    else:
        cells = pairs
        if not any_bit(cells):
            cells = thrice & (more ^ _ONES)
    if not any_bit(cells):
        cells = twice
    band = 0
    while lane(cells, band) == 0:
        band += 1
    bit = np.uint32(lowest(lane(cells, band)))
    chosen = -1
    for digit in range(9):
        at = 4 * digit + band
        if row[at] >> bit & np.uint32(1):
            if chosen < 0:
                chosen = digit
            if (seen[at] >> bit & np.uint32(1)) != explore:
                chosen = digit
                break
    return int(81 * chosen + (3 * band + bit // 10) * 9 + bit % 10)


@njit(cache=True)
def first_unseen(row: Row, seen: Row) -> int:
    """The first open candidate of a row, digit by digit, that is not in `seen`, or -1."""
    for at in range(36):
        new = row[at] & ~seen[at]
        if new:
            bit = lowest(new)
            return 81 * (at // 4) + (3 * (at % 4) + bit // 10) * 9 + bit % 10
    return -1


@njit(cache=True)
def add_seen(seen: Row, row: Row) -> None:
    """Add the open candidates of a row to `seen`."""
    for at in range(36):
        seen[at] |= row[at]


@njit(cache=True)
def exclude(row: Row, candidate: int) -> None:
    """Make a candidate false."""
    digit, cell = candidate // 81, candidate % 81
    row[4 * digit + _BAND[cell]] &= np.uint32(_ONES ^ (1 << _BIT[cell]))


@njit(cache=True)
def assume(row: Row, candidate: int) -> None:
    """Make a candidate true by leaving its digit no other place in the row (or none at all)."""
    digit, cell = candidate // 81, candidate % 81
    row[4 * digit + _BAND[cell]] &= _ONLY[cell]


@njit(cache=True)
def load_words(row: Row, words: NDArray[np.uint64]) -> None:
    """Fill a row from the mask of open candidates."""
    row[:] = 0
    for i in range(words.size):
        word = words[i]
        while word:
            low = word & (~word + np.uint64(1))
            word ^= low
            candidate = 64 * i + lowest(low)
            digit, cell = candidate // 81, candidate % 81
            row[4 * digit + _BAND[cell]] |= np.uint32(1 << _BIT[cell])


@njit(cache=True)
def load_givens(row: Row, givens: NDArray[np.int8]) -> None:
    """Fill a row from 81 digits, 0 for a blank."""
    full = constant((_FULL, _FULL, _FULL, 0, _FULL, _FULL, _FULL, 0))
    store(row, 0, full)
    store(row, 8, full)
    store(row, 16, full)
    store(row, 24, full)
    store(row, 32, constant((_FULL, _FULL, _FULL, 0, 0, 0, 0, 0)))
    for cell in range(81):
        digit = givens[cell]
        if digit:
            row[4 * (digit - 1) + _BAND[cell]] &= _ONLY[cell]


@njit(cache=True)
def read_words(row: Row, words: NDArray[np.uint64]) -> None:
    """Write the open candidates of a row as a mask."""
    words[:] = 0
    for digit in range(9):
        for band in range(3):
            mask = np.int64(row[4 * digit + band])
            for i in range(3):
                base = 81 * digit + 9 * (3 * band + i)
                part = np.uint64((mask >> (10 * i)) & 0x1FF)
                at = base & 63
                words[base >> 6] |= part << np.uint64(at)
                if at > 55:
                    words[(base >> 6) + 1] |= part >> np.uint64(64 - at)
