"""The bootstrap against other formulas of the error, permutations against going through all."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from scipy.stats import ttest_ind

from gridcrux.corpus.statistics import resampling
from gridcrux.corpus.statistics.resampling import bootstrap, permutation_p, ratio

RANDOM = np.random.default_rng(11)


def plain(values):
    return np.stack([values, np.ones(len(values))], axis=1).astype(float)


def mean(sums):
    return ratio(sums[:, :1], sums[:, 1:])


def test_width_of_the_interval_of_a_mean_is_that_of_its_standard_error():
    values = RANDOM.normal(size=300)
    low, high = bootstrap([plain(values)], mean, confidence=0.95, resamples=4000, seed=1)
    expected = 2 * 1.96 * values.std() / np.sqrt(300)
    assert high[0] - low[0] == pytest.approx(expected, rel=0.04)
    assert (low[0] + high[0]) / 2 == pytest.approx(values.mean(), abs=0.1 * expected)


def test_two_samples_are_drawn_each_on_its_own():
    one, two = RANDOM.normal(size=200), RANDOM.normal(1, 2, size=120)
    low, high = bootstrap(
        [plain(one), plain(two)],
        lambda a, b: mean(b) - mean(a),
        confidence=0.95,
        resamples=4000,
        seed=1,
    )
    expected = 2 * 1.96 * np.sqrt(one.var() / 200 + two.var() / 120)
    assert high[0] - low[0] == pytest.approx(expected, rel=0.05)


def test_one_unit_tells_nothing():
    low, high = bootstrap([np.ones((1, 2))], mean, confidence=0.95, resamples=9, seed=1)
    assert np.isnan(low).all()
    assert np.isnan(high).all()


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ([1.0, 4.5, 2.2, 3.1], [5.0, 6.1, 2.0, 7.3, 8.8]),
        # With ties, and with the smaller sample second.
        ([1, 2, 2, 3, 3, 0], [3, 9, 1]),
        # Where the difference alone, not by its error, would have another p-value.
        ([18, 16, 19], [20, 20, 18, 19, 21, 18, 15]),
    ],
)
# Some parts of the sample are all alike, of which scipy warns.
@pytest.mark.filterwarnings("ignore:Precision loss")
def test_all_permutations_are_gone_through_where_they_are_few(one, two):
    """The studentised difference of means is Welch's t, here of `scipy.stats.ttest_ind`."""
    pooled = np.array([*one, *two], float)
    everything = range(len(pooled))

    def welch(first):
        rest = [i for i in everything if i not in first]
        return ttest_ind(pooled[rest], pooled[list(first)], equal_var=False).statistic

    observed = welch(range(len(one)))
    null = np.array([welch(first) for first in combinations(everything, len(one))])
    above, below = (np.mean(sign * null >= sign * observed - 1e-9) for sign in (1, -1))
    p, how = permutation_p(plain(one), plain(two), resamples=2000, seed=3)
    assert how == "permutation"
    assert p == pytest.approx(min(1, 2 * min(above, below)))


def test_many_groups_are_not_permuted(monkeypatch):
    one, two = RANDOM.normal(size=150), RANDOM.normal(0.25, 2, size=250)
    drawn, _ = permutation_p(plain(one), plain(two), resamples=9000, seed=3)
    monkeypatch.setattr(resampling, "PERMUTED", 100)
    p, how = permutation_p(plain(one), plain(two), resamples=9000, seed=3)
    assert how == "normal"
    assert p == pytest.approx(drawn, abs=0.02)
    assert p == pytest.approx(ttest_ind(one, two, equal_var=False).pvalue, abs=0.01)


def test_what_is_constant_does_not_differ():
    assert permutation_p(plain([81] * 6), plain([81] * 7), resamples=500, seed=1)[0] == 1
    p, _ = permutation_p(plain([0] * 6), plain([1] * 7), resamples=5000, seed=1)
    # Of all 1716 ways two are as far apart: this one, and none on the other side.
    assert p == pytest.approx(2 / 1716)
    assert np.isnan(permutation_p(plain([1]), plain([1, 2]), resamples=9, seed=1)[0])


def test_no_difference_is_found_where_there_is_none_though_weights_differ():
    """One sample with weights and groups, the other plain: 5 % of the p-values are below 5 %."""
    random = np.random.default_rng(5)
    found = []
    for seed in range(300):
        weight = random.lognormal(0, 0.8, 80)
        value = random.normal(0, 3, 80)
        one = np.stack([weight * value, weight], axis=1)
        two = plain(random.normal(0, 1, 40))
        found.append(permutation_p(one, two, resamples=300, seed=seed)[0])
    assert 0.02 <= np.mean(np.array(found) <= 0.05) <= 0.08
