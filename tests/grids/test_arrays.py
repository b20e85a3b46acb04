"""Arrays for compiled code say the same as the masks and houses that they come from."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from gridcrux.grids.arrays import (
    from_words,
    geometry,
    open_candidates,
    placed_cells,
    state_words,
    to_words,
    word_count,
)
from gridcrux.grids.layout import NINE, boxes, latin, named, regions
from gridcrux.grids.state import State, bits

JAGGED = regions(["1112", "1222", "3334", "3444"], "jagged")
LAYOUTS = [boxes(2, 2), boxes(2, 3), NINE, boxes(4, 4), latin(5), named("3x3-diagonals"), JAGGED]
each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


@given(st.integers(0, 2**256 - 1), st.integers(4, 6))
def test_words_hold_the_mask(mask, words):
    array = to_words(mask, words)
    assert (array.dtype, array.shape) == (np.uint64, (words,))
    assert from_words(array) == mask
    for position in range(words * 64):
        assert int(array[position // 64]) >> position % 64 & 1 == mask >> position & 1


def test_a_mask_too_long_for_its_words_is_refused():
    with pytest.raises(OverflowError):
        to_words(1 << 128, 2)


def test_words_may_be_a_slice_of_a_larger_array():
    table = np.zeros((4, 6), np.uint64)
    table[1, ::2] = [1, 2, 3]
    assert from_words(table[1, ::2]) == 1 | 2 << 64 | 3 << 128


def test_the_number_of_words():
    assert word_count(latin(4)) == 1
    assert word_count(latin(5)) == 2
    assert word_count(NINE) == 12


@each_layout
def test_the_tables_are_the_houses(layout):
    tables = geometry(layout)
    assert tables.size == layout.size
    assert tables.house_cells.tolist() == [list(house.cells) for house in layout.houses]
    for cell, numbers in enumerate(layout.houses_of):
        deepest = tables.cell_houses.shape[1]
        padded = [*numbers, *[-1] * (deepest - len(numbers))]
        assert tables.cell_houses[cell].tolist() == padded
        for slot, number in enumerate(numbers):
            assert tables.house_cells[number, tables.cell_slots[cell, slot]] == cell
    kinds = {0: "row", 1: "column"}
    for kind, house in zip(tables.house_kinds.tolist(), layout.houses, strict=True):
        if kind in kinds or house.kind in kinds.values():
            assert kinds[kind] == house.kind
        else:
            assert kind == (3 if house.kind == "diagonal" else 2)


@each_layout
def test_shared_cells_are_positions_in_the_first_house(layout):
    shared = geometry(layout).shared
    for first, house in enumerate(layout.houses):
        assert shared[first, first] == 2**layout.size - 1
        for second, other in enumerate(layout.houses):
            cells = {house.cells[position] for position in bits(int(shared[first, second]))}
            assert cells == set(house.cells) & set(other.cells)


@each_layout
def test_rules_and_conflicts_are_the_masks(layout):
    tables = geometry(layout)
    assert tables.rules.shape == (len(layout.rules), word_count(layout))
    assert [from_words(row) for row in tables.rules] == [rule.mask for rule in layout.rules]
    assert [from_words(row) for row in tables.conflicts] == list(layout.conflicts)


def test_tables_are_made_once_for_equal_layouts():
    assert geometry(regions(["1112", "1222", "3334", "3444"], "jagged")) is geometry(JAGGED)


def test_a_state_as_arrays():
    digits = [5, *[0] * 79, 7]
    state = State.from_digits(digits)
    assert from_words(state_words(state)) == state.open
    assert np.flatnonzero(placed_cells(state)).tolist() == [0, 80]
    assert placed_cells(state).shape == (81,)


@each_layout
def test_open_candidates_are_those_of_the_state(layout):
    state = State.empty(layout).with_placed(layout.cells + 2).without(1 << 3)
    found = open_candidates(state)
    assert (found.dtype, found.shape) == (np.bool_, (layout.size, layout.cells))
    assert np.flatnonzero(found.ravel()).tolist() == list(bits(state.open))
