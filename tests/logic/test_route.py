"""Routes replay, and one that was tampered with is found out."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.arrays import to_words, word_count
from gridcrux.grids.layout import NINE
from gridcrux.grids.state import State
from gridcrux.logic.records import SOLVED, Records
from gridcrux.logic.route import Route
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY, SINGLES
from gridcrux.techniques.solve import closure, route

EXAMPLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
"""Example grid of the encyclopaedia article "Sudoku"; singles solve it."""


@pytest.fixture(scope="module")
def solved() -> Route:
    found = route(State.from_digits([int(mark) for mark in EXAMPLE]), FIRST_FAMILY)
    assert found.solved
    return found


@pytest.fixture(scope="module")
def routes() -> list[Route]:
    return [route(State.from_digits(sampled.puzzle), FIRST_FAMILY) for sampled in minimal(60, 8)]


def _tampered(whole: Route, change: Callable[[np.ndarray], np.ndarray]) -> Route:  # type: ignore[type-arg]
    table = change(whole.records.table.copy())
    return Route(whole.start, whole.repertoire, Records(table, word_count(NINE)), whole.ending)


def test_routes_replay_without_flaw(routes: list[Route]) -> None:
    assert {r.status for r in routes} == {"solved", "stuck"}
    for whole in routes:
        assert whole.flaw is None
        assert whole.end.open == closure(whole.start, FIRST_FAMILY).open
        assert whole.end.placed == closure(whole.start, FIRST_FAMILY).placed


def test_states_steps_and_records_belong_together(routes: list[Route]) -> None:
    for whole in routes:
        states = list(whole.states())
        assert len(states) == len(whole) + 1 == len(whole.steps) + 1
        assert states[0] == whole.start
        assert states[-1] == whole.end
        for before, step, after in zip(states, whole, states[1:], strict=False):
            assert step.eliminates or step.places is not None
            assert after.open == before.open & ~step.eliminates
            assert not step.relies & before.open
            if step.places is not None:
                assert after.placed == before.placed | 1 << step.places % NINE.cells


def test_table_rows_count_the_steps(routes: list[Route]) -> None:
    for whole in routes:
        row = whole.row()
        assert row["status"] == whole.status
        assert row["steps"] == len(whole) == row["placements"] + row["eliminations"]
        assert row["placements"] == sum(s.places is not None for s in whole)
        assert row["width"] == max(step.width for step in whole)
        counts = whole.counts()
        assert sum(counts.values()) == len(whole)
        assert tuple(counts) == whole.repertoire.names


def test_the_width_is_that_of_the_steps_and_not_of_their_techniques() -> None:
    """Chains have more premises than the least that their technique needs."""
    wider = 0
    for sampled in minimal(40, 8):
        whole = route(State.from_digits(sampled.puzzle), DEFAULT)
        assert whole.row()["width"] == max(step.width for step in whole)
        wider += whole.row()["width"] > max(whole.repertoire[s.technique].width for s in whole)
    assert wider


def test_a_step_taken_too_early_is_found(solved: Route) -> None:
    assert _tampered(solved, lambda table: table[::-1]).flaw is not None


def test_every_placement_left_out_is_found(solved: Route) -> None:
    for step in np.flatnonzero(solved.records.places >= 0):
        assert _tampered(solved, lambda table, s=step: np.delete(table, s, 0)).flaw is not None


def test_every_digit_replaced_is_found(solved: Route) -> None:
    for step in np.flatnonzero(solved.records.places >= 0):

        def change(table: np.ndarray, step: int = int(step)) -> np.ndarray:  # type: ignore[type-arg]
            records = Records(table, word_count(NINE))
            records.places[step] = (records.places[step] + NINE.cells) % NINE.candidates
            return table

        assert _tampered(solved, change).flaw is not None


def test_the_flaw_names_the_step_and_the_candidate(solved: Route) -> None:
    open_ = next(c for c in range(NINE.candidates) if solved.start.is_open(c))
    closed = next(c for c in range(NINE.candidates) if not solved.start.is_open(c))

    def lean(table: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        Records(table, word_count(NINE)).relies[0] |= to_words(1 << open_, word_count(NINE))
        return table

    def overwrite(table: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        Records(table, word_count(NINE)).places[0] = closed
        return table

    name = NINE.candidate_name
    expected = f"step 1 relies on the absence of {name(open_)}, which is open"
    assert _tampered(solved, lean).flaw == expected
    expected = f"step 1 writes {name(closed)}, which is excluded"
    assert _tampered(solved, overwrite).flaw == expected


def test_an_unfinished_route_is_not_solved(solved: Route) -> None:
    part = Route(solved.start, solved.repertoire, solved.records.select(slice(0, 3)), SOLVED)
    assert part.flaw == "the route counts as solved, but its end is not a solution"


def test_a_broken_start_ends_in_a_contradiction() -> None:
    cell = NINE.rules[0].mask
    found = route(State.empty().without(cell), SINGLES)
    assert found.status == "contradiction"
    assert len(found) == 0


def test_notebook_view_escapes_and_lists_every_step(solved: Route) -> None:
    assert solved._repr_html_().count("<li>") == len(solved)
