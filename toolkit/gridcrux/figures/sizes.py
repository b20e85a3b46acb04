"""How large encodings are: variables, clauses and literals as points on a logarithmic scale."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUE, FAINT, ORANGE, VERMILLION, WHITE
from gridcrux.figures.statistics.forest import OVER_HEADS, axes_for, broken, legend_above, rows

LOOKS = {
    "variables": ("o", BLUE),
    "clauses": ("s", ORANGE),
    "literals": ("^", VERMILLION),
}
"""Marker and colour of what is counted."""

HOLLOW = "hollow: without auxiliary variables, without repeated clauses"


def plot_sizes(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw how many variables, clauses and literals each encoding has, on a logarithmic scale.

    On the right stand these numbers.  Hollow marks are the variables without auxiliary ones and
    the clauses without repetitions, where they are fewer.  Lines separate layouts.

    Parameters
    ----------
    table : as `encodings.sizes.sizes_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the filled marks.
    """
    columns = "layout encoding variables auxiliary clauses distinct literals"
    expect_table(table, "encodings.sizes.sizes_table", columns.split())
    several = table["layout"].nunique() > 1
    names = [
        broken(f"{layout}, {encoding}" if several else encoding)
        for layout, encoding in zip(table["layout"], table["encoding"], strict=True)
    ]
    ax = axes_for(len(table), ax, names)
    places = np.arange(len(table))
    fewer = {
        "variables": table["variables"].where(table["auxiliary"] > 0) - table["auxiliary"],
        "clauses": table["distinct"].where(table["distinct"] < table["clauses"]),
    }
    for what, (marker, colour) in LOOKS.items():
        look: dict[str, Any] = {"linestyle": "none", "marker": marker, "markeredgecolor": BLACK}
        look |= {"markersize": 7, "markeredgewidth": 0.7, "zorder": 3}
        if what in fewer:
            hollow = look | {"markerfacecolor": WHITE, "markeredgecolor": colour, "markersize": 6}
            ax.plot(fewer[what], places, **hollow)
        ax.plot(table[what], places, **(look | {"label": what, "color": colour} | artist))
    rows(ax, names, {what: [f"{count:,}" for count in table[what]] for what in LOOKS})
    parts = np.flatnonzero(table["layout"].ne(table["layout"].shift(-1)))[:-1]
    ax.hlines(parts + 0.5, 0, 1, transform=ax.get_yaxis_transform(), color=BLACK, lw=0.8)
    ax.set_xscale("log")
    # Whole decades, so that there are two numbers to read at least.
    counts = table[[*LOOKS, "distinct"]].assign(candidates=table["variables"] - table["auxiliary"])
    ends = (counts.to_numpy().min(), counts.to_numpy().max()) if len(table) else (1, 1)
    first, last = np.floor(np.log10(np.maximum(1, ends)))
    ax.set_xlim(10**first, 10 ** (last + 1))
    ax.xaxis.set_major_formatter(lambda count, _: f"{count:,.0f}")
    ax.grid(axis="x", color=FAINT, lw=0.8)
    ax.set_axisbelow(True)
    ax.set_xlabel("number in the formula of an empty grid")
    look = {"title_fontsize": "small", "alignment": "left"} | OVER_HEADS
    hollow_ones = any(numbers.notna().any() for numbers in fewer.values())
    legend_above(ax, ncols=3, title=HOLLOW if hollow_ones else None, **look)
    return ax
