"""Estimates from weighted groups: values by hand, errors as they are seen."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.sample.estimates import COLUMNS, givens_table, group_table, summary_table
from gridcrux.corpus.sample.weighted import Group, Weighted


def puzzle(group, givens, weight):
    digits = np.array([1] * givens + [0] * (16 - givens), np.int8)
    return Weighted(group, digits, np.ones(16, np.int8), weight)


GROUPS = [
    Group(0, 200.0, (puzzle(0, 4, 30.0), puzzle(0, 5, 50.0), puzzle(0, 5, 20.0))),
    Group(1, 400.0, (puzzle(1, 5, 100.0), puzzle(1, 7, 60.0))),
    Group(2, 0.0, ()),
]


def test_totals_by_group_and_givens():
    table = group_table(GROUPS)
    assert table.to_dict("records") == [
        {"group": 0, "grids": 200.0, "givens": 4, "puzzles": 1, "weight": 30.0},
        {"group": 0, "grids": 200.0, "givens": 5, "puzzles": 2, "weight": 70.0},
        {"group": 1, "grids": 400.0, "givens": 5, "puzzles": 1, "weight": 100.0},
        {"group": 1, "grids": 400.0, "givens": 7, "puzzles": 1, "weight": 60.0},
        {"group": 2, "grids": 0.0, "givens": 0, "puzzles": 0, "weight": 0.0},
    ]


def test_shares_and_totals_by_hand():
    table = givens_table(group_table(GROUPS))
    assert table["givens"].tolist() == [4, 5, 7]
    assert table["found"].tolist() == [1, 3, 1]
    assert table["percent"].tolist() == pytest.approx([100 * x / 260 for x in (30, 170, 60)])
    assert table["weight"].tolist() == pytest.approx([10, 170 / 3, 20])
    # 7 givens: shares 60 / 260; what the groups leave is 0 - 100 r, 60 - 160 r, 0.
    share = 60 / 260
    rest = np.array([-100 * share, 60 - 160 * share, 0.0])
    error = np.sqrt((rest**2).sum() * 3 / 2) / 260
    assert table["standard_error"].iloc[2] == pytest.approx(100 * error)


def test_summary_by_hand():
    table = summary_table(group_table(GROUPS)).set_index("quantity")
    assert (table["groups"] == 3).all()
    mean = (4 * 30 + 5 * 170 + 7 * 60) / 260
    assert table.loc["mean givens", "estimate"] == pytest.approx(mean)
    error = table.loc["mean givens", "standard_error"]
    variance = (30 * (4 - mean) ** 2 + 170 * (5 - mean) ** 2 + 60 * (7 - mean) ** 2) / 260
    assert table.loc["mean givens", "effective"] == pytest.approx(variance / error**2)
    totals = np.array([100.0, 160.0, 0.0])
    assert table.loc["minimal puzzles", "estimate"] == pytest.approx(260 / 3)
    assert table.loc["minimal puzzles", "standard_error"] == pytest.approx(
        totals.std(ddof=1) / np.sqrt(3)
    )
    assert table.loc["minimal puzzles", "effective"] == pytest.approx(260**2 / (totals**2).sum())
    assert table.loc["grids", "estimate"] == pytest.approx(200)


def test_errors_are_those_seen_when_the_sample_is_drawn_again():
    """Groups of different size whose puzzles are alike: the error is between groups."""
    random = np.random.default_rng(1)

    def sample():
        rows = []
        for index, common in enumerate(random.integers(4, 8, 40).tolist()):
            givens = common + random.integers(0, 2, random.integers(1, 30))
            sums = np.bincount(givens, random.uniform(1, 2, givens.size), 9)
            rows += [(index, 1.0, n, 1, sums[n]) for n in range(9) if sums[n]]
        columns = ["group", "grids", "givens", "puzzles", "weight"]
        return summary_table(pd.DataFrame(rows, columns=columns)).set_index("quantity")

    samples = [sample() for _ in range(200)]
    for quantity in ("mean givens", "minimal puzzles"):
        seen = np.std([table.loc[quantity, "estimate"] for table in samples])
        told = np.mean([table.loc[quantity, "standard_error"] for table in samples])
        assert told == pytest.approx(seen, rel=0.2)
    assert np.mean([table.loc["mean givens", "effective"] for table in samples]) < 60


def test_tables_of_parts_can_be_put_together():
    parts = pd.concat([group_table(GROUPS[:1]), group_table(GROUPS[1:])])
    assert summary_table(parts).equals(summary_table(group_table(GROUPS)))
    assert givens_table(parts).equals(givens_table(group_table(GROUPS)))


def test_every_column_has_a_meaning():
    table = group_table(GROUPS)
    for made in (table, givens_table(table), summary_table(table)):
        assert set(made.columns) <= set(COLUMNS)
