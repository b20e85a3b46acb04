"""How each condition of a shortlist narrowed the choice, as bars within bars."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, MaxNLocator

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLUE, GREY, WHITE
from gridcrux.figures.shares import percent
from gridcrux.figures.statistics.forest import (
    OVER_HEADS,
    axes_for,
    bars,
    broken,
    legend_above,
    rows,
)

FEW = 1 / 50
"""Where a condition leaves less than this part of the rows, their scale is logarithmic."""

BEFORE = {"height": 0.76, "color": WHITE, "edgecolor": GREY, "linewidth": 0.6, "hatch": "////"}
"""How the bars of the rows that were looked at look."""


def plot_funnel(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw how many rows each condition looked at (hatched bars), and how many of these it left.

    On the right stand the rows that it left, their part of those that it looked at, and their part
    of the weight of all rows, if they have weights.  Where few of many rows are left, the scale is
    logarithmic from one row on; no row has no bar.

    Parameters
    ----------
    table : `Shortlist.funnel` of `corpus.shortlist`.
    ax : None for axes of a new figure.
    artist : passed on to both sets of bars.
    """
    columns = "condition looked_at left weighted_share"
    expect_table(table, "Shortlist.funnel of corpus.shortlist", columns.split())
    names = list(map(broken, table["condition"]))
    ax = axes_for(len(table), ax, names)
    looked_at, left = (table[name].to_numpy(np.int64) for name in ("looked_at", "left"))
    for counts, words, own in (
        (looked_at, "rows looked at", BEFORE),
        (left, "rows left", {"height": 0.42, "color": BLUE}),
    ):
        look: dict[str, Any] = {"label": words} | own | artist
        bars(ax, np.where(counts, counts, np.nan), **look)
    most = looked_at.max(initial=1)
    if left[left > 0].min(initial=most) < FEW * most:
        ax.set_xscale("symlog", linthresh=1)
        decades = int(np.log10(most))
        ticks = [10**power for power in range(0, decades + 1, 1 if decades < 4 else 2)]
        ax.xaxis.set_major_locator(FixedLocator([0, *ticks]))
        ax.set_xlim(0, 1.3 * most)
    else:
        ax.xaxis.set_major_locator(MaxNLocator(nbins=6, integer=True, min_n_ticks=1))
        ax.set_xlim(0, 1.03 * most)
    ax.xaxis.set_major_formatter(lambda count, _: f"{count:,.0f}")
    beside = {
        "left": [f"{count:,}" for count in left],
        "of these": [
            percent(rest / at) if at else "" for rest, at in zip(left, looked_at, strict=True)
        ],
    }
    if table["weighted_share"].notna().any():
        beside["weighted"] = list(map(percent, table["weighted_share"]))
    rows(ax, names, beside)
    ax.set_xlabel("rows of the study")
    legend_above(ax, **OVER_HEADS)
    return ax
