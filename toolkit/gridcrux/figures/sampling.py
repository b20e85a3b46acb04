"""How much the puzzles of a weighted sample weigh and say; and how many givens puzzles have."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator
from numpy.typing import NDArray

from gridcrux.corpus.statistics.features import require
from gridcrux.corpus.statistics.weighting import Weighting
from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUISH_GREEN, ORANGE, REDDISH_PURPLE, SKY_BLUE, WHITE
from gridcrux.figures.shares import PercentTicks, percent
from gridcrux.figures.statistics.forest import axes_for, legend_above, points, rows

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

LOOKS = ((SKY_BLUE, ""), (ORANGE, "////"), (BLUISH_GREEN, "...."), (REDDISH_PURPLE, "xxxx"))
"""Colour and hatch of the bars of one layout after the other."""

MOST_WORDS = 38
"""Letters up to which what the legend says has room twice in a line."""

Numbers = NDArray[np.float64]


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
    columns = "givens puzzles least median greatest share effective"
    expect_table(table, "figures.sampling.weight_table", columns.split())
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
    """Draw how many puzzles have how many givens.

    Of a weighted sample bars are the estimates for all minimal puzzles, with whiskers of two
    standard errors, and diamonds the shares of the sample itself, where each puzzle counts the
    same.  Of a data card bars are the shares of the puzzles of each layout; where puzzles have
    weights, bars count by weight and diamonds each puzzle the same.

    Parameters
    ----------
    table : as `corpus.sample.estimates.givens_table` or `corpus.cards.Card.frame` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the bars.
    """
    if isinstance(table, pd.DataFrame) and "layout" in table.columns:
        columns = ("givens", "puzzles", "share", "weighted_share")
        expect_table(table, "Card.frame of corpus.cards", columns)
    else:
        columns = ("givens", "found", "percent", "standard_error")
        expect_table(table, "corpus.sample.estimates.givens_table", columns)
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 3.4), layout="constrained")
    parts, same = _of_layouts(table) if "layout" in table.columns else _of_sample(table)
    # Side by side only where layouts have the same number of givens.
    wide = 0.8 / (len(parts) if table["givens"].duplicated().any() else 1)
    handles: list[Any] = []
    for number, (words, givens, share, error, alike) in enumerate(parts):
        colour, hatch = LOOKS[number % len(LOOKS)]
        at = givens + (wide * (number - (len(parts) - 1) / 2) if wide < 0.8 else 0)
        look: dict[str, Any] = {
            "width": wide,
            "color": colour,
            "hatch": hatch,
            "edgecolor": WHITE,
            "error_kw": {"ecolor": BLACK, "elinewidth": 0.8},
            "label": words,
        }
        ends = None if error is None else [np.minimum(2 * error, share), 2 * error]
        handles.append(ax.bar(at, share, yerr=ends, **(look | artist)))
        if same:
            (marks,) = ax.plot(
                at,
                alike,
                linestyle="none",
                marker="D",
                markersize=5 if wide == 0.8 else 3.5,
                markerfacecolor=ORANGE,
                markeredgecolor=BLACK,
                label=same,
            )
    if parts and same:
        handles.append(marks)
    ax.xaxis.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1))
    if len(table):
        ax.set_xlim(table["givens"].min() - 0.8, table["givens"].max() + 0.8)
    ax.yaxis.set_major_formatter(PercentTicks(100))
    ax.set_ylim(bottom=0)
    ax.set_xlabel("givens")
    ax.set_ylabel("share of puzzles")
    ax.spines[["top", "right"]].set_visible(False)
    longest = max((len(each.get_label()) for each in handles), default=0)
    legend_above(ax, handles=handles, ncols=2 if longest <= MOST_WORDS else 1)
    return ax


_Part = tuple[str, Numbers, Numbers, Numbers | None, Numbers]
"""What bars are called, the givens, shares in percent, their errors, and those without weights."""


def _of_sample(table: pd.DataFrame) -> tuple[list[_Part], str]:
    """All minimal puzzles beside the sample, and what the diamonds are called."""
    # With a single group there is no error to tell.
    givens, found, share, error = (
        np.nan_to_num(table[name].to_numpy(float))
        for name in ("givens", "found", "percent", "standard_error")
    )
    part = "all minimal puzzles, estimated", givens, share, error, 100 * found / found.sum()
    return [part], f"the {int(found.sum()):,} puzzles of the sample"


def _of_layouts(table: pd.DataFrame) -> tuple[list[_Part], str]:
    """The puzzles of each layout, and what the diamonds are called if there are weights."""
    weighted = not np.allclose(table["share"], table["weighted_share"])
    parts: list[_Part] = []
    for layout, part in table.groupby("layout", sort=False):
        count = int(part["puzzles"].sum())
        words = f"{layout}, {count:,} puzzle{'s' * (count != 1)}{', by weight' * weighted}"
        givens, alike, share = (
            part[name].to_numpy(float) for name in ("givens", "share", "weighted_share")
        )
        parts.append((words, givens, 100 * share, None, 100 * alike))
    return parts, "each puzzle counting the same" if weighted else ""
