"""How many puzzles have a feature, and how large a number is in the middle, with intervals."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import sparse

from gridcrux.corpus.statistics.features import Features, numbers, require
from gridcrux.corpus.statistics.resampling import Floats, bootstrap, ratio
from gridcrux.corpus.statistics.shares import shares, wilson
from gridcrux.corpus.statistics.weighting import Weighting

RATES_COLUMNS = {
    "feature": "name of the feature",
    "puzzles": "puzzles of which it is known whether they have it",
    "count": "those that have it, each counted once",
    "share": "share of those that have it, by weight",
    "low": "lower end of the interval of `share`",
    "high": "upper end of it",
    "effective": "effective size of the sample for this share: so many independent puzzles of "
    "equal weight say as much (`shares.Share.worth`)",
    "method": "how the interval came about: wilson; bootstrap, over puzzles or groups or blocks of "
    "them; or wilson, effective size",
}
"""Meaning of the columns of `rates`."""

MEANS_COLUMNS = {
    "column": "name or formula",
    "puzzles": "puzzles of which the number is known",
    "mean": "mean, by weight",
    "mean_low": "lower end of the interval of `mean`",
    "mean_high": "upper end of it",
    "median": "median, by weight",
    "median_low": "lower end of the interval of `median`",
    "median_high": "upper end of it",
    "spread": "standard deviation, by weight",
    "least": "smallest number",
    "greatest": "largest number",
    "effective": "effective size of the sample (Kish)",
    "method": "how the intervals came about: bootstrap, over puzzles or groups or blocks of them",
}
"""Meaning of the columns of `means`."""

MOST_VALUES = 10_000
"""More different values than this are joined in as many classes of equal weight for the interval
of a median."""


def rates(
    study: pd.DataFrame,
    features: Features,
    *,
    weights: str | None = "weight",
    groups: str | None = "group",
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> pd.DataFrame:
    """The share of puzzles that have each feature.

    How rare is a puzzle of which a technique is the only way through?
    ``rates(study, essential_flags(study, through=True))`` tells it for every technique.

    Where all puzzles count the same the interval is that of Wilson, "Probable inference, the law
    of succession, and statistical inference", Journal of the American Statistical Association 22
    (1927).  Otherwise it is a percentile bootstrap over groups.  Where fewer than
    `resampling.FEW` have the feature, or lack it, these say little: the interval is Wilson's for a
    simple sample in which the share would vary as much (`shares.Share.worth`), or, of a feature
    that was never seen, for the effective size of the sample.

    With fewer than some fifty groups intervals by bootstrap are too narrow, as everywhere.

    Parameters
    ----------
    study : a row a puzzle.  Where it is not known whether a puzzle has a feature, it does not
        count for it.
    features : see `features.Features`.
    weights, groups : columns with the weight and the group of a puzzle, used where the study has
        them; None to ignore them.
    confidence : of the intervals.
    resamples, seed : of the bootstrap.

    Returns
    -------
    DataFrame with the columns of `RATES_COLUMNS`, a row a feature in the order asked for.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : there are no puzzles, or a feature is not yes or no.
    """
    require(study)
    weighting = Weighting.of(study, weights, groups, seed)
    found = shares(study, features, weighting)
    rows = [
        (
            name,
            each.puzzles,
            each.count,
            each.share,
            each.size,
        )
        for name, each in found.items()
    ]
    table = pd.DataFrame(rows, columns=["feature", "puzzles", "count", "share", "effective"])
    table["low"], table["high"] = wilson(table["share"], table["effective"], confidence)
    if weighting.plain:
        return table.assign(method="wilson")[list(RATES_COLUMNS)]
    enough = np.array([each.enough for each in found.values()])
    if enough.any():
        table.loc[enough, ["low", "high"]] = np.stack(
            bootstrap(
                [np.concatenate([each.totals() for each in found.values() if each.enough], axis=1)],
                lambda sums: ratio(sums[:, ::2], sums[:, 1::2]),
                confidence=confidence,
                resamples=resamples,
                seed=seed,
            ),
            axis=1,
        )
    table["method"] = np.where(enough, weighting.method, "wilson, effective size")
    return table[list(RATES_COLUMNS)]


def means(
    study: pd.DataFrame,
    columns: Iterable[str],
    *,
    weights: str | None = "weight",
    groups: str | None = "group",
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> pd.DataFrame:
    """The mean and the median of numbers of puzzles, with intervals by bootstrap.

    Parameters
    ----------
    study : a row a puzzle; where a number is missing, the puzzle does not count for it.
    columns : names, or formulas like ``"log10(nodes)"``.
    weights, groups, confidence, resamples, seed : as for `rates`.

    Returns
    -------
    DataFrame with the columns of `MEANS_COLUMNS`, a row for each of `columns`.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : there are no puzzles, or a column is not of numbers.
    """
    require(study)
    asked = numbers(study, columns)
    weighting = Weighting.of(study, weights, groups, seed)
    rows = [
        {"column": name}
        | _number_row(asked[name].to_numpy(), weighting, confidence, resamples, seed)
        for name in asked.columns
    ]
    return pd.DataFrame(rows, columns=list(MEANS_COLUMNS))


def _number_row(
    values: Floats, weighting: Weighting, confidence: float, resamples: int, seed: int
) -> dict[str, Any]:
    from statsmodels.stats.weightstats import DescrStatsW

    given = ~np.isnan(values)
    row: dict[str, Any] = {"puzzles": int(given.sum()), "effective": weighting.effective(given)}
    if not given.any():
        return row
    weight = weighting.weight[given]
    some = DescrStatsW(values[given], weight * len(weight) / weight.sum())
    classes, table = value_totals(values, given, weighting)
    low, high = bootstrap(
        [table],
        lambda sums: np.stack([_mean(sums), middle(classes, sums[:, :-2])], axis=1),
        confidence=confidence,
        resamples=resamples,
        seed=seed,
    )
    return row | {
        "mean": float(some.mean),
        "mean_low": low[0],
        "mean_high": high[0],
        "median": float(some.quantile([0.5], return_pandas=False)[0]),
        "median_low": low[1],
        "median_high": high[1],
        "spread": float(some.std_ddof(1)) if len(weight) > 1 else np.nan,
        "least": values[given].min(),
        "greatest": values[given].max(),
        "method": weighting.method,
    }


def _mean(sums: Floats) -> Floats:
    return ratio(sums[:, -2], sums[:, -1])


def value_totals(
    values: Floats, given: NDArray[np.bool_], weighting: Weighting
) -> tuple[Floats, Any]:
    """The values in order, and for each unit its weight of each, its weighted sum and weight.

    Returns
    -------
    (values,) and a sparse array (units, values + 2).
    """
    present, weight, unit = values[given], weighting.weight[given], weighting.unit[given]
    classes, place = np.unique(present, return_inverse=True)
    if len(classes) > MOST_VALUES:
        mass = np.cumsum(np.bincount(place, weight))
        step = np.minimum(mass / mass[-1] * MOST_VALUES, MOST_VALUES - 1).astype(int)
        _, first, joined = np.unique(step, return_index=True, return_inverse=True)
        classes, place = classes[first], joined[place]
    last = len(classes)
    shape = (weighting.units, last + 2)
    entries = np.concatenate([weight, weight * present, weight])
    columns = np.concatenate([place, np.full(len(place), last), np.full(len(place), last + 1)])
    return classes, sparse.csr_array((entries, (np.tile(unit, 3), columns)), shape=shape)


def middle(values: Floats, weights: Floats) -> Floats:
    """(rows,) medians of values in order that have other weights in each row.

    Where the lower half ends with a value, the median is half way to the next one.
    """
    mass = np.cumsum(weights, axis=1)
    half = mass[:, -1:] / 2
    near = 1e-9 * half
    lower = np.argmax(mass >= half - near, axis=1)
    upper = np.argmax(mass > half + near, axis=1)
    return np.where(half[:, 0] > 0, (values[lower] + values[upper]) / 2, np.nan)
