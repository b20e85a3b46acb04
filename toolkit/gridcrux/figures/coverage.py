"""What share of the eliminations of each width a repertoire finds, as bars within bars."""

from __future__ import annotations

from typing import Any

import pandas as pd
from matplotlib.axes import Axes

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLUE, SKY_BLUE
from gridcrux.figures.shares import PercentTicks, percent
from gridcrux.figures.statistics.forest import OVER_HEADS, axes_for, bars, legend_above, rows


def plot_coverage(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw the share of eliminations that is found (wide bars), and by as few premises as can be.

    On the right stand the eliminations of each width, and both shares.  There are no intervals:
    these are all eliminations of the states, and those of one state are no sample of others.

    Parameters
    ----------
    table : as `proofs.explain.coverage.coverage_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to both sets of bars.
    """
    columns = "width eliminations covered_share as_narrow_share"
    expect_table(table, "proofs.explain.coverage.coverage_table", columns.split())
    ax = axes_for(len(table), ax)
    beside = {"eliminations": [f"{count:,}" for count in table["eliminations"]]}
    for what, words, head, height, colour in (
        ("covered", "found by some technique", "found", 0.74, SKY_BLUE),
        ("as_narrow", "by as few premises as can be", "by as few", 0.36, BLUE),
    ):
        look: dict[str, Any] = {"height": height, "color": colour, "label": words}
        bars(ax, table[f"{what}_share"].to_numpy(float), **(look | artist))
        beside[head] = list(map(percent, table[f"{what}_share"]))
    rows(ax, [f"{width} premise{'s' * (width != 1)}" for width in table["width"]], beside)
    ax.set_xlim(0, 1)
    ax.xaxis.set_major_formatter(PercentTicks())
    ax.set_xlabel("share of the eliminations that need so many premises")
    if len(table):
        legend_above(ax, **OVER_HEADS)
    return ax
