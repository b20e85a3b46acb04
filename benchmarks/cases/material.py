"""The puzzles of the suite, all from stated seeds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from gridcrux.corpus.sample import grids, minimal
from gridcrux.engines.kernel import KernelEngine
from gridcrux.grids.layout import NINE, Layout, usual
from gridcrux.grids.state import State

Digits = NDArray[np.int8]

SEED = 2027
WARM_SEED = SEED + 1
"""Seed of the puzzles that warm up, which are not those that are timed."""


def puzzles(count: int, seed: int = SEED) -> Digits:
    """(count, 81) minimal 9x9 puzzles."""
    return np.array([item.puzzle for item in minimal(count, seed)])


def state_of(digits: Sequence[int] | Digits, layout: Layout = NINE) -> State:
    """The state of digits, 0 for a blank."""
    return State.from_digits([int(digit) for digit in digits], layout)


def line_of(state: State) -> str:
    """The givens of a state with at most nine digits in a line, ``.`` for a blank."""
    return "".join(str(digit or ".") for digit in state.puzzle)


def taken_away(puzzle: Digits, random: np.random.Generator) -> Iterator[State]:
    """The states of a puzzle with one given after the other taken away at random."""
    left = puzzle.copy()
    for cell in random.permutation(np.flatnonzero(puzzle)):
        left[cell] = 0
        yield state_of(left)


def partly_given(size: int, givens: int, count: int) -> list[State]:
    """Random grids, and another, of which so many cells, drawn at random, are given."""
    layout = usual(size)
    states = []
    for number, grid in enumerate(grids(count + 1, SEED, layout)):
        left = grid.copy()
        random = np.random.default_rng([SEED, size, number])
        left[random.permutation(len(grid))[givens:]] = 0
        states.append(state_of(left, layout))
    return states


def with_solutions(most: Sequence[int], seed: int = SEED) -> Iterator[tuple[State, int]]:
    """For each number a state with at most so many solutions, and how many the kernel finds.

    Each is made of a minimal puzzle of its own, from which givens are taken away at random until
    there would be more.
    """
    engine = KernelEngine()
    for number, (item, limit) in enumerate(zip(minimal(len(most), seed), most, strict=True)):
        last, solutions = state_of(item.puzzle), 1
        for state in taken_away(item.puzzle, np.random.default_rng([seed, number])):
            count = engine.count(state, limit)
            if not count.complete:
                break
            last, solutions = state, count.value
        yield last, solutions


def spread(count: int, low: float, high: float) -> list[int]:
    """Numbers from `low` to `high`, evenly on a logarithmic scale."""
    return [int(each) for each in np.geomspace(low, high, count).round()]
