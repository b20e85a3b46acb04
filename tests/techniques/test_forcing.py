"""Forcing and contradictions, judged by SAT and by failed literals straight from the definition."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.records import new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.technique import Technique
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.techniques import forcing
from gridcrux.techniques.compiled.board import forbid
from gridcrux.techniques.compiled.forcing import search
from gridcrux.techniques.compiled.tables import tables
from gridcrux.techniques.repertoires import FIRST_FAMILY, SINGLES
from gridcrux.techniques.solve import available, board_of, closure, route
from samples import JAGGED

FAMILY = Repertoire(forcing.TECHNIQUES)
WITH_FIRST = Repertoire((*FIRST_FAMILY, *FAMILY))
STATES: dict[Layout, int] = {
    boxes(2, 2): 8,
    JAGGED: 8,
    boxes(2, 3): 8,
    latin(6): 8,
    boxes(2, 4): 8,
    NINE: 8,
    NINE.with_diagonals(): 4,
    boxes(3, 4): 1,
}
MOST = 6
"""Deductions of one technique taken from one state."""

Found = list[tuple[Deduction, State, int]]


def _states(layout: Layout, count: int, seed: int) -> Iterator[tuple[State, int]]:
    """States somewhere on a route, with more of what is false excluded; and their solution."""
    random = np.random.default_rng(seed)
    for sampled in minimal(count, seed, layout):
        true = (sampled.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        start = State.from_digits(sampled.puzzle, layout)
        passed = list(route(start, FIRST_FAMILY).states())
        lost = random.random(layout.candidates) < random.uniform(0, 0.5)
        lost[true] = False
        excluded = sum(1 << c for c in np.flatnonzero(lost).tolist())
        state = passed[random.integers(1 + len(passed) // 2)]
        yield state.without(excluded), sum(1 << int(c) for c in true)


@pytest.fixture(scope="module")
def found() -> Found:
    """Deductions, the states in which they are offered, and the masks of their solutions."""
    taken: Found = []
    random = np.random.default_rng(1)
    for place, (layout, count) in enumerate(STATES.items()):
        for state, solution in _states(layout, count, 100 + place):
            for technique in FAMILY:
                offered = available(state, Repertoire((technique,)))
                chosen = random.permutation(len(offered))[:MOST]
                taken += [(offered[i], state, solution) for i in chosen]
    return taken


def test_every_technique_is_met_often(found: Found) -> None:
    met = Counter(deduction.technique for deduction, _, _ in found)
    assert set(met) == set(FAMILY.names)
    assert min(met.values()) >= 30, met
    assert {deduction.layout for deduction, _, _ in found} == set(STATES)


def test_every_deduction_is_certified_and_spares_the_solution(found: Found) -> None:
    for deduction, state, solution in found:
        assert certify(deduction).holds, deduction
        assert not deduction.removes & solution
        assert not deduction.relies & state.open
        assert deduction.eliminates
        assert FAMILY[deduction.technique].width <= deduction.width == len(deduction.premises)


def _shares(flags: list[tuple[str, bool]]) -> dict[str, float]:
    """The share of each technique's entries that are flagged."""
    all_ = Counter(name for name, _ in flags)
    yes = Counter(name for name, flag in flags if flag)
    return {name: yes[name] / count for name, count in all_.items()}


def test_nearly_no_deduction_has_a_premise_to_spare(found: Found) -> None:
    shares = _shares([(d.technique, irreducible(d)) for d, _, _ in found])
    assert min(shares.values()) >= 0.95, shares


def test_a_missing_absence_is_noticed(found: Found) -> None:
    flags = [
        (d.technique, not certify(replace(d, relies=d.relies & ~(1 << absence))).holds)
        for d, _, _ in found
        for absence in list(bits(d.relies))[:4]
    ]
    assert min(_shares(flags).values()) >= 0.9, _shares(flags)


def test_a_wrong_elimination_is_refused(found: Found) -> None:
    """What is true is added to what is removed."""
    for deduction, _, solution in found:
        true = next(bits(solution & deduction.layout.rules[deduction.premises[0]].mask))
        certificate = certify(replace(deduction, removes=deduction.removes | 1 << true))
        assert certificate.failures == (true,)


def test_every_deduction_can_be_told_from_its_premises(found: Found) -> None:
    for deduction, _, _ in found:
        assert deduction.sentence != deduction.plain_sentence
        for name in deduction.elimination_names:
            cell, digit = name.split("=")
            assert f"{cell} is not {digit}" in deduction.sentence


def _follow(state: State, candidate: int) -> int | None:
    """What is open after a candidate is assumed and singles are followed; None if a rule breaks."""
    layout = state.layout
    open_ = state.open & ~layout.conflicts[candidate]
    while True:
        before = open_
        for rule in layout.rules:
            left = rule.mask & open_
            if not left:
                return None
            if left & (left - 1) == 0:
                open_ &= ~layout.conflicts[left.bit_length() - 1]
        if open_ == before:
            return open_


