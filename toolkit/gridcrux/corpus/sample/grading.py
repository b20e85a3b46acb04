"""How near a puzzle comes to one in which a technique is essential, and nearer variants of it.

All of it is compiled; `featured` says what it is good for.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.sample.deletion import Givens
from gridcrux.corpus.sample.exchange import ANY, Room, Source, draw, prefer_any, shuffle, thin, vary
from gridcrux.corpus.sample.fitting import list_ways
from gridcrux.grids.bitwise import popcount
from gridcrux.grids.layout import Layout
from gridcrux.logic.records import PLACES, REMOVES, SOLVED, TECHNIQUE, new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.slicing import needed
from gridcrux.techniques.compiled.board import (
    MASKS,
    OPEN,
    WRITTEN,
    leaves_no_more,
    load_givens,
    new_board,
)
from gridcrux.techniques.compiled.driver import run
from gridcrux.techniques.compiled.families import Plan, plan_of
from gridcrux.techniques.compiled.tables import Ints, Tables, tables

MOST = 6
"""Techniques that are taken out at most to see whether another one is essential then."""

STEP = 1000
UNUSED, USED, NEEDED, ESSENTIAL = 0, STEP, 2 * STEP, (3 + MOST) * STEP
"""Grades: without the technique; solved with it, though it is idle; with it in the slice; and
with all that is looked for.  One `STEP` less than `ESSENTIAL` for each technique that has to be
taken out for it."""

STUCK, FOR_EACH = ESSENTIAL - 3 * STEP // 2, 10
"""Where the repertoire gets stuck, but not as far without the technique: the grade if hardly
anything is left, and what goes off it for each candidate that is open in the end."""

PATIENCE = 200
"""Variants in a row that are no better, after which a climb is given up."""

AT_ONCE = 50
"""Variants in one compiled call, so that an interrupt is heard."""

OTHER_GRID = 3
"""One of so many variants has another solution."""

REACHED, SINCE = 0, 1
"""Of a climb: the grade reached, and the variants tested since it was."""

MOVES = 10
"""Variants by which a puzzle is led away from the one before it in its family."""


class Question(NamedTuple):
    """What the compiled parts are asked, and what they work in.

    Attributes
    ----------
    layout, start, board, goal, records : a layout's tables, boards and room for a route.
    plan, columns : a repertoire, and for each technique number its place in it.
    place : that of the technique.
    last : the last place that a step of the route may have.
    givens : how many givens there are to be, 0 for any number.
    hard : (T,) which techniques write no digits.
    """

    layout: Tables
    start: Ints
    board: Ints
    goal: Ints
    records: Ints
    plan: Plan
    columns: Ints
    place: int
    last: int
    givens: int
    hard: NDArray[np.bool_]


def question_of(
    technique: str, repertoire: Repertoire, layout: Layout, givens: int, none_harder: bool
) -> Question:
    """Make ready to look for a technique that is essential; see `featured.Feature`."""
    index, place = tables(layout), repertoire.names.index(technique)
    columns = np.zeros(int(repertoire.order.max()) + 1, np.int64)
    columns[repertoire.order] = np.arange(len(repertoire))
    return Question(
        index,
        new_board(index),
        new_board(index),
        new_board(index),
        new_records(layout.candidates + layout.cells, layout),
        plan_of(repertoire),
        columns,
        place,
        place if none_harder else len(repertoire) - 1,
        givens,
        np.array([technique.family != "single" for technique in repertoire]),
    )


@njit(cache=True)
def _solve(
    question: Question, selected: NDArray[np.bool_], used: NDArray[np.bool_]
) -> tuple[int, bool]:
    """The length of the route by some techniques, and whether it solves the puzzle.

    Parameters
    ----------
    selected, used : (T,) those that may be used, and those that were; written.
    """
    plan, records = question.plan, question.records
    question.board[:] = question.start
    nothing = np.empty(0, np.uint64)
    few = Plan(plan.order[selected], plan.widest, plan.finders, plan.clock)
    steps, status = run(question.layout, question.board, few, nothing, -1, records)
    used[:] = False
    for step in range(steps):
        used[question.columns[records[step, TECHNIQUE]]] = True
    return steps, status == SOLVED


@njit(cache=True)
def _is_needed(question: Question, steps: int) -> bool:
    """Whether the slice of the route just found has a step of the technique."""
    records, words = question.records, question.layout.rules.shape[1]
    opened = question.start[OPEN, :words]
    kept = needed(
        records[:steps, REMOVES : REMOVES + words],
        records[:steps, REMOVES + words : REMOVES + 2 * words],
        records[:steps, PLACES],
        opened,
        ~np.zeros_like(opened),
    )
    technique = question.plan.order[question.place]
    is_needed = False
    for step in range(steps):
        is_needed |= kept[step] and records[step, TECHNIQUE] == technique
    return is_needed


@njit(cache=True)
def _hardest(question: Question, used: NDArray[np.bool_], besides: NDArray[np.bool_]) -> int:
    """The hardest technique of those used that writes no digits and is not besides; or -1."""
    place = used.shape[0] - 1
    while place >= 0 and (
        not used[place] or besides[place] or not question.hard[place] or place == question.place
    ):
        place -= 1
    return place


@njit(cache=True)
def _stuck(question: Question, selected: NDArray[np.bool_], used: NDArray[np.bool_]) -> int:
    """The grade of a puzzle in which the route just found gets stuck."""
    layout, goal = question.layout, question.goal
    goal[:] = question.board
    selected[question.place] = False
    _solve(question, selected, used)
    selected[question.place] = True
    if leaves_no_more(layout, question.board, goal):
        return UNUSED
    left = 0
    for cell in range(layout.cells):
        if not goal[WRITTEN, cell]:
            left += popcount(goal[MASKS, cell])
    return max(NEEDED, STUCK - FOR_EACH * left)


@njit(cache=True)
def grade_of(question: Question, puzzle: Givens, most: int) -> int:
    """How near a puzzle with one solution comes; at most `most` others are taken out.

    Taken out is what stands in for the technique: the hardest that the route without it uses
    and the route with it does not, or the hardest of all if there is no such or it is not used.
    """
    place = question.place
    selected = np.ones(question.plan.order.shape[0], np.bool_)
    none = np.zeros_like(selected)
    used, instead = np.zeros_like(selected), np.zeros_like(selected)
    if question.givens and np.count_nonzero(puzzle) != question.givens:
        return UNUSED
    load_givens(question.layout, question.start, puzzle)
    grade = UNUSED
    for lacking in range(most + 1):
        steps, solved = _solve(question, selected, used)
        if used[question.last + 1 :].any():
            break
        if not solved:
            if used[place] and most and not lacking:
                grade = _stuck(question, selected, instead)
            break
        if used[place]:
            if most and not lacking:
                grade = NEEDED if _is_needed(question, steps) else USED
            selected[place] = False
            steps, solved = _solve(question, selected, instead)
            selected[place] = True
            if not solved:
                return ESSENTIAL - lacking * STEP
            stands_in = _hardest(question, instead, used)
            if stands_in < 0:
                stands_in = _hardest(question, instead, none)
        else:
            stands_in = _hardest(question, used, none)
        if stands_in < 0:
            break
        selected[stands_in] = False
    return grade


@njit(cache=True)
def draw_each(
    room: Room,
    question: Question,
    puzzles: NDArray[np.int8],
    solutions: NDArray[np.int8],
    most: int,
    grades: Ints,
    source: Source,
) -> None:
    """Delete givens of (N, C) grids, and grade what is left."""
    for i in range(puzzles.shape[0]):
        thin(room, puzzles[i], solutions[i], question.givens, source)
        grades[i] = grade_of(question, puzzles[i], most)


@njit(cache=True)
def _varied(
    room: Room,
    question: Question,
    puzzle: Givens,
    solution: Givens,
    variant: Givens,
    grid: Givens,
    source: Source,
) -> bool:
    """Write a variant of a puzzle beside it, with its solution; False if that took too long."""
    variant[:], grid[:] = puzzle, solution
    out = 1 + draw(source, 3) // 2
    if draw(source, OTHER_GRID) == 0:
        prefer = np.empty(room.stack.shape[1], np.uint32)
        none, tally = np.empty(0, np.int64), np.zeros(1, np.int64)
        order = np.arange(puzzle.shape[0])
        shuffle(source, order)
        for cell in order:
            if out and variant[cell]:
                out -= 1
                for i in range(room.turned.shape[1]):
                    variant[room.turned[cell, i]] = 0
        prefer_any(source, prefer)
        list_ways(room, variant, prefer, none, 0, tally, grid)
    return vary(room, variant, grid, out, question.givens, ANY, source)


@njit(cache=True)
def climb(
    room: Room,
    question: Question,
    puzzle: Givens,
    solution: Givens,
    state: Ints,
    most: int,
    source: Source,
) -> int:
    """Vary a puzzle in its place at most so often, keep what is no worse; how often it was."""
    variant, grid = puzzle.copy(), solution.copy()
    tested = 0
    while tested < most and state[REACHED] < ESSENTIAL and state[SINCE] < PATIENCE:
        tested += 1
        state[SINCE] += 1
        if not _varied(room, question, puzzle, solution, variant, grid, source):
            continue
        grade = grade_of(question, variant, MOST)
        if grade >= state[REACHED]:
            if grade > state[REACHED]:
                state[SINCE] = 0
            state[REACHED] = grade
            puzzle[:], solution[:] = variant, grid
    return tested


@njit(cache=True)
def stray(
    room: Room,
    question: Question,
    puzzle: Givens,
    solution: Givens,
    state: Ints,
    most: int,
    source: Source,
) -> int:
    """Vary a puzzle in its place, and keep each variant in which the technique is essential too.

    Parameters
    ----------
    state : `REACHED` counts the variants kept, `SINCE` those tested since; written.
    most : variants tested at most, which come to an end after `MOVES` are kept.

    Returns
    -------
    How many were tested.
    """
    variant, grid = puzzle.copy(), solution.copy()
    tested = 0
    while tested < most and state[REACHED] < MOVES:
        tested += 1
        state[SINCE] += 1
        if not _varied(room, question, puzzle, solution, variant, grid, source):
            continue
        if (variant != puzzle).any() and grade_of(question, variant, 0) == ESSENTIAL:
            state[REACHED] += 1
            state[SINCE] = 0
            puzzle[:], solution[:] = variant, grid
    return tested
