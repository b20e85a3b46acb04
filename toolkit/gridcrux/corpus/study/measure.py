"""Everything a study says of a puzzle, for a batch of puzzles in one compiled call.

No object is built for a puzzle or a step: the route stays in records, and the records stay in
one set of arrays that every puzzle of the batch uses again.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import pairwise
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
    SOLVED,
    TECHNIQUE,
    UNFINISHED,
    new_records,
)
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.desk import Desk, new_desk
from gridcrux.proofs.statuses import ESSENTIAL, IDLE, REPLACEABLE, judge_route
from gridcrux.techniques.compiled.board import MASKS, WRITTEN, load_givens
from gridcrux.techniques.compiled.driver import run, time_is_up
from gridcrux.techniques.compiled.families import (
    AT_WORK,
    NO_PUZZLE,
    TIME_UP,
    Plan,
    new_clock,
    plan_of,
)
from gridcrux.techniques.compiled.notes import width_of
from gridcrux.techniques.compiled.tables import Ints, Tables, tables
from gridcrux.techniques.repertoires import LEVELS

BACKBONE_NODES = 200_000
"""Nodes that the backbone of a puzzle with several solutions may cost before it is given up."""

NODES_BETWEEN_LOOKS = 2_000
"""Nodes of a search between two looks at the clock."""

LOOKS = 0.02
"""Seconds between two looks at what the compiled code is doing."""

(
    SOLUTIONS,
    NODES,
    BACKBONE,
    AFTER_SINGLES,
    LEVEL,
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
    stopped : (N,) whether the time for the puzzle was up; what was not measured is missing.
    steps : (N, T) steps of the route by technique, in the order of the repertoire.
    essential : (N, T) whether that technique is essential.
    """

    numbers: NDArray[np.int64]
    complete: NDArray[np.bool_]
    stopped: NDArray[np.bool_]
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
    plan: Plan
    cautious: Plan
    levels: Ints
    goes_on: NDArray[np.bool_]
    whole: int
    columns: Ints


def levels_within(repertoire: Repertoire) -> list[str]:
    """The levels that know nothing beyond a repertoire, in their order, singles in any case."""
    known = set(repertoire.names)
    return [name for name, each in LEVELS.items() if name == "singles" or known >= set(each.names)]


def measure(
    puzzles: NDArray[np.int8],
    layout: Layout,
    repertoire: Repertoire,
    limit: int,
    seconds: float | None = None,
) -> Measures:
    """Measure a batch of puzzles.

    Parameters
    ----------
    puzzles : (N, n*n) givens, 0 for a blank.
    limit : solutions to count at most.
    seconds : time for one puzzle; it is looked at between two calls of a technique.
    """
    count = len(puzzles)
    clock = new_clock()
    base, index = geometry(layout), tables(layout)
    kind = search.kind_of(layout)
    levels = [LEVELS[name] for name in levels_within(repertoire)]
    room = _Room(
        kind,
        base,
        index,
        new_desk(layout),
        new_records(1, layout),
        search.new_stack(kind, base),
        plan_of(repertoire)._replace(clock=clock),
        plan_of(repertoire.without_uniqueness())._replace(clock=clock),
        _orders(levels),
        goes_on(levels),
        _place(repertoire, levels),
        _columns(repertoire),
    )
    found = Measures(
        np.full((count, len(NUMBERS)), MISSING, np.int64),
        np.zeros(count, np.bool_),
        np.zeros(count, np.bool_),
        np.zeros((count, len(repertoire)), np.int64),
        np.zeros((count, len(repertoire)), np.bool_),
    )
    with _watched(clock, seconds):
        _measure(room, puzzles, limit, found)
    return found


@contextmanager
def _watched(clock: Ints, seconds: float | None) -> Iterator[None]:
    """Tell compiled code through its clock when it is at the same puzzle for too long."""
    if seconds is None:
        yield
        return
    ended = threading.Event()

    def watch() -> None:
        puzzle, since = NO_PUZZLE, time.monotonic()
        while not ended.wait(min(LOOKS, seconds / 4)):
            if clock[AT_WORK] != puzzle:
                puzzle, since = int(clock[AT_WORK]), time.monotonic()
            # While the code is still being compiled, no puzzle is at work.
            elif puzzle >= 0 and time.monotonic() - since > seconds:
                clock[TIME_UP] = puzzle

    thread = threading.Thread(target=watch, daemon=True)
    thread.start()
    try:
        yield
    finally:
        ended.set()
        thread.join()


