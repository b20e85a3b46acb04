"""Which techniques puzzles need together, against what independence would lead one to expect."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.statistics.correction import corrected
from gridcrux.corpus.statistics.features import Features, essential_flags, flags, known, require
from gridcrux.corpus.statistics.resampling import FEW, Floats, bootstrap, ratio
from gridcrux.corpus.statistics.weighting import Weighting

Indices = NDArray[np.int64]

PAIRS_COLUMNS = {
    "first": "name of a feature",
    "second": "name of another, which comes after it",
    "puzzles": "puzzles of which all features are known",
    "first_count": "those that have the first",
    "second_count": "those that have the second",
    "together": "those that have both",
    "share": "share of those that have both, by weight",
    "expected": "that share if the two were independent",
    "lift": "share / expected: above 1 they come together, below 1 they avoid each other",
    "lift_low": "lower end of the bootstrap interval of `lift`; missing where fewer than 10 units "
    "have both",
    "lift_high": "upper end of it",
    "phi": "correlation of the two, from -1 to 1",
    "p": "two-sided p-value of independence by Fisher's test; of the table scaled to the effective "
    "size where puzzles have weights or groups",
    "p_corrected": "`p` corrected for the number of pairs",
}
"""Meaning of the columns of `cooccurrence`."""


def cooccurrence(
    study: pd.DataFrame,
    features: Features | None = None,
    *,
    correction: str = "holm",
    weights: str | None = "weight",
    groups: str | None = "group",
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> pd.DataFrame:
    """How often two features come together in a puzzle, for all pairs.

    Parameters
    ----------
    study : a row a puzzle; puzzles of which a feature is not known do not count.
    features : see `features.Features`; None for the techniques that are essential somewhere.
    correction : as for `comparison.compare_shares`.
    weights, groups, confidence, resamples, seed : as for `rates.rates`.

    Returns
    -------
    DataFrame with the columns of `PAIRS_COLUMNS`, a row a pair; lift, phi and p are missing where
    no puzzle has one of the two, or every puzzle has.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : there are no puzzles, or fewer than two features.
    """
    require(study)
    if features is None:
        asked = essential_flags(study)
        asked = asked.loc[:, asked.any().to_numpy(bool)]
    else:
        asked = flags(study, features)
    names = list(asked.columns)
    if len(names) < 2:
        raise ValueError(f"{len(names)} of two features that could come together occur")
    truth, given = known(asked)
    rows: NDArray[np.bool_] = np.asarray(given.all(axis=1))
    if not rows.any():
        raise ValueError("there is no puzzle of which all features are known")
    truth &= rows[:, None]
    weighting = Weighting.of(study, weights, groups, seed)
    pairs = list(combinations(range(len(names)), 2))
    one, two = np.array(pairs).T
    # A column for all, for each feature, and for each pair.
    columns = [rows, *truth.T]
    totals = np.stack(
        [weighting.totals(column) for column in columns]
        + [weighting.totals(truth[:, i] & truth[:, j]) for i, j in pairs],
        axis=1,
    )
    sums = totals.sum(axis=0) / totals[:, 0].sum()
    singles, both = sums[1 : len(names) + 1], sums[len(names) + 1 :]
    counts = truth.sum(axis=0)
    spread = np.sqrt(singles * (1 - singles))
    able = (spread[one] > 0) & (spread[two] > 0)
    expected = singles[one] * singles[two]
    table = pd.DataFrame(
        {
            "first": np.array(names, object)[one],
            "second": np.array(names, object)[two],
            "puzzles": int(rows.sum()),
            "first_count": counts[one],
            "second_count": counts[two],
            "together": [int((truth[:, i] & truth[:, j]).sum()) for i, j in pairs],
            "share": both,
            "expected": expected,
            "lift": np.where(able, ratio(both, expected), np.nan),
            "lift_low": np.nan,
            "lift_high": np.nan,
            "phi": np.where(able, ratio(both - expected, spread[one] * spread[two]), np.nan),
            "p": _fisher(singles[one], singles[two], both, weighting.effective(rows)),
        },
        columns=list(PAIRS_COLUMNS),
    )
    enough = (np.count_nonzero(totals[:, len(names) + 1 :], axis=0) >= FEW) & able
    if enough.any():
        low, high = bootstrap(
            [totals],
            lambda drawn: _lift(
                drawn, one[enough], two[enough], np.flatnonzero(enough), len(names)
            ),
            confidence=confidence,
            resamples=resamples,
            seed=seed,
        )
        table.loc[enough, "lift_low"], table.loc[enough, "lift_high"] = low, high
    return table.assign(p_corrected=corrected(table["p"], correction))


def _lift(sums: Floats, one: Indices, two: Indices, pairs: Indices, features: int) -> Floats:
    """(resamples, pairs) lifts out of sums over units."""
    both = sums[:, 1 + features + pairs]
    return ratio(both * sums[:, :1], sums[:, 1 + one] * sums[:, 1 + two])


def _fisher(first: Floats, second: Floats, both: Floats, size: float) -> list[float]:
    """p-values of tables of shares that come from a sample of this effective size."""
    from scipy.stats import fisher_exact

    found = []
    for one, two, joint in zip(first, second, both, strict=True):
        cells = np.array([[joint, one - joint], [two - joint, 1 - one - two + joint]]) * size
        table = np.maximum(np.round(cells), 0).astype(int)
        bare = min(*table.sum(axis=0), *table.sum(axis=1)) == 0
        found.append(np.nan if bare else float(fisher_exact(table)[1]))
    return found
