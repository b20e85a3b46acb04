"""Rank correlations of pairs of numbers, as points between minus one and one."""

from __future__ import annotations

from typing import Any

import pandas as pd
from matplotlib.axes import Axes

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK
from gridcrux.figures.statistics.forest import axes_for, points, rows, signed


def plot_correlations(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw each rank correlation with its interval, filled where that leaves out nought.

    On the right stand the correlation and the number of puzzles.

    Parameters
    ----------
    table : as `corpus.statistics.correlation.rank_correlations` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the points.
    """
    columns = "first second puzzles spearman low high"
    expect_table(table, "corpus.statistics.correlation.rank_correlations", columns.split())
    ax = axes_for(len(table), ax)
    filled = ((table["low"] > 0) | (table["high"] < 0)).to_numpy(bool)
    points(ax, table, ("spearman", "low", "high"), filled, **artist)
    ax.axvline(0, color=BLACK, lw=0.8, zorder=0.5)
    beside = {
        "correlation": list(map(signed, table["spearman"])),
        "puzzles": [f"{count:,}" for count in table["puzzles"]],
    }
    names = [f"{one}, {two}" for one, two in zip(table["first"], table["second"], strict=True)]
    rows(ax, names, beside)
    ax.set_xlim(-1.03, 1.03)
    ax.set_xlabel("Spearman's rank correlation")
    return ax
