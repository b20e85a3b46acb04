"""How two studies differ, as points around nought."""

from __future__ import annotations

from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK
from gridcrux.figures.statistics.forest import SURE, axes_for, chance, points, rows, signed


def plot_differences(
    table: pd.DataFrame,
    *,
    names: tuple[str, str] = ("first study", "second study"),
    ax: Axes | None = None,
    **artist: Any,
) -> Axes:
    """Draw each difference with its interval, filled where it is sure (corrected p below 0.05).

    On the right stand the effect size (Cohen's h of shares, Hedges' g of numbers) and the
    corrected p-value.

    Parameters
    ----------
    table : as `compare_shares` or `compare_numbers` of `corpus.statistics.comparison` return it.
    names : what the first and the second study are called.
    ax : None for axes of a new figure.
    artist : passed on to the points.
    """
    of_shares = isinstance(table, pd.DataFrame) and "feature" in table.columns
    effect, head = ("cohen_h", "h") if of_shares else ("hedges_g", "g")
    source = "compare_shares" if of_shares else "compare_shares or compare_numbers"
    what = "feature" if of_shares else "column"
    columns = (what, "difference", "difference_low", "difference_high", effect, "p_corrected")
    expect_table(table, f"{source} of corpus.statistics.comparison", columns)
    ax = axes_for(len(table), ax)
    filled = (table["p_corrected"] < SURE).to_numpy(bool)
    points(ax, table, ("difference", "difference_low", "difference_high"), filled, **artist)
    ax.axvline(0, color=BLACK, lw=0.8, zorder=0.5)
    beside = {
        head: list(map(signed, table[effect])),
        "p, corrected": [chance(p) for p in table["p_corrected"]],
    }
    rows(ax, list(table[what]), beside)
    if of_shares:
        ax.xaxis.set_major_formatter(
            FuncFormatter(lambda share, _: f"{100 * share:+.3g}" if share else "0")
        )
    which = "shares, in points of percent" if of_shares else "means, each number in its own unit"
    first, second = names
    ax.set_xlabel(f"difference of {which}:\n{second} minus {first}")
    return ax
