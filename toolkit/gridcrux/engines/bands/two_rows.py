"""The number of grids with boxes of two rows, from the fillings of their left halves.

Two stacks make such a grid, and they meet in its rows only: what the left one has in a row the
right one has not.  For each digit let a code say for every box whether the left stack has it in
the lower row.  Then the number of fillings depends on how many digits have each code, and it is
the same for both stacks, as the right one has upper and lower rows exchanged throughout.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from functools import cache
from itertools import permutations
from math import factorial, prod

Codes = tuple[int, ...]
Rows = tuple[frozenset[int], ...]


def grids_with_two_rows(width: int) -> int:
    """The number of complete grids with boxes of 2 x `width`; 8x8 takes some seconds.

    >>> grids_with_two_rows(2)
    288
    """
    total = 0
    for codes in _codes(width):
        orders = factorial(2 * width) // prod(map(factorial, Counter(codes).values()))
        total += orders * _fillings(_rows(_least(codes, width), width)) ** 2
    return total


def _codes(width: int) -> Iterator[Codes]:
    """Ascending codes of the 2 x `width` digits, so that each row has `width` of them."""

    def extend(codes: Codes, room: tuple[int, ...], left: int) -> Iterator[Codes]:
        if not left:
            if not any(room):
                yield codes
            return
        for code in range(codes[-1] if codes else 0, 1 << width):
            rest = tuple(space - (code >> box & 1) for box, space in enumerate(room))
            if min(rest) >= 0:
                yield from extend((*codes, code), rest, left - 1)

    return extend((), (width,) * width, 2 * width)


def _least(codes: Codes, width: int) -> Codes:
    """The least of the codes that exchanging rows within boxes, or boxes, makes of these."""
    return min(
        tuple(
            sorted(
                sum(((code ^ flip) >> box & 1) << i for i, box in enumerate(order))
                for code in codes
            )
        )
        for flip in range(1 << width)
        for order in permutations(range(width))
    )


def _rows(codes: Codes, width: int) -> Rows:
    return tuple(
        frozenset(digit for digit, code in enumerate(codes) if code >> box & 1 == lower)
        for box in range(width)
        for lower in range(2)
    )


@cache
def _fillings(rows: Rows) -> int:
    """In how many ways the digits of the rows can be put into columns, none twice in a column."""
    if not rows[0]:
        return 1
    total = 0
    for column in _columns(rows, frozenset()):
        left = [row - {digit} for row, digit in zip(rows, column, strict=True)]
        # The order of the rows makes no difference.
        total += _fillings(tuple(sorted(left, key=sorted)))
    return total


def _columns(rows: Rows, used: frozenset[int]) -> Iterator[tuple[int, ...]]:
    """A digit from each row, all different."""
    if not rows:
        yield ()
        return
    for digit in sorted(rows[0] - used):
        for rest in _columns(rows[1:], used | {digit}):
            yield (digit, *rest)
