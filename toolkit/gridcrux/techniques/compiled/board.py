"""The state that the compiled finders work on, and the ways to change it.

A board is one array of 64-bit ints, so that copying it copies the state.  Each of its rows
holds one thing, from the left; what is right of it is unused.  Blocks: see `tables.Tables`.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.arrays import Words
from gridcrux.grids.bitwise import lowest
from gridcrux.techniques.compiled.shapes import FAMILY, FISH, POINTING, SIZES
from gridcrux.techniques.compiled.tables import BLOCK, POSITION, RULE, Ints, Tables

MASKS, GUARD = 0, 1
"""(R,) open positions of each rule; those that a deduction other than a placement may exclude."""

OPEN, FORBIDDEN = 2, 3
"""(W,) the open candidates and those outside the guard, as words."""

WRITTEN, BLANKS = 4, 5
"""(C,) 1 where a digit is written; (H + 1,) cells without one in each house, then in all."""

READY, FULL = 6, 7
"""Sets, as words: rules with one open candidate, in a cell that is not written; houses with
one cell that is not written."""

CHANGED, SEEN = 8, 9
"""Times: (H + n,) last change in each block; for each technique and matrix, when it last
found nothing there (`seen_at`)."""

FACTS = 10
"""The time, in steps; a rule that has lost every candidate, or -1; 1 if a finder that takes long
is to leave it at that, which whoever waits may set from another thread."""

CLOCK, BROKEN, STOPPED = 0, 1, 2
"""Columns of `FACTS`."""

ROWS, TARGETS, LINES, CHOSEN, UNIONS = 11, 12, 13, 14, 15
"""(n,) room for the search in a matrix."""

PASSED = 16
"""Times: for each technique of a later family and digit, when it last found nothing there
(`passed_at`)."""

LOCALS = 40
"""Numbers within a family that may be noted in `PASSED`."""

GIVENS = 17
"""(C,) 1 where the puzzle itself gave the digit; 0 everywhere if that is not known."""

BOARD_ROWS = 18


def new_board(tables: Tables) -> Ints:
    """A board with every candidate open and no digit written."""
    width = max(len(tables.rules), seen_at(tables, FISH, SIZES, 0), LOCALS * tables.size)
    board = np.zeros((BOARD_ROWS, width), np.int64)
    allow_all(tables, board)
    clear(tables, board)
    return board


@njit(cache=True)
def bit(position: int) -> np.int64:
    """The bit of a position within its 64-bit word."""
    return np.int64(1) << (position & 63)


@njit(cache=True)
def is_stopped(board: Ints) -> bool:
    """Whether a finder that takes long is to leave it at that."""
    return board[FACTS, STOPPED] != 0


@njit(cache=True)
def seen_at(tables: Tables, shape: int, size: int, matrix: int) -> int:
    """Where in `SEEN` a technique that is not a placement notes a matrix."""
    return ((shape - POINTING) * SIZES + size) * tables.houses + matrix


@njit(cache=True)
def passed_at(tables: Tables, technique: int, digit: int) -> int:
    """Where in `PASSED` a technique of the chain family notes a digit."""
    return technique % FAMILY * tables.size + digit


@njit(cache=True)
def renew(tables: Tables, board: Ints) -> None:
    """Forget what was looked at: everything counts as just changed."""
    board[FACTS, CLOCK] += 1
    board[CHANGED, : tables.houses + tables.size] = board[FACTS, CLOCK]


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
    board[GIVENS, : tables.cells] = 0
    board[BLANKS, : tables.houses] = n
    board[BLANKS, tables.houses] = tables.cells
    board[READY, : (tables.rules.shape[0] + 63) >> 6] = 0
    board[FULL, : (tables.houses + 63) >> 6] = 0 if n > 1 else -1
    board[FACTS, BROKEN] = -1
    renew(tables, board)


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
        board[CHANGED, links[candidate, j, BLOCK]] = board[FACTS, CLOCK]
        if mask & (mask - 1) == 0:
            board[READY, rule >> 6] |= bit(rule)
            if mask == 0:
                board[FACTS, BROKEN] = rule


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
        board[FACTS, BROKEN] = tables.links[candidate, 0, RULE]
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
            board[GIVENS, cell] = 1


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
    renew(tables, board)


@njit(cache=True)
def leaves_no_more(tables: Tables, board: Ints, other: Ints) -> bool:
    """Whether a board has no more candidates open than another, and as many digits written."""
    for word in range(tables.rules.shape[1]):
        if board[OPEN, word] & ~other[OPEN, word]:
            return False
    return board[BLANKS, tables.houses] <= other[BLANKS, tables.houses]


@njit(cache=True)
def read_left(tables: Tables, board: Ints, left: Ints) -> None:
    """Write what is left on a board as words: open candidates, then cells without a digit."""
    words = tables.rules.shape[1]
    left[:] = 0
    for word in range(words):
        left[word] = board[OPEN, word]
    for cell in range(tables.cells):
        if not board[WRITTEN, cell]:
            left[words + (cell >> 6)] |= bit(cell)


@njit(cache=True)
def load_left(tables: Tables, board: Ints, left: Ints, givens: Ints) -> None:
    """Start where that is left; `givens` is the row `GIVENS` of the puzzle's board."""
    words = tables.rules.shape[1]
    written = np.zeros(tables.cells, np.uint8)
    for cell in range(tables.cells):
        written[cell] = left[words + (cell >> 6)] & bit(cell) == 0
    load_state(tables, board, left[:words].view(np.uint64), written)
    board[GIVENS] = givens
