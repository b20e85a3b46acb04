"""CP-SAT hands out solutions: they come in batches, the same ones each time, and none is lost."""

from __future__ import annotations

import random
from collections.abc import Callable
from itertools import islice
from typing import Any

import pytest

from gridcrux.engines.cp import CpEngine, _Program
from gridcrux.engines.limits import Deadline
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State, bits


@pytest.fixture
def enumerations(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """For each enumeration begun, how many solutions it has shown."""
    shown: list[int] = []
    original = _Program.enumerate

    def watched(program: _Program, deadline: Deadline, accept: Callable[[Any], bool]) -> bool:
        shown.append(0)

        def counted(listener: Any) -> bool:
            shown[-1] += 1
            return accept(listener)

        return original(program, deadline, counted)

    monkeypatch.setattr(_Program, "enumerate", watched)
    return shown


def test_solutions_come_in_growing_batches(enumerations: list[int]) -> None:
    stream = CpEngine().solutions(State.empty(boxes(2, 2)))
    assert enumerations == []
    next(stream)
    assert enumerations == [1]
    list(islice(stream, 7))
    assert enumerations == [1, 8]
    assert len(set(stream)) == 288 - 8
    assert enumerations == [1, 8, 64, 288]


@pytest.mark.parametrize("blanks", range(4))
def test_batch_that_holds_exactly_all(enumerations: list[int], blanks: int) -> None:
    """12 grids have a given first row; one solution fills the first batch without being the end."""
    digits = [1, 2, 3, 4, 3, 4, 1, 2, 2, 1, 4, 3, 4, 3, 2, 1]
    for cell in range(blanks):
        digits[cell] = 0
    assert len(list(CpEngine().solutions(State.from_digits(digits)))) == 1
    assert all(number <= 1 for number in enumerations)


def test_count_stops_one_after_the_limit(enumerations: list[int]) -> None:
    engine = CpEngine()
    assert engine.count(State.empty(NINE), 25).value == 25
    assert enumerations == [26]
    assert engine.count(State.empty(boxes(2, 2)), 288).complete
    assert enumerations == [26, 288]


def test_search_is_the_same_each_time() -> None:
    digits = [0] * 36
    digits[:6] = random.Random(2).sample(range(1, 7), 6)
    state = State.from_digits(digits)
    first, second = (CpEngine().count(state, 40) for _ in range(2))
    assert first == second
    assert first.effort["branches"] > 0
    runs = [list(islice(CpEngine().solutions(state), 30)) for _ in range(2)]
    assert runs[0] == runs[1]
    supports = [CpEngine().support(state) for _ in range(2)]
    assert supports[0] == supports[1]


def test_model_has_the_open_candidates_and_one_constraint_a_rule() -> None:
    layout = boxes(2, 3).with_diagonals()
    state = State.empty(layout).without(0b1101)
    program = _Program(state)
    assert list(program.variables) == list(bits(state.open))
    assert len(program.model.proto.constraints) == len(layout.rules)


def test_hints_keep_the_trials_few(monkeypatch: pytest.MonkeyPatch) -> None:
    """The empty grid wants at least nine solutions, one a digit of a cell."""
    calls = []
    original = _Program.ask

    def counted(program: _Program, *arguments: Any) -> int | None:
        calls.append(arguments)
        return original(program, *arguments)

    monkeypatch.setattr(_Program, "ask", counted)
    assert CpEngine().support(State.empty(NINE)).occurs == NINE.full
    assert 9 <= len(calls) <= 40
