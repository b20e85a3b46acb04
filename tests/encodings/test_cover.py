"""The matrix says which candidate belongs to which rule, and its covers are the solutions."""

from __future__ import annotations

import random

import numpy as np
import pytest

from gridcrux.encodings.cover import ExactCover, exact_cover
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits


def test_matrix_of_the_empty_grid() -> None:
    """729 rows and 324 columns, four rules a candidate, nine candidates a rule."""
    problem = exact_cover(State.empty(NINE))
    assert problem.matrix.shape == (729, 324)
    assert problem.matrix.dtype == np.bool_
    assert (problem.matrix.sum(axis=1) == 4).all()
    assert (problem.matrix.sum(axis=0) == 9).all()
    assert len(problem.columns) == 324


@pytest.mark.parametrize("layout", [boxes(2, 3), latin(5), boxes(2, 2).with_diagonals()])
def test_matrix_is_membership(layout: Layout) -> None:
    state = State.empty(layout).without(0b1011 << 3)
    problem = exact_cover(state)
    assert len(problem.rows) == layout.candidates - 3
    for row, candidate in enumerate(problem.rows):
        assert state.is_open(candidate)
        columns = [number for number, rule in enumerate(layout.rules) if rule.mask >> candidate & 1]
        assert problem.options[row] == columns
        assert np.flatnonzero(problem.matrix[row]).tolist() == columns
        assert layout.candidate_name(candidate).split("=")[0] in problem.columns[columns[0]]


def test_solution_is_the_mask_of_the_chosen_rows() -> None:
    state = State.empty(boxes(2, 2)).without(0b111)
    problem = exact_cover(state)
    assert problem.solution([0, 2]) == 1 << 3 | 1 << 5


def covers(problem: ExactCover) -> set[int]:
    """What a general solver of exact covers finds in the matrix, and in the sparse form."""
    xcover = pytest.importorskip("xcover", reason="xcover, a solver of exact covers, is missing")
    found = {problem.solution(chosen) for chosen in xcover.covers_bool(problem.matrix)}
    sparse = xcover.covers(problem.options, primary=range(len(problem.columns)))
    assert found == {problem.solution(chosen) for chosen in sparse}
    return found


def solutions(state: State) -> set[int]:
    cells = state.layout.cells
    return {
        sum(1 << (digit - 1) * cells + cell for cell, digit in enumerate(digits))
        for digits in get_engine("sat").solutions(state)
    }


def test_covers_of_the_smallest_grids() -> None:
    """288 grids, OEIS A107739."""
    state = State.empty(boxes(2, 2))
    found = covers(exact_cover(state))
    assert len(found) == 288
    assert found == solutions(state)


@pytest.mark.parametrize(
    ("layout", "blanks"),
    [
        (boxes(2, 2).with_diagonals(), 14),
        (latin(5), 15),
        (boxes(2, 3), 22),
        (boxes(2, 4), 38),
        (NINE, 48),
    ],
    ids=["4x4 with diagonals", "latin 5", "6x6", "2x4", "9x9"],
)
def test_covers_are_the_solutions_of_the_sat_engine(layout: Layout, blanks: int) -> None:
    """A grid with blanks, then with candidates closed at random, down to no solution."""
    rng = random.Random(blanks)
    digits = list(next(get_engine("sat").solutions(State.empty(layout))))
    for cell in rng.sample(range(layout.cells), blanks):
        digits[cell] = 0
    state = State.from_digits(digits, layout)
    numbers = []
    while not numbers or numbers[-1]:
        expected = solutions(state)
        assert covers(exact_cover(state)) == expected
        numbers.append(len(expected))
        open_ = list(bits(state.open))
        state = state.without(sum(1 << k for k in rng.sample(open_, len(open_) // 20)))
    assert numbers[0] > 1
