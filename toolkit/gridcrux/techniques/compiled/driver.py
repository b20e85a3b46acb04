"""The compiled driver: apply the easiest technique that finds something, until none does.

One place chooses the finder (`find`), one carries out what it wrote (`apply`).  Families
behind the first are called through function pointers, so that each is compiled only when a
repertoire needs it (`families`).  The driver is
closure and route in one: it records where it is given room to.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from gridcrux.grids.arrays import Words
from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.logic.records import (
    CONTRADICTION,
    PLACES,
    REMOVES,
    SOLVED,
    STUCK,
    UNFINISHED,
)
from gridcrux.techniques.compiled.board import (
    BLANKS,
    BROKEN,
    CLOCK,
    FACTS,
    OPEN,
    allow_all,
    exclude,
    forbid,
    write,
)
from gridcrux.techniques.compiled.cover import find_first_family
from gridcrux.techniques.compiled.families import AT_WORK, TIME_UP, Plan
from gridcrux.techniques.compiled.shapes import FAMILY
from gridcrux.techniques.compiled.tables import Ints, Tables


@njit(cache=True)
def find(
    tables: Tables,
    board: Ints,
    plan: Plan,
    technique: int,
    barred: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """Write at most `limit` deductions of a technique from row `row` on; how many there are.

    `barred` is a rule that placements may not have as their premise, or -1.
    """
    family = technique // FAMILY
    if family == 0:
        return find_first_family(tables, board, technique, barred, records, row, limit)
    finder = plan.finders[family]
    return finder(tables, board, technique, plan.widest, records, row, limit)


@njit(cache=True)
def apply(tables: Tables, board: Ints, records: Ints, row: int) -> None:
    """Carry out one recorded deduction."""
    board[FACTS, CLOCK] += 1
    for word in range(tables.rules.shape[1]):
        left = records[row, REMOVES + word] & board[OPEN, word]
        while left:
            exclude(tables, board, (word << 6) + lowest(left))
            left &= left - 1
    if records[row, PLACES] >= 0:
        write(tables, board, records[row, PLACES])


@inner
def time_is_up(plan: Plan) -> bool:
    """Whether the puzzle at work is to be left as it is."""
    return plan.clock[AT_WORK] == plan.clock[TIME_UP]


@njit(cache=True)
def run(
    tables: Tables, board: Ints, plan: Plan, forbidden: Words, barred: int, records: Ints
) -> tuple[int, int]:
    """Apply the techniques of a plan, the first that finds anything, until none does.

    Parameters
    ----------
    board : a loaded board; it is left in the final state.
    plan : the repertoire, as `families.plan_of` prepares it.
    forbidden : (W,) mask of candidates that only placements may exclude, or (0,) for none.
    barred : a rule that placements may not have as their premise, or -1.
    records : room for the route, as many rows as there are candidates; or one row, which
        every step overwrites, when only the end is wanted.

    Returns
    -------
    The number of steps and `records.SOLVED`, `STUCK` or `CONTRADICTION`; or `UNFINISHED`, if
    the clock of the plan says that the time is up.
    """
    stride = 1 if records.shape[0] > 1 else 0
    for word in range(forbidden.shape[0]):
        left = np.int64(forbidden[word])
        while left:
            forbid(tables, board, (word << 6) + lowest(left))
            left &= left - 1
    steps = 0
    status = STUCK
    while True:
        if board[FACTS, BROKEN] >= 0:
            status = CONTRADICTION
            break
        if board[BLANKS, tables.houses] == 0:
            status = SOLVED
            break
        row = steps * stride
        found = 0
        for place in range(plan.order.shape[0]):
            if time_is_up(plan):
                status = UNFINISHED
                break
            found = find(tables, board, plan, plan.order[place], barred, records, row, 1)
            if found:
                break
        if not found:
            break
        apply(tables, board, records, row)
        steps += 1
    if forbidden.shape[0]:
        allow_all(tables, board)
    return steps, status
