"""What effort depends on, as points around nought; and how well it was predicted."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.colorbar import Colorbar
from matplotlib.colors import LinearSegmentedColormap

from gridcrux.corpus.statistics.regression import CONSTANT, scores
from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUE, GREY, PALE, SKY_BLUE
from gridcrux.figures.statistics.forest import SURE, axes_for, chance, points, rows


def plot_coefficients(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw standardised coefficients with their intervals, filled where p is below 0.05.

    On the right stand the variance inflation and the p-value.

    Parameters
    ----------
    table : as `corpus.statistics.regression.coefficients` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the points.
    """
    columns = "feature p standardised standardised_low standardised_high inflation"
    expect_table(table, "corpus.statistics.regression.coefficients", columns.split())
    table = table[table["feature"] != CONSTANT].reset_index(drop=True)
    ax = axes_for(len(table), ax)
    filled = (table["p"] < SURE).to_numpy(bool)
    ends = ("standardised", "standardised_low", "standardised_high")
    points(ax, table, ends, filled, **artist)
    ax.axvline(0, color=BLACK, lw=0.8, zorder=0.5)
    beside = {
        "inflation": ["" if np.isnan(value) else f"{value:.1f}" for value in table["inflation"]],
        "p": [chance(p) for p in table["p"]],
    }
    rows(ax, list(table["feature"]), beside)
    ax.set_xlabel("standardised coefficient")
    return ax


def explained(r2: float) -> str:
    """The part of the variance that is explained; nothing where there is no variance.

    >>> explained(0.514), explained(-0.001), explained(float("nan"))
    ('R² 0.51, ', 'R² 0.00, ', '')
    """
    return "" if np.isnan(r2) else f"R² {round(r2, 2) + 0:.2f}, "


def plot_predictions(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw predicted against observed outcomes: the darker, the more puzzles.

    The solid line is where both are the same, the dotted one the prediction by the mean alone.

    Parameters
    ----------
    table : as `corpus.statistics.regression.predictions` returns it.
    ax : None for axes of a new figure.
    artist : passed on to the hexagons.
    """
    columns = "observed predicted constant fold weight"
    expect_table(table, "corpus.statistics.regression.predictions", columns.split())
    if ax is None:
        _, ax = plt.subplots(figsize=(5.2, 4.6), layout="constrained")
    observed, predicted = (table[name].to_numpy(float) for name in ("observed", "predicted"))
    hues = LinearSegmentedColormap.from_list("puzzles", [PALE, SKY_BLUE, BLUE, BLACK])
    look: dict[str, Any] = {"gridsize": 32, "mincnt": 1, "bins": "log", "cmap": hues, "lw": 0.1}
    mesh = ax.hexbin(observed, predicted, **(look | artist))
    low, high = mesh.get_clim()
    if low == high:  # A scale needs two ends.
        mesh.set_clim(low, 10 * high)
    ends = [np.min([observed.min(), predicted.min()]), np.max([observed.max(), predicted.max()])]
    ax.plot(ends, ends, color=BLACK, lw=1)
    mean = float(np.average(table["constant"], weights=table["weight"]))
    ax.axhline(mean, color=GREY, lw=1.2, ls=":")
    found = scores(table).set_index("predictor")
    words = [
        f"{name}: {explained(row['r2'])}mean absolute error {row['mae']:.3g}"
        for name, row in found.iterrows()
    ]
    ax.set_title("\n".join(words), fontsize="small", loc="left")
    ax.set_xlabel("observed")
    ax.set_ylabel("predicted without having seen the puzzle")
    ax.spines[["top", "right"]].set_visible(False)
    # Within the axes given: a colour bar of the figure would take room from other axes.
    Colorbar(ax.inset_axes((1.04, 0.1, 0.05, 0.8)), mesh, label="puzzles")
    return ax
