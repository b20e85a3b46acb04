"""Differences, effect sizes and p-values against definitions, published examples and hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import binom, hypergeom

from gridcrux.corpus.statistics.comparison import compare_numbers, compare_shares
from gridcrux.corpus.statistics.shares import ratio_interval

RANDOM = np.random.default_rng(9)
FEATURE = {"has it": "value > 0"}


def puzzles(count: int, total: int) -> pd.DataFrame:
    return pd.DataFrame({"value": [1] * count + [0] * (total - count)})


def test_difference_of_shares_as_published():
    """56 of 70 against 48 of 80: 0.2, from 0.0524 to 0.3339.

    Newcombe, "Interval estimation for the difference between independent proportions: comparison
    of eleven methods", Statistics in Medicine 17 (1998), 873-890, table II, method 10 (from
    memory).
    """
    row = compare_shares(puzzles(48, 80), puzzles(56, 70), FEATURE).iloc[0]
    assert row["difference"] == pytest.approx(0.2)
    assert row["difference_low"] == pytest.approx(0.0524, abs=5e-5)
    assert row["difference_high"] == pytest.approx(0.3339, abs=5e-5)


def test_sizes_of_effects_of_shares_by_definition():
    row = compare_shares(puzzles(10, 100), puzzles(30, 120), FEATURE).iloc[0]
    assert row["risk_ratio"] == pytest.approx(0.25 / 0.1)
    assert row["odds_ratio"] == pytest.approx((30 * 90) / (90 * 10))
    assert row["cohen_h"] == pytest.approx(2 * np.arcsin(0.5) - 2 * np.arcsin(np.sqrt(0.1)))
    # The usual interval of the logarithm of a ratio of counts, by hand.
    error = np.sqrt(1 / 30 - 1 / 120 + 1 / 10 - 1 / 100)
    ends = 2.5 * np.exp(np.array([-1.96, 1.96]) * error)
    assert row["risk_ratio_low"] == pytest.approx(ends[0], rel=0.1)
    assert row["risk_ratio_high"] == pytest.approx(ends[1], rel=0.1)


def test_a_ratio_is_within_its_interval_also_where_a_share_is_nought_or_one():
    for first, second in ((30, 0), (0, 3), (0, 0), (40, 40), (40, 1), (1, 40), (3, 40), (1, 1)):
        row = compare_shares(puzzles(first, 40), puzzles(second, 40), FEATURE).iloc[0]
        low, high = row["risk_ratio_low"], row["risk_ratio_high"]
        assert 0 <= low < high
        assert np.isinf(high) == (first == 0)
        assert (low == 0) == (second == 0)
        if first or second:
            assert low <= row["risk_ratio"] <= high
    # Nothing is known of the ratio of nothing to nothing.
    row = compare_shares(puzzles(0, 40), puzzles(0, 40), FEATURE).iloc[0]
    assert np.isnan(row["risk_ratio"])


@pytest.mark.parametrize("shares", [(0.05, 0.1), (0.3, 0.2), (0.9, 0.5), (0.2, 0.97), (0.02, 0.02)])
def test_intervals_of_ratios_hold_the_true_ratio_as_often_as_they_say(shares):
    """Of all outcomes of two samples, each by its chance."""
    sizes = (60, 45)
    chances = [binom(n, p).pmf(np.arange(n + 1)) for n, p in zip(sizes, shares, strict=True)]
    held = 0.0
    for i, one in enumerate(chances[0]):
        for j, two in enumerate(chances[1]):
            if one * two > 1e-9:
                low, high = ratio_interval((j / sizes[1], 45), (i / sizes[0], 60), 0.95)
                held += one * two * (low <= shares[1] / shares[0] <= high)
    assert 0.935 < held < (0.999 if min(shares) < 0.1 else 0.97)


def test_p_of_shares_goes_through_all_tables():
    """The lady who tastes tea: 3 of 4 against 1 of 4, p = 34 / 70 (Fisher 1935, from memory)."""
    row = compare_shares(puzzles(1, 4), puzzles(3, 4), FEATURE).iloc[0]
    assert row["p"] == pytest.approx(34 / 70)
    chances = hypergeom(300, 70, 120).pmf(np.arange(71))
    expected = chances[chances <= chances[40] * (1 + 1e-9)].sum()
    row = compare_shares(puzzles(30, 180), puzzles(40, 120), FEATURE).iloc[0]
    assert row["p"] == pytest.approx(expected)


def test_sizes_of_effects_of_numbers_by_definition():
    one, two = RANDOM.integers(0, 9, 40), RANDOM.integers(2, 12, 55)
    frames = [pd.DataFrame({"value": each}) for each in (one, two)]
    row = compare_numbers(*frames, ["value"]).iloc[0]
    joint = np.sqrt((39 * one.var(ddof=1) + 54 * two.var(ddof=1)) / 93)
    raw = (two.mean() - one.mean()) / joint
    # Hedges' correction as an approximation (Hedges and Olkin 1985, from memory).
    assert row["hedges_g"] == pytest.approx(raw * (1 - 3 / (4 * 93 - 1)), rel=1e-3)
    every = np.sign(two[:, None] - one[None, :])
    assert row["cliff_delta"] == pytest.approx(every.mean())
    assert row["difference_low"] < row["difference"] < row["difference_high"]


def test_whole_weights_are_repetitions():
    frames = [
        pd.DataFrame({"value": RANDOM.integers(0, 6, 30), "weight": RANDOM.integers(1, 4, 30)})
        for _ in range(2)
    ]
    whole = [
        frame.loc[np.repeat(frame.index, frame["weight"]), ["value"]].reset_index(drop=True)
        for frame in frames
    ]
    row, other = (compare_numbers(*each, ["value"]).iloc[0] for each in (frames, whole))
    for name in ("first_mean", "second_mean", "difference", "cliff_delta"):
        assert row[name] == pytest.approx(other[name]), name
    # The correction for small samples sees the effective size; the rest is the same.
    assert row["hedges_g"] == pytest.approx(other["hedges_g"], rel=0.05)
    row, other = (compare_shares(*each, FEATURE).iloc[0] for each in (frames, whole))
    for name in ("difference", "risk_ratio", "odds_ratio", "cohen_h"):
        assert row[name] == pytest.approx(other[name]), name


def test_groups_that_repeat_a_puzzle_say_no_more_than_it():
    """Every puzzle ten times, in a group: p and intervals stay about what they were."""
    frames = [pd.DataFrame({"value": RANDOM.random(60) < share}) for share in (0.3, 0.5)]
    frames = [frame.astype(int) for frame in frames]
    copies = [
        pd.concat([frame.assign(group=range(60))] * 10, ignore_index=True) for frame in frames
    ]
    one = compare_shares(*frames, FEATURE).iloc[0]
    two = compare_shares(*copies, FEATURE, resamples=4000).iloc[0]
    assert two["test"] == "score, effective size"
    assert two["p"] == pytest.approx(one["p"], abs=0.05)
    assert two["difference_high"] == pytest.approx(one["difference_high"], abs=0.02)
    careless = compare_shares(*copies, FEATURE, groups=None).iloc[0]
    assert careless["p"] < 0.001 < one["p"]


def test_nothing_known_is_not_compared():
    nothing = pd.DataFrame({"value": pd.array([None] * 3, "Int64")})
    some = puzzles(1, 3)
    row = compare_shares(nothing, some, FEATURE).iloc[0]
    assert row[["difference", "p", "p_corrected", "difference_low"]].isna().all()
    row = compare_numbers(nothing, some, ["value"]).iloc[0]
    assert row[["difference", "p", "p_corrected", "difference_low"]].isna().all()


def test_errors_are_for_people():
    with pytest.raises(ValueError, match="second study has no rows"):
        compare_shares(puzzles(1, 3), puzzles(0, 0), FEATURE)
    with pytest.raises(ValueError, match="belongs to one study"):
        compare_shares(puzzles(1, 3), puzzles(1, 3), {"a": puzzles(1, 3)["value"] > 0})
    with pytest.raises(ValueError, match="did you mean value"):
        compare_numbers(puzzles(1, 3), puzzles(1, 3), ["values"])


def test_the_unit_of_weights_does_not_matter():
    """Weights of one study may stand for millions of puzzles, those of the other for one."""
    random = np.random.default_rng(4)
    one = pd.DataFrame({"givens": random.normal(24.4, 1.2, 300)})
    two = pd.DataFrame(
        {
            "givens": random.normal(24.9, 1.2, 300),
            "weight": random.lognormal(0, 0.5, 300),
            "group": np.arange(300) // 10,
        }
    )
    heavy = two.assign(weight=two["weight"] * 1e35)
    asked = {"few": "givens < 24"}
    for compare, what in ((compare_numbers, ["givens"]), (compare_shares, asked)):
        expected = compare(one, two, what)
        pd.testing.assert_frame_equal(compare(one, heavy, what), expected)
        assert 0 < expected["p"].iloc[0] < 0.2


@pytest.mark.parametrize(
    ("first", "second", "least", "most"), [(0.004, 0.004, 0.0, 0.1), (0.006, 0.03, 0.9, 1.0)]
)
def test_few_groups_are_compared_with_many_puzzles(first, second, least, most):
    """A weighted sample in 60 groups of 25 beside 1,500 single puzzles, and a rare feature."""
    random = np.random.default_rng(12)
    groups = np.arange(1500) // 25
    rejected = []
    for _ in range(80):
        one = pd.DataFrame({"value": random.random(1500) < first}).astype(int)
        one = one.assign(group=groups, weight=random.lognormal(0, 0.3, 60)[groups] * 1e30)
        two = pd.DataFrame({"value": random.random(1500) < second}).astype(int)
        row = compare_shares(one, two, FEATURE, resamples=100).iloc[0]
        rejected.append(row["p"] < 0.05)
        assert row["difference_low"] <= row["difference"] <= row["difference_high"]
        assert row["difference_high"] - row["difference_low"] < 0.05
    assert least <= np.mean(rejected) <= most


@pytest.mark.filterwarnings("error")
def test_a_share_of_nought_or_one_is_compared_without_a_warning():
    heavy = pd.DataFrame({"weight": [1.0, 2.0, 1.0, 2.0], "group": range(4)})
    for first, second in ((0, 1), (1, 0)):
        one, two = heavy.assign(value=first), heavy.assign(value=second)
        assert compare_shares(one, two, FEATURE).iloc[0]["p"] < 0.05
        assert compare_shares(one, one, FEATURE).iloc[0]["p"] == 1
