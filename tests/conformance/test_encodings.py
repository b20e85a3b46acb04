"""One suite over every clausal encoding: it is tested by being listed in `ENCODINGS`."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

import pytest
from pysat.solvers import Solver

from gridcrux.encodings import ENCODINGS
from gridcrux.encodings.cnf import Cnf, givens_as_units, reduced
from gridcrux.engines import get_engine
from gridcrux.engines.solution import as_digits
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import State, bits

LAYOUTS = {
    "4x4": boxes(2, 2),
    "4x4 with diagonals": boxes(2, 2).with_diagonals(),
    "Latin square of order 5": latin(5),
    "irregular 5x5": regions("EBAAA EBADA EBBDD ECBDD ECCCC"),
    "6x6": boxes(2, 3),
    "9x9": NINE,
    "9x9 with diagonals": NINE.with_diagonals(),
}


@pytest.fixture(params=ENCODINGS)
def encoding(request: pytest.FixtureRequest) -> Callable[[Layout], Cnf]:
    return ENCODINGS[request.param]


def models(cnf: Cnf, state: State, most: int = 2000) -> Iterator[int]:
    """The solutions of a state as masks, by a solver that knows the clauses alone."""
    with Solver(name="cadical153", bootstrap_with=cnf.clauses) as solver:
        for unit in givens_as_units(state):
            solver.add_clause(unit)
        for _ in range(most):
            if not solver.solve():
                return
            true = [literal for literal in solver.get_model() if 0 < literal <= cnf.variables]
            yield sum(1 << variable - 1 for variable in true)
            solver.add_clause([-variable for variable in true])
    raise AssertionError(f"the test wants states with fewer than {most} solutions")


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


@pytest.mark.parametrize(
    ("layout", "number"),
    [
        (boxes(2, 2), 288),  # OEIS A107739
        (latin(4), 576),  # OEIS A002860 (from memory)
    ],
    ids=["4x4", "latin 4"],
)
def test_published_counts(encoding: Callable[[Layout], Cnf], layout: Layout, number: int) -> None:
    cnf = encoding(layout)
    for formula in (cnf, cnf.distinct()):
        found = list(models(formula, State.empty(layout)))
        assert len(found) == len(set(found)) == number


@pytest.mark.parametrize("name", LAYOUTS)
def test_models_are_the_solutions(encoding: Callable[[Layout], Cnf], name: str) -> None:
    """Against another engine; half of the states have lost a candidate of a solution."""
    rng = random.Random(name)
    layout = LAYOUTS[name]
    cnf = encoding(layout)
    engine = get_engine("kernel")
    numbers = []
    for step in range(6):
        state = near(layout, rng, layout.cells * 5 // 9)
        if step % 2:
            state = state.without(1 << rng.choice(list(bits(state.open))))
        found = list(models(cnf, state))
        assert len(set(found)) == len(found)
        expected = set(engine.solutions(state))
        assert {as_digits(mask, layout) for mask in found} == expected
        numbers.append(len(found))
    assert len(set(numbers)) > 1


@pytest.mark.parametrize("name", LAYOUTS)
def test_reduced_formula_has_the_models_of_the_state(
    encoding: Callable[[Layout], Cnf], name: str
) -> None:
    rng = random.Random(name)
    layout = LAYOUTS[name]
    cnf = encoding(layout)
    for _ in range(3):
        state = near(layout, rng, layout.cells * 5 // 9)
        written = sum(1 << k for k in bits(state.open) if state.placed >> k % layout.cells & 1)
        small = reduced(cnf, state)
        assert len(small.clauses) < len(cnf.clauses)
        unwritten = [k + 1 for k in bits(state.open & ~written)]
        mentioned = {abs(literal) for clause in small.clauses for literal in clause}
        assert mentioned <= set(unwritten)
        # What no clause mentions any more is closed, so that models can be compared.
        free = [(-v,) for v in range(1, cnf.variables + 1) if v not in mentioned]
        whole = Cnf(small.name, small.variables, (*small.clauses, *free))
        empty = State.empty(layout)
        found = {mask | written for mask in models(whole, empty)}
        assert found == set(models(cnf, state))


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_variable_is_a_candidate(encoding: Callable[[Layout], Cnf], name: str) -> None:
    layout = LAYOUTS[name]
    cnf = encoding(layout)
    assert cnf.variables == cnf.mentioned() == layout.candidates
    assert all(clause for clause in cnf.clauses)
    assert encoding(layout) == cnf
