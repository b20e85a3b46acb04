"""The steps kept of a route suffice, and none of them can be spared."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.arrays import from_words, state_words, to_words, word_count
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State
from gridcrux.logic.records import Records
from gridcrux.logic.route import Route
from gridcrux.logic.slicing import needed
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import route

LAYOUTS = [boxes(2, 3), latin(6), NINE, NINE.with_diagonals()]
BACKWARD = FIRST_FAMILY.__class__(FIRST_FAMILY.techniques[::-1])
"""The hardest technique first: its routes are full of idle steps."""


def _routes(layout: Layout, count: int) -> Iterator[Route]:
    """Routes of random puzzles, every second one with a row of its solution given as well."""
    for number, sampled in enumerate(minimal(count, 5, layout)):
        digits = sampled.puzzle.copy()
        if number % 2:
            digits[: layout.size] = sampled.solution[: layout.size]
        yield route(State.from_digits(digits, layout), BACKWARD)


def _stands(whole: Route, kept: np.ndarray) -> bool:  # type: ignore[type-arg]
    """Whether the chosen steps are an argument for the same end; replayed on plain masks."""
    part = Route(whole.start, whole.repertoire, whole.records.select(kept), whole.ending)
    if part.flaw is not None:
        return False
    return part.end.is_solved if whole.solved else part.end.open == whole.end.open


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_the_slice_reaches_the_same_end_without_flaw(layout: Layout) -> None:
    routes = list(_routes(layout, 25))
    assert any(not r.needed.all() for r in routes), "no idle step to slice away"
    assert any(r.solved for r in routes)
    for whole in routes:
        sliced = whole.sliced()
        assert sliced.flaw is None
        assert sliced.status == whole.status
        if whole.solved:
            assert sliced.end.is_solved
            assert sliced.end.grid == whole.end.grid
        else:
            assert sliced.end == whole.end
        assert len(sliced) == np.count_nonzero(whole.needed)


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_no_further_step_can_be_dropped(layout: Layout) -> None:
    tried = 0
    for whole in _routes(layout, 10):
        for step in np.flatnonzero(whole.needed & (whole.records.places < 0)):
            fewer = whole.needed.copy()
            fewer[step] = False
            assert not _stands(whole, fewer), f"step {step + 1} of {whole} is idle"
            tried += 1
    assert tried >= 10


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_placements_are_kept_and_the_slice_is_its_own(layout: Layout) -> None:
    for whole in _routes(layout, 10):
        assert whole.needed[whole.records.places >= 0].all()
        assert whole.sliced().needed.all()


def test_stuck_routes_are_judged_by_what_they_leave() -> None:
    stuck = [r for r in _routes(NINE, 40) if r.status == "stuck"]
    assert stuck
    for whole in stuck:
        assert whole.sliced().end.open == whole.end.open


EMPTY = State.empty(NINE)


def _needed(
    steps: list[tuple[int, int, int]], start: State = EMPTY, end: int | None = None
) -> list[bool]:
    """`needed` for steps given as (removes, relies, places)."""
    words = word_count(NINE)
    removes = np.array([to_words(s[0], words) for s in steps]).view(np.int64)
    relies = np.array([to_words(s[1], words) for s in steps]).view(np.int64)
    places = np.array([s[2] for s in steps], np.int64)
    goal = None if end is None else to_words(end, words).view(np.int64)
    return needed(removes, relies, places, state_words(start).view(np.int64), goal).tolist()


@pytest.mark.parametrize("at", [0, 63, 64, 700], ids=str)
def test_a_step_is_kept_for_the_absence_it_supplies(at: int) -> None:
    a, b = 1 << at, 1 << at + 1
    assert _needed([(a, 0, -1), (b, 0, -1), (0, a, 5)]) == [True, False, True]
    assert _needed([(a, 0, -1), (b, a, -1), (0, b, 5)]) == [True, True, True]


def test_an_absence_that_comes_too_late_supplies_nothing() -> None:
    assert _needed([(0, 1, 5), (1, 0, -1)]) == [True, False]


def test_of_two_suppliers_one_is_kept() -> None:
    assert sum(_needed([(1, 0, -1), (1, 0, -1), (0, 1, 5)])[:2]) == 1


def test_a_placement_supplies_too() -> None:
    assert _needed([(1, 0, -1), (1, 0, 7), (0, 1, 5)]) == [False, True, True]


def test_what_was_absent_at_the_start_needs_no_step() -> None:
    assert _needed([(1, 0, -1), (0, 1, 5)], EMPTY.without(1)) == [False, True]


def test_a_goal_keeps_what_excludes() -> None:
    assert _needed([(1, 0, -1), (2, 0, -1)], end=EMPTY.open & ~1) == [True, False]


def test_selected_records_are_a_copy() -> None:
    whole = next(_routes(NINE, 1))
    chosen: Records = whole.records.select(slice(0, 1))
    chosen.table[:] = 0
    assert from_words(whole.records.removes[0])
