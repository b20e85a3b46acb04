"""How wide each step of a route is, as a table and as bars along the route."""

from __future__ import annotations

from typing import Any

import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.ticker import MaxNLocator

from gridcrux.figures.crux import runs
from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUE, GREY, ORANGE, WHITE
from gridcrux.figures.statistics.forest import legend_above
from gridcrux.logic.route import Route
from gridcrux.proofs.explain.bottleneck import Bottleneck
from gridcrux.proofs.explain.explanation import Explanation

STEP_COLUMNS = {
    "step": "number of the step in the route, from 1",
    "width": "its premises: rules to look up at once",
    "writes": "whether it writes a digit; else it excludes candidates",
    "technique": "its technique; where premises are all that is known, the one of their shape, "
    "missing if that has no name",
    "widest": "whether no step of the route is wider",
}
"""Meaning of the columns of `step_table`."""

LOOKS: dict[bool, dict[str, Any]] = {
    True: {"label": "writes a digit", "color": WHITE, "edgecolor": GREY},
    False: {"label": "excludes candidates", "color": BLUE, "edgecolor": BLACK},
}
"""How bars look, by whether the step writes a digit."""


MOST_LETTERS = 18
"""Up to so many letters the numbers of the widest steps are written; beyond how many they are."""


def step_table(found: Route | Bottleneck) -> pd.DataFrame:
    """How wide the steps of a route are, one after the other.

    Parameters
    ----------
    found : a route of techniques, or one of narrowest steps (`proofs.explain.bottleneck`).

    Returns
    -------
    DataFrame with the columns of `STEP_COLUMNS`, a row a step.
    """
    steps = [each.deduction if isinstance(each, Explanation) else each for each in found]
    widest = max((step.width for step in steps), default=0)
    names = [each.technique for each in found]
    rows = [
        (number, step.width, step.placement_name is not None, name, step.width == widest)
        for number, (step, name) in enumerate(zip(steps, names, strict=True), 1)
    ]
    return pd.DataFrame(rows, columns=list(STEP_COLUMNS))


def plot_steps(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw the width of each step: hollow bars write a digit, filled ones exclude candidates.

    Diamonds are on the widest steps, and their numbers are told.

    Parameters
    ----------
    table : as `step_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the bars.
    """
    columns = "step width writes widest"
    expect_table(table, "figures.steps.step_table", columns.split())
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 3.0), layout="constrained")
    # The columns of an empty table have no type.
    writes, widest = table["writes"].astype(bool), table[table["widest"].astype(bool)]
    handles: list[Any] = []
    for which, own in LOOKS.items():
        part = table[writes == which]
        if len(part):
            look: dict[str, Any] = {"width": 0.8, "linewidth": 0.4} | own | artist
            handles.append(ax.bar(part["step"], part["width"], **look))
    if len(widest):
        look = {"linestyle": "none", "marker": "D", "markersize": 5, "markeredgecolor": BLACK}
        height = widest["width"] + 0.03 * widest["width"].max()
        look |= {"markerfacecolor": ORANGE, "label": _told(widest)}
        handles += ax.plot(widest["step"], height, **look)
    ax.xaxis.set_major_locator(MaxNLocator(integer=True, steps=[1, 2, 5, 10], min_n_ticks=1))
    ax.yaxis.set_major_locator(MaxNLocator(integer=True, steps=[1, 2, 5, 10], min_n_ticks=1))
    ax.set_xlim(0, len(table) + 1)
    ax.set_ylim(0, 1.1 * widest["width"].max() if len(widest) else 1)
    ax.set_xlabel("step of the route")
    ax.set_ylabel("rules to look up at once")
    ax.spines[["top", "right"]].set_visible(False)
    if handles:
        legend_above(ax, handles=handles, ncols=3)
    return ax


def _told(widest: pd.DataFrame) -> str:
    """How wide the widest steps are, and which they are."""
    numbers = widest["step"].tolist()
    several = "s" * (len(numbers) > 1)
    which = f"step{several} {runs(numbers)}"
    if len(which) > MOST_LETTERS:
        which = f"{len(numbers):,} step{several}"
    return f"widest, {widest['width'].iloc[0]}: {which}"
