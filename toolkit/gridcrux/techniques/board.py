"""The state that the compiled finders work on, and the ways to change it.

A board is one array of 64-bit ints, so that copying it copies the state.  Each of its rows
holds one thing, from the left; what is right of it is unused.

A technique looks again only where something has changed since it last found nothing there.
What changes is noted by *blocks* (`tables.Tables`) in `FRESH`, once for all techniques, and
handed on to each of them when one of them looks (`hand_out`).
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.arrays import Words
from gridcrux.grids.bitwise import lowest
from gridcrux.techniques.shapes import FISH, POINTING, SIZES
from gridcrux.techniques.tables import BLOCK, POSITION, RULE, Ints, Tables

MASKS, GUARD = 0, 1
"""(R,) open positions of each rule; those that a deduction other than a placement may exclude."""

OPEN, FORBIDDEN = 2, 3
"""(W,) the open candidates and those outside the guard, as words."""

WRITTEN, BLANKS = 4, 5
"""(C,) 1 where a digit is written; (H + 1,) cells without one in each house, then in all."""

READY, FULL = 6, 7
"""Sets, as words: rules with one open candidate, in a cell that is not written; houses with
one cell that is not written."""

FRESH, DIRTY = 8, 9
"""Sets of blocks, as words: changed and not handed out yet; for each technique in turn, those
in which it may find something (`dirty_at`)."""

BROKEN = 10
"""(1,) a rule that has lost every candidate, or -1."""

ROWS, LINES, CHOSEN, UNIONS = 11, 12, 13, 14
"""(n,) room for the search in a matrix."""

BOARD_ROWS = 15

DIRTY_SETS = (FISH - POINTING + 1) * SIZES
"""Sets in `DIRTY`: one for each technique number from the first that is no placement."""


def new_board(tables: Tables) -> Ints:
    """A board with every candidate open and no digit written."""
    width = max(len(tables.rules), dirty_at(tables, DIRTY_SETS) >> 6)
    board = np.zeros((BOARD_ROWS, width), np.int64)
    allow_all(tables, board)
    clear(tables, board)
    return board


@njit(cache=True)
def bit(position: int) -> np.int64:
    """The bit of a position within its 64-bit word."""
    return np.int64(1) << (position & 63)


@njit(cache=True)
def dirty_at(tables: Tables, technique: int) -> int:
    """Where the set of a technique that is no placement begins in `DIRTY`."""
    return (technique - POINTING * SIZES) * ((tables.houses + tables.size + 63) >> 6) << 6


@njit(cache=True)
def hand_out(tables: Tables, board: Ints) -> None:
    """Tell every technique which blocks have changed."""
    words = (tables.houses + tables.size + 63) >> 6
    for word in range(words):
        fresh = board[FRESH, word]
        if fresh:
            board[FRESH, word] = 0
            for i in range(word, DIRTY_SETS * words, words):
                board[DIRTY, i] |= fresh


@njit(cache=True)
def clear(tables: Tables, board: Ints) -> None:
    """Open every candidate and wipe every digit."""
    n, words = tables.size, tables.rules.shape[1]
    board[MASKS, : tables.rules.shape[0]] = (1 << n) - 1
    board[OPEN, :words] = -1
    spare = n * tables.cells & 63
    if spare:
        board[OPEN, words - 1] = bit(spare) - 1
    board[WRITTEN, : tables.cells] = 0
    board[BLANKS, : tables.houses] = n
    board[BLANKS, tables.houses] = tables.cells
    board[READY, : (tables.rules.shape[0] + 63) >> 6] = 0
    board[FULL, : (tables.houses + 63) >> 6] = 0 if n > 1 else -1
    board[BROKEN, 0] = -1
    board[FRESH] = -1


@njit(cache=True)
def exclude(tables: Tables, board: Ints, candidate: int) -> None:
    """Close an open candidate in every rule that it belongs to."""
    links = tables.links
    board[OPEN, candidate >> 6] &= ~bit(candidate)
    for j in range(links.shape[1]):
        rule = links[candidate, j, RULE]
        if rule < 0:
            break
        mask = board[MASKS, rule] & ~bit(links[candidate, j, POSITION])
        board[MASKS, rule] = mask
        block = links[candidate, j, BLOCK]
        board[FRESH, block >> 6] |= bit(block)
        if mask & (mask - 1) == 0:
            board[READY, rule >> 6] |= bit(rule)
            if mask == 0:
                board[BROKEN, 0] = rule


@njit(cache=True)
def write(tables: Tables, board: Ints, candidate: int) -> None:
    """Write the digit of a candidate into its cell, whose rivals are closed already."""
    links = tables.links
    board[WRITTEN, links[candidate, 0, RULE]] = 1
    board[BLANKS, tables.houses] -= 1
    for j in range(links.shape[1]):
        rule = links[candidate, j, RULE]
        if rule < 0:
            break
        board[READY, rule >> 6] &= ~bit(rule)
        if j > 0:
            house = links[candidate, j, BLOCK]
            blanks = board[BLANKS, house] - 1
            board[BLANKS, house] = blanks
            if blanks == 1:
                board[FULL, house >> 6] |= bit(house)
            elif blanks == 0:
                board[FULL, house >> 6] &= ~bit(house)


@njit(cache=True)
def place(tables: Tables, board: Ints, candidate: int) -> None:
    """Write a digit and close everything in conflict with it.

    If the candidate is closed already, the rule of its cell counts as broken.
    """
    if not board[OPEN, candidate >> 6] & bit(candidate):
        board[BROKEN, 0] = tables.links[candidate, 0, RULE]
    for word in range(tables.conflicts.shape[1]):
        left = tables.conflicts[candidate, word] & board[OPEN, word]
        while left:
            exclude(tables, board, (word << 6) + lowest(left))
            left &= left - 1
    write(tables, board, candidate)


@njit(cache=True)
def load_givens(tables: Tables, board: Ints, digits: NDArray[np.int8]) -> None:
    """Start a puzzle: (C,) digits from 1, 0 for a blank; contradictory givens break a rule."""
    clear(tables, board)
    for cell in range(tables.cells):
        if digits[cell]:
            place(tables, board, (digits[cell] - 1) * tables.cells + cell)


@njit(cache=True)
def load_state(tables: Tables, board: Ints, open_words: Words, written: NDArray[np.uint8]) -> None:
    """Start in mid-solve: (W,) open candidates and (C,) flags of the written cells.

    No open candidate may be in conflict with a written digit (`solve.board_of` checks it).
    A written cell without any candidate is a contradiction.
    """
    clear(tables, board)
    for candidate in range(tables.conflicts.shape[0]):
        if not np.int64(open_words[candidate >> 6]) & bit(candidate):
            exclude(tables, board, candidate)
    for cell in range(tables.cells):
        if written[cell] and board[MASKS, cell]:
            write(tables, board, tables.candidates[cell, lowest(board[MASKS, cell])])


@njit(cache=True)
def forbid(tables: Tables, board: Ints, candidate: int) -> None:
    """Let nothing but a placement exclude a candidate."""
    links = tables.links
    board[FORBIDDEN, candidate >> 6] |= bit(candidate)
    for j in range(links.shape[1]):
        rule = links[candidate, j, RULE]
        if rule < 0:
            break
        board[GUARD, rule] &= ~bit(links[candidate, j, POSITION])


@njit(cache=True)
def allow_all(tables: Tables, board: Ints) -> None:
    """Undo every `forbid`; what was looked at under it will be looked at again."""
    board[FORBIDDEN] = 0
    board[GUARD] = (1 << tables.size) - 1
    board[FRESH] = -1
