"""Rates and means against scipy, numpy and hand; intervals cover the truth as often as they say."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binomtest
from scipy.stats import bootstrap as scipy_bootstrap

from gridcrux.corpus.statistics import weighting
from gridcrux.corpus.statistics.features import essential_flags
from gridcrux.corpus.statistics.rates import means, rates

SHARE = {"has it": "value > 0"}


def importance_sample(
    random: np.random.Generator, groups: int, features: int
) -> tuple[pd.DataFrame, list[str], float]:
    """Puzzles of two kinds, one drawn far too often, in groups that are mostly alike.

    In the target every second puzzle is of each kind; it is drawn as 4 to 1, and weighted back.

    Returns
    -------
    The sample, the names of its features, and the share that all of them have in the target.
    """
    drawn, target = np.array([0.8, 0.2]), np.array([0.5, 0.5])
    chances = np.array([0.2, 0.6])
    kind = random.choice(2, groups, p=drawn)
    group = np.repeat(np.arange(groups), random.integers(1, 5, groups))
    names = [f"feature_{i}" for i in range(features)]
    alike = random.random((groups, features)) < 0.7
    shared = random.random((groups, features)) < chances[kind][:, None]
    own = random.random((len(group), features)) < chances[kind[group]][:, None]
    frame = pd.DataFrame(np.where(alike[group], shared[group], own).astype(int), columns=names)
    return (
        frame.assign(weight=(target / drawn)[kind[group]], group=group),
        names,
        float(target @ chances),
    )


def test_shares_without_weights_have_the_interval_of_wilson():
    """Against `scipy.stats.binomtest`; rates themselves ask statsmodels."""
    study = pd.DataFrame({"value": pd.array([1] * 7 + [0] * 33 + [None] * 5, "Int64")})
    row = rates(study, SHARE).iloc[0]
    ends = binomtest(7, 40).proportion_ci(0.95, "wilson")
    assert (row["puzzles"], row["count"], row["effective"]) == (40, 7, 40)
    assert (row["share"], row["low"], row["high"]) == pytest.approx((7 / 40, *ends))
    assert row["method"] == "wilson"
    wide = rates(study, SHARE, confidence=0.99).iloc[0]
    assert wide["high"] == pytest.approx(binomtest(7, 40).proportion_ci(0.99, "wilson").high)


def test_a_feature_never_seen_has_an_upper_bound():
    study = pd.DataFrame({"value": [0] * 40})
    row = rates(study, SHARE).iloc[0]
    assert (row["low"], row["high"]) == pytest.approx(
        (0, binomtest(0, 40).proportion_ci(0.95, "wilson").high)
    )
    heavy = study.assign(weight=[1.0] * 20 + [3.0] * 20)
    row = rates(heavy, SHARE).iloc[0]
    # Kish by hand: (20 + 60)^2 / (20 + 180) = 32.
    assert row["effective"] == pytest.approx(32)
    assert row["high"] == pytest.approx(binomtest(0, 32).proportion_ci(0.95, "wilson").high)
    assert row["method"] == "wilson, effective size"


def test_how_rare_is_a_puzzle_with_one_way_through():
    study = pd.DataFrame(
        {
            "solved": [True, True, False, True],
            "essential_techniques": ["x-wing", "", "x-wing", "x-wing, swordfish"],
        }
    )
    table = rates(study, essential_flags(study, through=True)).set_index("feature")
    assert table["count"].to_dict() == {"swordfish": 1, "x-wing": 2}
    assert table["puzzles"].tolist() == [4, 4]


def test_nothing_known_is_no_share():
    study = pd.DataFrame({"value": pd.array([None, None], "Int64")})
    row = rates(study, SHARE).iloc[0]
    assert row["puzzles"] == row["count"] == row["effective"] == 0
    assert row[["share", "low", "high"]].isna().all()
    row = means(study, ["value"]).iloc[0]
    assert row["puzzles"] == 0
    assert row[["mean", "median", "mean_low"]].isna().all()


def test_means_and_medians_without_weights_are_those_of_numpy():
    """Intervals against scipy's own bootstrap of `numpy.mean` and `numpy.median`."""
    values = np.random.default_rng(3).gamma(2, 3, 60)
    row = means(pd.DataFrame({"value": values}), ["value"], resamples=6000).iloc[0]
    assert row["mean"] == pytest.approx(values.mean())
    assert row["median"] == pytest.approx(np.median(values))
    assert row["spread"] == pytest.approx(values.std(ddof=1))
    for name, of in (("mean", np.mean), ("median", np.median)):
        other = scipy_bootstrap(
            (values,), of, n_resamples=6000, method="percentile", rng=np.random.default_rng(1)
        ).confidence_interval
        near = 0.05 * (other.high - other.low)
        assert row[f"{name}_low"] == pytest.approx(other.low, abs=near)
        assert row[f"{name}_high"] == pytest.approx(other.high, abs=near)


