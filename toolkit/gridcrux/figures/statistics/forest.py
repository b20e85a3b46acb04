"""Rows of points or bars with their intervals, and numbers beside them on the right."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from textwrap import fill
from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.container import BarContainer

from gridcrux.figures.palette import BLACK, BLUE, FAINT, GREY, WHITE

SURE = 0.05
"""Points are filled where the corrected p-value is below this."""

LETTERS, MOST_LETTERS = 14, 38
"""Letters of a name for which a figure has room as it is, and those of a line of a long one."""

OVER_HEADS = {"borderaxespad": 2.0}
"""For a legend that stands above the heads of the columns on the right, which it may reach."""


def axes_for(rows: int, ax: Axes | None, names: Sequence[str] = ()) -> Axes:
    """The axes given, or those of a new figure with room for so many rows, and their long names.

    Parameters
    ----------
    names : of rows, if they may be long; in several lines where they were `broken`.
    """
    if ax is None:
        lines = [line for name in names for line in name.split("\n")]
        # A letter is about 0.08 inches wide, and a line 0.17 inches high.
        width = 6.4 + 0.08 * max(0, max(map(len, lines), default=0) - LETTERS)
        height = max(0.34, 0.06 + 0.17 * max((name.count("\n") + 1 for name in names), default=1))
        # A legend of several lines may stand above named rows.
        size = width, (1.3 if lines else 1.0) + height * max(1, rows)
        _, ax = plt.subplots(figsize=size, layout="constrained")
    return ax


def broken(name: str) -> str:
    """A long name in lines of at most so many letters.

    >>> broken("of the first 2,360 in order unlike all 12,000 used before").split("\\n")
    ['of the first 2,360 in order unlike all', '12,000 used before']
    """
    return fill(name, MOST_LETTERS)


def bars(ax: Axes, lengths: Any, *, height: float, ends: Any = None, **look: Any) -> BarContainer:
    """A bar a row, with whiskers where `ends` are given.

    Parameters
    ----------
    lengths : (rows,) how long bars are, NaN where there is none.
    height : of a bar; that of a row is 1.
    ends : (2, rows) how far the whiskers reach to either side of the end of the bar.
    look : passed on to the bars.
    """
    usual: dict[str, Any] = {"edgecolor": WHITE, "linewidth": 0.4}
    if ends is not None:
        usual |= {"xerr": ends, "error_kw": {"ecolor": BLACK, "elinewidth": 0.8}}
    return ax.barh(np.arange(len(lengths)), lengths, height=height, **(usual | look))


def legend_above(ax: Axes, **look: Any) -> None:
    """A legend above the axes, where nothing drawn can run into it."""
    usual: dict[str, Any] = {"ncols": 2, "frameon": False, "fontsize": "small"}
    ax.legend(loc="lower left", bbox_to_anchor=(0, 1), **(usual | look))


def points(
    ax: Axes, table: pd.DataFrame, columns: tuple[str, str, str], filled: Any, **artist: Any
) -> None:
    """A point a row with the interval around it, open where it is not `filled`.

    Parameters
    ----------
    columns : names of the middle, the lower and the upper end.
    filled : (rows,) booleans.
    artist : passed on to both sets of points.
    """
    middle, low, high = (table[name].to_numpy(float) for name in columns)
    places = np.arange(len(table))
    filled = np.broadcast_to(filled, len(table))
    for rows, face in ((filled, BLUE), (~filled, WHITE)):
        look: dict[str, Any] = {
            "fmt": "o",
            "color": BLUE,
            "markersize": 5,
            "markerfacecolor": face,
            "ecolor": BLACK,
            "elinewidth": 0.9,
        }
        if rows.any():
            # An interval that is missing leaves the point alone.
            ends = np.nan_to_num([middle - low, high - middle])[:, rows].clip(0)
            ax.errorbar(middle[rows], places[rows], xerr=ends, **(look | artist))


def rows(ax: Axes, names: Sequence[str], beside: Mapping[str, Sequence[str]]) -> None:
    """Names of rows on the left, from the top; columns of text on the right under their heads."""
    count = len(names)
    ax.set_yticks(range(count), names)
    ax.set_ylim(max(1, count) - 0.4, -0.6)
    ax.tick_params(axis="y", length=0)
    ax.spines[["top", "right", "left"]].set_visible(False)
    ax.hlines(range(count), 0, 1, transform=ax.get_yaxis_transform(), color=FAINT, lw=0.8, zorder=0)
    edge = 0.0
    for head, texts in beside.items():
        # Widths of small letters, in points: a column ends where the next one may begin.
        edge += 12 + 5.2 * max(map(len, (head, *texts)))
        write_beside(ax, edge, head, texts, GREY)


def write_beside(ax: Axes, edge: float, head: str, texts: Sequence[str], colour: str) -> None:
    """A column of text right of the rows of a figure, which ends `edge` points from its side."""
    for place, text in zip((-0.9, *range(len(texts))), (head, *texts), strict=True):
        ax.annotate(
            text,
            (1, place),
            (edge, 0),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            ha="right",
            va="center",
            color=colour,
            fontsize="small",
            annotation_clip=False,
        )


def signed(value: float) -> str:
    """A number around nought with two decimals; nothing where it is missing.

    >>> [signed(value) for value in (0.314, -0.5, -0.001, float("nan"))]
    ['+0.31', '-0.50', '0.00', '']
    """
    if np.isnan(value):
        return ""
    return f"{value:+.2f}" if abs(value) >= 0.005 else "0.00"


def chance(p: float) -> str:
    """A p-value with as many digits as it bears; nothing where it is missing.

    >>> [chance(p) for p in (0.5, 0.0312, 0.00004, float("nan"))]
    ['0.50', '0.031', '< 0.001', '']
    """
    if np.isnan(p):
        return ""
    return "< 0.001" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"
