"""Shares of features, and means and medians of numbers, as points with their intervals."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLUE, GREY, ORANGE, WHITE
from gridcrux.figures.shares import PercentTicks, percent
from gridcrux.figures.statistics.forest import axes_for, legend_above, points, rows


def plot_rates(
    table: pd.DataFrame, *, log: bool = False, ax: Axes | None = None, **artist: Any
) -> Axes:
    """Draw the share of each feature with its interval; counts and shares stand on the right.

    Parameters
    ----------
    table : as `corpus.statistics.rates.rates` returns it.
    log : shares on a logarithmic scale, for rare features.  One that was never seen is an interval
        without a point then.
    ax : None for axes of a new figure.
    artist : passed on to the points.
    """
    columns = "feature count share low high"
    expect_table(table, "corpus.statistics.rates.rates", columns.split())
    ax = axes_for(len(table), ax)
    top = np.nanmax([*table["high"], 0.001])
    if log:
        seen = table["share"].to_numpy(float)
        least = np.nanmin([*seen[seen > 0], *table["high"], top / 10]) / 5
        shown = table.assign(
            low=table["low"].clip(lower=least), share=table["share"].mask(seen == 0)
        )
        points(ax, shown, ("share", "low", "high"), True, **artist)
        never = np.flatnonzero(seen == 0)
        ax.hlines(never, least, table["high"].iloc[never], color=GREY, lw=0.9, ls=":")
        ax.set_xscale("log")
        ax.set_xlim(least, min(2.0, 1.5 * top))
    else:
        points(ax, table, ("share", "low", "high"), True, **artist)
        ax.set_xlim(-0.01 * top, 1.03 * top)
    ax.xaxis.set_major_formatter(PercentTicks())
    ax.set_xlabel("share of puzzles")
    counts = [f"{count:,}" for count in table["count"]]
    rows(
        ax, list(table["feature"]), {"puzzles": counts, "share": list(map(percent, table["share"]))}
    )
    return ax


def plot_means(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw the mean (disc) and the median (diamond) of each number with their intervals.

    Parameters
    ----------
    table : as `corpus.statistics.rates.means` returns it.  Its numbers share one axis: they
        should be of about the same size, and those of another unit go into a figure of their own.
    ax : None for axes of a new figure.
    artist : passed on to the points.
    """
    columns = "column mean mean_low mean_high median median_low median_high"
    expect_table(table, "corpus.statistics.rates.means", columns.split())
    ax = axes_for(len(table), ax)
    places = np.arange(len(table))
    for what, place, marker, colour, face in (
        ("mean", places - 0.13, "o", BLUE, BLUE),
        ("median", places + 0.17, "D", ORANGE, WHITE),
    ):
        middle = table[what].to_numpy(float)
        ends = np.abs(table[[f"{what}_low", f"{what}_high"]].to_numpy(float).T - middle)
        look: dict[str, Any] = {
            "fmt": marker,
            "color": colour,
            "markersize": 5,
            "markerfacecolor": face,
            "elinewidth": 1.1,
            "label": what,
        }
        ax.errorbar(middle, place, xerr=np.nan_to_num(ends), **(look | artist))
    beside = {what: [f"{value:.3g}" for value in table[what]] for what in ("mean", "median")}
    rows(ax, list(table["column"]), beside)
    if len(table) == 1:
        ax.set_xlabel(f"{table['column'].iloc[0]}: mean and median of puzzles")
    else:
        ax.set_xlabel("mean and median of puzzles, each number in its own unit")
    legend_above(ax)
    return ax
