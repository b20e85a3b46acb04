"""The driver is exact: what it skips would have found nothing, what is barred is not used."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.arrays import from_words, to_words, word_count
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.records import Records, new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.compiled.board import OPEN
from gridcrux.techniques.compiled.driver import apply, find, run
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import Ints, tables
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import NOTHING, board_of, closure, state_of

LAYOUTS = [boxes(2, 3), latin(6), NINE, NINE.with_diagonals()]
BACKWARD = Repertoire(FIRST_FAMILY.techniques[::-1])

each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


def _starts(layout: Layout, count: int, seed: int) -> list[State]:
    """Puzzles, and grids without givens in which much of what is false is gone."""
    random = np.random.default_rng(seed)
    states = []
    for sampled in minimal(count, seed, layout):
        states.append(State.from_digits(sampled.puzzle, layout))
        true = (sampled.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        lost = random.random(layout.candidates) < random.uniform(0.3, 0.6)
        lost[true] = False
        states.append(
            State.empty(layout).without(sum(1 << c for c in np.flatnonzero(lost).tolist()))
        )
    return states


def _route(
    state: State, repertoire: Repertoire, forbidden: int = 0, barred: int = -1
) -> tuple[Records, Ints]:
    words = word_count(state.layout)
    board, room = board_of(state), new_records(state.layout.candidates, state.layout)
    mask = to_words(forbidden, words) if forbidden else NOTHING
    steps, _ = run(tables(state.layout), board, plan_of(repertoire), mask, barred, room)
    return Records(room[:steps].copy(), words), board


@each_layout
@pytest.mark.parametrize("repertoire", [FIRST_FAMILY, BACKWARD], ids=["forward", "backward"])
def test_each_step_is_what_a_search_from_scratch_finds(
    layout: Layout, repertoire: Repertoire
) -> None:
    """The driver remembers where it found nothing; a new board has to look everywhere."""
    index = tables(layout)
    one, plan = new_records(1, layout), plan_of(repertoire)
    hard = 0
    for start in _starts(layout, 4, 31):
        records, _ = _route(start, repertoire)
        follow = board_of(start)
        for row in range(len(records)):
            fresh = board_of(state_of(start, follow))
            found = (find(index, fresh, plan, t, -1, one, 0, 1) for t in repertoire.order)
            assert any(found), "a step where a search from scratch finds none"
            assert (one[0] == records.table[row]).all()
            hard += records.places[row] < 0
            apply(index, follow, records.table, row)
        end = board_of(state_of(start, follow))
        solved = state_of(start, follow).is_solved
        assert solved or not any(find(index, end, plan, t, -1, one, 0, 1) for t in repertoire.order)
    assert hard, "placements alone try nothing"


@each_layout
def test_every_step_is_progress_and_a_route_has_room(layout: Layout) -> None:
    for start in _starts(layout, 4, 32):
        records, _ = _route(start, BACKWARD)
        state, placed = start.open, 0
        for removes, places in zip(records.removes, records.places, strict=True):
            assert places >= 0 or from_words(removes) & state
            state &= ~from_words(removes)
            placed += places >= 0
        assert placed <= layout.cells
        assert len(records) <= layout.candidates


@each_layout
def test_recording_or_not_the_end_is_the_same(layout: Layout) -> None:
    for start in _starts(layout, 4, 33):
        _, board = _route(start, FIRST_FAMILY)
        assert state_of(start, board) == closure(start, FIRST_FAMILY)


def test_forbidden_candidates_fall_to_placements_only() -> None:
    tried = 0
    for start in _starts(NINE, 5, 34):
        plain, _ = _route(start, FIRST_FAMILY)
        for row in np.flatnonzero(plain.places < 0)[:6]:
            forbidden = from_words(plain.removes[row]) & start.open
            records, _ = _route(start, FIRST_FAMILY, forbidden)
            state = start.open
            for removes, places in zip(records.removes, records.places, strict=True):
                excluded = from_words(removes) & state
                assert places >= 0 or not excluded & forbidden
                assert places >= 0 or excluded
                state &= ~excluded
                tried += places < 0
    assert tried > 20


def test_after_forbidding_the_same_board_goes_on_to_the_full_closure() -> None:
    """What was passed over while it was forbidden is looked at again."""
    held = 0
    for start in _starts(NINE, 6, 35):
        plain, _ = _route(start, FIRST_FAMILY)
        hard = np.flatnonzero(plain.places < 0)
        if not len(hard):
            continue
        forbidden = from_words(plain.removes[hard[0]]) & start.open
        index, words = tables(NINE), word_count(NINE)
        board, one = board_of(start), new_records(1, NINE)
        run(index, board, plan_of(FIRST_FAMILY), to_words(forbidden, words), -1, one)
        held += state_of(start, board) != closure(start, FIRST_FAMILY)
        run(index, board, plan_of(FIRST_FAMILY), NOTHING, -1, one)
        assert state_of(start, board) == closure(start, FIRST_FAMILY)
    assert held, "nothing was ever held back"


def test_a_barred_premise_is_used_by_no_placement() -> None:
    differing = 0
    for start in _starts(NINE, 2, 36):
        plain, _ = _route(start, FIRST_FAMILY)
        for barred in [
            next(bits(from_words(words))) for words in plain.premises[plain.places >= 0][:15]
        ]:
            records, _ = _route(start, FIRST_FAMILY, barred=barred)
            placed = records.places >= 0
            assert not any(from_words(w) >> barred & 1 for w in records.premises[placed])
            differing += len(records) != len(plain)
    assert differing


def test_a_technique_offers_all_that_it_finds_one_at_a_time() -> None:
    """With any limit the finder writes the first of the whole list, and never more."""
    index, plan = tables(NINE), plan_of(FIRST_FAMILY)
    most = 0
    for start in _starts(NINE, 3, 37):
        for technique in FIRST_FAMILY:
            whole = new_records(400, NINE)
            count = find(index, board_of(start), plan, technique.number, -1, whole, 0, 400)
            assert count < 400
            most = max(most, count)
            for limit in (1, 2, max(count, 1)):
                part = np.full((400, whole.shape[1]), -7, np.int64)
                wanted = min(limit, count)
                got = find(index, board_of(start), plan, technique.number, -1, part, 0, limit)
                assert got == wanted
                assert (part[:wanted] == whole[:wanted]).all()
                assert (part[wanted:] == -7).all()
    assert most > 10


def test_steps_follow_the_order_of_the_repertoire() -> None:
    """An easier technique never had something when a harder one is used."""
    for start in _starts(NINE, 3, 38):
        index, one, plan = tables(NINE), new_records(1, NINE), plan_of(FIRST_FAMILY)
        records, _ = _route(start, FIRST_FAMILY)
        follow = board_of(start)
        rank = {number: place for place, number in enumerate(FIRST_FAMILY.order.tolist())}
        for row, number in enumerate(records.techniques.tolist()):
            fresh = board_of(state_of(start, follow))
            for easier in FIRST_FAMILY.order[: rank[number]]:
                assert not find(index, fresh, plan, easier, -1, one, 0, 1)
            apply(index, follow, records.table, row)


def test_open_candidates_only_ever_shrink() -> None:
    (start, *_) = _starts(NINE, 1, 39)
    follow, records = board_of(start), _route(start, FIRST_FAMILY)[0]
    seen = [from_words(follow[OPEN, :12].view(np.uint64))]
    for row in range(len(records)):
        apply(tables(NINE), follow, records.table, row)
        seen.append(from_words(follow[OPEN, :12].view(np.uint64)))
    assert all(after & ~before == 0 for before, after in pairwise(seen))
    assert len(list(bits(seen[-1]))) < len(list(bits(seen[0])))
