"""Counting by bands against enumeration, published numbers, and its own sums."""

from __future__ import annotations

import random
import time

import numpy as np
import pytest

from gridcrux.engines import get_engine
from gridcrux.engines.bands.engine import BandCounter
from gridcrux.engines.bands.plan import plan
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State, bits

# The encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
EMPTY = 6_670_903_752_021_072_936_960
"""Felgenhauer & Jarvis, "Enumerating possible Sudoku grids", 2005; OEIS A107739."""
NO_LIMIT = 10**30


@pytest.fixture(scope="module")
def solution() -> tuple[int, ...]:
    return next(get_engine("sat").solutions(State.from_digits([int(mark) for mark in PUZZLE])))


@pytest.fixture(scope="module")
def bands() -> BandCounter:
    return BandCounter()


def thinned(solution: tuple[int, ...], givens: int, rng: random.Random) -> State:
    kept = set(rng.sample(range(81), givens))
    return State.from_digits([d if cell in kept else 0 for cell, d in enumerate(solution)])


def value(state: State) -> int:
    count = BandCounter().count(state, NO_LIMIT)
    assert count.complete
    return count.value


def test_the_empty_grid(bands: BandCounter) -> None:
    count = bands.count(State.empty(NINE), NO_LIMIT)
    assert (count.value, count.complete, count.stopped_by) == (EMPTY, True, None)


def test_one_given_is_one_ninth(bands: BandCounter) -> None:
    for candidate in (0, 400):
        assert value(State.empty(NINE).with_placed(candidate)) * 9 == EMPTY


@pytest.mark.parametrize("seed", range(30))
def test_givens_as_by_enumeration(solution: tuple[int, ...], seed: int) -> None:
    rng = random.Random(seed)
    state = thinned(solution, rng.randrange(21, 32), rng)
    expected = get_engine("kernel").count(state, 5_000_000)
    assert expected.complete
    assert value(state) == expected.value


@pytest.mark.parametrize("seed", range(30))
def test_marks_as_by_enumeration(solution: tuple[int, ...], seed: int) -> None:
    """Candidates closed at random, true ones among them, so that some states have no solution."""
    rng = random.Random(seed)
    state = thinned(solution, rng.randrange(16, 26), rng)
    true = State.from_digits(solution).open
    closed = 0
    for candidate in bits(state.open):
        chance = 0.005 if true >> candidate & 1 else 0.25
        closed |= (rng.random() < chance) << candidate
    state = state.without(closed)
    expected = get_engine("kernel").count(state, 2_000_000)
    assert expected.complete
    assert value(state) == expected.value


def test_some_of_these_states_have_none_and_some_very_many() -> None:
    """The two tests above would be idle if all counts were small."""
    rng = random.Random(0)
    solution = next(get_engine("sat").solutions(State.from_digits([int(x) for x in PUZZLE])))
    counts = [get_engine("kernel").count(thinned(solution, n, rng), 10**6).value for n in (20, 31)]
    assert max(counts) > 10_000


@pytest.mark.parametrize("givens", [10, 12, 14])
def test_the_digits_of_a_cell_share_out_the_solutions(
    solution: tuple[int, ...], givens: int
) -> None:
    """Far beyond enumeration: each part has other givens, other symmetries and another order."""
    rng = random.Random(givens)
    state = thinned(solution, givens, rng)
    cell = rng.choice([c for c in range(81) if not state.placed >> c & 1])
    parts = [value(state.with_placed((digit - 1) * 81 + cell)) for digit in state.digits_of(cell)]
    assert len(parts) > 3
    assert sum(parts) == value(state)


def test_turned_and_relabelled_it_is_the_same(solution: tuple[int, ...]) -> None:
    rng = np.random.default_rng(5)
    grid = np.array(thinned(solution, 13, random.Random(5)).puzzle).reshape(9, 9)
    expected = value(State.from_digits(grid.ravel().tolist()))
    assert expected > 10**9
    names = np.array([0, *(rng.permutation(9) + 1)])
    order = np.concatenate([3 * band + rng.permutation(3) for band in rng.permutation(3)])
    for other in (grid.T, names[grid], grid[order], grid[:, order], names[grid[order].T][order]):
        assert value(State.from_digits(other.ravel().tolist())) == expected


def test_the_number_of_threads_makes_no_difference(solution: tuple[int, ...]) -> None:
    state = thinned(solution, 11, random.Random(3))
    one, three = (BandCounter(threads=n).count(state, NO_LIMIT) for n in (1, 3))
    assert one == three
    assert one.effort["terms"] > 0


def test_complete_grid_and_contradictions(solution: tuple[int, ...]) -> None:
    complete = State.from_digits(solution)
    assert value(complete) == 1
    assert value(complete.without(1 << next(bits(complete.open)))) == 0
    twice = State.empty(NINE).without(0)
    # 1 in r1c1 and in r9c1, in marks that nobody has compared.
    for cell in (0, 72):
        twice = twice.without(sum(1 << d * 81 + cell for d in range(1, 9)))
    assert value(twice) == 0


def test_limit(bands: BandCounter, solution: tuple[int, ...]) -> None:
    state = thinned(solution, 24, random.Random(2))
    number = value(state)
    assert number > 10
    for limit in (1, number - 1, number, number + 1):
        count = bands.count(state, limit)
        expected = (limit, False, "limit") if limit < number else (number, True, None)
        assert (count.value, count.complete, count.stopped_by) == expected
    with pytest.raises(ValueError, match="limit is 0"):
        bands.count(state, 0)


def test_time_is_up(solution: tuple[int, ...]) -> None:
    state = thinned(solution, 6, random.Random(1))
    BandCounter().count(thinned(solution, 24, random.Random(1)), NO_LIMIT)
    began = time.monotonic()
    count = BandCounter().count(state, NO_LIMIT, seconds=0.3)
    assert (count.value, count.complete, count.stopped_by) == (0, False, "seconds")
    assert time.monotonic() - began < 3


def test_progress_ends_at_the_total(solution: tuple[int, ...]) -> None:
    told: list[tuple[int, int]] = []
    counter = BandCounter(progress=lambda done, total: told.append((done, total)))
    count = counter.count(thinned(solution, 10, random.Random(8)), NO_LIMIT)
    assert len(told) > 3
    assert sorted(told) == told
    assert told[-1] == (count.effort["terms"], count.effort["terms"])


@pytest.mark.parametrize("layout", [boxes(2, 2), latin(9), NINE.with_diagonals()])
def test_other_layouts_are_refused(layout: object) -> None:
    with pytest.raises(ValueError, match="only 9x9 with boxes"):
        plan(State.empty(layout))  # type: ignore[arg-type]


def test_too_much_work_is_refused(bands: BandCounter) -> None:
    """Every digit is treated in a way of its own, so that none can be exchanged."""
    rng = random.Random(4)
    state = State.empty(NINE)
    state = state.without(sum(1 << rng.randrange(729) for _ in range(1)))
    for digit in range(9):
        state = state.without(1 << digit * 81 + rng.randrange(81))
    assert not plan(state).feasible
    with pytest.raises(ValueError, match="too much to join"):
        bands.count(state, NO_LIMIT)
