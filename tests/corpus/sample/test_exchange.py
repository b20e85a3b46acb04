"""Variants of a puzzle keep its one solution, are minimal, and go the way they are sent."""

from __future__ import annotations

import numpy as np
import pytest

from gridcrux.corpus.sample import SYMMETRIES, grids, minimal, symmetric_cells
from gridcrux.corpus.sample.exchange import (
    ANY,
    FEW,
    MANY,
    draw,
    new_room,
    shuffle,
    source_from,
    thin,
    vary,
)
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State


def count(puzzle, layout=NINE):
    """Solutions, up to two, by an engine that shares nothing with the sampler's."""
    return get_engine("sat").count(State.from_digits(puzzle.tolist(), layout), 2).value


def source(seed):
    return source_from(np.random.default_rng(seed))


def test_random_numbers_are_spread_evenly_and_repeat():
    numbers = [draw(one, 7) for one in [source(1)] for _ in range(7000)]
    assert np.bincount(numbers, minlength=7).min() > 900
    assert [draw(one, 7) for one in [source(1)] for _ in range(20)] == numbers[:20]
    order, same = np.arange(50), np.arange(50)
    shuffle(source(2), order)
    assert sorted(order) == same.tolist()
    assert (order != same).any()


@pytest.mark.parametrize("layout", [NINE, boxes(2, 3), latin(5)], ids=lambda each: each.name)
def test_a_variant_is_another_minimal_puzzle_with_the_same_solution(layout):
    room = new_room(layout)
    for item in minimal(1, 1, layout):
        changed = 0
        for out in (1, 2, 3):
            variant = item.puzzle.copy()
            assert vary(room, variant, item.solution, out, 0, ANY, source(out))
            given = variant > 0
            assert (variant[given] == item.solution[given]).all()
            assert count(variant, layout) == 1
            for cell in np.flatnonzero(given):
                fewer = variant.copy()
                fewer[cell] = 0
                assert count(fewer, layout) == 2
            changed += (variant != item.puzzle).any()
        assert changed


@pytest.mark.parametrize("symmetry", SYMMETRIES)
def test_variants_keep_a_symmetry(symmetry):
    room, turned = new_room(NINE, symmetry), symmetric_cells(NINE, symmetry)
    (item,) = minimal(1, 2, symmetry=symmetry)
    variant = item.puzzle.copy()
    assert vary(room, variant, item.solution, 2, 0, ANY, source(3))
    given = variant > 0
    assert all((given[images] == given[cell]).all() for cell, images in enumerate(turned))
    assert count(variant) == 1


def test_what_rules_out_many_rivals_leads_to_few_givens():
    room, one = new_room(NINE), source(4)
    means = {}
    for aim in (MANY, ANY, FEW):
        sizes = []
        for item in minimal(40, 5):
            variant = item.puzzle.copy()
            assert vary(room, variant, item.solution, 3, 0, aim, one)
            sizes.append(np.count_nonzero(variant))
        means[aim] = np.mean(sizes)
    assert means[FEW] < means[ANY] < means[MANY]


def test_deletion_stops_where_it_is_told():
    room = new_room(NINE)
    for number, grid in enumerate(grids(5, 6)):
        puzzle = grid.copy()
        thin(room, puzzle, grid, 40, source(number))
        assert np.count_nonzero(puzzle) == 40
        thin(room, puzzle, grid, 50, source(number))
        assert np.count_nonzero(puzzle) == 50
        assert (puzzle[puzzle > 0] == grid[puzzle > 0]).all()
