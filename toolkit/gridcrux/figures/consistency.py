"""What share of puzzles each level of consistency solves, as a table and as bars in three parts."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLUE, GREY, VERMILLION, WHITE
from gridcrux.figures.shares import PercentTicks, percent
from gridcrux.figures.statistics.forest import OVER_HEADS, axes_for, bars, legend_above, rows
from gridcrux.figures.studies import share_row
from gridcrux.proofs.consistency.levels import Outcome

CONSISTENCY_COLUMNS = {
    "level": "name of the level, in the order of the table",
    "puzzles": "how many puzzles there are",
    "solved": "those that the level solves",
    "solved_share": "solved / puzzles",
    "solved_low": "lower end of the Wilson interval of `solved_share`, 95 %",
    "solved_high": "upper end of it",
    "first": "puzzles that it solves and no level before it does",
    "open": "puzzles of which it does not see the end",
    "dead": "puzzles in which it sees a contradiction, so that they have no solution",
}
"""Meaning of the columns of `consistency_table`."""

LOOKS: dict[Outcome, tuple[str, dict[str, Any]]] = {
    Outcome.SOLVED: ("solved", {"color": BLUE}),
    Outcome.OPEN: ("left open", {"color": WHITE, "hatch": "////", "edgecolor": GREY}),
    Outcome.DEAD: (
        "no solution",
        {"color": VERMILLION, "hatch": "xxxx", "edgecolor": WHITE},
    ),
}
"""What each part of a bar is called, and how it looks."""


def consistency_table(levels: pd.DataFrame) -> pd.DataFrame:
    """How many puzzles each level of consistency solves, leaves open and refutes.

    Parameters
    ----------
    levels : a row a puzzle, as `proofs.consistency.levels_of` returns it.

    Returns
    -------
    DataFrame with the columns of `CONSISTENCY_COLUMNS`, a row a level; shares are missing where
    there are no puzzles.
    """
    found = []
    for name in levels.columns.drop("weakest"):
        how_many = {each.value: int((levels[name] == each.value).sum()) for each in Outcome}
        found.append(
            {
                "level": name,
                **share_row("solved", "puzzles", how_many.pop("solved"), len(levels)),
                "first": int((levels["weakest"] == name).sum()),
                **how_many,
            }
        )
    return pd.DataFrame(found, columns=list(CONSISTENCY_COLUMNS))


def plot_consistency(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw for each level the share of puzzles that it solves, leaves open and refutes.

    Whiskers are the intervals of the shares that are solved.  On the right stand these shares, and
    how many puzzles no level before solves: levels are not all comparable, so the share need not
    grow from each to the next.

    Parameters
    ----------
    table : as `consistency_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to all bars.
    """
    columns = "level puzzles solved solved_share solved_low solved_high first open dead"
    expect_table(table, "figures.consistency.consistency_table", columns.split())
    ax = axes_for(len(table), ax, list(table["level"]))
    share = table["solved_share"].to_numpy(float)
    ends = np.abs(table[["solved_low", "solved_high"]].to_numpy(float).T - share)
    begins = np.zeros(len(table))
    for outcome, (words, own) in LOOKS.items():
        parts = (table[outcome.value] / table["puzzles"]).to_numpy(float)
        if outcome is Outcome.SOLVED or np.nansum(parts):
            look: dict[str, Any] = {"height": 0.7, "left": begins, "label": words} | own | artist
            bars(ax, parts, ends=ends if outcome is Outcome.SOLVED else None, **look)
        begins = begins + parts
    beside = {
        "solved": list(map(percent, share)),
        "by none before": [f"{count:,}" for count in table["first"]],
    }
    rows(ax, list(table["level"]), beside)
    ax.set_xlim(0, 1)
    ax.xaxis.set_major_formatter(PercentTicks())
    ax.set_xlabel("share of puzzles")
    legend_above(ax, ncols=3, **OVER_HEADS)
    return ax
