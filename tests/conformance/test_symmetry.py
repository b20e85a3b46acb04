"""A puzzle turned, shuffled and relabelled offers the same deductions, turned alike.

Finders that list every case of a shape give the same set of premises and eliminations.  Those
that look for the shortest chain keep one of several that are as short; of them the technique,
the candidate and the least number of premises must be the same.  Loops exclude more than what
they were found for, so of them only the least number of premises is compared.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes
from gridcrux.grids.state import State, bits
from gridcrux.logic.technique import Technique
from gridcrux.techniques.repertoires import EVERYTHING, LEVELS
from gridcrux.techniques.solve import available, route

BOX = {NINE: (3, 3), boxes(2, 3): (2, 3)}
STATES = 6
TURNS = 3

SHORTEST = {t.name for t in EVERYTHING if t.any_length} - {"als-xz", "als-loop"}
"""Techniques that keep one of several chains, sets or guards."""


def _lines(height: int, width: int, random: np.random.Generator) -> list[int]:
    """A new order of the rows of boxes of this height: within each band, and of the bands."""
    bands = [list(range(i * height, (i + 1) * height)) for i in range(width)]
    return [
        line
        for band in random.permutation(width).tolist()
        for line in random.permutation(bands[band]).tolist()
    ]


def _turn(layout: Layout, random: np.random.Generator) -> list[int]:
    """Where each candidate goes under a random symmetry of the layout."""
    height, width = BOX[layout]
    n = layout.size
    rows, columns = _lines(height, width, random), _lines(width, height, random)
    digits = random.permutation(n).tolist()
    transpose = height == width and random.random() < 0.5
    target = []
    for candidate in range(layout.candidates):
        digit, cell = divmod(candidate, layout.cells)
        row, column = rows.index(cell // n), columns.index(cell % n)
        if transpose:
            row, column = column, row
        target.append(digits[digit] * layout.cells + row * n + column)
    return target


def _moved(mask: int, target: list[int]) -> int:
    return sum(1 << target[candidate] for candidate in bits(mask))


@lru_cache
def _rules(layout: Layout) -> dict[int, int]:
    return {rule.mask: number for number, rule in enumerate(layout.rules)}


def _moved_state(state: State, target: list[int]) -> State:
    cells = {c: target[c] % state.layout.cells for c in range(state.layout.cells)}
    return State(
        state.layout,
        _moved(state.open, target),
        sum(1 << cells[cell] for cell in bits(state.placed)),
        sum(1 << cells[cell] for cell in bits(state.givens)),
    )


def _states(layout: Layout) -> Iterator[State]:
    """States in which singles are not enough, somewhere on a route."""
    random = np.random.default_rng(11)
    count = 0
    for item in minimal(400, 21, layout):
        way = route(State.from_digits(item.puzzle.tolist(), layout), LEVELS["chains"])
        states = [
            state
            for state, places in zip(way.states(), way.records.places, strict=False)
            if places < 0
        ]
        if len(states) > 2:
            yield states[random.integers(1, len(states))]
            count += 1
        if count == STATES:
            return


def _offered(state: State, technique: Technique, target: list[int] | None) -> set[tuple[int, ...]]:
    """What a technique offers, moved by a symmetry or as it is."""
    layout = state.layout
    move = target or list(range(layout.candidates))
    found = available(state, technique.name)
    if technique.name in SHORTEST or technique.assumes_unique:
        least: dict[int, int] = {}
        for step in found:
            for candidate in bits(_moved(step.eliminates, move)):
                least[candidate] = min(step.width, least.get(candidate, step.width))
        if "loop" in technique.name:
            return {(min(least.values(), default=0),)}
        return set(least.items())
    return {
        (
            *sorted(
                _rules(layout).get(_moved(layout.rules[rule].mask, move), -2) for rule in s.premises
            ),
            -1,
            _moved(s.eliminates, move),
            -1 if s.places is None else move[s.places],
        )
        for s in found
    }


@pytest.mark.parametrize("layout", BOX, ids=lambda layout: layout.name)
def test_a_symmetry_moves_deductions_and_changes_none(layout: Layout) -> None:
    random = np.random.default_rng(3)
    offered = 0
    for state in _states(layout):
        for _ in range(TURNS):
            target = _turn(layout, random)
            turned = _moved_state(state, target)
            for technique in EVERYTHING:
                if technique.family == "forcing":
                    continue
                expected = _offered(state, technique, target)
                offered += len(expected)
                assert _offered(turned, technique, None) == expected, technique.name
    assert offered > 500


def test_what_is_no_symmetry_is_noticed() -> None:
    """Two rows of different bands exchanged: boxes are torn, so something else is offered."""
    state = next(_states(NINE))
    state = State(NINE, state.open, 0, 0)
    rows = [3, 1, 2, 0, 4, 5, 6, 7, 8]
    target = [c // 81 * 81 + rows[c % 81 // 9] * 9 + c % 9 for c in range(NINE.candidates)]
    torn = _moved_state(state, target)
    assert any(
        _offered(torn, technique, None) != _offered(state, technique, target)
        for technique in LEVELS["fish"]
        if technique.name not in ("x-wing", "swordfish", "jellyfish", "naked-single")
    )
