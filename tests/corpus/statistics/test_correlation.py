"""Rank correlations against scipy and pandas, weights against rows that are repeated."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import rankdata, spearmanr

from gridcrux.corpus.rows import UnknownColumn
from gridcrux.corpus.statistics.correlation import (
    CORRELATION_COLUMNS,
    rank_correlations,
    ranks,
)

RANDOM = np.random.default_rng(3)


def pair(count, rho, random=RANDOM):
    one, two = random.normal(size=(2, count))
    return pd.DataFrame({"a": one, "b": rho * one + np.sqrt(1 - rho**2) * two})


@pytest.mark.parametrize("values", [1000, 5, 2])
def test_it_is_that_of_scipy_and_pandas_however_many_ties(values):
    table = pair(300, 0.6)
    table = table.assign(c=(table["b"] * values).round(), d=(table["a"] > 0).astype(int))
    table.loc[:20, "c"] = np.nan
    found = rank_correlations(table, ["a", "d"], ["b", "c"], resamples=20)
    assert list(found) == list(CORRELATION_COLUMNS)
    for row in found.itertuples():
        both = table[[row.first, row.second]].dropna()
        assert row.spearman == pytest.approx(spearmanr(both).statistic, abs=1e-12)
        ranked = table[row.first].corr(table[row.second], method="spearman")
        assert row.spearman == pytest.approx(ranked, abs=1e-12)
        assert (row.puzzles, row.unknown) == (len(both), 300 - len(both))
        assert row.first_values == both[row.first].nunique()
        assert row.second_values == both[row.second].nunique()


def test_ranks_are_those_of_scipy_as_shares():
    values = RANDOM.integers(0, 9, 50).astype(float)
    expected = (rankdata(values) - 0.5) / 50
    assert ranks(values, np.ones(50)) == pytest.approx(expected)
    weight = RANDOM.integers(1, 5, 50)
    repeated = ranks(np.repeat(values, weight), np.ones(weight.sum()))
    assert np.repeat(ranks(values, weight.astype(float)), weight) == pytest.approx(repeated)


def test_a_weight_counts_as_so_many_rows():
    table = pair(80, 0.4).round(1)
    weight = RANDOM.integers(1, 6, 80)
    heavy = rank_correlations(table.assign(weight=weight), ["a"], ["b"], resamples=20)
    repeated = table.loc[table.index.repeat(weight)]
    expected = spearmanr(repeated["a"], repeated["b"]).statistic
    assert heavy["spearman"][0] == pytest.approx(expected, abs=1e-12)
    assert heavy["puzzles"][0] == 80
    ignored = rank_correlations(table.assign(weight=weight), ["a"], ["b"], weights=None)
    assert ignored["spearman"][0] == pytest.approx(spearmanr(table).statistic, abs=1e-12)


def test_intervals_cover_what_they_should():
    random = np.random.default_rng(8)
    rho = 0.5
    # Kruskal, "Ordinal measures of association", 1958, for normal variables (from memory).
    true = 6 / np.pi * np.arcsin(rho / 2)
    covered = 0
    for number in range(200):
        found = rank_correlations(pair(100, rho, random), ["a"], ["b"], resamples=300, seed=number)
        covered += bool((found["low"][0] <= true) & (true <= found["high"][0]))
    assert 0.89 <= covered / 200 <= 0.99


def test_puzzles_of_a_group_say_less():
    table = pair(60, 0.5)
    repeated = table.loc[table.index.repeat(5)].reset_index(drop=True)
    grouped = repeated.assign(group=np.repeat(np.arange(60), 5))
    alone, together, few = (
        rank_correlations(each, ["a"], ["b"], resamples=2000).loc[0]
        for each in (repeated, grouped, table)
    )
    assert together["spearman"] == pytest.approx(alone["spearman"])
    width = alone["high"] - alone["low"]
    assert together["high"] - together["low"] == pytest.approx(width * np.sqrt(5), rel=0.2)
    assert together["high"] - together["low"] == pytest.approx(few["high"] - few["low"], rel=0.1)


def test_pairs_known_of_the_same_puzzles_are_told_as_if_alone():
    table = pair(50, 0.3).assign(c=lambda t: t["a"] ** 2, d=lambda t: t["b"].where(t["b"] > -1))
    all_ = rank_correlations(table, ["a", "c"], ["b", "d"], seed=4)
    for row in all_.itertuples():
        alone = rank_correlations(table, [row.first], [row.second], seed=4).loc[0]
        assert (alone["low"], alone["high"]) == (row.low, row.high)
    other = rank_correlations(table, ["a"], ["b"], seed=5).loc[0]
    assert other["low"] != all_.loc[0, "low"]


def test_without_ranks_there_is_no_correlation():
    table = pd.DataFrame({"a": [1.0, 2, 3, 4], "b": [5.0] * 4, "c": [1, 2, None, None]})
    found = rank_correlations(table, ["a"], ["b", "c"]).set_index("second")
    assert found["spearman"].isna().all()
    assert found["low"].isna().all()
    assert found["puzzles"].tolist() == [4, 2]
    with pytest.raises(UnknownColumn, match="no column"):
        rank_correlations(table, ["a"], ["other"])
    with pytest.raises(ValueError, match="no rows"):
        rank_correlations(table.head(0), ["a"], ["b"])
