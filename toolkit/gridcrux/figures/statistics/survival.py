"""What share of puzzles is solved by each level or width, as steps with a band."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLUE, BLUISH_GREEN, ORANGE, REDDISH_PURPLE
from gridcrux.figures.shares import PercentTicks

LOOKS = (
    (BLUE, "-", "o"),
    (ORANGE, "--", "s"),
    (BLUISH_GREEN, "-.", "^"),
    (REDDISH_PURPLE, ":", "D"),
)
"""Colour, line and marker of one curve after the other."""

MOST_LETTERS = 20
"""Names of curves up to this length stand two by two above the axes."""


def plot_solved(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw the share that is solved up to each time, with the band of its intervals.

    Parameters
    ----------
    table : as `corpus.statistics.survival.solved_curve` returns it; or several of them, one below
        the other, with their names in a column `curve`.
    ax : None for axes of a new figure.
    artist : passed on to the lines.
    """
    columns = "time label at_risk solved low high"
    expect_table(table, "corpus.statistics.survival.solved_curve", columns.split())
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 3.6), layout="constrained")
    named = "curve" in table.columns
    parts = list(table.groupby("curve", sort=False)) if named else [("", table)]
    for number, (curve, part) in enumerate(parts):
        colour, line, marker = LOOKS[number % len(LOOKS)]
        time = part["time"].to_numpy(float)
        # The last step is as wide as the others.
        edge = np.append(time, time[-1:] + 1)
        solved, low, high = (
            np.append(part[column].to_numpy(float), part[column].to_numpy(float)[-1:])
            for column in ("solved", "low", "high")
        )
        look: dict[str, Any] = {
            "color": colour,
            "linestyle": line,
            "marker": marker,
            "markevery": range(len(time)),
            "markersize": 4.5,
            "drawstyle": "steps-post",
            "label": f"{curve!s} ({part['at_risk'].max():,} puzzles)" if named else None,
        }
        ax.plot(edge, solved, **(look | artist))
        ax.fill_between(edge, low, high, step="post", color=colour, alpha=0.18, lw=0)
    ticks = table.drop_duplicates("time").sort_values("time")
    words = not ticks["label"].str.replace(".", "").str.isnumeric().all()
    turned: dict[str, Any] = {"rotation": 30, "ha": "right", "rotation_mode": "anchor"}
    if words or len(ticks) <= 20:
        ax.set_xticks(ticks["time"], ticks["label"], **(turned if words else {}))
    ax.set_xlabel("levels up to this one" if words else "steps of this width or narrower")
    ax.set_ylabel("puzzles solved")
    ax.set_ylim(0, 1.02)
    ax.yaxis.set_major_formatter(PercentTicks())
    ax.spines[["top", "right"]].set_visible(False)
    if named:
        # Above the axes, where no curve can run into it.
        longest = max(len(str(curve)) for curve, _ in parts)
        look = {"frameon": False, "fontsize": "small", "ncols": 2 if longest <= MOST_LETTERS else 1}
        ax.legend(loc="lower left", bbox_to_anchor=(0, 1), **look)
    return ax
