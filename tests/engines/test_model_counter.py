"""Numbers by the model counter are those of enumeration, whatever the encoding."""

from __future__ import annotations

import random

import pytest

from gridcrux.encodings import get_encoding
from gridcrux.engines import apart, get_counter, get_engine
from gridcrux.engines.model_counter import GanakCounter
from gridcrux.engines.remainder import remainder
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State

pytest.importorskip("pyganak", reason="there is no pyganak for Windows")

# Inkala 2010, as printed by newspapers: needs search.
HARD = "005300000800000020070010500400005300010070006003200080060500009004000030000009700"


@pytest.mark.parametrize(
    "encoding", ["extended", "minimal", "minimal-sequential", "dual-totalizer"]
)
def test_every_encoding_gives_the_same_number(encoding: str) -> None:
    """288 grids of 4x4 (OEIS A107739), a quarter with 1 in the corner."""
    counter = GanakCounter(encoding)
    assert counter.name == ("ganak" if encoding == "extended" else f"ganak/{encoding}")
    count = counter.count(State.empty(boxes(2, 2)).with_placed(0), 10**30)
    assert (count.value, count.complete) == (72, True)
    assert get_counter(f"ganak/{encoding}").name == counter.name


def test_numbers_are_those_of_the_kernel() -> None:
    rng = random.Random(2)
    counter, kernel = GanakCounter(), get_engine("kernel")
    for gone in (0, 1):
        digits = [int(mark) for mark in HARD]
        for cell in rng.sample([c for c in range(81) if digits[c]], gone):
            digits[cell] = 0
        state = State.from_digits(digits)
        number = kernel.count(state, 10**9).value
        assert counter.count(state, 10**9).value == number


def test_what_the_state_satisfies_is_not_counted() -> None:
    state = State.from_digits([int(mark) for mark in HARD])
    cnf = get_encoding("minimal-ladder")(NINE).distinct()
    left = remainder(cnf, state)
    assert left.candidates == state.open.bit_count() - state.placed.bit_count()
    literals = {abs(literal) for clause in left.clauses for literal in clause}
    assert literals == set(range(1, left.variables + 1))
    assert left.variables > left.candidates
    effort = GanakCounter("minimal-ladder").count(state, 1).effort
    assert effort == {"clauses": len(left.clauses), "variables": left.variables}


def test_missing_library_is_named_with_the_way_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(apart, "find_spec", lambda name: None)
    with pytest.raises(ModuleNotFoundError, match=r"pip install pyganak .*Windows"):
        GanakCounter()
