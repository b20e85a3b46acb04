"""What unit propagation and failed literals see in each encoding.

Lynce & Ouaknine, "Sudoku as a SAT problem", ISAIM 2006, claim for puzzles with 17 givens: with
the minimal encoding unit propagation solves none, with the extended one about half, and failed
literals over the extended one solve all.  The exact numbers for the open collections were
recomputed independently of this project.  A general solver propagates here; what the levels of
`proofs.consistency` leave of the same puzzles is compared with it candidate by candidate.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pysat.solvers import Solver

from gridcrux.encodings.clausal import EXTENDED, MINIMAL
from gridcrux.encodings.cnf import givens_as_units
from gridcrux.grids.layout import NINE
from gridcrux.grids.state import State
from gridcrux.proofs.consistency import consistent

pytestmark = pytest.mark.skipif(
    "GRIDCRUX_CORPORA" not in os.environ,
    reason="GRIDCRUX_CORPORA does not name the folder of the open collections",
)


def states(file: str, step: int = 1) -> list[State]:
    lines = (Path(os.environ["GRIDCRUX_CORPORA"]) / file).read_text().split()[::step]
    return [State.from_digits([int(mark) for mark in line.replace(".", "0")]) for line in lines]


@pytest.fixture(scope="module")
def minimal_rules() -> Iterator[Any]:
    with Solver(name="minisat22", bootstrap_with=MINIMAL(NINE).to_pysat()) as solver:
        yield solver


@pytest.fixture(scope="module")
def extended_rules() -> Iterator[Any]:
    with Solver(name="minisat22", bootstrap_with=EXTENDED(NINE).to_pysat()) as solver:
        yield solver


def is_complete(literals: list[int]) -> bool:
    return sum(literal > 0 for literal in literals) == 81


def solved_by_propagation(rules: Any, state: State) -> bool:
    possible, implied = rules.propagate([unit for (unit,) in givens_as_units(state)])
    assert possible
    return is_complete(implied)


def failed_literals(rules: Any, state: State) -> list[int]:
    """A candidate whose assumption propagates to a contradiction is false, until none is left."""
    known = [unit for (unit,) in givens_as_units(state)]
    while True:
        possible, implied = rules.propagate(known)
        assert possible
        if is_complete(implied):
            return implied
        settled = {abs(literal) for literal in implied}
        before = len(known)
        for variable in range(1, 730):
            if variable not in settled and not rules.propagate([*known, variable])[0]:
                known.append(-variable)
        if len(known) == before:
            return implied


def solved_by_failed_literals(rules: Any, state: State) -> bool:
    return is_complete(failed_literals(rules, state))


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


def compare(literals: list[int], end: State) -> None:
    """What is true for the solver is written, and what is false in its cell or for it is closed."""
    layout = end.layout
    true = [literal - 1 for literal in literals if literal > 0]
    closed = sum(1 << (-literal - 1) for literal in literals if literal < 0)
    for candidate in true:
        closed |= layout.conflicts[candidate]
    assert end.open == layout.full & ~closed
    assert end.placed == sum(1 << candidate % layout.cells for candidate in true)


@pytest.mark.parametrize(("file", "step"), [("easy50.txt", 2), ("hardest11.txt", 1)])
def test_the_levels_of_consistency_leave_what_the_solver_leaves(
    minimal_rules: Any, extended_rules: Any, file: str, step: int
) -> None:
    for state in states(file, step):
        known = [unit for (unit,) in givens_as_units(state)]
        compare(minimal_rules.propagate(known)[1], consistent(state, "minimal-units"))
        compare(extended_rules.propagate(known)[1], consistent(state, "extended-units"))
        compare(failed_literals(extended_rules, state), consistent(state, "failed-literals"))


def test_puzzles_with_seventeen_givens(minimal_rules: Any, extended_rules: Any) -> None:
    """Every 50th of 25,000; over all of them the extended encoding solves 45.3 %."""
    puzzles = states("clues17-first25000.txt", step=50)
    assert len(puzzles) == 500
    assert not any(solved_by_propagation(minimal_rules, p) for p in puzzles)
    assert 200 <= sum(solved_by_propagation(extended_rules, p) for p in puzzles) <= 250
    assert all(solved_by_failed_literals(extended_rules, p) for p in puzzles)
