"""Intervals by bootstrap over units, and p-values by permuting groups, both as scipy has them."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

BATCH = 1 << 21
"""Numbers drawn at once, so that memory does not grow with the number of resamples."""

PERMUTED = 20_000
"""Most groups that are permuted; beyond, the statistic is taken to be normal."""

FEW = 10
"""Fewer units than this with a feature, or without it, say too little to be resampled."""

Floats = NDArray[np.float64]


def bootstrap(
    totals: Sequence[Any],
    statistic: Callable[..., Floats],
    *,
    confidence: float,
    resamples: int,
    seed: int,
) -> tuple[Floats, Floats]:
    """Ends of percentile intervals of statistics of sums over units.

    Percentiles need no jackknife, which takes long for many units, and they do not break down
    where a median takes few values.

    Parameters
    ----------
    totals : for each sample an array (units, sums), or a sparse one; samples are resampled each
        on its own.
    statistic : takes an array (resamples, sums) for each sample, gives (resamples, statistics).

    Returns
    -------
    (statistics,) lower and (statistics,) upper ends; NaN where a statistic was not always defined
    or there are less than two units.
    """
    from scipy.stats import DegenerateDataWarning
    from scipy.stats import bootstrap as resample

    def of_resamples(*indices: NDArray[np.int64], axis: int = -1) -> Floats:
        sums = [_counts(index) @ each for index, each in zip(indices, totals, strict=True)]
        return statistic(*sums).T

    units = [each.shape[0] for each in totals]
    if min(units) < 2:
        none = statistic(*[np.ones((1, each.shape[0])) @ each for each in totals])[0] * np.nan
        return none, none
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DegenerateDataWarning)
        found = resample(
            [np.arange(count) for count in units],
            of_resamples,
            n_resamples=resamples,
            batch=max(1, min(resamples, BATCH // sum(units))),
            vectorized=True,
            axis=-1,
            confidence_level=confidence,
            method="percentile",
            random_state=np.random.default_rng(seed),
        )
    return np.asarray(found.confidence_interval.low), np.asarray(found.confidence_interval.high)


def permutation_p(first: Floats, second: Floats, *, resamples: int, seed: int) -> tuple[float, str]:
    """Whether two samples have the same mean, by giving groups to the samples anew.

    The difference is divided by its standard error (linearised, over groups): then the test is
    valid for the means also where spreads or weights differ.  Chung and Romano, "Exact and
    asymptotically robust permutation tests", Annals of Statistics 41 (2013), 484-507; from memory.

    Parameters
    ----------
    first, second : (groups, 2) weighted sum of the values, and sum of weights, of each group.

    Returns
    -------
    Two-sided p-value, and how it came about: all permutations are gone through if they are no
    more than `resamples`, and none if there are more than `PERMUTED` groups.
    """
    from scipy.stats import norm, permutation_test

    parts = [each[each[:, 1] > 0] for each in (first, second)]
    if min(map(len, parts)) < 2:
        return np.nan, "too few groups"
    # Weights mean something within a sample only: those of one may stand for millions of puzzles,
    # those of the other for one.  A group of either weighs as much, on average.
    pooled = np.concatenate([each / each[:, 1].mean() for each in parts])
    # Sums of these tell means and standard errors of any part.
    value, weight = pooled.T
    scale = float(np.abs(value / weight).max()) or 1.0
    value = value - weight * value.sum() / weight.sum()
    moments = np.stack([value, weight, value**2, value * weight, weight**2])
    overall = moments.sum(axis=1)
    sizes = [len(each) for each in parts]

    def studentised(one: NDArray[np.int64], two: NDArray[np.int64], axis: int = -1) -> Floats:
        part, count = (one, sizes[0]) if sizes[0] <= sizes[1] else (two, sizes[1])
        inside = moments[:, part].sum(axis=-1)
        outside = overall.reshape(-1, *([1] * (inside.ndim - 1))) - inside
        means, variances = zip(
            _mean_and_variance(inside, count),
            _mean_and_variance(outside, len(pooled) - count),
            strict=True,
        )
        difference = (means[1] - means[0]) * (1 if sizes[0] <= sizes[1] else -1)
        error = np.sqrt(variances[0] + variances[1])
        # Rounding must not make a difference between equal values, nor here nor below.
        difference = np.where(np.abs(difference) < 1e-12 * scale, 0, difference)
        return np.round(difference / np.maximum(error, 1e-9 * scale), 10)

    everyone = np.arange(len(pooled))
    indices = (everyone[: sizes[0]], everyone[sizes[0] :])
    if len(pooled) > PERMUTED:
        return float(2 * norm.sf(abs(float(studentised(*indices))))), "normal"
    found = permutation_test(
        indices,
        studentised,
        permutation_type="independent",
        vectorized=True,
        n_resamples=resamples,
        batch=max(1, BATCH // len(pooled)),
        axis=-1,
        random_state=np.random.default_rng(seed),
    )
    return float(found.pvalue), "permutation"


def _mean_and_variance(sums: Floats, count: int) -> tuple[Floats, Floats]:
    """Weighted mean out of sums over groups, and its variance."""
    value, weight, square, product, weight_square = sums
    mean = value / weight
    spread = square - 2 * mean * product + mean**2 * weight_square
    return mean, np.maximum(spread, 0) / weight**2 * count / max(1, count - 1)


def _counts(index: NDArray[np.int64]) -> Floats:
    """(resamples, units) how often each unit was drawn, from what was drawn."""
    rows, units = index.shape
    flat = (index + units * np.arange(rows)[:, None]).ravel()
    return np.bincount(flat, minlength=rows * units).reshape(rows, units).astype(np.float64)


def ratio(above: Floats, below: Floats) -> Floats:
    """One by the other, NaN where there is nothing below."""
    return np.divide(above, below, out=np.full(np.shape(above), np.nan), where=below > 0)
