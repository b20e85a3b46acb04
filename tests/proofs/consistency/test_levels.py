"""Levels of consistency compared with one another, with techniques and with their definitions."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines.kernel import KernelEngine
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.consistency import (
    CONSISTENCIES,
    Outcome,
    consistent,
    solves,
    weakest_level,
)
from gridcrux.proofs.consistency.filters import DIGITS, HIDDEN, MATCHINGS, new_room
from gridcrux.proofs.consistency.levels import Level, level_of_consistency
from gridcrux.techniques.repertoires import EVERYTHING, LEVELS
from gridcrux.techniques.solve import closure
from samples import JAGGED

LAYOUTS = [boxes(2, 2), boxes(2, 3), JAGGED, latin(6), boxes(2, 4), NINE, NINE.with_diagonals()]
EASY = "53..7.... 6..195... .98....6. 8...6...3 4..8.3..1 7...2...6 .6....28. ...419..5 ....8..79"
"""Encyclopaedia article 'Sudoku', example grid."""
HARD = "8........ ..36..... .7..9.2.. .5...7... ....457.. ...1...3. ..1....68 ..85...1. .9....4.."
"""Inkala 2012, as printed by newspapers."""
NO_SOLUTION = (
    ".....5.8. ...6.1.43 ......... .1.5..... ...1.6... 3.......5 53.....61 ........4 ........."
)


def loose(layout, count, seed):
    """States in mid-solve, most with several solutions, and one of these.

    Minimal puzzles without some of their givens; some of what is false is excluded.
    """
    random = np.random.default_rng(seed)
    for item in minimal(count, seed, layout):
        digits = np.where(random.random(layout.cells) < random.uniform(0, 0.3), 0, item.puzzle)
        true = (item.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        lost = random.random(layout.candidates) < random.uniform(0, 0.3)
        lost[true] = False
        start = State.from_digits(digits.tolist(), layout)
        state = start.without(sum(1 << c for c in np.flatnonzero(lost).tolist()))
        yield state, sum(1 << c for c in true.tolist())


@pytest.fixture(scope="module")
def samples():
    """States of many layouts, with a solution of each."""
    found = []
    for layout in LAYOUTS:
        count = 60 if layout is NINE else 20
        found += [(layout, *pair) for pair in loose(layout, count, 11)]
    found += [(boxes(4, 4), *pair) for pair in loose(boxes(4, 4), 2, 11)]
    # Three digits for three cells of a row, none of which is under an assumption a pair.
    marks = [[1, 2, 3] if cell in (0, 3, 6) else list(range(1, 10)) for cell in range(81)]
    state = State.from_marks(marks)
    grid = next(KernelEngine().solutions(state))
    return [*found, (NINE, state, sum(1 << 81 * (d - 1) + cell for cell, d in enumerate(grid)))]


@pytest.fixture(scope="module")
def left(samples):
    """What each level leaves of each state."""
    return [{name: consistent(state, name) for name in CONSISTENCIES} for _, state, _ in samples]


def test_solutions_are_kept(samples, left):
    for (_, state, solution), by_level in zip(samples, left, strict=True):
        for end in by_level.values():
            assert solution & ~end.open == 0
            assert end.open & ~state.open == 0
            assert state.placed & ~end.placed == 0
            assert end.givens == state.givens


def test_a_stronger_level_leaves_no_more(left):
    order = [
        (weak, strong)
        for weak, strong in combinations(CONSISTENCIES, 2)
        if CONSISTENCIES[weak].sees_no_more_than(CONSISTENCIES[strong])
    ]
    assert len(order) == 22
    for weak, strong in order:
        more = [by[weak].open & ~by[strong].open for by in left]
        assert not any(by[strong].open & ~by[weak].open for by in left), (weak, strong)
        assert any(more), (weak, strong)


def test_levels_that_cannot_be_compared(left):
    """Each excludes something that the other leaves, so neither is listed as weaker."""
    for first, second in combinations(CONSISTENCIES, 2):
        if CONSISTENCIES[first].sees_no_more_than(CONSISTENCIES[second]):
            continue
        assert not CONSISTENCIES[second].sees_no_more_than(CONSISTENCIES[first])
        for one, other in ((first, second), (second, first)):
            assert any(by[one].open & ~by[other].open for by in left), (one, other)


def test_a_level_finds_nothing_in_what_it_leaves(left):
    for by_level in left:
        for name, end in by_level.items():
            again = consistent(end, name)
            assert (again.open, again.placed) == (end.open, end.placed), name


def test_what_a_level_excludes_it_excludes_alone(samples, left):
    """One candidate open again is excluded again, in whichever cell it is."""
    tried = set()
    for (layout, state, _), by_level in zip(samples, left, strict=True):
        for name, end in by_level.items():
            if end.is_solved or layout is not NINE:
                continue
            for candidate in list(bits(state.open & ~end.open))[::4]:
                again = State(end.layout, end.open | 1 << candidate)
                assert consistent(again, name).open == end.open, name
                tried.add((name, candidate % 81))
    assert all((name, cell) in tried for name in ("failed-literals", "shaving") for cell in (0, 80))


def test_levels_are_monotone(samples, left):
    """Fewer candidates leave fewer; random ones are taken out, true ones too."""
    random = np.random.default_rng(5)
    dead = 0
    for (layout, state, _), by_level in zip(samples, left, strict=True):
        lost = np.flatnonzero(random.random(layout.candidates) < random.choice([0.02, 0.1]))
        less = State(layout, state.open & ~sum(1 << c for c in lost.tolist()))
        for name, end in by_level.items():
            assert consistent(less, name).open & ~end.open == 0, name
            dead += solves(less, name) is Outcome.DEAD
    assert dead > 100


def test_written_cells_are_those_whose_rivals_are_gone(left):
    for by_level in left:
        for end in by_level.values():
            marks = [end.digits_of(cell) for cell in range(end.layout.cells)]
            assert State.from_marks(marks, end.layout).placed == end.placed


def test_units_and_locked_candidates_are_those_of_the_techniques(samples, left):
    """Where there is a solution the techniques leave the same, found by another search."""
    naked = EVERYTHING.only("naked-single")
    for (_, state, _), by_level in zip(samples, left, strict=True):
        for name, repertoire in (
            ("minimal-units", naked),
            ("extended-units", LEVELS["singles"]),
            ("locked", LEVELS["locked"]),
        ):
            end = closure(state, repertoire)
            assert (end.open, end.placed) == (by_level[name].open, by_level[name].placed), name


def test_all_subsets_are_all_different_consistency():
    """Provan 2009 (details from memory): subset techniques against matchings, 320 states of 9x9.

    Of nine cells in a house either a set or its complement has four cells at most.
    """
    subsets = LEVELS["subsets"].without("pointing", "claiming")
    reduced = 0
    for number, (state, _) in enumerate(loose(NINE, 320, 77)):
        end = consistent(state, "all-different")
        assert closure(state, subsets).open == end.open, number
        locked = consistent(state, "all-different-locked")
        assert closure(state, LEVELS["subsets"]).open == locked.open, number
        reduced += end.open != consistent(state, "extended-units").open
    assert reduced > 60


def shaved(state, level):
    """Shaving by its definition: assume every candidate, until none fails."""
    layout = state.layout
    while True:
        failing = sum(
            1 << c
            for c in bits(state.open)
            if solves(state.without(layout.conflicts[c]), level) is Outcome.DEAD
        )
        after = consistent(state.without(failing), level)
        if after.open == state.open:
            return state
        state = after


@pytest.mark.parametrize(
    ("name", "inner"), [("failed-literals", "extended-units"), ("shaving", "all-different")]
)
def test_shaving_is_what_its_definition_says(samples, left, name, inner):
    open_ends = 0
    for (layout, state, _), by_level in list(zip(samples, left, strict=True))[::4]:
        if layout.size < 16:
            assert shaved(state, inner).open == by_level[name].open
            open_ends += not by_level[name].is_solved
    assert open_ends > 10


def test_shaving_of_a_hard_puzzle_is_what_its_definition_says():
    for name, inner in (("failed-literals", "extended-units"), ("shaving", "all-different")):
        state = read_puzzle(HARD)
        assert shaved(state, inner).open == consistent(state, name).open


def test_contradictions_are_found():
    """Every level's verdict on 6x6 states, of which the kernel counts the solutions."""
    layout = boxes(2, 3)
    random = np.random.default_rng(3)
    engine, found = KernelEngine(), dict.fromkeys(CONSISTENCIES, 0)
    without = 0
    for _ in range(300):
        open_ = sum(
            1 << c for c in np.flatnonzero(random.random(216) < random.uniform(0.5, 0.8)).tolist()
        )
        state = State(layout, open_)
        count = engine.count(state, 2).value
        without += count == 0
        for name in CONSISTENCIES:
            outcome = solves(state, name)
            assert count == 0 or outcome is not Outcome.DEAD, name
            assert count == 1 or outcome is not Outcome.SOLVED, name
            assert (consistent(state, name).open == 0) == (outcome is Outcome.DEAD)
            found[name] += outcome is Outcome.DEAD
    assert found["minimal-units"] < found["extended-units"] < found["all-different"]
    assert found["all-different"] < found["shaving"] <= without


