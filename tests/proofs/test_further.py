"""Further givens, against listing the solutions and trying all sets."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State
from gridcrux.proofs.further import further_givens
from gridcrux.proofs.uniqueness import NotUnique


def with_fewer(count, seed, fewer, layout=NINE):
    """Minimal puzzles with some givens taken out."""
    random = np.random.default_rng(seed)
    for item in minimal(count, seed, layout):
        digits = item.puzzle.copy()
        digits[random.choice(np.flatnonzero(digits), fewer, replace=False)] = 0
        yield State.from_digits(digits.tolist(), layout)


def by_listing(state, size):
    """All sets of that many further givens that one solution alone has; by another engine."""
    solutions = [tuple(each) for each in get_engine("sat").solutions(state)]
    blank = [cell for cell, digit in enumerate(state.puzzle) if not digit]
    found = set()
    for cells in combinations(blank, size):
        times = {}
        for solution in solutions:
            key = tuple(solution[cell] for cell in cells)
            times[key] = times.get(key, 0) + 1
        for key, number in times.items():
            if number == 1:
                names = (
                    state.layout.candidate_name((digit - 1) * state.layout.cells + cell)
                    for cell, digit in zip(cells, key, strict=True)
                )
                found.add(frozenset(names))
    return found


@pytest.mark.parametrize(
    ("layout", "fewer"), [(NINE, 1), (NINE, 2), (boxes(2, 2), 2), (boxes(2, 3), 2)]
)
def test_all_choices_of_one_or_two(layout, fewer):
    sizes = set()
    for state in with_fewer(6, 31, fewer, layout):
        if get_engine("kernel").count(state, 60).value == 60:
            continue
        found = further_givens(state)
        for size in (1, 2):
            expected = by_listing(state, size)
            if expected:
                assert (found.upper, found.lower, found.number) == (size, size, len(expected))
                assert {frozenset(names) for names in found.choices} == expected
                sizes.add(size)
                break
        assert get_engine("sat").count(found.state, 2).value == 1
    assert sizes


def test_three_or_more_on_4x4():
    empty = State.from_digits([0] * 16, boxes(2, 2))
    found = further_givens(empty)
    # No 4x4 puzzle with three givens has one solution, some with four have: all were tried.
    assert (found.lower, found.upper) == (4, 4)
    assert get_engine("sat").count(found.state, 2).value == 1
    one = further_givens(State.from_digits([1] + [0] * 15, boxes(2, 2)))
    assert (one.lower, one.upper) == (3, 3)
    assert not by_listing(State.from_digits([1] + [0] * 15, boxes(2, 2)), 2)


def test_three_on_6x6_by_trying_all():
    three = 0
    for state in with_fewer(12, 32, 4, boxes(2, 3)):
        found = further_givens(state, seconds=20)
        assert get_engine("sat").count(found.state, 2).value == 1
        if found.exact and found.upper == 3 and get_engine("kernel").count(state, 800).value < 800:
            assert not by_listing(state, 1)
            assert not by_listing(state, 2)
            three += 1
            if three == 2:
                break
    assert three


def test_time_that_runs_out_leaves_bounds():
    found = further_givens(State.from_digits([0] * 81), seconds=0.3)
    assert found.stopped_by == "seconds"
    assert 1 <= found.lower < found.upper
    assert found.number is None
    assert get_engine("sat").count(found.state, 2).value == 1
    assert "at least" in str(found)


def test_what_has_one_solution_needs_none():
    state = State.from_digits(next(minimal(1, 33)).puzzle.tolist())
    found = further_givens(state)
    assert (found.lower, found.upper, found.exact, found.names) == (0, 0, True, ())
    assert found.state.line == state.line


def test_what_has_none_cannot_be_helped():
    with pytest.raises(NotUnique, match="no solution"):
        further_givens(State.from_digits([1, 2, 3, 0] + [0] * 3 + [4] + [0] * 8))


def test_reads_well():
    found = further_givens(next(with_fewer(1, 34, 1)))
    assert found.row()["further"] == found.upper
    assert found.as_dict()["puzzle"] == found.state.line
    assert "must be added, for example" in str(found)
    assert "<svg" in found._repr_html_()
