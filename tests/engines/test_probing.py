"""Support by trial, against known sets of solutions and with an oracle that gives up."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from gridcrux.engines.probing import probe


class Oracle:
    """Answers from a list of solutions; counts the calls and gives up after some."""

    def __init__(self, solutions: Sequence[int], patience: int | None = None) -> None:
        self.left = list(solutions)
        self.patience = patience
        self.calls = 0
        self.closed = 0

    def ask(self, trial: Sequence[int], undecided: int) -> int | None:
        if self.calls == self.patience:
            return None
        self.calls += 1
        wanted = sum(1 << candidate for candidate in trial)
        assert not wanted & ~undecided
        for solution in self.left:
            if not trial or solution & wanted:
                return solution
        return 0

    def close(self, trial: Sequence[int]) -> None:
        mask = sum(1 << candidate for candidate in trial)
        assert not any(solution & mask for solution in self.left)
        self.closed |= mask


def some_solutions(number: int, rng: random.Random) -> list[int]:
    return [sum(1 << k for k in rng.sample(range(60), 9)) for _ in range(number)]


@pytest.mark.parametrize("number", [1, 2, 5, 30])
def test_what_occurs_is_the_union_of_the_solutions(number: int) -> None:
    solutions = some_solutions(number, random.Random(number))
    union = 0
    for solution in solutions:
        union |= solution
    open_ = (1 << 60) - 1
    oracle = Oracle(solutions)
    assert probe(open_, oracle.ask, oracle.close) == (union, 0)
    assert oracle.closed == open_ & ~union


def test_no_solution_takes_one_call() -> None:
    oracle = Oracle([])
    assert probe(0b1111, oracle.ask, oracle.close) == (0, 0)
    assert oracle.calls == 1


def test_one_solution_refutes_the_rest_in_few_calls() -> None:
    """1, 4, 16 and 64 candidates at once: four trials for up to 85."""
    oracle = Oracle([1 << 90])
    assert probe((1 << 91) - 1 & ~0b11111, oracle.ask, oracle.close) == (1 << 90, 0)
    assert oracle.calls == 1 + 4


def test_nothing_open_asks_nothing() -> None:
    oracle = Oracle([])
    assert probe(0, oracle.ask, oracle.close) == (0, 0)
    assert oracle.calls == 0


@pytest.mark.parametrize("patience", range(9))
def test_giving_up_leaves_the_rest_undecided(patience: int) -> None:
    solutions = some_solutions(4, random.Random(9))
    union = solutions[0] | solutions[1] | solutions[2] | solutions[3]
    open_ = (1 << 60) - 1
    oracle = Oracle(solutions, patience)
    occurs, undecided = probe(open_, oracle.ask, oracle.close)
    assert not occurs & ~union
    assert not union & ~(occurs | undecided)
    assert undecided == open_ & ~occurs & ~oracle.closed
    assert undecided