def test_a_digit_without_a_place_is_nothing_to_the_minimal_encoding():
    """No clause of it asks for the digit."""
    state = State.empty(boxes(2, 2)).without(0b1111)
    assert solves(state, "minimal-units") is Outcome.OPEN
    assert solves(state, "bounds") is Outcome.DEAD
    assert solves(state, "extended-units") is Outcome.DEAD


def test_a_puzzle_without_solution():
    """Published as such; see tests/conformance/test_published_counts.py."""
    state = read_puzzle(NO_SOLUTION)
    assert solves(state, "shaving") is Outcome.DEAD
    assert consistent(state, "shaving").open == 0
    assert weakest_level(state) is None


def test_the_weakest_level_that_solves():
    assert weakest_level(read_puzzle(EASY)) == "minimal-units"
    assert weakest_level(read_puzzle(HARD)) is None
    end = consistent(read_puzzle(EASY), "minimal-units")
    assert end.is_solved
    assert end.grid == next(KernelEngine().solutions(read_puzzle(EASY)))


def test_an_outcome_is_neither_true_nor_false():
    with pytest.raises(TypeError, match="no truth value"):
        bool(solves(read_puzzle(EASY), "bounds"))


def test_unknown_levels_are_refused():
    with pytest.raises(ValueError, match="there are minimal-units, "):
        consistent(read_puzzle(EASY), "arc")
    assert level_of_consistency("locked") is CONSISTENCIES["locked"]


def test_the_order_of_levels_by_what_they_assume():
    plain, shaving = Level("", "", HIDDEN), Level("", "", HIDDEN, 0)
    assert plain.sees_no_more_than(shaving)
    assert not shaving.sees_no_more_than(plain)
    assert not Level("", "", 0, HIDDEN).sees_no_more_than(Level("", "", HIDDEN | MATCHINGS, 0))


def test_the_bits_of_a_cell_have_room_for_the_largest_layout():
    room = new_room(latin(25))
    assert room.rows[0, 0] | int(DIGITS) == (1 << 31) - 1
    state = State.empty(latin(25))
    assert consistent(state, "failed-literals").open == state.open
