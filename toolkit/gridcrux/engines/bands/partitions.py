"""The 1,680 ways to share out nine digits over three lines, three digits to each.

A box that is filled is two of them, one over its rows and one over its columns, that *cross*:
no two digits have both in common.  Three boxes side by side are *apart* in their rows: no digit
has the same row twice.
"""

from __future__ import annotations

from functools import cache
from itertools import product
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

DIGITS, LINES = 9, 3
ALL = 1680
CROSSING, APART = 216, 56

Numbers = NDArray[np.int16]
Lines = NDArray[np.int8]


class Partitions(NamedTuple):
    """All partitions, by number, and what goes with what.

    Attributes
    ----------
    line : (1680, 9), the line of each digit.
    number : (3**9,), the number of the partition whose lines, first digit first, are these digits
        of base 3; -1 where that is none.
    crossing : (1680, 216), those that cross it.
    apart : (1680, 56, 2), the pairs of others that give each digit its three lines.
    """

    line: Lines
    number: Numbers
    crossing: Numbers
    apart: Numbers


@cache
def partitions() -> Partitions:
    """The partitions in the order of their lines."""
    every = np.array(list(product(range(LINES), repeat=DIGITS)), np.int8)
    balanced = np.all([(every == line).sum(1) == DIGITS // LINES for line in range(LINES)], axis=0)
    number = np.full(len(every), -1, np.int16)
    number[balanced] = np.arange(ALL)
    index = Partitions(
        every[balanced],
        number,
        np.zeros((ALL, CROSSING), np.int16),
        np.zeros((ALL, APART, 2), np.int16),
    )
    _relate(index)
    return index


@njit(cache=True)
def _relate(index: Partitions) -> None:
    """Write down which partitions cross and which are apart."""
    for one in range(ALL):
        crossing = apart = 0
        for other in range(ALL):
            cells = code = 0
            disjoint = True
            for digit in range(DIGITS):
                row, column = index.line[one, digit], index.line[other, digit]
                cells |= 1 << (LINES * row + column)
                disjoint = disjoint and row != column
                code = LINES * code + LINES - row - column
            if cells == (1 << LINES * LINES) - 1:
                index.crossing[one, crossing] = other
                crossing += 1
            if disjoint:
                index.apart[one, apart, 0] = other
                index.apart[one, apart, 1] = index.number[code]
                apart += 1
