"""Ranks of puzzles for a person and for a machine, with the puzzles named that lie far apart."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes

from gridcrux.corpus.contrast.outliers import MACHINE, PERSON, RESIDUAL_COLUMNS
from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, GREY, ORANGE, SKY_BLUE
from gridcrux.figures.shares import PercentTicks

LOOKS = {PERSON: ("^", ORANGE), MACHINE: ("s", SKY_BLUE)}
"""Marker and colour of each kind of outlier."""

LINES = 3
"""Names beside one point; where more puzzles have the same ranks, their number is told."""

MOST_MARKS = 5000
"""Points that are drawn as such; more become an image within the figure."""

AREA = 14.0
"""Area of a point that is one puzzle.  It grows with the square root of how many share it, as ties
may put hundreds on one."""

ROOM_LEFT, BESIDE = 0.2, 0.03
"""Left of this there is no room for a name on the left; how far names are from their points."""


def outlier_table(table: pd.DataFrame) -> pd.DataFrame:
    """The outliers alone, those harder for a person first, the farthest from the diagonal first.

    Parameters
    ----------
    table : as `corpus.contrast.outliers.rank_residuals` returns it.
    """
    parts = []
    for kind, ascending in ((PERSON, False), (MACHINE, True)):
        part = table[table["outlier"] == kind]
        parts.append(part.sort_values("residual", ascending=ascending, kind="stable"))
    return pd.concat(parts)[list(RESIDUAL_COLUMNS)].reset_index(drop=True)


def plot_contrast(
    table: pd.DataFrame,
    *,
    human: str | None = None,
    machine: str | None = None,
    correlation: Mapping[Hashable, Any] | None = None,
    ax: Axes | None = None,
    **artist: Any,
) -> Axes:
    """Draw where puzzles are: how many are easier for a machine, and for a person.

    Puzzles on the dashed line are as hard for one as for the other.  Those of equal ranks share a
    point, which is the larger the more they are.  Outliers have their names beside them.

    Parameters
    ----------
    table : as `corpus.contrast.outliers.rank_residuals` returns it.
    human, machine : what was measured, for the names of the axes; None to leave it open.
    correlation : the row of `corpus.contrast.run.contrast_correlations` for the two, to be told
        above; None for the number of puzzles alone.
    ax : None for axes of a new figure.
    artist : passed on to the points of all puzzles.
    """
    columns = "id human_rank machine_rank apart outlier"
    expect_table(table, "corpus.contrast.outliers.rank_residuals", columns.split())
    if ax is None:
        _, ax = plt.subplots(figsize=(6.4, 5.6), layout="constrained")
    points = table.groupby(["machine_rank", "human_rank"], sort=False).size().reset_index(name="n")
    look: dict[str, Any] = {"s": _areas(points["n"]), "color": GREY, "alpha": 0.45}
    look |= {"linewidths": 0, "zorder": 2}
    # A vector file with a mark for each of very many puzzles takes long to show.
    look["rasterized"] = len(points) > MOST_MARKS
    ax.scatter(points["machine_rank"], points["human_rank"], **(look | artist))
    ax.plot([0, 1], [0, 1], color=GREY, lw=0.8, ls="--", zorder=1)
    kinds = []
    for kind, (marker, colour) in LOOKS.items():
        part = table[table["outlier"] == kind]
        name = f"{kind} ({_how_many(part, table, kind)})"
        marks = ax.scatter(
            part["machine_rank"], part["human_rank"], s=36, marker=marker, color=colour,
            edgecolors=BLACK, linewidths=0.7, label=name, zorder=3,
        )  # fmt: skip
        kinds.append(marks)
    _write_names(ax, table[table["outlier"] != ""])
    ax.set_xlim(-0.02, 1.02)
    ax.set_ylim(-0.02, 1.02)
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_formatter(PercentTicks())
    ax.set_xlabel(f"puzzles that are easier {f'by {machine}' if machine else 'for a machine'}")
    ax.set_ylabel(f"puzzles that are easier {f'by {human}' if human else 'for a person'}")
    ax.spines[["top", "right"]].set_visible(False)
    above: dict[str, Any] = {"frameon": False, "fontsize": "small", "title_fontsize": "small"}
    said = _statement(len(table), int(points["n"].max()) if len(points) else 0, correlation)
    ax.legend(
        handles=kinds, title=said, alignment="left",
        loc="lower left", bbox_to_anchor=(-0.02, 1), **above,
    )  # fmt: skip
    return ax


def _areas(counts: Any) -> Any:
    """The area of points that so many puzzles share."""
    return AREA * np.sqrt(np.asarray(counts, float))


def _how_many(part: pd.DataFrame, table: pd.DataFrame, kind: str) -> str:
    """How many outliers of a kind are named, and of how many."""
    beyond = int((table["apart"] == kind).sum())
    return f"{len(part):,}" if beyond <= len(part) else f"{len(part):,} of {beyond:,}"


def _statement(puzzles: int, most: int, correlation: Mapping[Hashable, Any] | None) -> str:
    """How many puzzles there are, how many at the largest point, and how far they agree."""
    said = f"{puzzles:,} puzzle{'s' * (puzzles != 1)}"
    if most > 1:
        said += f" (up to {most:,} at a point)"
    if correlation is None or correlation["spearman"] != correlation["spearman"]:
        return said
    said += f", Spearman's correlation {correlation['spearman']:.2f}"
    if correlation["low"] != correlation["low"]:
        return said
    return f"{said} ({correlation['low']:.2f} to {correlation['high']:.2f})"


def _write_names(ax: Axes, outliers: pd.DataFrame) -> None:
    """Names beside the points, at heights at which they do not run into each other.

    Those harder for a person stand beside their points, those harder for a machine at the right
    edge.
    """
    names: dict[tuple[str, float, float], list[str]] = {}
    for row in outliers.itertuples():
        place = str(row.outlier), float(row.machine_rank), float(row.human_rank)  # type: ignore[arg-type]
        names.setdefault(place, []).append(str(row.id))
    person = sorted((place for place in names if place[0] == PERSON), key=lambda p: (-p[2], p[1]))
    machine = sorted((place for place in names if place[0] == MACHINE), key=lambda p: (p[2], -p[1]))
    free = 1.02
    for place in person:
        _, across, up = place
        left = across > ROOM_LEFT
        text, size = _text(names[place])
        free = min(up + size / 2, free)
        at = (across - BESIDE if left else across + BESIDE, free - size / 2)
        _write(ax, text, (across, up), at, "right" if left else "left")
        free -= size
    free = 0.0
    for place in machine:
        _, across, up = place
        text, size = _text(names[place])
        free = max(up - size / 2, free)
        _write(ax, text, (across, up), (1.03, free + size / 2), "left")
        free += size


def _text(names: list[str]) -> tuple[str, float]:
    """What is written of puzzles with equal ranks, and how high that is."""
    shown = names[:LINES]
    if len(names) > LINES:
        shown[-1] = f"and {len(names) - LINES + 1} more"
    return "\n".join(shown), 0.032 * len(shown)


def _write(
    ax: Axes, text: str, point: tuple[float, float], at: tuple[float, float], side: str
) -> None:
    ax.annotate(
        text,
        point,
        at,
        ha=side,
        va="center",
        fontsize="x-small",
        color=BLACK,
        arrowprops={"arrowstyle": "-", "color": GREY, "lw": 0.5, "shrinkA": 0, "shrinkB": 3},
        annotation_clip=False,
        zorder=4,
    )
