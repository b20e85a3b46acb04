"""A board keeps every view of the open candidates in step."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.arrays import from_words, placed_cells, state_words, to_words, word_count
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.techniques.compiled.board import (
    BLANKS,
    FULL,
    GUARD,
    MASKS,
    OPEN,
    READY,
    WRITTEN,
    allow_all,
    clear,
    exclude,
    forbid,
    load_givens,
    load_state,
    new_board,
    place,
)
from gridcrux.techniques.compiled.driver import run
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import Ints, tables
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import NOTHING, board_of

LAYOUTS = [boxes(2, 2), latin(5), NINE.with_diagonals(), boxes(3, 4)]

each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


def _members(words: Ints, count: int) -> set[int]:
    return set(bits(from_words(words.view(np.uint64)) & (1 << count) - 1))


def _check(layout: Layout, board: Ints) -> None:
    """Every row against what follows from the open candidates and the written cells."""
    index, houses = tables(layout), layout.houses
    open_ = from_words(board[OPEN, : word_count(layout)].view(np.uint64))
    written = board[WRITTEN, : layout.cells]
    ready = set()
    for rule, candidates in enumerate(index.candidates.tolist()):
        left = [i for i, candidate in enumerate(candidates) if open_ >> candidate & 1]
        assert board[MASKS, rule] == sum(1 << i for i in left)
        if len(left) == 1 and not written[candidates[left[0]] % layout.cells]:
            ready.add(rule)
    assert _members(board[READY], len(layout.rules)) == ready
    blanks = [sum(1 - int(written[cell]) for cell in house.cells) for house in houses]
    assert board[BLANKS, : len(houses) + 1].tolist() == [*blanks, layout.cells - written.sum()]
    assert _members(board[FULL], len(houses)) == {h for h, b in enumerate(blanks) if b == 1}


def _solvable(layout: Layout) -> Iterator[tuple[State, np.ndarray]]:  # type: ignore[type-arg]
    for sampled in minimal(3, 21, layout):
        yield State.from_digits(sampled.puzzle, layout), sampled.solution


@each_layout
def test_an_empty_board(layout: Layout) -> None:
    board = new_board(tables(layout))
    _check(layout, board)
    assert from_words(board[OPEN, : word_count(layout)].view(np.uint64)) == layout.full


@each_layout
def test_rows_stay_in_step_while_a_grid_is_filled(layout: Layout) -> None:
    index, random = tables(layout), np.random.default_rng(4)
    solution = next(minimal(1, 22, layout)).solution.tolist()
    board = new_board(index)
    for cell in random.permutation(layout.cells):
        for candidate in random.integers(layout.candidates, size=3).tolist():
            digit = candidate // layout.cells + 1
            open_ = board[OPEN, candidate >> 6] >> (candidate & 63) & 1
            if open_ and solution[candidate % layout.cells] != digit:
                exclude(index, board, candidate)
        place(index, board, (solution[cell] - 1) * layout.cells + cell)
        _check(layout, board)
    assert board[WRITTEN, : layout.cells].all()


@pytest.mark.parametrize("layout", [boxes(2, 2), NINE], ids=lambda layout: layout.name)
def test_givens_and_their_state_make_the_same_board(layout: Layout) -> None:
    index = tables(layout)
    used = new_board(index)
    for start, _ in _solvable(layout):
        load_givens(index, used, np.array(start.puzzle, np.int8))
        loaded = new_board(index)
        load_state(index, loaded, state_words(start), placed_cells(start))
        for row in (MASKS, OPEN, WRITTEN, BLANKS, READY, FULL):
            assert (used[row] == loaded[row]).all()
        _check(layout, used)
        run(index, used, plan_of(FIRST_FAMILY), NOTHING, -1, np.empty((1, 60), np.int64))


def test_a_used_board_is_as_good_as_a_new_one() -> None:
    index = tables(NINE)
    used, room = new_board(index), np.empty((1, 60), np.int64)
    for start, _ in _solvable(NINE):
        load_givens(index, used, np.array(start.puzzle, np.int8))
        reused = run(index, used, plan_of(FIRST_FAMILY), NOTHING, -1, room)
        assert reused == run(index, board_of(start), plan_of(FIRST_FAMILY), NOTHING, -1, room)
    clear(index, used)
    for row in (MASKS, OPEN, WRITTEN, BLANKS, READY, FULL):
        assert (used[row] == new_board(index)[row]).all()


def test_a_copy_is_a_state_of_its_own() -> None:
    index = tables(NINE)
    board = board_of(State.empty())
    copy = board.copy()
    place(index, copy, 0)
    _check(NINE, board)
    _check(NINE, copy)
    assert not board[WRITTEN].any()


def test_forbidden_candidates_leave_the_guard_and_come_back() -> None:
    index, board = tables(NINE), board_of(State.empty())
    forbid(index, board, 100)
    for rule, candidates in enumerate(index.candidates.tolist()):
        expected = sum(1 << i for i, candidate in enumerate(candidates) if candidate != 100)
        assert board[GUARD, rule] == expected
    allow_all(index, board)
    assert (board[GUARD, : len(index.rules)] == 511).all()


@pytest.mark.parametrize(
    "digits",
    [[1, 1] + [0] * 14, [1, 0, 0, 0] * 2 + [0] * 8, [1, 2, 3, 0, 0, 0, 4, 0] + [0] * 8],
    ids=["twice in a row", "twice in a column", "no digit left in a cell"],
)
def test_contradictory_givens_end_at_once(digits: list[int]) -> None:
    layout = boxes(2, 2)
    index, board = tables(layout), new_board(tables(layout))
    load_givens(index, board, np.array(digits, np.int8))
    room = np.empty((1, 60), np.int64)
    assert run(index, board, plan_of(FIRST_FAMILY), NOTHING, -1, room) == (0, 2)


def test_a_written_cell_without_candidate_is_a_contradiction() -> None:
    state = State.from_digits([1] + [0] * 15)
    board = board_of(state.without(1))
    room = np.empty((1, 60), np.int64)
    assert run(tables(boxes(2, 2)), board, plan_of(FIRST_FAMILY), NOTHING, -1, room) == (0, 2)


def test_words_of_masks_are_taken_as_they_are() -> None:
    """The last bit of a word is the sign of the int that holds it."""
    board, index = board_of(State.empty()), tables(NINE)
    for candidate in (63, 127, 728):
        exclude(index, board, candidate)
        kept = from_words(board[OPEN, : word_count(NINE)].view(np.uint64))
        assert not kept >> candidate & 1
    expected = NINE.full & ~(1 << 63 | 1 << 127 | 1 << 728)
    assert (board[OPEN, : word_count(NINE)] == to_words(expected, 12).view(np.int64)).all()
