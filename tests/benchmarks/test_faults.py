"""A wrong answer is reported, whatever it is an answer to, and is not averaged away."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import suite
from cases import enumeration, support, uniqueness
from cases.counting import Decade, crossing, measure
from cases.material import line_of, partly_given, puzzles, spread, state_of, with_solutions
from cases.numbers import GRIDS_9, Checks, _told
from cases.outcome import Outcome, Settings
from gridcrux.engines.kernel import KernelEngine

QUICK = Settings(quick=True, rounds=1)


class Liar(KernelEngine):
    """Says of one state something else than the kernel."""

    name = "liar"

    def __init__(self, about, more: int = 1) -> None:
        self.about = about
        self.more = more

    def count(self, state, limit, seconds=None):
        count = super().count(state, limit, seconds)
        if state != self.about:
            return count
        return replace(count, value=count.value + self.more, engine=self.name)

    def support(self, state, seconds=None):
        found = super().support(state, seconds)
        wrong = state == self.about
        return (
            replace(found, occurs=found.occurs & (found.occurs - 1), engine="liar")
            if wrong
            else found
        )


def test_uniqueness_names_the_puzzle() -> None:
    states = [state_of(each) for each in puzzles(40)]
    engines = {"kernel": KernelEngine, "liar": lambda: Liar(states[7])}
    outcome = uniqueness.uniqueness(QUICK, engines)
    (fault,) = outcome.faults
    assert fault == f"liar says 2 (all) of {line_of(states[7])}, which has one solution"
    assert outcome.report.startswith(f"**DISAGREEMENT: {fault}**")
    honest = {"kernel": KernelEngine, "liar": KernelEngine}
    assert uniqueness.uniqueness(QUICK, honest).faults == []


def test_compiled_loop_is_looked_at() -> None:
    digits = puzzles(3)
    digits[1, np.flatnonzero(digits[1])[0]] = 0
    loop = uniqueness.Loop(digits)
    loop()
    (fault,) = loop.faults()
    assert "compiled loop says 2 of" in fault


def test_support_names_the_puzzle() -> None:
    states = support.thinned(puzzles(12))
    engines = {"kernel": KernelEngine, "liar": lambda: Liar(states[3])}
    (fault,) = support.support(QUICK, engines).faults
    assert line_of(states[3]) in fault


@pytest.mark.parametrize("more", [1, -1])
def test_a_number_of_solutions_is_compared_in_each_round(more: int) -> None:
    cases = list(with_solutions(spread(4, 3, 300)))
    states, numbers = [state for state, _ in cases], [number for _, number in cases]
    outcome = Outcome()
    decade = Decade(2, states, numbers)
    measure(decade, {"kernel": KernelEngine, "bands": lambda: Liar(states[2], more)}, 2, 9, outcome)
    (fault,) = outcome.faults
    assert fault == (
        f"liar counts {numbers[2] + more:,} solutions of {line_of(states[2])}, not {numbers[2]:,}"
    )
    assert len(decade.seconds["kernel"]) == 2


def test_a_count_cut_short_is_a_lower_bound() -> None:
    state, number = next(with_solutions([50]))
    count = replace(KernelEngine().count(state, 1), stopped_by="seconds")
    assert not count.complete
    assert enumeration.disagreement(count, state, number) is None
    above = replace(count, value=number + 1)
    assert "counts at least" in str(enumeration.disagreement(above, state, number))


def test_numbers_that_must_be_right() -> None:
    cases = list(with_solutions(spread(5, 2, 100)))
    checks = Checks()
    checks.agreement("good", KernelEngine(), cases)
    checks.number("good", "kernel", 288, lambda: 288)
    checks.number("late", "kernel", 288, lambda: None)
    assert checks.faults == []
    assert "unknown" in checks.rows[-1][2]
    checks.agreement("bad", Liar(cases[4][0]), cases)
    checks.number("bad", "kernel", 288, lambda: 289)
    assert len(checks.faults) == 2
    assert checks.rows[-2][2].startswith("4 of 5 agree")
    assert checks.rows[-1][2] == "289, NOT 288"


def test_sum_over_bands_must_be_the_number_of_grids() -> None:
    checks = Checks()
    text = _told(checks, [1], [GRIDS_9], GRIDS_9, 0)
    assert len(checks.faults) == 3
    assert "the number of grids" in text
    assert "NOT the number of grids" in _told(Checks(), [1], [GRIDS_9 + 1], GRIDS_9 + 1, 0)


def test_states_have_what_was_asked_for() -> None:
    for limit, (state, number) in zip([1, 10, 500], with_solutions([1, 10, 500]), strict=True):
        count = KernelEngine().count(state, 1000)
        assert (count.value, count.complete) == (number, True)
        assert number <= limit
    assert [state.placed.bit_count() for state in partly_given(6, 20, 2)] == [20] * 3


def test_crossing_is_between_two_points() -> None:
    assert crossing([10, 1000], [1, 100], [10, 10]) == 100
    assert crossing([10, 1000], [1, 2], [10, 10]) is None
    assert crossing([10, 1000], [20, 1], [10, 10]) is None
    assert crossing([], [], []) is None


@pytest.mark.parametrize(("faults", "status"), [([], 0), (["wrong"], 1)])
def test_only_a_fault_ends_with_status_one(faults, status, tmp_path, monkeypatch) -> None:
    page, runs = tmp_path / "page.md", tmp_path / "runs.jsonl"
    page.write_text("<!-- suite-support -->\n<!-- end -->\n")
    monkeypatch.setitem(suite.CASES, "support", lambda settings: Outcome("table", [], faults))
    options = ["--quick", "--only", "support", "--out", str(page), "--history", str(runs)]
    assert suite.main(options) == status
    assert "table" in page.read_text()
    assert ("DISAGREEMENT: wrong" in page.read_text()) is bool(faults)
    assert len(runs.read_text().splitlines()) == 1
