"""Domain consistency of all-different: a digit stays where some matching of cells to digits has it.

Join a cell to the cell that holds its digit in one matching.  An open digit of a cell lies in a
matching of all cells just if the way back leads to that cell, in other words if both are in one
strong component (Regin, "A filtering algorithm for constraints of difference in CSPs", AAAI 1994).
There are as many digits as cells, so no digit is free and nothing else has to be looked at.
"""

from __future__ import annotations

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.techniques.compiled.tables import Ints

DOMAINS, MEMBERS, HELD, HOLDER, QUEUE, VIA, REACHED = range(7)
"""Rows of a desk, with a column for each cell of a house: its open digits, which cell it is, the
digit it holds in the matching; by digit who holds it (-1: nobody); the cells to extend a way from,
by digit from which cell the way came to it; and by cell the cells that ways lead to."""

ROWS = 7


@inner
def give_digit(desk: Ints, cell: int) -> bool:
    """Find a digit for another cell of the matching, by a shortest way of exchanges."""
    seen, head, tail = 0, 0, 1
    desk[QUEUE, 0] = cell
    while head < tail:
        at = desk[QUEUE, head]
        head += 1
        new = desk[DOMAINS, at] & ~seen
        seen |= new
        while new:
            digit = lowest(new)
            new &= new - 1
            desk[VIA, digit] = at
            if desk[HOLDER, digit] >= 0:
                desk[QUEUE, tail] = desk[HOLDER, digit]
                tail += 1
                continue
            while True:
                at = desk[VIA, digit]
                before = desk[HELD, at]
                desk[HELD, at] = digit
                desk[HOLDER, digit] = at
                if at == cell:
                    return True
                digit = before
    return False


@inner
def keep_matched(desk: Ints, count: int) -> bool:
    """Keep of the domains of `count` cells what lies in a matching; False if there is none.

    The domains have `count` digits together, or there is no matching.
    """
    for digit in range(desk.shape[1]):
        desk[HOLDER, digit] = -1
    for cell in range(count):
        if not give_digit(desk, cell):
            return False
    for cell in range(count):
        reached = 0
        left = desk[DOMAINS, cell]
        while left:
            reached |= 1 << desk[HOLDER, lowest(left)]
            left &= left - 1
        desk[REACHED, cell] = reached
    for middle in range(count):
        for cell in range(count):
            if desk[REACHED, cell] >> middle & 1:
                desk[REACHED, cell] |= desk[REACHED, middle]
    for cell in range(count):
        for other in range(count):
            if not desk[REACHED, other] >> cell & 1:
                desk[DOMAINS, cell] &= ~(1 << desk[HELD, other])
    return True
