"""When each part of a walk is told, and how long it takes, as bars along the time."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.ticker import MultipleLocator

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUE, FAINT, GREY, ORANGE, SKY_BLUE, WHITE
from gridcrux.figures.statistics.forest import (
    OVER_HEADS,
    axes_for,
    bars,
    broken,
    legend_above,
    rows,
)
from gridcrux.figures.storyboard.words import clock
from gridcrux.proofs.essential import ESSENTIAL, IDLE, REPLACEABLE

EASY = "easy steps"

LOOKS: dict[str, dict[str, Any]] = {
    EASY: {"color": FAINT, "edgecolor": GREY},
    ESSENTIAL: {"color": BLUE, "edgecolor": BLACK},
    REPLACEABLE: {"color": SKY_BLUE, "edgecolor": BLACK, "hatch": "////"},
    IDLE: {"color": WHITE, "edgecolor": GREY, "hatch": "...."},
}
"""How parts look: easy ones, and hard ones by their status."""

APART = (1, 2, 5, 10, 15, 30, *(60 * minutes for minutes in (1, 2, 5, 10, 15, 30, 60, 120, 1e9)))
"""Seconds between the times that are written below; there are six of these at most."""


def plot_timeline(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw from when to when each part of a walk is told, one below the other.

    Bars of hard steps tell their status; behind a bar a diamond marks a narrow place.  On the
    right stand how long the part takes, and how many hard deductions were open before it.

    Parameters
    ----------
    table : `Storyboard.table` of `figures.storyboard`.
    ax : None for axes of a new figure.
    artist : passed on to all bars.
    """
    asked = ("begins", "kind", "narrow", "open", "seconds", "status", "title")
    expect_table(table, "Storyboard.table of figures.storyboard", asked)
    names = list(map(broken, table["title"]))
    ax = axes_for(len(table), ax, names)
    begins, seconds = (table[name].to_numpy(float) for name in ("begins", "seconds"))
    end = (begins + seconds).max(initial=1)
    kinds = table["status"].where(table["kind"] == "hard", EASY)
    handles: list[Any] = []
    for kind, own in LOOKS.items():
        here = (kinds == kind).to_numpy(bool)
        if here.any():
            look: dict[str, Any] = {"height": 0.66, "left": begins, "linewidth": 0.6}
            words = kind if kind == EASY else f"{kind} step"
            look |= own | {"label": words} | artist
            handles.append(bars(ax, np.where(here, seconds, np.nan), **look))
    narrow = np.flatnonzero(table["narrow"].to_numpy(bool))
    if len(narrow):
        look = {"linestyle": "none", "marker": "D", "markersize": 5, "markeredgecolor": BLACK}
        behind = (begins + seconds)[narrow] + 0.02 * end
        handles += ax.plot(behind, narrow, **look, markerfacecolor=ORANGE, label="narrow place")
    beside = {
        "takes": list(map(clock, seconds)),
        "open": ["" if pd.isna(count) else f"{count:,}" for count in table["open"]],
    }
    rows(ax, names, beside)
    ax.set_xlim(0, 1.05 * end)
    ax.xaxis.set_major_locator(MultipleLocator(next(step for step in APART if end <= 6 * step)))
    ax.xaxis.set_major_formatter(lambda at, _: clock(at))
    ax.set_xlabel("time from the beginning, in minutes and seconds")
    if handles:
        legend_above(ax, handles=handles, ncols=3, **OVER_HEADS)
    return ax
