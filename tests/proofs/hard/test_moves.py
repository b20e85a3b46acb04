"""Moves are what `available` offers, the states behind them what `closure` leaves."""

from __future__ import annotations

import time

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines.limits import Deadline
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.records import Records
from gridcrux.proofs.hard import moves as module
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.moves import Walk, best_of, split
from gridcrux.proofs.hard.offers import ALL, FULLEST, NARROWEST
from gridcrux.proofs.hard.widths import least_total_width
from gridcrux.techniques.repertoires import EVERYTHING, FIRST_FAMILY, LEVELS
from gridcrux.techniques.solve import available, closure, route

KNOWN = LEVELS["two-digit-cells"]


def walks(count, seed, keep, above="singles"):
    for item in minimal(count, seed):
        yield Walk.above(State.from_digits(item.puzzle.tolist()), KNOWN, above, keep=keep)


def offered(walk):
    """The least width with which each conclusion is on offer at the start."""
    widths = {}
    for step in available(walk.state_of(walk.start), walk.hard):
        widths[step.eliminates] = min(step.width, widths.get(step.eliminates, 99))
    return widths


@pytest.mark.parametrize("above", ["singles", "subsets"])
@pytest.mark.parametrize("keep", [FULLEST, NARROWEST, ALL])
def test_moves_are_what_is_on_offer(keep, above):
    nested = 0
    for walk in walks(30, 81, keep, above):
        moves = walk.moves(walk.start, to_end=True)
        widths = offered(walk)
        beaten = {
            mask
            for mask, width in widths.items()
            for other, least in widths.items()
            if mask != other
            and mask & ~other == 0
            and (keep == FULLEST or (keep == NARROWEST and least <= width))
        }
        found = [walk.news(walk.start, record) for record in moves.records]
        assert len(found) == len(set(found))
        assert set(found) == set(widths) - beaten
        if keep == NARROWEST:
            least = Records(moves.records, walk.words).widths.tolist()
            assert dict(zip(found, least, strict=True)) == {m: widths[m] for m in found}
        nested += bool(beaten)
    assert (nested > 3) == (keep != ALL)


def test_what_is_left_is_what_the_closure_leaves():
    followed = 0
    for walk in walks(15, 82, FULLEST, "locked"):
        start = walk.state_of(walk.start)
        assert (start.open, start.placed) == _end(walk.state, walk)
        moves = walk.moves(walk.start, to_end=True)
        for left, record in zip(moves.left, moves.records, strict=True):
            after = walk.state_of(left)
            assert (after.open, after.placed) == _end(
                start.without(walk.news(walk.start, record)), walk
            )
            assert walk.solved(left) == after.is_solved
            assert walk.after(walk.start, record) == left
            followed += 1
    assert followed > 30


def _end(state, walk):
    end = closure(state, walk.easy)
    return end.open, end.placed


def test_room_is_made_where_there_is_too_little(monkeypatch):
    walk = next(each for each in walks(30, 83, ALL) if len(each.moves(each.start)) > 5)
    expected = walk.moves(walk.start, to_end=True).left
    monkeypatch.setattr(module, "ROOM", 2)
    assert (
        Walk.above(walk.state, KNOWN, "singles", keep=ALL).moves(walk.start, to_end=True).left
        == expected
    )


def test_of_states_those_that_none_beats():
    assert best_of([0b111, 0b011, 0b100, 0b110, 0b011]) == [0b100, 0b011]
    assert best_of([]) == []


def test_easy_and_hard_make_up_the_repertoire():
    easy, hard = split(FIRST_FAMILY, "subsets")
    assert (*easy.names, *hard.names) != ()
    assert set(easy.names) | set(hard.names) == set(FIRST_FAMILY.names)
    assert set(easy.names) <= set(LEVELS["subsets"].names)
    assert hard.names == ("x-wing", "swordfish", "jellyfish")


CONTRADICTIONS = ".....618...3..5.9.9...1...2.8.6...1.1...3...839....4..62.....4....57...6.....2..."
"""To list all contradictions within contradictions of its start takes some seconds."""


def test_listing_what_takes_long_ends_with_the_time():
    walk = Walk.above(read_puzzle(CONTRADICTIONS), EVERYTHING, "singles")
    walk.prepare()
    begun = time.perf_counter()
    with pytest.raises(TimeoutError), walk.until(Deadline(0.1)):
        walk.moves(walk.start)
    taken = time.perf_counter() - begun
    assert 0.1 <= taken < 1.5


def ask_on(walk):
    """Ask again and again for what is not known yet."""
    while True:
        walk._known.clear()
        walk.moves(walk.start, to_end=True)


def test_what_was_stopped_is_found_later():
    walk = next(each for each in walks(30, 83, ALL) if len(each.moves(each.start)) > 5)
    expected = walk.moves(walk.start, to_end=True).left
    with pytest.raises(TimeoutError), walk.until(Deadline(0)):
        ask_on(walk)
    assert walk.moves(walk.start, to_end=True).left == expected
    with walk.until(Deadline(None)):
        assert walk.moves(walk.start, to_end=True).left == expected


def test_searches_keep_to_their_time():
    state = read_puzzle(CONTRADICTIONS)
    route(state, EVERYTHING, unique=True)
    for search in (fewest_hard_steps, least_total_width):
        begun = time.perf_counter()
        found = search(state, EVERYTHING, seconds=0.05)
        assert time.perf_counter() - begun < 2.5
        assert found.stopped_by == "seconds"
        assert 0 < found.lower < found.upper
