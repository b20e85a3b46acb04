"""Compiled finders of the unique family: a second solution must not come about.

They search the rectangles (`rectangles`, `guards`) and, at the end, the grave: if every cell and
every digit in every house had two open places, each would have a true and a false one, and
exchanging all of these would make a second solution.
"""

from __future__ import annotations

import numpy as np
from numba import cfunc

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import GIVENS, MASKS, OPEN, TARGETS, WRITTEN, bit
from gridcrux.techniques.compiled.families import FINDER
from gridcrux.techniques.compiled.guards import find_guards, find_subsets
from gridcrux.techniques.compiled.notes import add_premise, begin, is_news, rely_on_closed
from gridcrux.techniques.compiled.rectangles import (
    BOTTOM,
    FIRST,
    GUARDED,
    LEFT,
    PARTS,
    RIGHT,
    SECOND,
    TOP,
    find_exchanges,
    is_exchangeable,
    pair_of,
)
from gridcrux.techniques.compiled.shapes import (
    AVOIDABLE_CORNER,
    AVOIDABLE_GUARDS,
    AVOIDABLE_LOCK,
    AVOIDABLE_SUBSET,
    GRAVE,
    HIDDEN_RECTANGLE,
    MASKED_RECTANGLE,
    UNIQUE_CORNER,
    UNIQUE_CROSS_LOCK,
    UNIQUE_SCATTER,
    UNIQUE_SIDE,
    UNIQUE_SUBSET,
)
from gridcrux.techniques.compiled.tables import RULE, Ints, Tables

SIDES, DIAGONALS = (1 << 3 | 1 << 6 | 1 << 12 | 1 << 9), (1 << 5 | 1 << 10)
"""Sets of values of `GUARDED`: two neighbours; two corners across."""

SPARE = 12
"""Most candidates that a grave may have too many."""


@inner
def is_wanted(technique: int, guarded: int) -> bool:
    """Whether a rectangle with these guarded corners is one for the technique."""
    several = guarded & (guarded - 1) != 0
    if technique == UNIQUE_CORNER or technique == AVOIDABLE_CORNER:
        return guarded != 0 and not several
    if technique == AVOIDABLE_GUARDS or technique == AVOIDABLE_LOCK:
        return several
    if technique == UNIQUE_CROSS_LOCK:
        return DIAGONALS >> guarded & 1 != 0
    if technique == UNIQUE_SCATTER:
        return several and SIDES >> guarded & 1 == 0
    if technique == HIDDEN_RECTANGLE:
        return popcount(guarded) == 3
    if technique == MASKED_RECTANGLE:
        return guarded == 15
    return SIDES >> guarded & 1 != 0


@inner
def next_corners(n: int, rectangle: Ints) -> bool:
    """Go on to the next two rows and two columns; False behind the last.

    With houses of two corners each, four cells can make nothing else, as rows and columns are
    houses everywhere.
    """
    rectangle[RIGHT] += 1
    if rectangle[RIGHT] >= n:
        rectangle[LEFT] += 1
        rectangle[RIGHT] = rectangle[LEFT] + 1
        if rectangle[RIGHT] >= n:
            rectangle[LEFT], rectangle[RIGHT] = 0, 1
            rectangle[BOTTOM] += 1
            if rectangle[BOTTOM] >= n:
                rectangle[TOP] += 1
                rectangle[BOTTOM] = rectangle[TOP] + 1
                if rectangle[BOTTOM] >= n:
                    return False
    rectangle[0] = rectangle[TOP] * n + rectangle[LEFT]
    rectangle[1] = rectangle[TOP] * n + rectangle[RIGHT]
    rectangle[2] = rectangle[BOTTOM] * n + rectangle[RIGHT]
    rectangle[3] = rectangle[BOTTOM] * n + rectangle[LEFT]
    return True


@inner
def digits_in_turn(board: Ints, rectangle: Ints, avoidable: bool) -> tuple[int, int]:
    """The digits that the first corner and the one across may have, and those of the others.

    In an avoidable rectangle some corner is written; in others all four are blank, and have
    both digits open.  A corner that is given, or blank with one digit, rules out all.
    """
    ones = board[MASKS, rectangle[0]] & board[MASKS, rectangle[2]]
    others = board[MASKS, rectangle[1]] & board[MASKS, rectangle[3]]
    both = ones & others
    if not ones or not others or (not avoidable and not both & (both - 1)):
        return 0, 0
    written = 0
    for corner in range(4):
        cell, mask = rectangle[corner], board[MASKS, rectangle[corner]]
        written += board[WRITTEN, cell]
        if board[GIVENS, cell] or (not board[WRITTEN, cell] and not mask & (mask - 1)):
            return 0, 0
    if avoidable != (written > 0):
        return 0, 0
    return (ones, others) if avoidable else (both, both)


