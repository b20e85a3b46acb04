"""Fillings estimate how many grids there are, and every grid is drawn alike."""

from __future__ import annotations

import itertools
from collections import Counter

import numpy as np
import pytest
from scipy.stats import chisquare

from gridcrux.corpus.sample import uniform
from gridcrux.corpus.sample.uniform import fillings, unseen_houses
from gridcrux.engines.kernel import KernelEngine
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State
from samples import JAGGED

LAYOUTS = [boxes(2, 2), boxes(2, 3), NINE, latin(5), JAGGED, NINE.with_diagonals()]


def mean_and_error(values):
    return np.mean(values), np.std(values, ddof=1) / np.sqrt(len(values))


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_the_houses_filled_do_not_see_each_other(layout):
    chosen = unseen_houses(layout)
    assert all(tuple(cells) in {house.cells for house in layout.houses} for cells in chosen)
    for one, other in itertools.combinations(chosen, 2):
        assert not set(one) & set(other)
        assert not any(layout.peers[cell] & set(other) for cell in one)


def test_as_many_houses_as_there_are_boxes_on_a_diagonal():
    assert len(unseen_houses(NINE)) == len(unseen_houses(NINE.with_diagonals())) == 3
    assert len(unseen_houses(boxes(2, 3))) == 2
    assert len(unseen_houses(latin(5))) == 1


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_grids_keep_every_rule(layout):
    for filling in fillings(3, 1, layout):
        assert len(filling.grids) == (uniform.GRIDS if filling.completions else 0)
        for grid in filling.grids:
            for house in layout.houses:
                assert sorted(grid[list(house.cells)]) == list(range(1, layout.size + 1))


@pytest.mark.parametrize(("order", "known"), [(4, 576), (5, 161_280)])
def test_latin_squares_whose_first_row_is_given_are_all_as_many(order, known):
    assert {filling.weight for filling in fillings(20, 2, latin(order))} == {known}


@pytest.mark.parametrize(
    ("layout", "count", "known"),
    [
        (boxes(2, 2), 4000, 288),
        (boxes(2, 3), 4000, 28_200_960),
        (NINE, 15, 6_670_903_752_021_072_936_960),
    ],
    ids=["2x2", "2x3", "3x3"],
)
def test_weights_estimate_the_number_of_grids(layout, count, known):
    mean, error = mean_and_error(
        [filling.weight for filling in fillings(count, 3, layout, grids=1)]
    )
    assert abs(mean - known) < 4 * error
    assert error < 0.05 * known


def test_every_4x4_grid_is_drawn_alike():
    drawn = Counter(
        grid.tobytes()
        for filling in fillings(20_000, 4, boxes(2, 2), grids=1)
        for grid in filling.grids
    )
    assert len(drawn) == 288
    assert chisquare(list(drawn.values())).pvalue > 1e-4


def test_every_completion_is_drawn_alike():
    """The place of the draw among the completions as they are listed, first and last included."""
    layout = latin(4)
    engine = KernelEngine()
    places: Counter[int] = Counter()
    for filling in fillings(25, 5, layout, grids=200):
        first = filling.grids[0].copy()
        first[4:] = 0
        listed = [
            tuple(solution)
            for solution in engine.solutions(State.from_digits(first.tolist(), layout))
        ]
        assert len(listed) == filling.completions == 24
        places.update(listed.index(tuple(grid)) for grid in filling.grids.tolist())
    assert len(places) == 24
    assert chisquare(list(places.values())).pvalue > 1e-4


def test_fillings_with_more_completions_weigh_more():
    """Shares of equal digits in two cells, of irregular regions whose fillings differ much."""
    engine = KernelEngine()

    def known(*equal):
        digits = [1 if cell in equal else 0 for cell in range(36)]
        return engine.count(State.from_digits(digits, JAGGED), 10**6).value

    sample = list(fillings(3000, 6, JAGGED))
    assert len({filling.completions for filling in sample}) > 10
    weights = np.array([filling.weight for filling in sample])
    worst = {True: 0.0, False: 0.0}
    for one, other in ((4, 31), (5, 12), (4, 27)):
        share = known(one, other) / known(one)
        equal = np.array(
            [(f.grids[:, one] == f.grids[:, other]).mean() if f.completions else 0 for f in sample]
        )
        for weighty in worst:
            weight = weights if weighty else 1.0 * (weights > 0)
            off = weight * (equal - share)
            worst[weighty] = max(worst[weighty], abs(off.sum()) / np.sqrt((off**2).sum()))
    assert worst[True] < 4
    assert worst[False] > 6, "not shown by this test: without weights it would pass as well"


def test_a_filling_depends_on_seed_and_number_alone():
    whole = list(fillings(5, 7, boxes(2, 3)))
    later = list(fillings(2, 7, boxes(2, 3), start=3))
    for one, other in zip(whole[3:], later, strict=True):
        assert one.row() == other.row()
        assert (one.grids == other.grids).all()
    assert [filling.row() for filling in fillings(5, 8, boxes(2, 3))] != [
        filling.row() for filling in whole
    ]


def test_a_layout_with_too_many_completions_is_refused(monkeypatch):
    monkeypatch.setattr(uniform, "NODES", 1000)
    with pytest.raises(ValueError, match=r"'latin-7' is too large.*1,000 nodes"):
        next(fillings(1, 0, latin(7)))
