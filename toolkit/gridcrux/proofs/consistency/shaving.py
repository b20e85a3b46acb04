"""Shaving: a candidate whose assumption propagates to a contradiction is false.

With unit propagation these are failed literals, with all-different constraints it is singleton
domain consistency.  Only true candidates are assumed: if the denial of one fails, all its rivals
fail.  What is true under an assumption that does not fail would not fail either, as it implies no
more; such candidates need no look until something has been excluded.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.kernel import masks
from gridcrux.engines.kernel.status import DEAD, OPEN
from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.proofs.consistency.filters import DIGITS, HIDDEN, SETTLED, Room, load, propagate
from gridcrux.techniques.compiled.tables import Ints

NO_ASSUMPTION = -1
"""The parts of an assumption where there is none."""

NONE = -1
"""What is found where no assumption fails."""


@inner
def fails(room: Room, digit: int, cell: int, assumed: int) -> bool:
    """Whether a candidate cannot be true; if it can, note all that is possible with it."""
    room.rows[1] = room.rows[0]
    room.seen[1] = room.seen[0]
    row = room.rows[1]
    masks.assume_digit(room.layout, row, digit, cell)
    if propagate(room, 1, assumed) == DEAD:
        return True
    for other in range(room.possible.shape[0]):
        if row[other] & SETTLED:
            room.possible[other] |= row[other] & DIGITS
    return False


@inner
def find_failing(room: Room, first: int, assumed: int) -> int:
    """A candidate whose assumption fails, of the first cell from `first` on, or `NONE`."""
    row, cells = room.rows[0], room.possible.shape[0]
    room.possible[:] = 0
    for step in range(cells):
        cell = (first + step) % cells
        while not row[cell] & SETTLED:
            left = np.int64(row[cell] & DIGITS & ~room.possible[cell])
            if left == 0:
                break
            if fails(room, lowest(left), cell, assumed):
                return lowest(left) * cells + cell
    return NONE


@inner
def settle(room: Room, parts: int, assumed: int) -> int:
    """Bring the first row to the fixpoint of a level: DEAD, OPEN or SOLVED.

    Parameters
    ----------
    parts : what is looked at between assumptions; nothing that assumptions would not show.
    assumed : what is looked at under an assumption, or `NO_ASSUMPTION`.
    """
    room.seen[0] = np.uint32(0xFFFFFFFF)
    cells = room.possible.shape[0]
    # Most of what fails does so by unit propagation, which is cheaper.
    now = min(assumed, HIDDEN)
    candidate = 0
    while True:
        status = propagate(room, 0, parts)
        if status != OPEN or assumed == NO_ASSUMPTION:
            return status
        candidate = find_failing(room, candidate % cells, now)
        if candidate == NONE and now != assumed:
            now = assumed
            candidate = find_failing(room, 0, now)
        if candidate == NONE:
            return OPEN
        masks.exclude(room.layout, room.rows[0], candidate)


@njit(cache=True, nogil=True)
def settle_many(
    room: Room, starts: NDArray[np.uint32], levels: Ints, outcomes: NDArray[np.int8]
) -> None:
    """Write for each of N starts how it ends on each of L levels (N, L).

    The first row of the room is left as the last one ends that was asked.

    Parameters
    ----------
    starts : (N, C) the open digits of each cell.
    levels : (L, 3) parts, the parts of an assumption, and a mask of the levels before that see
        no more than this one: what one of them decides is not asked again.
    """
    for i in range(starts.shape[0]):
        for level in range(levels.shape[0]):
            status = OPEN
            weaker = levels[level, 2]
            while weaker and status == OPEN:
                status = int(outcomes[i, lowest(weaker)])
                weaker &= weaker - 1
            if status == OPEN:
                load(room, starts[i])
                status = settle(room, levels[level, 0], levels[level, 1])
            outcomes[i, level] = status
