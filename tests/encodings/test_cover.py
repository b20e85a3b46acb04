"""The matrix says which candidate belongs to which rule, and its covers are the solutions."""

from __future__ import annotations

import numpy as np
import pytest

from gridcrux.encodings.cover import exact_cover
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State


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


def test_covers_are_the_solutions_of_the_sat_engine() -> None:
    xcover = pytest.importorskip("xcover", reason="xcover, a solver of exact covers, is missing")
    layout = boxes(2, 2)
    puzzle = State.from_digits([0, 2, 0, 0, 0, 0, 0, 0, 0, 0, 0, 3, 1, 0, 0, 0])
    for state in (State.empty(layout), puzzle, puzzle.without(1 << 20)):
        problem = exact_cover(state)
        covers = {problem.solution(chosen) for chosen in xcover.covers_bool(problem.matrix)}
        assert covers == {problem.solution(chosen) for chosen in xcover.covers(problem.options)}
        assert covers == {
            sum(1 << (digit - 1) * 16 + cell for cell, digit in enumerate(digits))
            for digits in get_engine("sat").solutions(state)
        }
        assert covers
