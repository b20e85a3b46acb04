"""What weighted groups say about all minimal puzzles, with standard errors from groups.

A group is one observation, however many puzzles it has: they resemble each other.  Shares and
means are ratios of sums over groups, and their errors those of ratios (linearised).

What is rare is found in few groups, and its share has a skewed distribution: it is mostly too
low, with an error that is too low as well, and sometimes much too high.  A share of 9x9 puzzles
below half a percent is an order of magnitude rather than a measurement.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.sample.weighted import Group

COLUMNS = {
    "group": "number of the group",
    "grids": "estimate of the number of complete grids by this group alone",
    "puzzles": "minimal puzzles found in the group",
    "givens": "number of givens",
    "weight": "estimate of the number of minimal puzzles, with so many givens where this is told, "
    "by this group alone",
    "found": "puzzles of the sample with so many givens",
    "percent": "share of all minimal puzzles that have so many givens",
    "quantity": "what is estimated",
    "estimate": "estimate from all groups",
    "standard_error": "standard error of the estimate, from the differences between groups",
    "groups": "number of groups, those without puzzles included",
    "effective": "puzzles drawn independently from all minimal ones that would have the same "
    "standard error; for totals, groups of equal weight that would",
}
"""Meaning of the columns of the tables of this file."""


def group_table(groups: Iterable[Group]) -> pd.DataFrame:
    """One row for each group and number of givens; a group without puzzles has one row, of zeros.

    Tables of different groups may be concatenated.
    """
    rows = []
    for group in groups:
        givens = np.array([puzzle.givens for puzzle in group.puzzles] or [0])
        weights = np.array([puzzle.weight for puzzle in group.puzzles] or [0.0])
        found = np.bincount(givens) if group.puzzles else np.zeros(1, np.int64)
        sums = np.bincount(givens, weights)
        for number in np.unique(givens).tolist():
            rows.append((group.index, group.grids, number, int(found[number]), sums[number]))
    return pd.DataFrame(rows, columns=["group", "grids", "givens", "puzzles", "weight"])


def givens_table(table: pd.DataFrame) -> pd.DataFrame:
    """How many of all minimal puzzles have how many givens, in percent.

    Parameters
    ----------
    table : of `group_table`.
    """
    weights = _by_group(table)
    total = weights.sum(axis=1)
    shares = [_ratio(weights[:, i], total) for i in range(weights.shape[1])]
    found = table.groupby("givens")["puzzles"].sum()
    result = pd.DataFrame(
        {
            "givens": found.index,
            "found": found.to_numpy(),
            "percent": [100 * share for share, _ in shares],
            "standard_error": [100 * error for _, error in shares],
            "weight": weights.mean(axis=0),
        }
    )
    return result[result["found"] > 0].reset_index(drop=True)


def summary_table(table: pd.DataFrame) -> pd.DataFrame:
    """Mean number of givens, number of minimal puzzles and number of grids.

    Parameters
    ----------
    table : of `group_table`.
    """
    weights = _by_group(table)
    givens = np.sort(table["givens"].unique())
    total = weights.sum(axis=1)
    grids = table.groupby("group")["grids"].first().to_numpy()
    mean, error = _ratio(weights @ givens, total)
    variance = weights.sum(axis=0) @ (givens - mean) ** 2 / total.sum()
    rows = [("mean givens", mean, error, variance / error**2 if error else np.nan)]
    for name, values in (("minimal puzzles", total), ("grids", grids)):
        error = float(values.std(ddof=1) / np.sqrt(values.size))
        kish = values.sum() ** 2 / (values**2).sum()
        rows.append((name, float(values.mean()), error, kish))
    result = pd.DataFrame(rows, columns=["quantity", "estimate", "standard_error", "effective"])
    result["groups"] = total.size
    return result


def _by_group(table: pd.DataFrame) -> NDArray[np.float64]:
    """(G, K) weights by group and by number of givens, both ascending."""
    wide = table.pivot_table("weight", "group", "givens", aggfunc="sum", fill_value=0.0)
    return wide.to_numpy(np.float64)


def _ratio(part: NDArray[np.float64], whole: NDArray[np.float64]) -> tuple[float, float]:
    """A ratio of sums over groups, and its standard error."""
    ratio = float(part.sum() / whole.sum())
    rest = part - ratio * whole
    error = np.sqrt((rest**2).sum() * rest.size / (rest.size - 1)) / whole.sum()
    return ratio, float(error)