def test_whole_weights_are_repetitions():
    study = pd.DataFrame({"value": [1, 5, 2, 9, 4], "weight": [3, 1, 2, 1, 4]})
    whole = study.loc[np.repeat(np.arange(5), study["weight"])]
    row = means(study, ["value"]).iloc[0]
    assert row["mean"] == pytest.approx(whole["value"].mean())
    assert row["median"] == np.median(whole["value"])
    # Where the lower half ends with a value, the median is half way to the next.
    even = pd.DataFrame({"value": [1, 2, 8], "weight": [2, 1, 3]})
    assert means(even, ["value"]).iloc[0]["median"] == np.median([1, 1, 2, 8, 8, 8])
    share = rates(study, {"more than 3": "value > 3"}).iloc[0]["share"]
    assert share == pytest.approx((whole["value"] > 3).mean())


def test_many_values_and_many_groups_give_almost_the_same(monkeypatch):
    random = np.random.default_rng(8)
    study = pd.DataFrame({"value": random.normal(0.2, 1, 3000), "weight": random.gamma(2, 1, 3000)})
    whole = means(study, ["value"]).iloc[0], rates(study, SHARE).iloc[0]
    monkeypatch.setattr(weighting, "UNITS", 400)
    monkeypatch.setattr("gridcrux.corpus.statistics.rates.MOST_VALUES", 300)
    parts = means(study, ["value"]).iloc[0], rates(study, SHARE).iloc[0]
    assert parts[0]["method"] == parts[1]["method"] == "bootstrap of blocks"
    for one, two, names in zip(whole, parts, (("mean", "median"), ("",)), strict=True):
        for name in names:
            low, high = (f"{name}_{end}".strip("_") for end in ("low", "high"))
            width = one[high] - one[low]
            assert two[high] - two[low] == pytest.approx(width, rel=0.12)
            assert two[low] == pytest.approx(one[low], abs=0.1 * width)


def test_intervals_of_shares_cover_the_truth():
    study = pd.DataFrame(np.random.default_rng(1).random((120, 400)) < 0.15).rename(columns=str)
    table = rates(study, study)
    covered = (table["low"] <= 0.15) & (table["high"] >= 0.15)
    assert 0.92 <= covered.mean() <= 0.98


def test_weighted_intervals_cover_the_truth_of_the_target():
    """Ten features of 40 samples, and how little is covered without weights and groups."""
    random = np.random.default_rng(2)
    shares, middles, careless = [], [], []
    for seed in range(40):
        study, names, truth = importance_sample(random, 160, 10)
        table = rates(study, names, resamples=400, seed=seed)
        assert (table["method"] == "bootstrap").all()
        shares += list((table["low"] <= truth) & (truth <= table["high"]))
        table = means(study, names, resamples=400, seed=seed)
        middles += list((table["mean_low"] <= truth) & (truth <= table["mean_high"]))
        table = rates(study, names, weights=None, groups=None)
        careless += list((table["low"] <= truth) & (truth <= table["high"]))
    assert 0.92 <= np.mean(shares) <= 0.98
    assert 0.92 <= np.mean(middles) <= 0.98
    assert np.mean(careless) < 0.5


def test_intervals_of_rare_weighted_shares_cover_the_truth():
    """About four groups in 300 have a feature: too few for a bootstrap."""
    random = np.random.default_rng(4)
    covered = []
    for seed in range(40):
        study = pd.DataFrame(random.random((300, 10)) < 0.013, columns=list("abcdefghij"))
        names = list(study)
        study = study.assign(weight=random.lognormal(0, 0.5, 300))
        table = rates(study, names, resamples=200, seed=seed)
        covered += list((table["low"] <= 0.013) & (table["high"] >= 0.013))
    assert 0.92 <= np.mean(covered) <= 0.99


@pytest.mark.parametrize("alike", [False, True])
def test_intervals_of_rare_shares_in_groups_cover_the_truth(alike):
    """Some four puzzles of 1,500, or four groups of 50, have a feature."""
    random = np.random.default_rng(11)
    groups, share = np.arange(1500) // 30, 0.08 if alike else 0.003
    covered, widths = [], []
    for seed in range(40):
        drawn = random.random((50 if alike else 1500, 10)) < share
        study = pd.DataFrame(drawn[groups] if alike else drawn, columns=list("abcdefghij"))
        study = study.assign(group=groups, weight=random.lognormal(0, 0.4, 50)[groups])
        table = rates(study, list("abcdefghij"), resamples=200, seed=seed)
        covered += list((table["low"] <= share) & (table["high"] >= share))
        widths += list((table["high"] - table["low"])[table["count"] > 0])
    assert 0.92 <= np.mean(covered) <= 0.99
    # Where puzzles of a group are independent, grouping costs hardly anything.
    assert alike or np.mean(widths) < 0.012


def test_intervals_of_medians_cover_the_truth():
    random = np.random.default_rng(6)
    covered = []
    for seed in range(40):
        study = pd.DataFrame(random.exponential(1, (100, 10)), columns=list("abcdefghij"))
        names = list(study)
        study = study.assign(weight=random.choice([0.5, 2.0], 100))
        table = means(study, names, resamples=300, seed=seed)
        covered += list((table["median_low"] <= np.log(2)) & (table["median_high"] >= np.log(2)))
    assert 0.92 <= np.mean(covered) <= 0.98