def _orders(levels: list[Repertoire]) -> Ints:
    """(L, T) technique numbers of each level, -1 behind the last."""
    orders = np.full((len(levels), max(map(len, levels))), MISSING, np.int64)
    for row, level in zip(orders, levels, strict=True):
        row[: len(level)] = level.order
    return orders


def goes_on(levels: list[Repertoire]) -> NDArray[np.bool_]:
    """(L,) whether a level knows all that the one before it does, and so may go on from its end."""
    known = [set(level.names) for level in levels]
    return np.array([True, *(one <= two for one, two in pairwise(known))])


def _place(repertoire: Repertoire, levels: list[Repertoire]) -> int:
    """The place of the level that is the repertoire itself, or `MISSING`."""
    same = [set(level.names) == set(repertoire.names) for level in levels]
    return same.index(True) if True in same else MISSING


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
        room.plan.clock[AT_WORK] = i
        solutions, complete = _count(room, puzzles[i], control, limit)
        numbers[SOLUTIONS] = min(solutions, limit)
        numbers[NODES] = control[search.NODES]
        found.complete[i] = complete
        if not time_is_up(room.plan):
            if solutions == 1:
                numbers[BACKBONE] = puzzles.shape[1]
            elif solutions:
                numbers[BACKBONE] = _backbone(room, puzzles[i], control)
            else:
                numbers[BACKBONE] = 0
            if solutions:
                one = solutions == 1
                _judge(room, puzzles[i], numbers, one, found.steps[i], found.essential[i])
        found.stopped[i] = time_is_up(room.plan)


@njit(cache=True)
def _count(
    room: _Room, puzzle: NDArray[np.int8], control: NDArray[np.int64], limit: int
) -> tuple[int, bool]:
    """Solutions found, up to one above the limit, and whether these are all."""
    control[:] = 0
    search.load_givens(room.kind, room.geometry, room.stack[0], puzzle)
    ended = search.PAUSED
    while ended == search.PAUSED and control[search.FOUND] <= limit and not time_is_up(room.plan):
        ended = search.count(
            room.kind, room.geometry, room.stack, control, limit + 1, NODES_BETWEEN_LOOKS
        )
    return control[search.FOUND], ended == search.EXHAUSTED


@njit(cache=True)
def _backbone(room: _Room, puzzle: NDArray[np.int8], control: NDArray[np.int64]) -> int:
    """Cells with one digit in all solutions; MISSING if that takes too long."""
    cells = puzzle.shape[0]
    seen = np.zeros(room.stack.shape[1], np.uint32)
    occurs = np.zeros(room.geometry.rules.shape[1], np.uint64)
    search.start_support(control)
    search.load_givens(room.kind, room.geometry, room.stack[0], puzzle)
    ended, nodes = search.PAUSED, 0
    while ended == search.PAUSED and nodes < BACKBONE_NODES and not time_is_up(room.plan):
        ended = search.support(
            room.kind, room.geometry, room.stack, control, seen, NODES_BETWEEN_LOOKS
        )
        nodes += NODES_BETWEEN_LOOKS
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
    for level in range(room.levels.shape[0] if unique else 1):
        if level and level == room.whole:
            # The route tells.
            continue
        if not room.goes_on[level]:
            board[:] = start
        order = room.levels[level][room.levels[level] != MISSING]
        part = Plan(order, plan.widest, plan.finders, plan.clock)
        _, ended = run(index, board, part, nothing, -1, room.one)
        if level == 0:
            numbers[AFTER_SINGLES] = _open_candidates(index, board)
        if ended == SOLVED:
            numbers[LEVEL] = level
            break
    goal = room.desk.goal
    goal[:] = start
    count, status = run(index, goal, plan, nothing, -1, records)
    numbers[STATUS] = status
    if status == UNFINISHED:
        return
    if status == SOLVED and numbers[LEVEL] == MISSING:
        numbers[LEVEL] = room.whole
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
    if time_is_up(plan):
        return
    numbers[ESSENTIAL_STEPS] = np.sum(by_step == ESSENTIAL)
    numbers[REPLACEABLE_STEPS] = np.sum(by_step == REPLACEABLE)
    numbers[IDLE_STEPS] = np.sum(by_step == IDLE)
    for k in range(plan.order.shape[0]):
        essential[room.columns[plan.order[k]]] = statuses[k] == ESSENTIAL
