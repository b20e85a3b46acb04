"""Two ratings of the literature: how dear refutations are, and how many singles are open at a time.

Both are by Pelanek, "Difficulty rating of Sudoku puzzles by a computational model", FLAIRS 2011,
and "Difficulty rating of Sudoku puzzles: an overview and evaluation", arXiv:1403.7373.  The ideas
are taken from there, from memory; every detail below is a choice made here, since the originals
draw at random where this must give the same number again.

*Simple* are naked and hidden singles, on any layout: a rule with one candidate left writes it.
All singles that are open are written in one *round*.  So no order of singles has to be chosen.

Where none is open the puzzle *stalls*.  Then every open candidate of every cell is assumed and
singles are followed: of the rules that have one candidate left that which rests on the fewest
rules goes first, until a rule has none left.  (Of equal ones the first in a list goes, in which
what was taken is replaced by the last.)  The *cost* is the number of rules looked up in that
refutation, the broken one included: what `techniques.compiled.forcing_worlds.refute` finds, which
is not asked to make it any smaller.  A cell costs what the refutations of all its wrong
candidates cost together.  The cheapest cell is filled in, the first of them row by row if several
cost the same, and its cost is added to the sum.  If no cell has all its wrong candidates refuted,
the cheapest refuted candidate alone is excluded (the first cell, then the lowest digit), at its
cost.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.columns import RATINGS
from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.grids.layout import Layout
from gridcrux.techniques.compiled.board import (
    BLANKS,
    BROKEN,
    FACTS,
    MASKS,
    READY,
    WRITTEN,
    exclude,
    load_givens,
    new_board,
    place,
)
from gridcrux.techniques.compiled.cover import next_member
from gridcrux.techniques.compiled.forcing import load_room
from gridcrux.techniques.compiled.forcing_worlds import (
    ALLOWED,
    NEVER,
    SINGLES,
    new_room,
    new_rows,
    refute,
)
from gridcrux.techniques.compiled.tables import Ints, Tables, tables

MOST = 50_000
"""Refutations tried in one puzzle before it is given up; 9x9 takes some hundreds."""

SUM, STALLS, ROUNDS, DIGITS = range(4)
"""Columns of what is counted: costs, stalls, rounds, and digits written in these."""

UNKNOWN = -1


@inner
def write_round(tables: Tables, board: Ints, ready: Ints) -> int:
    """Write all singles that are open; how many digits that are."""
    count, written = 0, 0
    rule = next_member(board, READY, 0, tables.rules.shape[0])
    while rule >= 0:
        mask = board[MASKS, rule]
        if mask:
            ready[count] = tables.candidates[rule, lowest(mask)]
            count += 1
        rule = next_member(board, READY, rule + 1, tables.rules.shape[0])
    for i in range(count):
        if not board[WRITTEN, ready[i] % tables.cells]:
            place(tables, board, ready[i])
            written += 1
    return written


@inner
def get_over(tables: Tables, board: Ints, room: Ints, rows: Ints, absent: Ints) -> int:
    """Fill in the cheapest cell, or exclude the cheapest candidate; the cost, or `NEVER`."""
    room[ALLOWED] = 0
    load_room(tables, board, room, rows, absent)
    cell_cost, one_cost, true, false = NEVER, NEVER, -1, -1
    for cell in range(tables.cells):
        if board[WRITTEN, cell]:
            continue
        left, together, standing, survivor = board[MASKS, cell], 0, 0, -1
        while left:
            candidate = int(tables.candidates[cell, lowest(left)])
            left &= left - 1
            cost = refute(tables, room, rows, candidate, SINGLES, NEVER)
            if cost == NEVER:
                standing += 1
                survivor = candidate
                continue
            together += cost
            if cost < one_cost:
                one_cost, false = cost, candidate
        if standing == 1 and together < cell_cost:
            cell_cost, true = together, survivor
    if true >= 0:
        place(tables, board, true)
        return cell_cost
    if false >= 0:
        exclude(tables, board, false)
    return one_cost


@njit(cache=True, nogil=True)
def _rate(
    tables: Tables, board: Ints, puzzles: NDArray[np.int8], wanted: NDArray[np.bool_], found: Ints
) -> None:
    rows, room = new_rows(tables), new_room(tables)
    absent = np.zeros(tables.rules.shape[1], np.int64)
    ready = np.zeros(tables.rules.shape[0], np.int64)
    for i in range(puzzles.shape[0]):
        if not wanted[i]:
            found[i] = UNKNOWN
            continue
        load_givens(tables, board, puzzles[i])
        tried = 0
        while board[BLANKS, tables.houses] and board[FACTS, BROKEN] < 0:
            written = write_round(tables, board, ready)
            if written:
                found[i, ROUNDS] += 1
                found[i, DIGITS] += written
                continue
            found[i, STALLS] += 1
            # As many candidates are open in cells that are not written, or fewer.
            tried += board[BLANKS, tables.houses] * tables.size
            cost = NEVER if tried > MOST else get_over(tables, board, room, rows, absent)
            if cost == NEVER:
                found[i] = UNKNOWN
                break
            found[i, SUM] += cost
        if board[FACTS, BROKEN] >= 0:
            found[i] = UNKNOWN


def ratings(
    puzzles: NDArray[np.int8], layout: Layout, wanted: NDArray[np.bool_] | None = None
) -> pd.DataFrame:
    """The ratings of N puzzles, with the columns `columns.RATINGS`.

    Parameters
    ----------
    puzzles : (N, n*n) givens, 0 for a blank.
    wanted : (N,) which of them to rate, the others' rows are missing; None for all.

    A row is missing, too, if singles refute no candidate of some stall, if the puzzle has no
    solution, or after `MOST` refutations.

    >>> from gridcrux.grids.text import read_puzzle
    >>> puzzle = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."
    >>> digits = np.array([read_puzzle(puzzle).puzzle], np.int8)
    >>> ratings(digits, read_puzzle(puzzle).layout)[["refutation_sum", "stalls"]].values.tolist()
    [[13, 2]]
    """
    found = np.zeros((len(puzzles), 4), np.int64)
    asked = np.ones(len(puzzles), np.bool_) if wanted is None else np.ascontiguousarray(wanted)
    index = tables(layout)
    _rate(index, new_board(index), np.ascontiguousarray(puzzles, np.int8), asked, found)
    missing = found[:, SUM] == UNKNOWN
    rounds = np.where(missing, 0, found[:, ROUNDS])
    at_a_time = np.full(len(puzzles), np.nan)
    np.divide(found[:, DIGITS], rounds, out=at_a_time, where=rounds > 0)
    whole = (pd.arrays.IntegerArray(found[:, k].copy(), missing) for k in (SUM, STALLS, ROUNDS))
    return pd.DataFrame(dict(zip(RATINGS, (*whole, at_a_time), strict=True)))
