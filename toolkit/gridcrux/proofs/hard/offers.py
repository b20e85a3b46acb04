"""All hard steps on a board and what is left after each, found in compiled code."""

from __future__ import annotations

import numpy as np
from numba import njit

from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES, SOLVED
from gridcrux.techniques.compiled.board import OPEN, is_stopped, read_left
from gridcrux.techniques.compiled.driver import apply, find, run
from gridcrux.techniques.compiled.families import Plan
from gridcrux.techniques.compiled.notes import width_of
from gridcrux.techniques.compiled.tables import Ints, Tables

FULLEST, NARROWEST, ALL = 0, 1, 2
"""Which deductions are moves: those of which none excludes more; also those that have fewer
premises than any that excludes as much; or all that exclude different things.  Of those that
exclude the same, the first (or narrowest) is the move."""


@inner
def compare(index: Tables, board: Ints, records: Ints, row: int, other: int) -> int:
    """1 if a record excludes no more than another, 2 if no less, 3 if the same, 0 otherwise."""
    less, more = True, True
    for word in range(index.rules.shape[1]):
        ours = records[row, REMOVES + word] & board[OPEN, word]
        theirs = records[other, REMOVES + word] & board[OPEN, word]
        less = less and ours & ~theirs == 0
        more = more and theirs & ~ours == 0
    return less + 2 * more


@njit(cache=True, nogil=True)
def find_moves(
    index: Tables,
    board: Ints,
    hard: Plan,
    easy: Plan,
    keep: int,
    to_end: bool,
    records: Ints,
    kept: Ints,
    left: Ints,
    work: Ints,
    one: Ints,
) -> tuple[int, int]:
    """All that hard techniques offer on a board, and what is left after each and all that is easy.

    Parameters
    ----------
    keep : `FULLEST`, `NARROWEST` or `ALL`: which of several deductions count.
    to_end : do not end at the first deduction that solves the puzzle.
    records : room for all that the finders write, at most.
    kept, left : a row for each record; receive the rows of the records that count and what is
        left after each.
    work, one : a board and a record to work in.

    Returns
    -------
    How many count, or -1 if there was too little room, -2 if the board says that it is to stop; and
    which of them solves the puzzle, or -1.
    """
    count, best = 0, 0
    widths = np.zeros(records.shape[0], np.int64)
    nothing = np.empty(0, np.uint64)
    for place in range(hard.order.shape[0]):
        technique, room = hard.order[place], records.shape[0] - count
        more = find(index, board, hard, technique, -1, records, count, room)
        if is_stopped(board):
            return -2, -1
        if more >= room:
            return -1, -1
        for row in range(count, count + more):
            width = width_of(index, records, row) if keep == NARROWEST else 0
            beaten = False
            for i in range(best):
                relation = compare(index, board, records, row, kept[i])
                if keep == ALL and relation != 3:
                    continue
                if relation & 1 and widths[i] <= width:
                    beaten = True
                    break
                if relation & 2 and width <= widths[i]:
                    widths[i] = -1
            if beaten:
                continue
            place_kept = 0
            for i in range(best):
                if widths[i] >= 0:
                    kept[place_kept], widths[place_kept] = kept[i], widths[i]
                    left[place_kept] = left[i]
                    place_kept += 1
            kept[place_kept], widths[place_kept] = row, width
            best = place_kept + 1
            work[:] = board
            apply(index, work, records, row)
            _, status = run(index, work, easy, nothing, -1, one)
            read_left(index, work, left[place_kept])
            if status == SOLVED and not to_end:
                return best, place_kept
        count += more
    return best, -1
