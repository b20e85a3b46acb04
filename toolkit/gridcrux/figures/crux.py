"""A route and its narrow places: what is left at each step, and what is open at the hard ones."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUE, GREY, ORANGE, SKY_BLUE, WHITE
from gridcrux.figures.statistics.forest import legend_above

NEAR = 1 / 4
"""Part of the route that a label is wide: narrow steps nearer than that share one."""

BELOW, LINE = 0.3, 0.36
"""Up to where of the height the bars reach, and from where on candidates are counted."""


def plot_crux(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw how many candidates are left at each step, and how many hard deductions are open.

    A hard step has a circle on the line, and below the line a bar for the hard deductions that
    were open and a narrower one within it for those that led on.  Bars have a scale of their own
    at the right, as candidates are many more.  Where the fewest were open, the circle is a diamond
    with the number of the step and of what was open, and the bar is hatched.

    Parameters
    ----------
    table : as `CruxProfile.table` returns it (`proofs.hard.profile`).
    ax : None for axes of a new figure.
    artist : passed on to the line.
    """
    columns = "step left hard open leading narrow"
    expect_table(table, "CruxProfile.table of proofs.hard.profile", columns.split())
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 4.0), layout="constrained")
    look: dict[str, Any] = {"color": GREY, "linewidth": 1.4, "label": "candidates left"}
    ax.step(table["step"], table["left"], where="mid", **(look | artist))
    # The columns of an empty table have no type.
    is_hard, is_narrow = table["hard"].astype(bool), table["narrow"].astype(bool)
    hard, narrow, usual = table[is_hard], table[is_narrow], table[is_hard & ~is_narrow]
    # Something is left at first, if there are any steps.
    top = 1.05 * max(1, table["left"].max()) if len(table) else 1.0
    bottom = -top * LINE / (1 - LINE) if len(hard) else 0.0
    drawn = [ax]
    if len(hard):
        room = _below(ax, hard["open"].max())
        drawn.append(room)
        _bars(room, usual, "open", SKY_BLUE, label="hard deductions open")
        _bars(room, narrow, "open", ORANGE, label="the fewest open", hatch="////")
        _bars(room, hard, "leading", BLUE, label="of these lead on", width=0.4)
        ax.vlines(narrow["step"], bottom, narrow["left"], color=BLACK, lw=0.8, ls=":")
    _marks(ax, usual, "o", 4.5, WHITE, label="hard step")
    _marks(ax, narrow, "D", 6, BLACK, label="narrow step")
    for group in together(narrow["step"].tolist(), NEAR * len(table)):
        first = narrow[narrow["step"] == group[0]].iloc[0]
        # Near the right edge there is room only below a line that is still high there.
        below = group[0] > 0.75 * len(table) and first["left"] > table["left"].max() / 3
        ax.annotate(
            f"step{'' if len(group) == 1 else 's'} {runs(group)}: {first['open']} open",
            (first["step"], first["left"]),
            (-5, -6) if below else (5, 6),
            textcoords="offset points",
            ha="right" if below else "left",
            va="top" if below else "baseline",
            fontsize="small",
            fontweight="bold",
        )
    ax.xaxis.set_major_locator(whole_numbers())
    ax.set_yticks([tick for tick in whole_numbers().tick_values(0, top) if 0 <= tick <= top])
    ax.set_xlim(0, len(table) + 1)
    ax.set_ylim(bottom, top)
    ax.spines["left"].set_bounds(0, top)
    ax.set_xlabel("step of the route")
    ax.set_ylabel("candidates left", y=(LINE + 1) / 2 if len(hard) else 0.5)
    ax.spines[["top", "right"]].set_visible(False)
    handles = [handle for each in drawn for handle in each.get_legend_handles_labels()[0]]
    legend_above(ax, ncols=3, handles=handles)
    return ax


def whole_numbers() -> MaxNLocator:
    return MaxNLocator(integer=True, steps=[1, 2, 5, 10])


def _below(ax: Axes, most: int) -> Axes:
    """Room for bars below the line, with a scale of its own at the right.

    It is within the axes given, as nothing but these is drawn on.
    """
    below = ax.inset_axes((0, 0, 1, BELOW), sharex=ax)
    below.patch.set_visible(False)
    below.spines[["top", "left", "bottom"]].set_visible(False)
    below.tick_params(axis="x", bottom=False, labelbottom=False)
    below.yaxis.tick_right()
    below.yaxis.set_label_position("right")
    below.yaxis.set_major_locator(MaxNLocator(3, integer=True, steps=[1, 2, 5, 10]))
    below.set_ylim(0, 1.02 * max(1, most))
    below.set_ylabel("deductions")
    return below


def _bars(ax: Axes, table: pd.DataFrame, what: str, colour: str, **look: Any) -> None:
    """Bars of a column."""
    if len(table):
        heights = table[what].to_numpy(np.float64)
        ax.bar(table["step"], heights, color=colour, edgecolor=BLACK, lw=0.5, **look)


def _marks(ax: Axes, table: pd.DataFrame, marker: str, size: float, fill: str, label: str) -> None:
    """Marks on the line."""
    if len(table):
        ax.plot(
            table["step"],
            table["left"],
            linestyle="none",
            marker=marker,
            markersize=size,
            markerfacecolor=fill,
            markeredgecolor=BLACK,
            label=label,
        )


def together(steps: Sequence[int], gap: float) -> list[list[int]]:
    """Ascending numbers in groups: each is at most `gap` after the one before it.

    >>> together([3, 4, 9, 30], 5)
    [[3, 4, 9], [30]]
    """
    groups = [list(steps[:1])] if steps else []
    for before, step in pairwise(steps):
        if step - before > gap:
            groups.append([])
        groups[-1].append(step)
    return groups


def runs(numbers: Sequence[int]) -> str:
    """Ascending numbers as text, those that follow one another by the ends only.

    >>> runs([3, 4, 5, 9, 11, 12])
    '3-5, 9, 11-12'
    """
    ends = [(run[0], run[-1]) for run in together(numbers, 1)]
    return ", ".join(f"{low}" if low == high else f"{low}-{high}" for low, high in ends)
