"""What a study says of techniques: in how many puzzles each is used, and in how many essential."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes

from gridcrux.corpus.statistics.features import essential_flags, used_flags
from gridcrux.corpus.statistics.rates import rates
from gridcrux.corpus.statistics.shares import wilson
from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLUE, GREY, SKY_BLUE
from gridcrux.figures.shares import PercentTicks, percent
from gridcrux.figures.statistics.forest import bars, legend_above, write_beside

CONFIDENCE = 0.95

TECHNIQUE_COLUMNS = {
    "technique": "name, in the order of the study",
    "puzzles": "puzzles with a route",
    "used": "puzzles whose route uses the technique",
    "used_share": "used / puzzles",
    "used_low": "lower end of the interval of `used_share`, 95 %",
    "used_high": "upper end of it",
    "judged": "puzzles of which it is known what is essential",
    "essential": "puzzles whose end the repertoire does not reach without the technique",
    "essential_share": "essential / judged",
    "essential_low": "lower end of the interval of `essential_share`, 95 %",
    "essential_high": "upper end of it",
}
"""Meaning of the columns of `technique_table`."""


def technique_table(study: pd.DataFrame) -> pd.DataFrame:
    """For each technique the share of puzzles that use it and that cannot do without it.

    Shares and intervals are those of `corpus.statistics.rates.rates`: by weight, where puzzles
    have weights.

    Parameters
    ----------
    study : rows of puzzles with the columns `steps_<technique>` and `essential_techniques`,
        as `corpus.study` makes them.  Where they are missing, a puzzle does not count.

    Returns
    -------
    DataFrame with the columns of `TECHNIQUE_COLUMNS`, one row a technique; shares and their
    intervals are missing where no puzzle counts.

    Raises
    ------
    UnknownColumn : the study has no such columns.
    """
    essential, used = essential_flags(study), used_flags(study)
    parts = [
        pd.DataFrame({"technique": list(used.columns)}),
        _shares(study, used, "used", "puzzles"),
        _shares(study, essential[list(used.columns)], "essential", "judged"),
    ]
    return pd.concat(parts, axis=1)


def _shares(study: pd.DataFrame, flags: pd.DataFrame, what: str, of: str) -> pd.DataFrame:
    """The rates of flags under the names of `share_row`."""
    names = dict(
        zip(("puzzles", "count", "share", "low", "high"), share_row(what, of, 0, 0), strict=True)
    )
    if study.empty:
        return pd.DataFrame([share_row(what, of, 0, 0)] * len(flags.columns))
    return rates(study, flags, confidence=CONFIDENCE)[list(names)].rename(columns=names)


def share_row(what: str, of: str, count: int, total: int) -> dict[str, Any]:
    """A count, what it is a part of, and its share with the interval of Wilson, as columns."""
    share = count / total if total else float("nan")
    low, high = wilson(share, total, CONFIDENCE)
    return {
        of: total,
        what: count,
        f"{what}_share": share,
        f"{what}_low": low,
        f"{what}_high": high,
    }


def plot_techniques(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw how often each technique is used (wide bars) and essential (narrow bars within).

    Whiskers are the intervals of the table, and the shares stand on the right.

    Parameters
    ----------
    table : as `technique_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to both sets of bars.
    """
    columns = "technique used_share used_low used_high essential_share essential_low essential_high"
    expect_table(table, "figures.studies.technique_table", columns.split())
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 1.0 + 0.32 * max(1, len(table))), layout="constrained")
    for what, height, colour in (("used", 0.74, SKY_BLUE), ("essential", 0.36, BLUE)):
        share = table[f"{what}_share"].to_numpy(float)
        ends = np.abs(table[[f"{what}_low", f"{what}_high"]].to_numpy(float).T - share)
        look: dict[str, Any] = {"height": height, "color": colour, "label": what} | artist
        bars(ax, share, ends=ends, **look)
    for what, edge, colour in (("used", 42, GREY), ("essential", 96, BLUE)):
        write_beside(ax, edge, what, [percent(share) for share in table[f"{what}_share"]], colour)
    ax.set_yticks(range(len(table)), table["technique"])
    ax.set_ylim(len(table) - 0.4, -0.6)
    ax.set_xlim(0, 1.02)
    ax.set_xlabel("share of puzzles")
    ax.xaxis.set_major_formatter(PercentTicks())
    ax.tick_params(axis="y", length=0)
    ax.spines[["top", "right", "left"]].set_visible(False)
    legend_above(ax)
    return ax
