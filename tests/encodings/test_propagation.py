"""What unit propagation and failed literals see in each encoding.

Lynce & Ouaknine, "Sudoku as a SAT problem", ISAIM 2006, claim for puzzles with 17 givens: with
the minimal encoding unit propagation solves none, with the extended one about half, and failed
literals over the extended one solve all.  The exact numbers for the open collections were
recomputed independently of this project.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pysat.solvers import Solver

from gridcrux.encodings.cnf import extended, givens_as_units, minimal
from gridcrux.grids.layout import NINE
from gridcrux.grids.state import State

pytestmark = pytest.mark.skipif(
    "GRIDCRUX_CORPORA" not in os.environ,
    reason="GRIDCRUX_CORPORA does not name the folder of the open collections",
)


def states(file: str, step: int = 1) -> list[State]:
    lines = (Path(os.environ["GRIDCRUX_CORPORA"]) / file).read_text().split()[::step]
    return [State.from_digits([int(mark) for mark in line.replace(".", "0")]) for line in lines]


@pytest.fixture(scope="module")
def minimal_rules() -> Iterator[Any]:
    with Solver(name="minisat22", bootstrap_with=minimal(NINE).to_pysat()) as solver:
        yield solver


@pytest.fixture(scope="module")
def extended_rules() -> Iterator[Any]:
    with Solver(name="minisat22", bootstrap_with=extended(NINE).to_pysat()) as solver:
        yield solver


def is_complete(literals: list[int]) -> bool:
    return sum(literal > 0 for literal in literals) == 81


def solved_by_propagation(rules: Any, state: State) -> bool:
    consistent, implied = rules.propagate([unit for (unit,) in givens_as_units(state)])
    assert consistent
    return is_complete(implied)


def solved_by_failed_literals(rules: Any, state: State) -> bool:
    """A candidate whose assumption propagates to a contradiction is false, until none is left."""
    known = [unit for (unit,) in givens_as_units(state)]
    while True:
        consistent, implied = rules.propagate(known)
        assert consistent
        if is_complete(implied):
            return True
        settled = {abs(literal) for literal in implied}
        before = len(known)
        for variable in range(1, 730):
            if variable not in settled and not rules.propagate([*known, variable])[0]:
                known.append(-variable)
        if len(known) == before:
            return False


@pytest.mark.parametrize(
    ("file", "by_minimal", "by_extended", "by_failed_literals"),
    [("easy50.txt", 12, 40, 50), ("hardest11.txt", 0, 1, 9), ("top95.txt", 0, 0, 95)],
)
def test_small_collections(
    minimal_rules: Any,
    extended_rules: Any,
    file: str,
    by_minimal: int,
    by_extended: int,
    by_failed_literals: int,
) -> None:
    puzzles = states(file)
    assert sum(solved_by_propagation(minimal_rules, p) for p in puzzles) == by_minimal
    assert sum(solved_by_propagation(extended_rules, p) for p in puzzles) == by_extended
    assert sum(solved_by_failed_literals(extended_rules, p) for p in puzzles) == by_failed_literals


def test_puzzles_with_seventeen_givens(minimal_rules: Any, extended_rules: Any) -> None:
    """Every 50th of 25,000; over all of them the extended encoding solves 45.3 %."""
    puzzles = states("clues17-first25000.txt", step=50)
    assert len(puzzles) == 500
    assert not any(solved_by_propagation(minimal_rules, p) for p in puzzles)
    assert 200 <= sum(solved_by_propagation(extended_rules, p) for p in puzzles) <= 250
    assert all(solved_by_failed_literals(extended_rules, p) for p in puzzles)
