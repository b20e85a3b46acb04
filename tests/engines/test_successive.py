"""What the table says of each solver, found again; and states that do not show in later ones."""

from __future__ import annotations

import time
from itertools import combinations, count

import pytest
from pysat.solvers import Solver

from gridcrux.engines.limits import Deadline
from gridcrux.engines.plain import SOLVERS, PlainEngine, _solver
from gridcrux.engines.successive import Search, Standing
from gridcrux.grids.layout import NINE
from gridcrux.grids.state import State

NEVER = Deadline(None)


def pigeons(number: int) -> list[list[int]]:
    """So many pigeons in one hole less, which clause learning refutes in exponential time."""
    holes = number - 1
    places = [[pigeon * holes + hole + 1 for hole in range(holes)] for pigeon in range(number)]
    clashes = [[-a, -b] for column in zip(*places, strict=True) for a, b in combinations(column, 2)]
    return places + clashes


def search(name: str, clauses: list[list[int]], variables: int) -> Search:
    traits = SOLVERS[name]
    solver = _solver(name, clauses)
    return Search(
        solver, variables, count(variables + 1), (), None, traits.gives_up, traits.reports
    )


@pytest.mark.parametrize("name", [name for name, traits in SOLVERS.items() if traits.gives_up])
def test_solver_that_gives_up_does_so_in_time_and_can_be_asked_again(name: str) -> None:
    way_out = 1000
    clauses = [[*clause, way_out] for clause in pigeons(13)]
    found = search(name, clauses, way_out)
    begin = time.monotonic()
    assert found.decide(Deadline(0.1), [-way_out]) is None
    assert time.monotonic() - begin < 2.0
    assert found.effort["conflicts"] > 500
    assert found.decide(NEVER, [way_out]) is True
    assert found.decide(Deadline(60), [way_out, 1]) is True
    assert found.questions == 3


@pytest.mark.parametrize("name", [name for name, traits in SOLVERS.items() if traits.assumes])
def test_solver_takes_assumptions_and_clauses_after_an_answer(name: str) -> None:
    found = search(name, [[1, 2], [-1, -2], [3, 4]], 4)
    assert found.decide(NEVER, [1, 2]) is False
    assert found.decide(NEVER, [1]) is True
    assert set(found.true_variables()) >= {1}
    found.exclude([1])
    assert found.decide(NEVER, [1]) is False
    assert found.decide(NEVER, found.one_of([1, 3])) is True
    assert {2, 3} <= set(found.true_variables())
    found.exclude([3])
    assert found.decide(NEVER, found.one_of([1, 3])) is False
    assert found.decide(NEVER) is True


@pytest.mark.parametrize("name", [name for name, traits in SOLVERS.items() if traits.reports])
def test_what_a_solver_reports_is_counted(name: str) -> None:
    """All of it for a refutation that needs search, and only that."""
    found = search(name, pigeons(7), 42)
    assert not any(found.effort.values())
    assert found.decide(NEVER) is False
    reports = SOLVERS[name].reports
    assert set(found.effort) == set(reports)
    assert all(found.effort.values())
    silent = set(_solver(name, pigeons(7)).accum_stats()) - set(reports)
    assert silent == ({"propagations"} if name in ("maplesat", "maplecm") else set())


@pytest.mark.parametrize("name", [name for name, traits in SOLVERS.items() if not traits.reports])
def test_solver_without_reports_has_none(name: str) -> None:
    with pytest.raises(NotImplementedError):
        _solver(name, pigeons(7)).accum_stats()
    effort = PlainEngine(name, use="fresh").count(State.empty(NINE), 2).effort
    assert effort == {"calls": 3}


def test_exclusions_end_with_the_search_and_literals_are_not_used_twice(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    one_of_three = [[1, 2, 3], [-1, -2], [-1, -3], [-2, -3]]
    made = []

    def make() -> Solver:
        made.append(Solver(name="minisat22", bootstrap_with=one_of_three))
        return made[-1]

    monkeypatch.setattr("gridcrux.engines.successive.ACTIVATIONS", 3)
    standing = Standing(make, 3, 5)
    for turn in range(7):
        # A literal of the search before would take the third model from this one.
        found = standing.search([] if turn % 3 else [-3])
        assert found.decide(NEVER, found.one_of([1, 2])) is True
        assert found.models(9, NEVER) == (3 if turn % 3 else 2, None)
        assert found.decide(NEVER, found.one_of([1, 2])) is False
        found.retire()
        assert len(made) == turn // 3 + 1


def test_no_time_asks_nothing() -> None:
    for name in ("minisat22", "lingeling"):
        found = search(name, [[1]], 1)
        assert found.decide(Deadline(0)) is None
        assert found.questions == 0
