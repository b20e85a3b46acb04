"""Digits for given cells, so that one solution is left, by coming to fewer and fewer solutions.

The digits always come from some grid, so there is a solution.  Up to three of the cells are
emptied, and take their digits from another solution of what is left.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.sample.deletion import Givens, read_grid
from gridcrux.corpus.sample.exchange import Room, Source, draw, prefer_any, shuffle
from gridcrux.engines.kernel import search
from gridcrux.grids.bitwise import popcount

LISTED = 2000
"""Solutions that are listed or counted at most; with more, open candidates are compared."""

NODES = 20_000
"""Nodes that listing or counting them may take."""

CHANGES = 100
"""Changes in a row without fewer solutions after which it is given up."""

AT_ONCE = 50
"""Changes in one compiled call, so that an interrupt is heard."""

EMPTIED = 3
"""Cells that are emptied at most for one change."""


def fitted(room: Room, puzzle: Givens, cells: NDArray[np.int64], source: Source) -> Givens | None:
    """Change a puzzle until it has one solution, which comes back; None if that is given up.

    Parameters
    ----------
    puzzle : with digits in some cells only, and with a solution; other digits are written.
    cells : these cells.
    """
    solution = puzzle.copy()
    state = np.zeros(2, np.int64)
    state[FEWEST] = _measure(room, puzzle, LISTED, solution)
    while state[FEWEST] > 1 and state[SINCE] < CHANGES:
        _change(room, puzzle, cells, AT_ONCE, state, source, solution)
    return solution if state[FEWEST] == 1 else None


FEWEST, SINCE = 0, 1
"""Of the search: the measure reached (`_measure`), and changes since it was reached."""


@njit(cache=True)
def _digit(words: search.Words, cells: int, cell: int) -> int:
    """The digit of a cell in a solution."""
    candidate = cell
    while not words[candidate >> 6] >> np.uint64(candidate & 63) & np.uint64(1):
        candidate += cells
    return candidate // cells + 1


@njit(cache=True)
def list_ways(
    room: Room,
    puzzle: Givens,
    prefer: search.Row,
    spots: NDArray[np.int64],
    most: int,
    tally: NDArray[np.int64],
    first: Givens,
) -> int:
    """Count the solutions of a puzzle; `most` + 1 if there are more, or it takes too long.

    Parameters
    ----------
    prefer : candidates that are tried first.
    spots, tally : cells, and how many of the solutions have each of the ways to fill them;
        written.
    first : the solution found first; written.
    """
    cells, size = puzzle.shape[0], room.tables.size
    words = np.empty(room.tables.rules.shape[1], np.uint64)
    tally[:] = 0
    room.control[:] = 0
    search.load_givens(room.kind, room.tables, room.stack[0], puzzle)
    found, ended = 0, search.SOLUTION
    while found <= most:
        left = NODES - room.control[search.NODES]
        ended = search.advance(
            room.kind, room.tables, room.stack, room.control, prefer, False, 0, left
        )
        if ended != search.SOLUTION:
            break
        row = room.stack[room.control[search.TOP] + 1]
        search.read_words(room.kind, room.tables, row, words)
        way = 0
        for spot in spots:
            way = way * size + _digit(words, cells, spot) - 1
        tally[way] += 1
        if not found:
            read_grid(words, first)
        found += 1
    return found if ended == search.EXHAUSTED else most + 1


@njit(cache=True)
def _measure(room: Room, puzzle: Givens, most: int, first: Givens) -> int:
    """How many solutions a puzzle has; with more than `most`, `LISTED` + its open candidates."""
    prefer = np.zeros(room.stack.shape[1], np.uint32)
    spots, tally = np.empty(0, np.int64), np.zeros(1, np.int64)
    found = list_ways(room, puzzle, prefer, spots, most, tally, first)
    if found <= most:
        return found
    words = np.empty(room.tables.rules.shape[1], np.uint64)
    search.load_givens(room.kind, room.tables, room.stack[0], puzzle)
    search.propagate(room.kind, room.tables, room.stack, 0)
    search.read_words(room.kind, room.tables, room.stack[0], words)
    found = LISTED
    for word in words:
        found += popcount(word)
    return found


@njit(cache=True)
def _change(
    room: Room,
    puzzle: Givens,
    cells: NDArray[np.int64],
    changes: int,
    state: NDArray[np.int64],
    source: Source,
    solution: Givens,
) -> None:
    """Try some changes, and keep each that leads to no more solutions."""
    size = room.tables.size
    order = np.arange(cells.shape[0])
    prefer = np.empty(room.stack.shape[1], np.uint32)
    every = np.zeros(size**EMPTIED, np.int64)
    first = puzzle.copy()
    for _ in range(changes):
        if state[FEWEST] == 1 or state[SINCE] >= CHANGES:
            return
        state[SINCE] += 1
        emptied = 1 + draw(source, min(EMPTIED, cells.shape[0]))
        shuffle(source, order)
        spots = cells[order[:emptied]]
        tally = every[: size**emptied]
        before = puzzle[spots]
        now = 0
        for spot in spots:
            now = now * size + puzzle[spot] - 1
            puzzle[spot] = 0
        prefer_any(source, prefer)
        listed = list_ways(room, puzzle, prefer, spots, LISTED, tally, first)
        # Among the other ways to fill them one that the fewest share, each as likely.
        way, equal = -1, 0
        for other in range(tally.shape[0]):
            if other != now and tally[other]:
                if way < 0 or tally[other] < tally[way]:
                    way, equal = other, 0
                if tally[other] == tally[way]:
                    equal += 1
                    if draw(source, equal) == 0:
                        way = other
        if way < 0:
            puzzle[spots] = before
            continue
        found, rest = tally[way], way
        for at in range(emptied - 1, -1, -1):
            puzzle[spots[at]] = rest % size + 1
            rest //= size
        if listed > LISTED or found == 1:
            found = _measure(room, puzzle, min(LISTED, state[FEWEST]), first)
        if found > state[FEWEST]:
            puzzle[spots] = before
            continue
        if found < state[FEWEST]:
            state[FEWEST], state[SINCE] = found, 0
        if found == 1:
            solution[:] = first
