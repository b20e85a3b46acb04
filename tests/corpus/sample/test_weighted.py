"""Weighted puzzles are minimal, and their weights stand for all minimal puzzles."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from gridcrux.corpus.sample.deletion import Workbench, generator
from gridcrux.corpus.sample.estimates import group_table, summary_table
from gridcrux.corpus.sample.weighted import (
    COLUMNS,
    Plan,
    groups,
    plan,
    puzzles_of,
    thinned,
    weighted,
)
from gridcrux.engines.kernel import KernelEngine
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State

FOUR = boxes(2, 2)
KNOWN = {4: 25_728, 5: 58_368, 6: 1_536}
"""Published numbers of minimal 4x4 puzzles by givens."""


@cache
def all_grids():
    state = State.from_digits([0] * 16, FOUR)
    return np.array(list(KernelEngine().solutions(state)), np.int8)


def minimal_sets(grid):
    """Every minimal puzzle of a 4x4 grid, as a set of 16 bits, by looking at all sets of cells."""
    sets = np.arange(1 << 16, dtype=np.uint16)
    sound = np.ones(1 << 16, bool)
    for differs in np.unique((all_grids() != grid) @ (1 << np.arange(16))):
        if differs:
            sound &= (sets & np.uint16(differs)) != 0
    minimal = sound.copy()
    for cell in range(16):
        without = sets & np.uint16(0xFFFF ^ 1 << cell)
        minimal &= (without == sets) | ~sound[without]
    return np.flatnonzero(minimal)


def as_set(puzzle):
    return int(np.sum((puzzle > 0) << np.arange(16)))


def solutions(digits, layout):
    return KernelEngine().count(State.from_digits(digits.tolist(), layout), 2).value


@pytest.mark.parametrize(
    ("layout", "count"), [(FOUR, 3), (boxes(2, 3), 1), (NINE, 1), (latin(4), 1)]
)
def test_no_given_of_a_weighted_puzzle_can_be_spared(layout, count):
    items = list(weighted(count, 1, layout))
    assert items
    for item in items[:: max(1, len(items) // 40)]:
        assert item.weight > 0
        assert solutions(item.puzzle, layout) == 1
        assert (item.puzzle[item.puzzle > 0] == item.solution[item.puzzle > 0]).all()
        for cell in np.flatnonzero(item.puzzle):
            fewer = item.puzzle.copy()
            fewer[cell] = 0
            assert solutions(fewer, layout) == 2


def test_the_exhaustive_count_is_the_published_one():
    """It is what the weights are compared with."""
    found = np.concatenate([minimal_sets(grid) for grid in all_grids()])
    sizes = np.bincount(np.bitwise_count(found))
    assert {n: int(size) for n, size in enumerate(sizes) if size} == KNOWN


def rough(cells, worth):
    """A table under which a visit is worth the same whatever it has."""
    return np.full((cells + 1, cells + 1), worth)


PLANS = {
    "one deletion a visit": (lambda: Plan(9, 20, rough(16, 1.0)), 3000),
    "several deletions a visit": (lambda: Plan(7, 20, rough(16, 9.0)), 1500),
    "starts below some puzzles": (lambda: Plan(5, 40, rough(16, 3.0)), 3000),
    "without descents": (lambda: Plan(0, 1, rough(16, 1.0)), 12_000),
}


def sampled_weights(grid, puzzles, plan, runs):
    """(runs, N) what each run says of each of the N minimal puzzles of a grid."""
    bench = Workbench(FOUR)
    random = generator(12, 0)
    sums = np.zeros((runs, puzzles.size))
    for run in sums:
        found, weights = puzzles_of(bench, grid, plan, random)
        sets = np.array([as_set(puzzle) for puzzle in found], np.int64)
        places = np.searchsorted(puzzles, sets)
        assert (puzzles[places] == sets).all()
        np.add.at(run, places, weights)
    return sums


def scores(sums, expected):
    """By how many standard errors means over runs are off."""
    return (sums.mean(0) - expected) / (sums.std(0, ddof=1) / np.sqrt(len(sums)))


def test_every_minimal_puzzle_of_a_grid_has_weight_one_on_average():
    grid = all_grids()[7]
    puzzles = minimal_sets(grid)
    sums = sampled_weights(grid, puzzles, plan(FOUR), 300)
    assert (np.count_nonzero(sums, axis=0) > 20).all()
    off = scores(sums, 1)
    assert abs(off).max() < 5
    assert 0.7 < np.mean(off**2) < 1.4
    assert abs(scores(sums.sum(1), puzzles.size)) < 4
    assert sums.sum(1).std() / puzzles.size < 0.5


@pytest.mark.parametrize("name", PLANS)
def test_no_plan_is_biased(name):
    make, runs = PLANS[name]
    grid = all_grids()[7]
    puzzles = minimal_sets(grid)
    sums = sampled_weights(grid, puzzles, make(), runs)
    sizes = np.bitwise_count(puzzles)
    for n in (4, 5):
        some = sums[:, sizes == n].sum(1)
        assert abs(scores(some, np.count_nonzero(sizes == n))) < 4
        assert some.std() / np.sqrt(runs) < 0.1 * np.count_nonzero(sizes == n)


def test_all_minimal_4x4_puzzles_are_estimated():
    table = group_table(groups(80, 2, FOUR))
    for n, known in KNOWN.items():
        weights = table["weight"].where(table["givens"] == n, 0.0).groupby(table["group"]).sum()
        assert weights.size == 80
        assert abs(weights.mean() - known) < 4 * weights.sem()
    total = summary_table(table).set_index("quantity").loc["minimal puzzles"]
    assert abs(total["estimate"] - 85_632) < 4 * total["standard_error"]


def test_minimal_9x9_puzzles_have_26_58_givens_on_average():
    """Published: mean 26.577, 3.10e37 minimal puzzles."""
    table = summary_table(group_table(groups(10, 3))).set_index("quantity")
    known = {"mean givens": 26.577, "minimal puzzles": 3.10e37, "grids": 6.6709e21}
    for quantity, value in known.items():
        estimate, error = table.loc[quantity, ["estimate", "standard_error"]]
        assert abs(estimate - value) < 4 * error
    assert table.loc["mean givens", "standard_error"] < 0.2
    assert table.loc["minimal puzzles", "standard_error"] < 0.15 * 3.1e37


def test_a_group_depends_on_seed_and_number_alone():
    whole = [item.row() for item in weighted(4, 11, FOUR)]
    assert all(list(row) == list(COLUMNS) for row in whole)
    assert [item.row() for item in weighted(2, 11, FOUR, start=2)] == [
        row for row in whole if row["group"] >= 2
    ]
    assert [item.row() for item in weighted(4, 12, FOUR)] != whole


def test_a_group_without_a_grid_counts():
    found = list(groups(8, 2, FOUR))
    assert [group.index for group in found] == list(range(8))
    assert any(group.grids == 0 and not group.puzzles for group in found)


def test_a_layout_too_large_is_refused(monkeypatch):
    monkeypatch.setattr("gridcrux.corpus.sample.uniform.NODES", 1000)
    with pytest.raises(ValueError, match="'latin-7' is too large"):
        next(weighted(1, 0, latin(7)))


def test_some_puzzles_of_a_group_stand_for_all():
    group = next(iter(groups(1, 3)))
    assert len(group.puzzles) > 1000
    givens = np.array([puzzle.givens for puzzle in group.puzzles])
    weights = np.array([puzzle.weight for puzzle in group.puzzles])
    total, many = weights.sum(), weights[givens > 26].sum()
    drawn = [list(thinned(group.puzzles, 50, np.random.default_rng(i))) for i in range(400)]
    assert all(40 <= len(each) <= 55 for each in drawn)
    sums = np.array([sum(puzzle.weight for puzzle in each) for each in drawn])
    assert np.allclose(sums, total, rtol=0.03)
    shares = np.array([sum(p.weight for p in each if p.givens > 26) for each in drawn])
    error = shares.std(ddof=1) / np.sqrt(len(drawn))
    assert abs(shares.mean() - many) < 4 * error
    assert error > 0
    heavy = total / 50 < weights
    kept = {p.line for each in drawn for p in each if p.weight > total / 50 * 1.0001}
    assert kept == {group.puzzles[i].line for i in np.flatnonzero(heavy)}
    few = group.puzzles[:50]
    assert tuple(thinned(few, 50, np.random.default_rng(0))) == few