def _failed(state: State, levels: int) -> State:
    """The state without what a failed literal test excludes, `levels` deep."""
    while True:
        for candidate in bits(state.open):
            after = _follow(state, candidate)
            if after is not None and levels:
                inner = _failed(State(state.layout, after), levels - 1)
                after = None if inner.broken_rule is not None else after
            if after is None:
                state = state.without(1 << candidate)
                break
        else:
            return state
        if state.broken_rule is not None:
            return state


@pytest.mark.parametrize("layout", [boxes(2, 3), JAGGED, latin(6), NINE], ids=lambda x: x.name)
def test_contradictions_leave_what_failed_literals_leave(layout: Layout) -> None:
    repertoire = Repertoire((*SINGLES, forcing.contradiction))
    for sampled in minimal(3, 4, layout):
        start = State.from_digits(sampled.puzzle, layout)
        few = _unsolved(start)
        assert closure(few, repertoire).open == _failed(few, 0).open


def _unsolved(start: State) -> State:
    """A state with two givens less, hence with more than one solution."""
    digits = np.array(start.puzzle)
    digits[np.flatnonzero(digits)[:2]] = 0
    return State.from_digits(digits, start.layout)


def _sparse(layout: Layout, count: int, seed: int) -> Iterator[State]:
    """Grids without givens that have lost many candidates, but none of a solution."""
    random = np.random.default_rng(seed)
    for sampled in minimal(count, seed, layout):
        lost = random.random(layout.candidates) < random.uniform(0.3, 0.65)
        lost[(sampled.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)] = False
        yield State.empty(layout).without(sum(1 << c for c in np.flatnonzero(lost).tolist()))


@pytest.mark.parametrize(("layout", "count"), [(latin(5), 23), (JAGGED, 13)], ids=["5", "jagged"])
def test_nested_contradictions_leave_what_nested_failed_literals_leave(
    layout: Layout, count: int
) -> None:
    """On states where they do more than plain ones."""
    plain = Repertoire((*SINGLES, forcing.contradiction))
    compared = 0
    for sparse in _sparse(layout, count, 5):
        state = closure(sparse, plain)
        end = closure(state, Repertoire((*plain, forcing.nested_contradiction)))
        if end != state:
            assert end.open == _failed(state, 1).open
            compared += 1
    assert compared, "nothing was nested, so nothing was tried"


@pytest.mark.parametrize("technique", FAMILY, ids=str)
def test_a_finder_keeps_to_its_limits(found: Found, technique: Technique) -> None:
    state = next(s for d, s, _ in found if d.technique == technique.name and s.layout.size < 9)
    index, number = tables(state.layout), technique.number
    room = new_records(4, state.layout)
    room[:] = -7
    assert search(index, board_of(state), number, 99, room, 1, 1) == 1
    assert (room[[0, 2, 3]] == -7).all()
    assert search(index, board_of(state), number, 0, room, 1, 1) == 0
    narrow = min(d.width for d in available(state, Repertoire((technique,))))
    assert search(index, board_of(state), number, narrow, room, 1, 1) <= 1
    board = board_of(state)
    for candidate in range(state.layout.candidates):
        forbid(index, board, candidate)
    assert search(index, board, number, 99, room, 1, 1) == 0


def test_the_board_is_left_as_it_was(found: Found) -> None:
    for deduction, state, _ in found[::20]:
        board = board_of(state)
        before = board.copy()
        room = new_records(50, state.layout)
        number = FAMILY[deduction.technique].number
        search(tables(state.layout), board, number, 99, room, 0, 50)
        assert (board == before).all()


HARDEST = "000000012000000003002300400001800005060070800000009000008500000900040500470006000"
"""Called the hardest in Ercsey-Ravasz & Toroczkai, Scientific Reports 2:725 (2012)."""


def test_the_puzzle_called_the_hardest_needs_nested_contradictions_and_no_more() -> None:
    start = State.from_digits([int(digit) for digit in HARDEST])
    assert not closure(start, WITH_FIRST.without("nested-contradiction")).is_solved
    assert closure(start, WITH_FIRST).is_solved


@pytest.mark.skipif("GRIDCRUX_CORPORA" not in os.environ, reason="GRIDCRUX_CORPORA is not set")
@pytest.mark.parametrize(
    ("name", "step"), [("easy50", 1), ("top95", 1), ("clues17-first25000", 250), ("hardest11", 1)]
)
def test_open_collections_are_solved(name: str, step: int) -> None:
    lines = (Path(os.environ["GRIDCRUX_CORPORA"]) / f"{name}.txt").read_text().split()[::step]
    for line in lines:
        start = State.from_digits([int(mark) for mark in line.replace(".", "0")])
        assert closure(start, WITH_FIRST).is_solved, line
