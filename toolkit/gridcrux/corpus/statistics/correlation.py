"""Rank correlations of columns, by weight, with intervals that respect groups."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd
from numba import njit
from numpy.typing import NDArray
from scipy import sparse

from gridcrux.corpus.statistics.features import numbers, require
from gridcrux.corpus.statistics.resampling import Floats, bootstrap
from gridcrux.corpus.statistics.weighting import Weighting

CORRELATION_COLUMNS = {
    "first": "name or formula",
    "second": "name or formula",
    "puzzles": "puzzles of which both numbers are known",
    "unknown": "puzzles left out, as one of the numbers is missing",
    "first_values": "how many different numbers there are; few mean many ties",
    "second_values": "the same of the second",
    "spearman": "Spearman's correlation: that of the ranks, ties at the middle of their ranks; "
    "missing if all numbers are the same, or less than three puzzles are known",
    "low": "lower end of its interval; missing if some resample has no correlation",
    "high": "upper end of it",
    "method": "how the interval came about: bootstrap, over puzzles or groups or blocks of them",
}
"""Meaning of the columns of `rank_correlations`."""

LEAST = 3
"""Puzzles that a correlation takes; of two it is always one or minus one."""


def rank_correlations(
    study: pd.DataFrame,
    first: Iterable[str],
    second: Iterable[str],
    *,
    weights: str | None = "weight",
    groups: str | None = "group",
    confidence: float = 0.95,
    resamples: int = 1000,
    seed: int = 0,
) -> pd.DataFrame:
    """Spearman's correlation of each of some columns with each of some others.

    Weighted ranks are shares: the weight of what is less, and half of what is equal.  Without
    weights the correlation is the usual one.  Resamples are ranked anew; the interval is that of
    percentiles (`resampling.bootstrap`).

    Parameters
    ----------
    study : a row a puzzle.  Where a number is missing, the puzzle does not count for its pairs.
    first, second : columns, or formulas of them like ``"log10(nodes)"``.
    weights, groups : columns with the weight and the group of a puzzle, used where the study has
        them; None to ignore them.
    confidence : of the intervals.
    resamples, seed : of the bootstrap.

    Returns
    -------
    DataFrame with the columns of `CORRELATION_COLUMNS`, a row a pair.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : there are no puzzles, or a column is not of numbers.
    """
    one, two = list(first), list(second)
    require(study)
    values = numbers(study, dict.fromkeys([*one, *two]))
    pairs = [(name, other) for name in one for other in two]
    # Pairs that are known of the same puzzles are drawn together.
    shared: dict[bytes, list[int]] = {}
    for number, pair in enumerate(pairs):
        known = values[list(dict.fromkeys(pair))].notna().all(axis=1).to_numpy()
        shared.setdefault(known.tobytes(), []).append(number)
    rows: list[dict[str, Any]] = [{} for _ in pairs]
    for mask, members in shared.items():
        known = np.frombuffer(mask, np.bool_)
        weighting = Weighting.of(study[known], weights, groups, seed)
        together = _Pairs([values.loc[known, list(pairs[n])].to_numpy().T for n in members])
        said = together.rows(weighting, confidence, resamples, seed)
        for number, row in zip(members, said, strict=True):
            first_name, second_name = pairs[number]
            left_out = int(np.count_nonzero(~known))
            rows[number] = {"first": first_name, "second": second_name, "unknown": left_out} | row
    return pd.DataFrame(rows, columns=list(CORRELATION_COLUMNS))


def ranks(values: Floats, weight: Floats) -> Floats:
    """(n,) for each value the share, by weight, of what is less, and half of what is equal.

    >>> ranks(np.array([3.0, 1.0, 1.0, 2.0]), np.ones(4)).tolist()
    [0.875, 0.25, 0.25, 0.625]
    """
    different, place = np.unique(values, return_inverse=True)
    shares = np.bincount(place, weight, len(different)) / weight.sum()
    return (np.cumsum(shares) - shares / 2)[place]


class _Pairs:
    """Some pairs of numbers of the same n puzzles, each (2, n).

    Attributes
    ----------
    places : for each pair, (2, n) the place of each number among the different ones.
    sizes : for each pair how many different numbers there are of either.
    """

    def __init__(self, pairs: list[Floats]) -> None:
        found = [[np.unique(side, return_inverse=True) for side in pair] for pair in pairs]
        self.sizes = [tuple(len(different) for different, _ in pair) for pair in found]
        self.places = [np.array([place for _, place in pair], np.int64) for pair in found]

    def rows(
        self, weighting: Weighting, confidence: float, resamples: int, seed: int
    ) -> list[dict[str, Any]]:
        """What is told of each pair."""
        count = len(weighting.weight)
        defined = [count >= LEAST and min(sizes) > 1 for sizes in self.sizes]
        asked = [
            place for place, is_defined in zip(self.places, defined, strict=True) if is_defined
        ]
        middle = low = high = iter(())
        if asked:

            def statistic(drawn: Floats) -> Floats:
                drawn = np.ascontiguousarray(drawn)
                found = [_spearman(each, weighting.unit, weighting.weight, drawn) for each in asked]
                return np.stack(found, axis=1)

            # What is summed over units is which of them were drawn.
            each_unit = sparse.eye_array(weighting.units, format="csr")
            ends = bootstrap(
                [each_unit], statistic, confidence=confidence, resamples=resamples, seed=seed
            )
            middle = iter(statistic(np.ones((1, weighting.units)))[0].tolist())
            low, high = (iter(end.tolist()) for end in ends)
        return [
            {
                "puzzles": count,
                "first_values": sizes[0],
                "second_values": sizes[1],
                "spearman": next(middle) if is_defined else np.nan,
                "low": next(low) if is_defined else np.nan,
                "high": next(high) if is_defined else np.nan,
                "method": weighting.method,
            }
            for sizes, is_defined in zip(self.sizes, defined, strict=True)
        ]


@njit(cache=True, nogil=True)
def _spearman(
    places: NDArray[np.int64], unit: NDArray[np.int64], weight: Floats, drawn: Floats
) -> Floats:
    """(resamples,) weighted correlations of ranks; NaN where one of the two does not vary.

    Parameters
    ----------
    places : (2, n) place of each number among the different ones, in their order.
    unit, weight : (n,) the unit that each row belongs to, and how much it counts.
    drawn : (resamples, units) how often each unit was drawn.
    """
    found = np.empty(drawn.shape[0])
    middle = np.empty((2, places.max() + 1))
    for k in range(drawn.shape[0]):
        total = 0.0
        middle[:] = 0
        for i in range(unit.shape[0]):
            counts = weight[i] * drawn[k, unit[i]]
            total += counts
            middle[0, places[0, i]] += counts
            middle[1, places[1, i]] += counts
        # Ranks less their mean, which is a half; their variances can be summed over values.
        varied = np.zeros(2)
        for side in range(2):
            before = 0.0
            for value in range(middle.shape[1]):
                share = middle[side, value] / total
                middle[side, value] = before + share / 2 - 0.5
                varied[side] += share * middle[side, value] ** 2
                before += share
        together = 0.0
        for i in range(unit.shape[0]):
            counts = weight[i] * drawn[k, unit[i]] / total
            together += counts * middle[0, places[0, i]] * middle[1, places[1, i]]
        found[k] = np.nan
        if min(varied[0], varied[1]) > 1e-14:
            found[k] = together / np.sqrt(varied[0] * varied[1])
    return found
