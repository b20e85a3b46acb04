"""One suite over every encoding, clausal or for CP-SAT: it is tested by being listed.

The clausal ones are all of `ENCODINGS` with all of `AT_MOST_ONE`; the published two see more
states than all.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache, lru_cache
from typing import Any

import pytest
from ortools.sat.python import cp_model
from pysat.solvers import Solver

from gridcrux.encodings import ENCODINGS, get_encoding
from gridcrux.encodings.at_most_one import AT_MOST_ONE
from gridcrux.encodings.cnf import Cnf, givens_as_units, reduced
from gridcrux.encodings.cp import MODELS, Program
from gridcrux.engines import get_engine
from gridcrux.engines.solution import as_digits
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import State, bits

NAMES = [get_encoding(f"{halves}-{way}").name for way in AT_MOST_ONE for halves in ENCODINGS]
PUBLISHED = ("minimal", "extended")

LAYOUTS = {
    "4x4": boxes(2, 2),
    "4x4 with diagonals": boxes(2, 2).with_diagonals(),
    "Latin square of order 5": latin(5),
    "irregular 5x5": regions("EBAAA EBADA EBBDD ECBDD ECCCC"),
    "6x6": boxes(2, 3),
    "9x9": NINE,
    "9x9 with diagonals": NINE.with_diagonals(),
}

FEW = ("irregular 5x5", "6x6", "9x9 with diagonals")
"""Of different sizes, for what is tried with every encoding."""


@pytest.fixture(scope="module", params=NAMES)
def encoding(request: pytest.FixtureRequest) -> str:
    """All tests of one encoding come together, so that its formulas are written once."""
    return request.param


def near(layout: Layout, rng: random.Random, blanks: int) -> State:
    """A grid of the layout with blanks, and with some candidates that are not in it closed."""
    first = State.empty(layout)
    for cell, digit in enumerate(rng.sample(range(layout.size), layout.size)):
        first = first.with_placed(digit * layout.cells + cell)
    grid = list(next(get_engine("sat").solutions(first)))
    true = State.from_digits(grid, layout).open
    for cell in rng.sample(range(layout.cells), blanks):
        grid[cell] = 0
    state = State.from_digits(grid, layout)
    others = state.open & ~true
    return state.without(sum(1 << k for k in bits(others) if rng.random() < 0.1))


def mixed(layout: Layout, rng: random.Random, number: int) -> list[State]:
    """States near a grid; every second one has lost a candidate, mostly of its solutions."""
    states = []
    for step in range(number):
        state = near(layout, rng, layout.cells * 5 // 9)
        if step % 2:
            state = state.without(1 << rng.choice(list(bits(state.open))))
        states.append(state)
    return states


@cache
def cases(name: str) -> list[tuple[State, set[tuple[int, ...]]]]:
    """States of a layout, of which the first two serve for many, and their solutions."""
    engine = get_engine("kernel")
    states = mixed(LAYOUTS[name], random.Random(name), 6)
    found = [(state, set(engine.solutions(state))) for state in states]
    assert len({len(solutions) for _, solutions in found}) > 1
    return found


@cache
def broken(name: str) -> list[State]:
    """A cell without a digit, a digit without a place, two cells with the same only digit."""
    layout = LAYOUTS[name]
    state = near(layout, random.Random(name), layout.cells // 3)
    written = sum(1 << k for k in bits(state.open) if state.placed >> k % layout.cells & 1)
    unwritten = [rule.mask for rule in layout.rules if not rule.mask & written]
    twice = [list(range(1, layout.size + 1))] * layout.cells
    twice[0] = twice[layout.size - 1] = [2]
    return [
        state.without(unwritten[0]),
        state.without(unwritten[-1]),
        State.from_marks(twice, layout),
    ]


@lru_cache(maxsize=8)
def formula(encoding: str, name: str) -> Cnf:
    return get_encoding(encoding)(LAYOUTS[name])


def models(cnf: Cnf, state: State, most: int = 2000) -> Iterator[int]:
    """The solutions of a state as masks, by a solver that knows the clauses alone."""
    with Solver(name="cadical153", bootstrap_with=cnf.clauses) as solver:
        for unit in givens_as_units(state):
            solver.add_clause(unit)
        for _ in range(most):
            if not solver.solve():
                return
            true = [literal for literal in solver.get_model() if 0 < literal <= cnf.candidates]
            yield sum(1 << variable - 1 for variable in true)
            solver.add_clause([-variable for variable in true])
    raise AssertionError(f"the test wants states with fewer than {most} solutions")


def assert_models(cnf: Cnf, state: State, expected: set[tuple[int, ...]]) -> None:
    found = list(models(cnf, state))
    assert len(set(found)) == len(found)
    rules = state.layout.rules
    assert all((rule.mask & mask).bit_count() == 1 for mask in found for rule in rules)
    assert {as_digits(mask, state.layout) for mask in found} == expected


@pytest.mark.parametrize(
    ("layout", "number"),
    [
        (boxes(2, 2), 288),  # OEIS A107739
        (latin(4), 576),  # OEIS A002860 (from memory)
    ],
    ids=["4x4", "latin 4"],
)
@pytest.mark.parametrize("published", PUBLISHED)
def test_published_counts(published: str, layout: Layout, number: int) -> None:
    cnf = get_encoding(published)(layout)
    for formula in (cnf, cnf.distinct()):
        found = list(models(formula, State.empty(layout)))
        assert len(found) == len(set(found)) == number


def test_published_count_in_every_way(encoding: str) -> None:
    """288 grids, OEIS A107739."""
    assert len(set(models(get_encoding(encoding)(boxes(2, 2)), State.empty(boxes(2, 2))))) == 288


@pytest.mark.parametrize("name", LAYOUTS)
@pytest.mark.parametrize("published", PUBLISHED)
def test_models_are_the_solutions(published: str, name: str) -> None:
    """Against another engine; half of the states have lost a candidate of a solution."""
    for state, expected in cases(name):
        assert_models(formula(published, name), state, expected)


@pytest.mark.parametrize("name", FEW)
def test_models_are_the_solutions_in_every_way(encoding: str, name: str) -> None:
    for state, expected in cases(name)[:2]:
        assert_models(formula(encoding, name), state, expected)


def test_contradictions_have_no_model(encoding: str) -> None:
    for name in FEW:
        with Solver(name="cadical153", bootstrap_with=formula(encoding, name).clauses) as solver:
            for state in broken(name):
                assert not solver.solve(assumptions=[unit for (unit,) in givens_as_units(state)])
            assert solver.solve()


def assert_reduced(cnf: Cnf, state: State) -> None:
    """The reduced formula speaks of what is unwritten, and has the models of the state."""
    written = sum(1 << k for k in bits(state.open) if state.placed >> k % state.layout.cells & 1)
    small = reduced(cnf, state)
    assert len(small.clauses) < len(cnf.clauses)
    assert (small.variables, small.auxiliary) == (cnf.variables, cnf.auxiliary)
    unwritten = {k + 1 for k in bits(state.open & ~written)}
    mentioned = {abs(literal) for clause in small.clauses for literal in clause}
    candidates = {variable for variable in mentioned if variable <= cnf.candidates}
    assert candidates <= unwritten
    # What no clause mentions any more is closed, so that models can be compared.
    free = [(-v,) for v in range(1, cnf.candidates + 1) if v not in mentioned]
    whole = Cnf(small.name, small.variables, (*small.clauses, *free), small.auxiliary)
    found = {mask | written for mask in models(whole, State.empty(state.layout))}
    assert found == set(models(cnf, state))


@pytest.mark.parametrize("name", LAYOUTS)
@pytest.mark.parametrize("published", PUBLISHED)
def test_reduced_formula_has_the_models_of_the_state(published: str, name: str) -> None:
    rng = random.Random(name)
    for _ in range(3):
        assert_reduced(formula(published, name), near(LAYOUTS[name], rng, LAYOUTS[name].cells // 2))


def test_reduced_formula_in_every_way(encoding: str) -> None:
    for name in FEW:
        assert_reduced(formula(encoding, name), cases(name)[0][0])


def test_every_variable_has_its_place(encoding: str) -> None:
    """Candidates first, then auxiliary variables; none without a clause, and no empty clause."""
    for name in FEW:
        cnf = formula(encoding, name)
        assert cnf.candidates == LAYOUTS[name].candidates
        assert cnf.variables == cnf.mentioned() == cnf.candidates + cnf.auxiliary
        assert all(clause for clause in cnf.clauses)
        assert get_encoding(encoding)(LAYOUTS[name]) == cnf


def shown(program: Program) -> list[int]:
    """The solutions of a CP-SAT model, all that the solver shows; both readings agree."""
    found: list[int] = []

    class Listener(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            mask = program.solution(self.value)
            if program.literals:
                true = {k for k, literal in program.literals.items() if self.value(literal)}
                assert true == set(program.literals) & set(bits(mask))
            found.append(mask)

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.enumerate_all_solutions = True
    status = solver.solve(program.model, Listener())
    assert status == (cp_model.OPTIMAL if found else cp_model.INFEASIBLE)
    return found


@pytest.fixture(params=MODELS)
def program(request: pytest.FixtureRequest) -> Any:
    return MODELS[request.param]


@pytest.mark.parametrize("name", LAYOUTS)
def test_cp_models_have_the_solutions(program: Any, name: str) -> None:
    """Also with a literal for every open candidate, where a model has none by itself."""
    for number, (state, expected) in enumerate(cases(name)):
        stated = program(state)
        if number % 3 == 2:
            for candidate in bits(state.open):
                assert stated.literal(candidate) is stated.literal(candidate)
        found = shown(stated)
        assert len(found) == len(set(found)) == len(expected)
        assert {as_digits(mask, state.layout) for mask in found} == expected


def test_cp_models_have_the_published_count(program: Any) -> None:
    """288 grids, OEIS A107739."""
    assert len(set(shown(program(State.empty(boxes(2, 2)))))) == 288


@pytest.mark.parametrize("name", LAYOUTS)
def test_cp_models_of_contradictions(program: Any, name: str) -> None:
    for state in broken(name):
        assert shown(program(state)) == []


@pytest.mark.parametrize("name", ["4x4", "irregular 5x5", "6x6"])
def test_cp_models_close_and_ask(program: Any, name: str) -> None:
    """A closed candidate is in no solution; a true literal keeps the solutions that have it."""
    state, expected = max(cases(name), key=lambda case: len(case[1]))
    everything = set(shown(program(state)))
    assert len(everything) == len(expected) > 1
    for candidate in list(bits(state.open))[::7]:
        having = {mask for mask in everything if mask >> candidate & 1}
        asked, closed = program(state), program(state)
        asked.model.add_bool_or(asked.literal(candidate))
        closed.close(candidate)
        assert set(shown(asked)) == having
        assert set(shown(closed)) == everything - having
