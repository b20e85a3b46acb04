"""Names, refusals, auxiliary variables and effort of solvers as they are."""

from __future__ import annotations

from itertools import islice

import pytest

from gridcrux.encodings import ENCODINGS, get_encoding
from gridcrux.engines import get_engine
from gridcrux.engines.plain import SOLVERS, USES, PlainEngine, path_of
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State

# Inkala 2010, as printed by newspapers: needs search.
HARD = "005300000800000020070010500400005300010070006003200080060500009004000030000009700"


def variations() -> list[State]:
    """A puzzle, with each of some givens taken away, and each of these without its solution."""
    states = []
    digits = [int(mark) for mark in HARD]
    for gone in (None, *[cell for cell in range(81) if digits[cell]][:3]):
        state = State.from_digits([0 if cell == gone else d for cell, d in enumerate(digits)])
        grid = next(get_engine("kernel").solutions(state))
        true = next(cell for cell in range(81) if not state.placed >> cell & 1)
        states += [state, state.without(1 << (grid[true] - 1) * 81 + true)]
    return states


@pytest.mark.parametrize("use", USES)
@pytest.mark.parametrize("encoding", [*ENCODINGS, "minimal", "dual"])
def test_a_path_names_the_engine_that_it_makes(encoding: str, use: str) -> None:
    path = path_of("minicard", encoding, use)
    engine = PlainEngine.from_path(path)
    assert engine.name == path
    assert path.split("/") == [
        part for part in ("minicard", encoding, use) if part not in ("extended", "incremental")
    ]


@pytest.mark.parametrize(
    ("solver", "encoding", "use", "message"),
    [
        ("minisat99", "extended", "fresh", "'minisat99'; there are cadical103"),
        ("minisat22", "extended", "twice", "'twice': expected incremental or fresh"),
        ("minisat22", "shortest", "fresh", "'shortest'"),
    ],
)
def test_what_does_not_exist_is_refused(solver: str, encoding: str, use: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        PlainEngine(solver, encoding, use)


def test_only_what_takes_assumptions_is_incremental() -> None:
    for solver, traits in SOLVERS.items():
        if traits.assumes:
            assert PlainEngine(solver).name == solver
        else:
            with pytest.raises(ValueError, match=f"ask for {solver}/minimal/fresh"):
                PlainEngine(solver, "minimal")


@pytest.mark.parametrize("use", USES)
@pytest.mark.parametrize("encoding", ["minimal-sequential", "extended-totalizer", "dual-bitwise"])
def test_auxiliary_variables_do_not_multiply_solutions(encoding: str, use: str) -> None:
    """288 grids of 4x4 (OEIS A107739), a quarter with 1 in the corner."""
    assert get_encoding(encoding)(boxes(2, 2)).auxiliary > 0
    engine = PlainEngine("glucose3", encoding, use)
    state = State.empty(boxes(2, 2)).with_placed(0)
    assert engine.count(state, 1000).value == 72
    found = list(engine.solutions(state))
    assert len(set(found)) == len(found) == 72
    assert engine.support(state).occurs == state.open


def test_incremental_results_do_not_depend_on_what_went_before() -> None:
    states = variations()
    fresh = PlainEngine("cadical195", use="fresh")
    expected = [(fresh.count(s, 20).value, fresh.support(s).occurs) for s in states]
    assert len({value for value, _ in expected}) > 2
    for solver in ("cadical195", "mergesat3", "lingeling"):
        engine = PlainEngine(solver)
        order = [*range(8), *reversed(range(8))]
        found = [
            (engine.count(states[i], 20).value, engine.support(states[i]).occurs) for i in order
        ]
        assert found == [expected[i] for i in order]


def test_incremental_use_keeps_what_it_learns_and_fresh_use_does_not() -> None:
    state = State.from_digits([int(mark) for mark in HARD])
    fresh, incremental = PlainEngine("minisat22", use="fresh"), PlainEngine("minisat22")
    efforts = [fresh.count(state, 1).effort for _ in range(3)]
    assert efforts[0]["conflicts"] > 0
    assert efforts[0] == efforts[1] == efforts[2]
    first, *_, last = [incremental.count(state, 1).effort for _ in range(5)]
    assert last["conflicts"] < first["conflicts"]


def test_encodings_differ_in_what_a_solver_has_to_do() -> None:
    state = State.from_digits([int(mark) for mark in HARD])
    minimal = PlainEngine("minisat22", "minimal", "fresh").count(state, 1).effort
    extended = PlainEngine("minisat22", "extended", "fresh").count(state, 1).effort
    assert extended["decisions"] < minimal["decisions"]


def test_abandoned_enumerations_and_counts_cut_short_leave_nothing() -> None:
    engine = PlainEngine("cadical195")
    state = variations()[2]
    expected = engine.support(state).occurs
    for _ in range(3):
        assert len(list(islice(engine.solutions(state), 1))) == 1
        engine.count(State.empty(NINE), 10**9, seconds=0.02)
        engine.support(state, seconds=0.0005)
        assert engine.support(state).occurs == expected
