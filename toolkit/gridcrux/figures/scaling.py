"""How the time of engines grows with what they are given, as a table and as lines."""

from __future__ import annotations

from itertools import cycle
from typing import Any

import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, NullLocator, ScalarFormatter

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import (
    BLACK,
    BLUE,
    BLUISH_GREEN,
    ORANGE,
    REDDISH_PURPLE,
    SKY_BLUE,
    VERMILLION,
    WHITE,
)

SCALING_COLUMNS = {
    "engine": "name of the engine",
    "seconds": "median of the seconds",
    "low": "least of them",
    "high": "greatest of them",
    "measured": "how many there are",
    "cut": "how many of these were cut short, so that they are lower bounds",
}
"""Meaning of the columns of `scaling_table`, which come behind the one that is asked for."""

_FEW = 12
"""Up to so many places on the axis each is written there."""

_LOOKS = (
    (BLUE, "o", "-"),
    (VERMILLION, "s", "--"),
    (BLUISH_GREEN, "^", "-."),
    (REDDISH_PURPLE, "D", ":"),
    (ORANGE, "v", (0, (5, 1))),
    (BLACK, "P", (0, (1, 1))),
    (SKY_BLUE, "X", (0, (3, 1, 1, 1))),
)
"""Lines differ in colour, marker and dash."""


def scaling_table(measured: pd.DataFrame, x: str) -> pd.DataFrame:
    """The median time of each engine at each place, and the range.

    Parameters
    ----------
    measured : a row for each measurement: the column `x`, ``engine``, ``seconds`` and, if some
        were cut short, ``cut`` with the truth of it.
    x : the column with what grows.

    Returns
    -------
    DataFrame with the column `x` and those of `SCALING_COLUMNS`; engines in the order in which
    they first come, places ascending.

    Raises
    ------
    ValueError : a column is missing.
    """
    missing = [name for name in (x, "engine", "seconds") if name not in measured.columns]
    if missing:
        raise ValueError(f"the measurements have no column {', '.join(missing)}")
    rows: list[dict[str, Any]] = []
    for engine, one in measured.groupby("engine", sort=False):
        for place, part in one.groupby(x):
            rows.append(
                {
                    x: place,
                    "engine": engine,
                    "seconds": part["seconds"].median(),
                    "low": part["seconds"].min(),
                    "high": part["seconds"].max(),
                    "measured": len(part),
                    "cut": int(part["cut"].sum()) if "cut" in part else 0,
                }
            )
    return pd.DataFrame(rows, columns=[x, *SCALING_COLUMNS])


def plot_scaling(
    table: pd.DataFrame, *, x: str, label: str | None = None, ax: Axes | None = None, **artist: Any
) -> Axes:
    """Draw the time of each engine against what grows, both logarithmic.

    A vertical line reaches from the least to the greatest time.  A hollow marker stands where some
    were cut short: the true time is not below it.

    Parameters
    ----------
    table : as `scaling_table` returns it.
    x : the column with what grows.
    label : what the axis says; None for the name of the column.
    ax : None for axes of a new figure.
    artist : passed on to the lines.
    """
    expect_table(table, "figures.scaling.scaling_table", [x, *SCALING_COLUMNS])
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 3.8), layout="constrained")
    looks = cycle(_LOOKS)
    for engine, part in table.groupby("engine", sort=False):
        colour, marker, dash = next(looks)
        look: dict[str, Any] = {"color": colour, "linestyle": dash, "marker": marker}
        look |= {"linewidth": 1.4, "markersize": 5, "label": str(engine)} | artist
        ax.plot(part[x], part["seconds"], **look)
        ax.vlines(part[x], part["low"], part["high"], color=look["color"], lw=0.8, alpha=0.6)
        cut = part[part["cut"] > 0]
        if len(cut):
            ax.plot(
                cut[x], cut["seconds"], linestyle="none", marker=look["marker"],
                markersize=look["markersize"], markerfacecolor=WHITE, markeredgecolor=look["color"],
            )  # fmt: skip
    ax.set_xscale("log")
    ax.set_yscale("log")
    places = sorted(set(table[x]))
    if 0 < len(places) <= _FEW and places[-1] < 1000 * places[0]:
        ax.xaxis.set_major_locator(FixedLocator(places))
        ax.xaxis.set_minor_locator(NullLocator())
        ax.xaxis.set_major_formatter(ScalarFormatter())
    ax.set_xlabel(label or x)
    ax.set_ylabel("seconds")
    ax.spines[["top", "right"]].set_visible(False)
    if len(table):
        ax.legend(loc="center left", bbox_to_anchor=(1, 0.5), frameon=False, fontsize="small")
    return ax
