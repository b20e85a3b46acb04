"""A state holds what the paper holds; every change keeps its promises."""

from __future__ import annotations

import pickle

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gridcrux.grids.layout import NINE, boxes, latin, named, regions
from gridcrux.grids.state import ContradictoryGivens, State, bits

JAGGED = regions(["1112", "1222", "3334", "3444"], "jagged")
LAYOUTS = [boxes(2, 2), boxes(2, 3), NINE, boxes(4, 4), latin(5), named("3x3-diagonals"), JAGGED]

# Encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
DIGITS = tuple(map(int, PUZZLE))


@st.composite
def states(draw):
    """A state reached by placing some digits, each open when it is placed, and losing some."""
    layout = draw(st.sampled_from(LAYOUTS))
    state = State.empty(layout)
    for _ in range(draw(st.integers(0, 12))):
        free = [c for c in bits(state.open) if not state.placed >> c % layout.cells & 1]
        if free:
            state = state.with_placed(draw(st.sampled_from(free)))
    lost = draw(st.sets(st.integers(0, layout.candidates - 1), max_size=30))
    free = [c for c in lost if not state.placed >> c % layout.cells & 1]
    return state.without(sum(1 << c for c in free))


@given(st.integers(0, 2**80))
def test_bits_are_the_positions_in_order(mask):
    found = list(bits(mask))
    assert found == sorted(found)
    assert sum(1 << position for position in found) == mask


def test_a_state_of_givens_loses_their_conflicts_and_no_more():
    state = State.from_digits(DIGITS)
    assert state.layout is NINE
    assert state.grid == state.puzzle == DIGITS
    assert state.givens == state.placed
    assert state.placed.bit_count() == 30
    for candidate in range(729):
        digit, cell = divmod(candidate, 81)
        if DIGITS[cell]:
            expected = DIGITS[cell] == digit + 1
        else:
            expected = all(DIGITS[peer] != digit + 1 for peer in NINE.peers[cell])
        assert state.is_open(candidate) == expected


@pytest.mark.parametrize("kind", [list, tuple, bytes, lambda d: np.array(d, np.int8)])
def test_digits_may_come_in_any_sequence(kind):
    # Numbers of 8 bits overflow in the numbering of candidates unless they are widened.
    assert State.from_digits(kind(DIGITS)) == State.from_digits(DIGITS)
    marks = [kind([d]) if d else kind(range(1, 10)) for d in DIGITS]
    assert State.from_marks(marks) == State.from_marks([list(map(int, m)) for m in marks])


@pytest.mark.parametrize(
    ("givens", "first", "second", "house"),
    [
        ({0: 5, 4: 5}, "r1c1", "r1c5", "row 1"),
        ({0: 3, 1: 3}, "r1c1", "r1c2", "row 1"),
        ({1: 2, 73: 2}, "r1c2", "r9c2", "column 2"),
        ({0: 9, 10: 9}, "r1c1", "r2c2", "box 1"),
    ],
)
def test_equal_givens_of_a_house_are_named(givens, first, second, house):
    digits = [givens.get(cell, 0) for cell in range(81)]
    with pytest.raises(ContradictoryGivens) as caught:
        State.from_digits(digits)
    digit = max(givens.values())
    assert f"givens {first} and {second} are both {digit} in {house}" in str(caught.value)
    assert caught.value.cells == tuple(givens)
    assert caught.value.digit == digit - 1
    copy = pickle.loads(pickle.dumps(caught.value))
    assert (str(copy), copy.cells) == (str(caught.value), caught.value.cells)


def test_a_diagonal_is_a_house_like_any_other():
    digits = [0] * 81
    digits[0] = digits[80] = 4
    State.from_digits(digits)
    with pytest.raises(ContradictoryGivens, match="in diagonal 1"):
        State.from_digits(digits, named("3x3-diagonals"))


@pytest.mark.parametrize(
    ("digits", "message"),
    [
        ([0] * 80, "80 cells, expected 81"),
        ([0] * 80 + [10], "r9c9 holds 10, expected 0 to 9"),
        ([0] * 80 + [-1], "r9c9 holds -1, expected 0 to 9"),
    ],
)
def test_digits_that_are_no_puzzle_are_refused(digits, message):
    with pytest.raises(ValueError, match=message):
        State.from_digits(digits)


def test_the_layout_is_told_by_the_number_of_cells():
    assert State.from_digits([0] * 36).layout is boxes(2, 3)
    assert State.from_marks([[1, 2]] * 256).layout is boxes(4, 4)
    with pytest.raises(ValueError, match="no usual layout of size 7"):
        State.from_digits([0] * 49)
    assert State.from_digits([0] * 25, latin(5)).open == latin(5).full


