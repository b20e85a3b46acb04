"""Which features come together, as a triangle of values."""

from __future__ import annotations

from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.colors import LinearSegmentedColormap

from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUE, GREY, ORANGE, WHITE
from gridcrux.figures.statistics.forest import SURE

STEPS = 3.0
"""Doublings of the expected share, either way, at which the colour is full."""

CELL, LETTERS = 0.95, 13
"""How wide a cell is, in inches, and how many letters of the title an inch has."""

FAINTLY = 0.25
"""Opacity of the colour of a pair of which nothing is sure."""


def plot_cooccurrence(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw how many times as often as expected two features come together.

    Below that number stand the puzzles that have both, and how many would if the features were
    independent.  Blue is more often than expected, orange less often; cells are in full colour and
    their text is bold where that is sure (corrected p below 0.05).

    Parameters
    ----------
    table : as `corpus.statistics.cooccurrence.cooccurrence` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the picture of colours.
    """
    columns = "first second puzzles together expected lift p_corrected"
    expect_table(table, "corpus.statistics.cooccurrence.cooccurrence", columns.split())
    names = list(dict.fromkeys([*table["first"], *table["second"]]))
    count = len(names)
    if ax is None:
        longest = max(map(len, names), default=0)
        # Names stand on the left, and slanted below.
        size = 0.4 + 0.09 * longest + CELL * (count - 1), 1.0 + 0.07 * longest + 0.5 * count
        _, ax = plt.subplots(figsize=size, layout="constrained")
    place = {name: i for i, name in enumerate(names)}
    column, row = (table[which].map(place).to_numpy(int) for which in ("first", "second"))
    lift = table["lift"].to_numpy(float)
    sure = (table["p_corrected"] < SURE).to_numpy(bool)
    # A pair never seen together is as far on the side of less as the colours go.
    steps = np.clip(np.log2(np.maximum(lift, 2.0**-STEPS)), -STEPS, STEPS)
    colours, opacity = np.full((count, count), np.nan), np.zeros((count, count))
    colours[row, column], opacity[row, column] = steps, np.where(sure, 1, FAINTLY)
    hues = LinearSegmentedColormap.from_list("lift", [ORANGE, WHITE, BLUE])
    look: dict[str, Any] = {"cmap": hues, "vmin": -STEPS, "vmax": STEPS, "alpha": opacity}
    look["aspect"] = "auto"
    ax.imshow(colours, **(look | artist))
    expected = table["expected"] * table["puzzles"]
    for i, j, value, step, both, usual, certain in zip(
        column, row, lift, steps, table["together"], expected, sure, strict=True
    ):
        usually = f"{usual:,.{0 if usual >= 10 else 1 if usual >= 1 else 2}f}"
        times = "" if np.isnan(value) else "0" if both == 0 else f"{value:.3g}"
        ax.text(
            i,
            j,
            f"{times}\n{both:,} / {usually}",
            ha="center",
            va="center",
            fontsize="small",
            fontweight="bold" if certain else "normal",
            color=WHITE if certain and step > 0.7 * STEPS else BLACK if certain else GREY,
        )
    ax.set_xticks(range(count - 1), names[:-1], rotation=40, ha="right", rotation_mode="anchor")
    ax.set_yticks(range(1, count), names[1:])
    ax.set_xlim(-0.5, count - 1.5)
    ax.set_ylim(count - 0.5, 0.5)
    ax.tick_params(length=0)
    ax.spines[:].set_visible(False)
    words = "times as often together as if independent; below it puzzles with both / expected"
    ax.set_title(
        fill(words, max(20, int(LETTERS * CELL * (count - 1)))), fontsize="small", loc="left"
    )
    return ax
