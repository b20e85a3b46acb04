"""How estimates of a weighted sample settle as groups are added, as a table and as a line."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from gridcrux.corpus.sample.estimates import summary_table
from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLUE, GREY, SKY_BLUE
from gridcrux.figures.statistics.forest import legend_above

SETTLING_COLUMNS = {
    "groups": "how many groups are counted, the first ones",
    "quantity": "what is estimated from them",
    "estimate": "estimate from these groups alone",
    "standard_error": "its standard error, from the differences between these groups",
}
"""Meaning of the columns of `settling_table`."""

PLACES = 100
"""At most so many numbers of groups are looked at."""

LARGE = 6
"""Estimates with more digits than these are written in a power of ten."""


def settling_table(groups: pd.DataFrame) -> pd.DataFrame:
    """What the first groups say, for more and more groups.

    Parameters
    ----------
    groups : as `corpus.sample.estimates.group_table` returns it, groups in their order.

    Returns
    -------
    DataFrame with the columns of `SETTLING_COLUMNS`, a row for each number of groups and quantity
    of `summary_table`.  The first number is 2, or the first with any puzzle; the last is of all.

    Raises
    ------
    ValueError : there are fewer than two groups, or no puzzles.
    """
    place = groups["group"].map({group: i for i, group in enumerate(groups["group"].unique(), 1)})
    found = place[groups["weight"] > 0]
    if place.max() < 2 or found.empty:
        raise ValueError(
            f"{groups['group'].nunique()} groups with {groups['puzzles'].sum()} puzzles: errors "
            "are told by the differences between two groups at least"
        )
    numbers = np.unique(np.linspace(max(2, found.min()), place.max(), PLACES).astype(int))
    parts = [summary_table(groups[place <= number]) for number in numbers]
    return pd.concat(parts, ignore_index=True)[list(SETTLING_COLUMNS)]


def plot_settling(
    table: pd.DataFrame,
    *,
    quantity: str = "mean givens",
    ax: Axes | None = None,
    **artist: Any,
) -> Axes:
    """Draw the estimate from the first groups, with a band of two standard errors either way.

    The dashed line is the estimate from all groups.  A step in the line is a group of great
    weight: where there still are some near the end, more groups are needed.

    Parameters
    ----------
    table : as `settling_table` returns it.
    quantity : one of those of the table.
    ax : None for axes of a new figure.
    artist : passed on to the line.

    Raises
    ------
    ValueError : the table has no such quantity.
    """
    columns = "groups quantity estimate standard_error"
    expect_table(table, "figures.settling.settling_table", columns.split())
    part = table[table["quantity"] == quantity]
    if part.empty:
        names = ", ".join(table["quantity"].unique())
        raise ValueError(f"no quantity is called {quantity!r}; there are {names}")
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 3.2), layout="constrained")
    number, estimate, error = (
        part[name].to_numpy(float) for name in ("groups", "estimate", "standard_error")
    )
    # Nothing that is estimated can be below nought.
    low, high = np.maximum(0, estimate - 2 * error), estimate + 2 * error
    band: dict[str, Any] = {"color": SKY_BLUE, "alpha": 0.4, "label": "two standard errors"}
    look: dict[str, Any] = {"color": BLUE, "lw": 1.5, "label": "first groups"}
    if len(part) > 1:
        ax.fill_between(number, low, high, lw=0, **band)
    else:  # Neither a band nor a line can be seen.
        ax.vlines(number, low, high, lw=6, **band)
        look["marker"] = "o"
    ax.plot(number, estimate, **(look | artist))
    ax.axhline(estimate[-1], color=GREY, lw=0.9, ls="--", label="all groups")
    ax.xaxis.set_major_locator(MaxNLocator(nbins=7, integer=True, min_n_ticks=1))
    ax.set_xlabel("groups of the sample that are counted")
    power = int(np.log10(np.abs(estimate).max()))
    if power < LARGE:
        ax.set_ylabel(quantity)
    else:
        ax.yaxis.set_major_formatter(lambda value, _: f"{value / 10.0**power:g}")
        ax.set_ylabel(f"{quantity}, in $10^{{{power}}}$")
    ax.spines[["top", "right"]].set_visible(False)
    legend_above(ax, ncols=3)
    return ax