def test_marks_write_a_single_digit_only_where_its_rivals_are_gone():
    marks = [[1], [2, 3], [3, 4], [2, 4], *[[1, 2, 3, 4]] * 12]
    state = State.from_marks(marks)
    assert state.placed == 0, "r2c1 still holds a 1"
    for cell in (4, 5, 8, 12):
        marks[cell] = [2, 3, 4]
    state = State.from_marks(marks)
    assert state.placed == 1
    assert state.givens == 0
    assert state.grid[0] == 1
    assert state.marks["r1c2"] == [2, 3]
    assert "r1c1" not in state.marks


@pytest.mark.parametrize("digit", [0, 5])
def test_marks_outside_the_digits_are_refused(digit):
    with pytest.raises(ValueError, match=f"r1c2 holds {digit}, expected 1 to 4"):
        State.from_marks([[1], [digit], *[[1, 2]] * 14])
    with pytest.raises(ValueError, match="3 cells, expected 16"):
        State.from_marks([[1]] * 3, boxes(2, 2))


def test_an_empty_cell_or_house_breaks_the_first_rule_that_has_nothing_left():
    state = State.from_digits(DIGITS)
    assert state.broken_rule is None
    assert state.without(NINE.rules[2].mask).broken_rule == 2
    number = NINE.rule_numbers["4 in row 9"]
    assert state.without(NINE.rules[number].mask).broken_rule == number


@settings(max_examples=60, deadline=None)
@given(states())
def test_a_written_cell_has_one_candidate_without_open_rivals(state):
    layout = state.layout
    for cell in bits(state.placed):
        (digit,) = state.digits_of(cell)
        assert state.grid[cell] == digit
        assert not state.open & layout.conflicts[(digit - 1) * layout.cells + cell]
    for cell, digit in enumerate(state.grid):
        assert bool(digit) == bool(state.placed >> cell & 1)


@settings(max_examples=60, deadline=None)
@given(states())
def test_marks_and_digits_of_agree_and_give_the_state_back(state):
    cells, marks = state.layout.cells, state.marks
    for cell in range(cells):
        name = state.layout.cell_name(cell)
        assert (name in marks) != bool(state.placed >> cell & 1)
        if name in marks:
            assert marks[name] == state.digits_of(cell)
    again = State.from_marks([state.digits_of(cell) for cell in range(cells)], state.layout)
    assert again.open == state.open
    assert state.placed & ~again.placed == 0


@settings(max_examples=60, deadline=None)
@given(states(), st.data())
def test_excluding_and_placing_change_what_they_say(state, data):
    layout = state.layout
    mask = data.draw(st.integers(0, layout.full))
    less = state.without(mask)
    assert less.open == state.open & ~mask
    assert (less.placed, less.givens) == (state.placed, state.givens)
    free = [c for c in bits(state.open) if not state.placed >> c % layout.cells & 1]
    if free:
        candidate = data.draw(st.sampled_from(free))
        more = state.with_placed(candidate)
        assert more.placed == state.placed | 1 << candidate % layout.cells
        assert more.open == state.open & ~layout.conflicts[candidate]
        assert more.givens == state.givens


def test_a_filled_grid_is_solved():
    digits = [(2 * (r % 2) + r // 2 + c) % 4 + 1 for r in range(4) for c in range(4)]
    state = State.from_digits(digits)
    assert state.is_solved
    assert not State.from_digits([0, *digits[1:]]).is_solved
    assert state.marks == {}


def test_a_state_as_text():
    state = State.from_digits(DIGITS)
    assert state.line == PUZZLE.replace("0", ".")
    assert str(state).splitlines()[0] == "5 3 . . 7 . . . ."
    assert len(str(state).splitlines()) == 9
    assert "layout='3x3'" in repr(state)
    sixteen = State.from_digits([16, *[0] * 254, 10])
    assert sixteen.line == "G" + "." * 254 + "A"


def test_a_state_that_has_lost_a_written_digit_is_shown_without_it():
    state = State.from_digits([1, 2, 0, 0] + [0] * 12)
    spoilt = state.without(1 << 0)
    assert spoilt.line == ".2.............."
    assert spoilt.grid == spoilt.puzzle == (0, 2) + (0,) * 14
    assert str(spoilt).startswith(". 2 . .\n")
    assert ".2...." in repr(spoilt)
    assert spoilt._repr_svg_().startswith("<svg")
    assert spoilt.layout.rules[spoilt.broken_rule].name == "cell r1c1"
