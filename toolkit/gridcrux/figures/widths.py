"""How wide steps have to be: bottleneck widths in a corpus, as a table and as bars."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUE, WHITE
from gridcrux.figures.shares import PercentTicks, percent
from gridcrux.figures.studies import share_row
from gridcrux.proofs.explain.bottleneck import Bottleneck

WIDTH_COLUMNS = {
    "width": "bottleneck width",
    "total": "puzzles whose width is known",
    "puzzles": "those of this width",
    "puzzles_share": "puzzles / total",
    "puzzles_low": "lower end of the Wilson interval of `puzzles_share`, 95 %",
    "puzzles_high": "upper end of it",
    "at_most": "share of the puzzles that steps of this width or narrower solve",
}
"""Meaning of the columns of `width_table`."""


def width_table(found: Iterable[Bottleneck]) -> pd.DataFrame:
    """How many puzzles have which bottleneck width.

    Parameters
    ----------
    found : a result for each puzzle; those that ran out of time do not count.

    Returns
    -------
    DataFrame with the columns of `WIDTH_COLUMNS`, a row for each width from the least to the
    greatest, also where there is none.
    """
    widths = [each.lower for each in found if each.exact]
    rows: list[dict[str, Any]] = []
    for width in range(min(widths, default=0), max(widths, default=-1) + 1):
        row = {"width": width, **share_row("puzzles", "total", widths.count(width), len(widths))}
        rows.append({**row, "at_most": sum(each <= width for each in widths) / len(widths)})
    return pd.DataFrame(rows, columns=list(WIDTH_COLUMNS))


def plot_widths(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw the share of each bottleneck width, with its interval.

    Parameters
    ----------
    table : as `width_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the bars.
    """
    columns = "width puzzles_share puzzles_low puzzles_high"
    expect_table(table, "figures.widths.width_table", columns.split())
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 3.2), layout="constrained")
    share = table["puzzles_share"].to_numpy(float)
    ends = abs(table[["puzzles_low", "puzzles_high"]].to_numpy(float).T - share)
    look: dict[str, Any] = {
        "color": BLUE,
        "edgecolor": WHITE,
        "error_kw": {"ecolor": BLACK, "elinewidth": 0.8},
    }
    ax.bar(table["width"], share, yerr=ends, **(look | artist))
    for place, height, text in zip(
        table["width"], table["puzzles_high"], map(percent, share), strict=True
    ):
        ax.annotate(text, (place, height), (0, 3), textcoords="offset points", ha="center")
    ax.xaxis.set_major_locator(MaxNLocator(integer=True, min_n_ticks=1))
    if len(table):
        ax.set_xlim(table["width"].min() - 0.8, table["width"].max() + 0.8)
    ax.yaxis.set_major_formatter(PercentTicks())
    ax.set_ylim(0, 1.15 * table["puzzles_high"].max() if len(table) else 1)
    ax.set_xlabel("bottleneck width: rules to look up at once")
    ax.set_ylabel("share of puzzles")
    ax.spines[["top", "right"]].set_visible(False)
    return ax
