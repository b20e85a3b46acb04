"""CP-SAT hands out solutions: they come in batches, the same ones each time, and none is lost."""

from __future__ import annotations

import random
from collections.abc import Callable
from itertools import islice
from typing import Any

import pytest

from gridcrux.encodings.cp import MODELS
from gridcrux.engines import get_engine
from gridcrux.engines.cp import CpEngine, _Search
from gridcrux.engines.limits import Deadline
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State, bits


@pytest.fixture
def enumerations(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """For each enumeration begun, how many solutions it has shown."""
    shown: list[int] = []
    original = _Search.enumerate

    def watched(search: _Search, deadline: Deadline, accept: Callable[[Any], bool]) -> bool:
        shown.append(0)

        def counted(listener: Any) -> bool:
            shown[-1] += 1
            return accept(listener)

        return original(search, deadline, counted)

    monkeypatch.setattr(_Search, "enumerate", watched)
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


def test_booleans_are_the_open_candidates_with_one_constraint_a_rule() -> None:
    layout = boxes(2, 3).with_diagonals()
    state = State.empty(layout).without(0b1101)
    program = MODELS["booleans"](state)
    assert list(program.literals) == list(bits(state.open))
    assert program.digits == {}
    assert len(program.model.proto.constraints) == len(layout.rules)


def test_integers_are_the_cells_with_one_constraint_a_house() -> None:
    layout = boxes(2, 3).with_diagonals()
    state = State.empty(layout).without(0b1101)
    program = MODELS["integers"](state)
    assert program.literals == {}
    assert len(program.digits) == len(program.model.proto.variables) == layout.cells
    assert list(program.model.proto.variables[2].domain) == [2, 6]
    assert len(program.model.proto.constraints) == len(layout.houses)


def test_channelled_model_has_both_and_two_links_a_candidate() -> None:
    layout = boxes(2, 3).with_diagonals()
    state = State.empty(layout).without(0b1101)
    program = MODELS["channelled"](state)
    literals = state.open.bit_count()
    assert sorted(program.literals) == list(bits(state.open))
    assert len(program.model.proto.variables) == layout.cells + literals
    expected = len(layout.rules) + len(layout.houses) + 2 * literals
    assert len(program.model.proto.constraints) == expected


def test_name_says_the_model() -> None:
    assert [CpEngine(model).name for model in MODELS] == ["cp", "cp/integers", "cp/channelled"]
    assert CpEngine().name == "cp"
    with pytest.raises(ValueError, match="'floats': expected booleans, integers, channelled"):
        CpEngine("floats")


@pytest.mark.parametrize("model", MODELS)
def test_every_model_is_searched_as_it_stands(model: str) -> None:
    """The same effort twice, another one than with the other models."""
    state = State.from_digits([1, 2, 3, 4, 5, 6, *[0] * 30]).without(0b1000110 << 60)
    efforts = {name: CpEngine(name).count(state, 50).effort for name in MODELS}
    assert CpEngine(model).count(state, 50).effort == efforts[model]
    assert all(efforts[name] != efforts[model] for name in MODELS if name != model)
    support = CpEngine(model).support(state)
    assert support.complete
    assert support.effort["branches"] > 0
    assert support.occurs == get_engine("kernel").support(state).occurs


@pytest.mark.parametrize("model", MODELS)
def test_hints_keep_the_trials_few(monkeypatch: pytest.MonkeyPatch, model: str) -> None:
    """The empty grid wants at least nine solutions, one a digit of a cell."""
    calls = []
    original = _Search.ask

    def counted(search: _Search, *arguments: Any) -> int | None:
        calls.append(arguments)
        return original(search, *arguments)

    monkeypatch.setattr(_Search, "ask", counted)
    assert CpEngine(model).support(State.empty(NINE)).occurs == NINE.full
    assert 9 <= len(calls) <= 40
