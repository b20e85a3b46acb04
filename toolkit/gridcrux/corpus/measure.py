"""Everything a study says of a puzzle, for a batch of puzzles in one compiled call.

No object is built for a puzzle or a step: the route stays in records, and the records stay in
one set of arrays that every puzzle of the batch uses again.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.columns import NUMBERS
from gridcrux.engines.kernel import search
from gridcrux.grids.arrays import Geometry, geometry
from gridcrux.grids.bitwise import popcount
from gridcrux.grids.layout import Layout
from gridcrux.logic.records import (
    CONTRADICTION,
    PLACES,
    TECHNIQUE,
    new_records,
)
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.desk import Desk, new_desk
from gridcrux.proofs.statuses import ESSENTIAL, IDLE, REPLACEABLE, judge_route
from gridcrux.techniques.compiled.board import MASKS, WRITTEN, load_givens
from gridcrux.techniques.compiled.driver import run
from gridcrux.techniques.compiled.families import Plan, plan_of
from gridcrux.techniques.compiled.notes import width_of
from gridcrux.techniques.compiled.tables import Ints, Tables, tables
from gridcrux.techniques.repertoires import SINGLES

BACKBONE_NODES = 200_000
"""Nodes that the backbone of a puzzle with several solutions may cost before it is given up."""

(
    SOLUTIONS,
    NODES,
    BACKBONE,
    AFTER_SINGLES,
    STATUS,
    STEPS,
    HARD,
    WIDEST,
    ESSENTIAL_STEPS,
    REPLACEABLE_STEPS,
    IDLE_STEPS,
) = range(len(NUMBERS))
MISSING = -1


class Measures(NamedTuple):
    """Measures of N puzzles under a repertoire, which has T techniques.

    Attributes
    ----------
    numbers : (N, k) the columns named by `columns.NUMBERS`; -1 where missing.
    complete : (N,) whether the solutions were all counted.
    steps : (N, T) steps of the route by technique, in the order of the repertoire.
    essential : (N, T) whether that technique is essential.
    """

    numbers: NDArray[np.int64]
    complete: NDArray[np.bool_]
    steps: Ints
    essential: NDArray[np.bool_]


class _Room(NamedTuple):
    """What the compiled loop works in."""

    kind: int
    geometry: Geometry
    tables: Tables
    desk: Desk
    one: Ints
    stack: NDArray[np.uint32]
    singles: Plan
    plan: Plan
    cautious: Plan
    columns: Ints


def measure(
    puzzles: NDArray[np.int8], layout: Layout, repertoire: Repertoire, limit: int
) -> Measures:
    """Measure a batch of puzzles.

    Parameters
    ----------
    puzzles : (N, n*n) givens, 0 for a blank.
    limit : solutions to count at most.
    """
    count = len(puzzles)
    base, index = geometry(layout), tables(layout)
    kind = search.kind_of(layout)
    room = _Room(
        kind,
        base,
        index,
        new_desk(layout),
        new_records(1, layout),
        search.new_stack(kind, base),
        plan_of(SINGLES),
        plan_of(repertoire),
        plan_of(repertoire.without_uniqueness()),
        _columns(repertoire),
    )
    found = Measures(
        np.full((count, len(NUMBERS)), MISSING, np.int64),
        np.zeros(count, np.bool_),
        np.zeros((count, len(repertoire)), np.int64),
        np.zeros((count, len(repertoire)), np.bool_),
    )
    _measure(room, puzzles, limit, found)
    return found


def _columns(repertoire: Repertoire) -> Ints:
    """For each technique number its place in a repertoire."""
    numbers = repertoire.order
    columns = np.full(max(numbers, default=0) + 1, MISSING, np.int64)
    columns[numbers] = np.arange(len(numbers))
    return columns


@njit(cache=True, nogil=True)
def _measure(room: _Room, puzzles: NDArray[np.int8], limit: int, found: Measures) -> None:
    control = np.zeros(search.CONTROLS, np.int64)
    for i in range(puzzles.shape[0]):
        numbers = found.numbers[i]
        control[:] = 0
        search.load_givens(room.kind, room.geometry, room.stack[0], puzzles[i])
        search.count(room.kind, room.geometry, room.stack, control, limit + 1, 1 << 62)
        solutions = control[search.FOUND]
        numbers[SOLUTIONS] = min(solutions, limit)
        numbers[NODES] = control[search.NODES]
        found.complete[i] = solutions <= limit
        if solutions == 0:
            numbers[BACKBONE] = 0
            continue
        if solutions == 1:
            numbers[BACKBONE] = puzzles.shape[1]
        else:
            numbers[BACKBONE] = _backbone(room, puzzles[i], control)
        _judge(room, puzzles[i], numbers, solutions == 1, found.steps[i], found.essential[i])


@njit(cache=True)
def _backbone(room: _Room, puzzle: NDArray[np.int8], control: NDArray[np.int64]) -> int:
    """Cells with one digit in all solutions; MISSING if that takes too long."""
    cells = puzzle.shape[0]
    seen = np.zeros(room.stack.shape[1], np.uint32)
    occurs = np.zeros(room.geometry.rules.shape[1], np.uint64)
    search.start_support(control)
    search.load_givens(room.kind, room.geometry, room.stack[0], puzzle)
    ended = search.support(room.kind, room.geometry, room.stack, control, seen, BACKBONE_NODES)
    if ended != search.EXHAUSTED:
        return MISSING
    search.read_words(room.kind, room.geometry, seen, occurs)
    digits = np.zeros(cells, np.int64)
    for candidate in range(cells * room.tables.size):
        if occurs[candidate >> 6] >> np.uint64(candidate & 63) & np.uint64(1):
            digits[candidate % cells] += 1
    return int(np.sum(digits == 1))


@njit(cache=True)
def _open_candidates(index: Tables, board: Ints) -> int:
    """Open candidates in cells that are not written."""
    count = 0
    for cell in range(index.cells):
        if not board[WRITTEN, cell]:
            count += popcount(board[MASKS, cell])
    return count


@njit(cache=True)
def _judge(
    room: _Room,
    puzzle: NDArray[np.int8],
    numbers: NDArray[np.int64],
    unique: bool,
    steps: Ints,
    essential: NDArray[np.bool_],
) -> None:
    """The human measures of one puzzle."""
    index, board, start, records = room.tables, room.desk.board, room.desk.start, room.desk.records
    # What assumes that there is one solution is not used where there are several.
    plan = room.plan if unique else room.cautious
    nothing = np.empty(0, np.uint64)
    load_givens(index, start, puzzle)
    board[:] = start
    run(index, board, room.singles, nothing, -1, room.one)
    numbers[AFTER_SINGLES] = _open_candidates(index, board)
    goal = room.desk.goal
    goal[:] = start
    count, status = run(index, goal, plan, nothing, -1, records)
    numbers[STATUS] = status
    numbers[STEPS] = count
    numbers[HARD] = 0
    numbers[WIDEST] = 0
    for step in range(count):
        column = room.columns[records[step, TECHNIQUE]]
        steps[column] += 1
        numbers[HARD] += records[step, PLACES] < 0
        numbers[WIDEST] = max(numbers[WIDEST], width_of(index, records, step))
    if status == CONTRADICTION:
        return
    statuses = np.empty(plan.order.shape[0], np.int64)
    by_step = np.empty(count, np.int64)
    none = np.empty((0, 0), np.int64)
    judge_route(index, room.desk, plan, count, status, statuses, by_step, none)
    numbers[ESSENTIAL_STEPS] = np.sum(by_step == ESSENTIAL)
    numbers[REPLACEABLE_STEPS] = np.sum(by_step == REPLACEABLE)
    numbers[IDLE_STEPS] = np.sum(by_step == IDLE)
    for k in range(plan.order.shape[0]):
        essential[room.columns[plan.order[k]]] = statuses[k] == ESSENTIAL
