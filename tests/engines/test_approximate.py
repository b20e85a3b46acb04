"""Estimates keep their guarantee where the number is known."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gridcrux.engines.approximate import approximate_count
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State

pytest.importorskip("pyapproxmc", reason="there is no pyapproxmc for Windows")

# Inkala 2010, as printed by newspapers: needs search.
HARD = "005300000800000020070010500400005300010070006003200080060500009004000030000009700"
FOURS = 288  # OEIS A107739


def test_estimates_are_within_their_bounds_often_enough() -> None:
    """In ten of ten seeds; 80 % are promised, so three failures would still be no surprise."""
    within = 0
    for seed in range(10):
        count = approximate_count(State.empty(boxes(2, 2)), seed=seed)
        assert not count.exact
        assert count.confidence == 0.8
        assert count.value is not None
        assert count.lower is not None
        assert count.upper is not None
        factor = 1 + Fraction(0.8)
        assert count.lower - 1 < count.value / factor <= count.lower
        assert count.upper <= count.value * factor < count.upper + 1
        within += count.lower <= FOURS <= count.upper
    assert within >= 7


def test_closer_estimates_have_closer_bounds() -> None:
    count = approximate_count(State.empty(boxes(2, 2)), epsilon=0.3, delta=0.1)
    assert count.value is not None
    assert count.confidence == 0.9
    assert FOURS / 1.3 <= count.value <= FOURS * 1.3


def test_few_solutions_are_counted_exactly() -> None:
    state = State.from_digits([int(mark) for mark in HARD])
    row = approximate_count(state).row()
    assert row == {
        "value": 1,
        "lower": 1,
        "upper": 1,
        "confidence": 1.0,
        "exact": True,
        "stopped_by": None,
    }
    # Two digits of the first row left open: 288 / 12 grids.
    count = approximate_count(State.from_digits([1, 2, *[0] * 14]))
    assert (count.value, count.exact) == (24, True)


def test_no_solution_and_a_solved_grid_need_no_estimate() -> None:
    assert approximate_count(State(boxes(2, 2), 0)).value == 0
    solved = State.from_digits([1, 2, 3, 4, 3, 4, 1, 2, 2, 1, 4, 3, 4, 3, 2, 1])
    assert (approximate_count(solved).value, approximate_count(solved).exact) == (1, True)


def test_same_seed_gives_the_same_estimate() -> None:
    state = State.from_digits([1, 2, 3, 4, 5, 6] + [0] * 30)
    assert approximate_count(state, seed=3) == approximate_count(state, seed=3)


@pytest.mark.parametrize("seconds", [0.0, 0.3])
def test_time_up_leaves_no_number(seconds: float) -> None:
    count = approximate_count(State.empty(), seconds=seconds)
    assert (count.value, count.lower, count.upper) == (None, None, None)
    assert (count.exact, count.stopped_by) == (False, "seconds")


@pytest.mark.parametrize(("epsilon", "delta"), [(0, 0.2), (-1, 0.2), (0.8, 0), (0.8, 1)])
def test_bounds_that_make_no_sense_are_refused(epsilon: float, delta: float) -> None:
    with pytest.raises(ValueError, match="expected"):
        approximate_count(State.empty(), epsilon, delta)