@inner
def is_spare(tables: Tables, board: Ints, candidate: int) -> bool:
    """Whether every rule of a candidate has more than two open candidates."""
    for j in range(tables.links.shape[1]):
        rule = tables.links[candidate, j, RULE]
        if rule >= 0 and popcount(board[MASKS, rule]) < 3:
            return False
    return True


@inner
def gather_spare(tables: Tables, board: Ints) -> int:
    """Note in `TARGETS` the candidates that a grave has too many; how many, or 0 if it is none.

    Without them, every blank cell and every digit in every house has two places or none to
    fill.
    """
    surplus = 0
    for cell in range(tables.cells):
        count = popcount(board[MASKS, cell])
        if not board[WRITTEN, cell]:
            surplus += count - 2
            if count < 2 or surplus > SPARE:
                return 0
    words = tables.rules.shape[1]
    board[TARGETS, :words] = 0
    for cell in range(tables.cells):
        left = board[MASKS, cell]
        while popcount(board[MASKS, cell]) > 2 and left:
            candidate = lowest(left) * tables.cells + cell
            left &= left - 1
            if is_spare(tables, board, candidate):
                board[TARGETS, candidate >> 6] |= bit(candidate)
    for rule in range(tables.rules.shape[0]):
        count, last = 0, 0
        for word in range(words):
            left = tables.rules[rule, word] & board[OPEN, word] & ~board[TARGETS, word]
            if left:
                count += popcount(left)
                last = (word << 6) + lowest(left)
        if count != 2 and (count != 1 or not board[WRITTEN, tables.links[last, 0, RULE]]):
            return 0
    return surplus


@inner
def find_grave(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int
) -> int:
    """What conflicts with all candidates that the grave has too many: one of them is true."""
    spare = gather_spare(tables, board)
    if spare == 0 or (spare == 1) != (technique == GRAVE):
        return 0
    begin(records, row, technique)
    blanks = 0
    for cell in range(tables.cells):
        if not board[WRITTEN, cell]:
            add_premise(tables, cell, records, row)
            blanks += 1
    rely_on_closed(tables, board, records, row)
    words = tables.rules.shape[1]
    records[row, REMOVES : REMOVES + words] = -1
    for candidate in range(tables.conflicts.shape[0]):
        if board[TARGETS, candidate >> 6] & bit(candidate):
            for word in range(words):
                records[row, REMOVES + word] &= tables.conflicts[candidate, word]
    return 1 if blanks <= widest and is_news(tables, board, records, row) else 0


@inner
def knows_givens(tables: Tables, board: Ints) -> bool:
    """Whether any cell is noted as given."""
    known = 0
    for cell in range(tables.cells):
        known |= board[GIVENS, cell]
    return known != 0


@inner
def guarded_corners(board: Ints, rectangle: Ints) -> int:
    """4 bits: the corners with guards."""
    guarded = 0
    for corner in range(4):
        if board[MASKS, rectangle[corner]] & ~pair_of(rectangle):
            guarded |= 1 << corner
    return guarded


@cfunc(FINDER, cache=True)
def find(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Find deductions of any technique of the family, as `families.FINDER` says.

    Try the grave; or every rectangle, with every two digits that its corners may hold in turn.

    Where it is not known what was given, nothing is avoidable.
    """
    found = 0
    if limit == 0 or widest < 3:
        return found
    if technique >= GRAVE:
        return find_grave(tables, board, technique, widest, records, row)
    avoidable = technique >= AVOIDABLE_CORNER
    if avoidable and not knows_givens(tables, board):
        return found
    rectangle = np.zeros(PARTS, np.int64)
    rectangle[BOTTOM] = 1
    while found < limit and next_corners(tables.size, rectangle):
        ones, others = digits_in_turn(board, rectangle, avoidable)
        while ones:
            rectangle[FIRST] = lowest(ones)
            ones &= ones - 1
            left = others & ~(1 << rectangle[FIRST]) if avoidable else ones
            while left and found < limit:
                rectangle[SECOND] = lowest(left)
                left &= left - 1
                rectangle[GUARDED] = guarded_corners(board, rectangle)
                if not is_wanted(technique, rectangle[GUARDED]):
                    continue
                if not is_exchangeable(tables, rectangle):
                    ones = 0
                    break
                at, room = row + found, limit - found
                if technique == UNIQUE_SUBSET or technique == AVOIDABLE_SUBSET:
                    found += find_subsets(
                        tables, board, technique, rectangle, widest, records, at, room
                    )
                elif (
                    technique == UNIQUE_SIDE
                    or technique == UNIQUE_SCATTER
                    or technique == AVOIDABLE_GUARDS
                ):
                    found += find_guards(tables, board, technique, rectangle, widest, records, at)
                else:
                    found += find_exchanges(tables, board, technique, rectangle, records, at, room)
    return found
