"""Rectangles whose corners must not hold two digits only, and what would fill them with these.

The corners are numbered round the rectangle, so that each has its two neighbours before and
after it; edge e joins corners e and e + 1.  If every house with a corner has two of them, and
these are neighbours, then two digits that the corners hold in turn can be exchanged.  So, no
corner being given, in a puzzle with one solution some corner holds another digit.  A *guard*
is a candidate of a corner with another digit; a corner without guards is *bare*.  A *lock* is a
house with no place for one of the two digits but the corners at the ends of an edge.
"""

from __future__ import annotations

from numba import njit

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import MASKS, bit
from gridcrux.techniques.compiled.notes import add_premise, begin, is_news
from gridcrux.techniques.compiled.tables import BLOCK, POSITION, Ints, Tables

FIRST, SECOND, GUARDED = 4, 5, 6
"""What a rectangle holds behind its four cells: its two digits; 4 bits for the guarded corners."""

TOP, BOTTOM, LEFT, RIGHT, PARTS = 7, 8, 9, 10, 11
"""And then its rows and columns; how much it holds."""


@njit(cache=True)
def slot_in(tables: Tables, cell: int, house: int) -> int:
    """The position of a cell in a house, or -1."""
    links = tables.links
    # The number of a cell is that of digit 0 in it.
    for j in range(1, links.shape[1]):
        if links[cell, j, BLOCK] == house:
            return links[cell, j, POSITION]
    return -1


@njit(cache=True)
def is_exchangeable(tables: Tables, rectangle: Ints) -> bool:
    """Whether every house with a corner has two of them, which are neighbours."""
    for corner in range(4):
        cell = rectangle[corner]
        for j in range(1, tables.links.shape[1]):
            house = tables.links[cell, j, BLOCK]
            if house < 0:
                break
            before = slot_in(tables, rectangle[(corner + 3) & 3], house) >= 0
            across = slot_in(tables, rectangle[(corner + 2) & 3], house) >= 0
            after = slot_in(tables, rectangle[(corner + 1) & 3], house) >= 0
            if across or before == after:
                return False
    return True


@inner
def lock_rule(tables: Tables, board: Ints, rectangle: Ints, lock: int) -> int:
    """A rule that leaves one of the two digits no place but the ends of an edge, or -1.

    Lock 2e is the first digit on edge e, lock 2e + 1 the second.
    """
    links = tables.links
    cell, other = rectangle[lock >> 1], rectangle[((lock >> 1) + 1) & 3]
    for j in range(1, links.shape[1]):
        house = links[cell, j, BLOCK]
        if house < 0:
            break
        slot = slot_in(tables, other, house)
        rule = tables.cells + house * tables.size + rectangle[FIRST + (lock & 1)]
        if slot >= 0 and board[MASKS, rule] == bit(slot) | bit(links[cell, j, POSITION]):
            return rule
    return -1


@inner
def premises_of_exchange(bare: int, locks: int, start: int, which: int) -> int:
    """The premises by which a corner's digit fills the rectangle with its two digits, or 0.

    Parameters
    ----------
    bare : 4 bits: corners that hold one of the two digits.
    locks : 8 bits, as in `lock_rule`.
    start, which : the corner that is tried, with the first digit (0) or the second (1).

    Returns
    -------
    Bits of the bare corners used, and above these four the bits of the locks used.
    """
    known, used = 1 << start, 0
    for _ in range(3):
        for corner in range(4):
            before, after = (corner + 3) & 3, (corner + 1) & 3
            if known >> corner & 1 or not (known >> before | known >> after) & 1:
                continue
            digit = which ^ ((corner ^ start) & 1)
            if bare >> corner & 1:
                premise = 1 << corner
            elif known >> before & 1 and locks >> (2 * before + digit) & 1:
                premise = 16 << (2 * before + digit)
            elif known >> after & 1 and locks >> (2 * corner + digit) & 1:
                premise = 16 << (2 * corner + digit)
            else:
                continue
            known |= 1 << corner
            used |= premise
    return used if known == 15 else 0


@inner
def pair_of(rectangle: Ints) -> int:
    """The mask of the two digits."""
    return (1 << rectangle[FIRST]) | (1 << rectangle[SECOND])


@inner
def allow(tables: Tables, cell: int, digits: int, records: Ints, row: int) -> None:
    """Let a record not rely on the absence of these digits from a cell."""
    relies = REMOVES + tables.rules.shape[1]
    while digits:
        candidate = lowest(digits) * tables.cells + cell
        digits &= digits - 1
        records[row, relies + (candidate >> 6)] &= ~bit(candidate)


@inner
def record_exchange(
    tables: Tables,
    board: Ints,
    technique: int,
    rectangle: Ints,
    used: int,
    records: Ints,
    row: int,
) -> bool:
    """Exclude all that fills the rectangle by these premises; whether it is news."""
    begin(records, row, technique)
    for corner in range(4):
        if used >> corner & 1:
            add_premise(tables, rectangle[corner], records, row)
    for lock in range(8):
        if used >> (4 + lock) & 1:
            add_premise(tables, lock_rule(tables, board, rectangle, lock), records, row)
    for corner in range(4):
        allow(tables, rectangle[corner], pair_of(rectangle), records, row)
        for which in range(2):
            if premises_of_exchange(used & 15, used >> 4, corner, which):
                candidate = rectangle[FIRST + which] * tables.cells + rectangle[corner]
                records[row, REMOVES + (candidate >> 6)] |= bit(candidate)
    return is_news(tables, board, records, row)


@inner
def find_exchanges(
    tables: Tables,
    board: Ints,
    technique: int,
    rectangle: Ints,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """Digits of guarded corners that would fill the rectangle, by bare corners and locks."""
    guarded = rectangle[GUARDED]
    locks = 0
    for lock in range(8):
        if guarded & (guarded - 1) and lock_rule(tables, board, rectangle, lock) >= 0:
            locks |= 1 << lock
    found = 0
    for start in range(8):
        corner = start >> 1
        if found == limit or not guarded >> corner & 1:
            continue
        used = premises_of_exchange(15 & ~guarded, locks, corner, start & 1)
        if used and record_exchange(
            tables, board, technique, rectangle, used, records, row + found
        ):
            found += 1
    return found
