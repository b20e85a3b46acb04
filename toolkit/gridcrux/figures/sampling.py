"""Weighted samples: how much puzzles weigh, how much a sample says, and what all puzzles are."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from gridcrux.corpus.statistics.features import require
from gridcrux.corpus.statistics.weighting import Weighting
from gridcrux.figures.palette import BLACK, ORANGE, SKY_BLUE, WHITE
from gridcrux.figures.statistics.forest import axes_for, points, rows
from gridcrux.figures.studies import percent

WEIGHT_COLUMNS = {
    "givens": "number of givens; missing in the last row, which is of all puzzles",
    "puzzles": "puzzles of the sample with so many givens",
    "least": "least weight of these",
    "median": "median of their weights",
    "greatest": "greatest of their weights",
    "share": "their part of the weight of the sample",
    "effective": "effective size: groups of equal weight, or puzzles if there are no groups, that "
    "say as much",
}
"""Meaning of the columns of `weight_table`."""


def weight_table(sample: pd.DataFrame) -> pd.DataFrame:
    """The weights of the puzzles of a sample by number of givens, and its effective size.

    Parameters
    ----------
    sample : a row a puzzle, with the columns `givens` and `weight` and, if puzzles depend on each
        other, `group`: as `Weighted.row` has them (`corpus.sample.weighted`), or a study.

    Returns
    -------
    DataFrame with the columns of `WEIGHT_COLUMNS`, a row for each number of givens, ascending, and
    one of all.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : there are no puzzles, or a weight is missing or not above 0.
    """
    require(sample, "givens", "weight")
    weighting = Weighting.of(sample, "weight", "group", 0)
    givens, weight = sample["givens"].to_numpy(), weighting.weight
    table = []
    for number in [*np.unique(givens).tolist(), None]:
        here = np.ones(len(sample), np.bool_) if number is None else givens == number
        some = weight[here]
        table.append(
            {
                "givens": number,
                "puzzles": len(some),
                "least": some.min(),
                "median": np.median(some),
                "greatest": some.max(),
                "share": some.sum() / weight.sum(),
                "effective": weighting.effective(here),
            }
        )
    return pd.DataFrame(table, columns=list(WEIGHT_COLUMNS)).astype({"givens": "Int64"})


def plot_weights(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw the median weight of a puzzle for each number of givens, from the least to the greatest.

    On the right stand the puzzles found, the effective size of the sample, and the part of the
    weight.

    Parameters
    ----------
    table : as `weight_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the points.
    """
    ax = axes_for(len(table), ax)
    points(ax, table, ("median", "least", "greatest"), table["givens"].notna(), **artist)
    names = ["all" if pd.isna(number) else f"{number} givens" for number in table["givens"]]
    beside = {
        "puzzles": [f"{count:,}" for count in table["puzzles"]],
        "effective": [f"{size:,.{0 if size >= 10 else 1}f}" for size in table["effective"]],
        "share": list(map(percent, table["share"])),
    }
    rows(ax, names, beside)
    ax.set_xscale("log")
    ax.set_xlabel("weight of a puzzle: median, least to greatest")
    return ax


def plot_givens(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw how many of all minimal puzzles have how many givens, and how many of the sample.

    Bars are the estimates for all puzzles, with whiskers of two standard errors; diamonds are the
    shares of the sample itself, where each puzzle counts the same.

    Parameters
    ----------
    table : as `corpus.sample.estimates.givens_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the bars.
    """
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 3.4), layout="constrained")
    # With a single group there is no error to tell.
    share, error = (table[name].to_numpy(float) for name in ("percent", "standard_error"))
    error = np.nan_to_num(error)
    look: dict[str, Any] = {
        "color": SKY_BLUE,
        "edgecolor": WHITE,
        "error_kw": {"ecolor": BLACK, "elinewidth": 0.8},
        "label": "all minimal puzzles, estimated",
    }
    ends = [np.minimum(2 * error, share), 2 * error]
    bars = ax.bar(table["givens"], share, yerr=ends, **(look | artist))
    found = table["found"].to_numpy(float)
    (marks,) = ax.plot(
        table["givens"],
        100 * found / found.sum(),
        linestyle="none",
        marker="D",
        markersize=5,
        markerfacecolor=ORANGE,
        markeredgecolor=BLACK,
        label=f"the {int(found.sum()):,} puzzles of the sample",
    )
    ax.xaxis.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1))
    ax.set_xlim(table["givens"].min() - 0.8, table["givens"].max() + 0.8)
    ax.yaxis.set_major_formatter(lambda value, _: f"{value:g} %")
    ax.set_ylim(bottom=0)
    ax.set_xlabel("givens")
    ax.set_ylabel("share of puzzles")
    ax.spines[["top", "right"]].set_visible(False)
    # Above the axes, where no bar can run into it.
    look = {"ncols": 2, "frameon": False, "fontsize": "small"}
    ax.legend(handles=[bars, marks], loc="lower left", bbox_to_anchor=(0, 1), **look)
    return ax
