"""Which techniques each puzzle uses, and which of these it cannot do without, as a matrix."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes

from gridcrux.corpus.statistics.features import essential_flags, require, used_flags
from gridcrux.figures.palette import BLACK, BLUE, GREY, WHITE
from gridcrux.figures.statistics.forest import OVER_HEADS, legend_above, rows
from gridcrux.proofs.essential import ESSENTIAL, REPLACEABLE, Crux

UNUSED, USED, UNKNOWN = "unused", "used", "not known"

NEED_COLUMNS = {
    "case": "number of the case, from 1: a puzzle, or all puzzles with the same needs",
    "name": "id of the puzzle; of puzzles together, how many they are",
    "puzzles": "how many puzzles the case is",
    "technique": "name, in the order of the repertoire",
    "need": "essential: the same end is not reached without it; replaceable: used, and the end "
    "would be reached without; used, if no more is known; unused; missing if nothing is known",
}
"""Meaning of the columns of `need_table`."""

LOOKS: dict[str, dict[str, Any]] = {
    ESSENTIAL: {"marker": "s", "facecolors": BLUE, "edgecolors": BLACK},
    REPLACEABLE: {"marker": "o", "facecolors": WHITE, "edgecolors": BLUE},
    USED: {"marker": "d", "facecolors": WHITE, "edgecolors": GREY},
    UNKNOWN: {"marker": "x", "color": GREY},
}
"""The mark of each need; what is not used has none."""

NAMED = 40
"""Up to so many cases have their names below them."""


def need_table(
    judged: pd.DataFrame | Mapping[str, Crux], *, together: bool = False
) -> pd.DataFrame:
    """What each puzzle needs of each technique.

    Parameters
    ----------
    judged : a study, with the columns `steps_<technique>` and `essential_techniques`; or routes
        that were judged (`proofs.essential.crux`), by name.
    together : make one case of all puzzles with the same needs, the most frequent first.

    Returns
    -------
    DataFrame with the columns of `NEED_COLUMNS`, a row for each case and technique.

    Raises
    ------
    UnknownColumn : the study has no such columns.
    ValueError : there are no puzzles.
    """
    needs = _of_study(judged) if isinstance(judged, pd.DataFrame) else _of_routes(judged)
    names, counts = list(needs.index), [1] * len(needs)
    if together:
        known = needs.fillna("")
        sizes = known.groupby(list(known.columns), sort=False).size()
        sizes = sizes.sort_values(ascending=False, kind="stable")
        counts = sizes.tolist()
        needs = sizes.index.to_frame(index=False).replace("", None)
        names = [f"{count:,} puzzle{'' if count == 1 else 's'}" for count in counts]
    techniques = len(needs.columns)
    return pd.DataFrame(
        {
            "case": np.repeat(np.arange(1, len(needs) + 1), techniques),
            "name": np.repeat(np.array(names, object), techniques),
            "puzzles": np.repeat(counts, techniques),
            "technique": list(needs.columns) * len(needs),
            "need": needs.to_numpy(object).ravel(),
        }
    )


def _of_study(study: pd.DataFrame) -> pd.DataFrame:
    """The need of each puzzle (row) for each technique (column), by the ids of puzzles."""
    require(study)
    used, essential = used_flags(study), essential_flags(study)
    needs = pd.DataFrame(None, study.index, used.columns, object)
    for name in used.columns:
        # What is not used is not needed, whether or not that was looked into.
        needs[name] = needs[name].mask((used[name] == False).fillna(False), UNUSED)  # noqa: E712
        for need, where in (
            (USED, used[name]),
            (REPLACEABLE, used[name] & ~essential[name]),
            (ESSENTIAL, essential[name]),
        ):
            needs[name] = needs[name].mask(where.fillna(False), need)
    ids = study["id"] if "id" in study.columns else pd.Series(range(1, len(study) + 1))
    return needs.set_axis(ids.astype(str).tolist())


def _of_routes(judged: Mapping[str, Crux]) -> pd.DataFrame:
    """The same for routes."""
    if not judged:
        raise ValueError("there are no puzzles: no routes are given")

    def needs(crux: Crux) -> Iterator[tuple[str, str]]:
        for technique in crux.route.repertoire:
            status = crux.techniques.get(technique.name)
            # What only idle steps use is replaceable all the more.
            yield (
                technique.name,
                UNUSED if status is None else (ESSENTIAL if status == ESSENTIAL else REPLACEABLE),
            )

    return pd.DataFrame([dict(needs(crux)) for crux in judged.values()], list(judged))


def plot_needs(table: pd.DataFrame, *, ax: Axes | None = None, **artist: Any) -> Axes:
    """Draw a matrix of marks: techniques below each other, puzzles side by side.

    A filled square is a technique that the puzzle cannot do without, an open circle one that it
    uses and could do without, an open diamond one that it uses, if no more is known, and a cross
    one of which not even that is known.  Techniques that no puzzle uses are left out.  On the
    right stand the numbers of puzzles.

    Parameters
    ----------
    table : as `need_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to all marks.
    """
    needs = table["need"].fillna(UNKNOWN)
    shown = list(dict.fromkeys(table["technique"]))
    some = set(table["technique"][needs != UNUSED])
    shown = [name for name in shown if name in some]
    cases = table.drop_duplicates("case")
    named = len(cases) <= NAMED
    if ax is None:
        # Names are written on the left and below; the numbers or the legend are on the right.
        left = 0.085 * max(map(len, shown), default=0)
        below = 0.08 * max(map(len, cases["name"]), default=0) if named else 0.2
        width = left + max(3.8, 1.8 + 0.22 * min(len(cases), NAMED))
        size = width, 1.1 + 0.28 * max(1, len(shown)) + below
        _, ax = plt.subplots(figsize=size, layout="constrained")
    column = table["case"].map(dict(zip(cases["case"], range(len(cases)), strict=True)))
    row = table["technique"].map(dict(zip(shown, range(len(shown)), strict=True)))
    room = 72 * ax.get_window_extent().width / ax.figure.dpi / max(1, len(cases))
    for need, mark in LOOKS.items():
        here = (needs == need).to_numpy(bool)
        look: dict[str, Any] = {"s": np.clip(0.5 * room, 1.5, 6.5) ** 2, "linewidths": 1.0}
        if here.any():
            ax.scatter(column[here], row[here], **(look | mark | {"label": need} | artist))
    puzzles = table["puzzles"].groupby(table["technique"])
    beside = {
        head: [
            f"{count:,}"
            for count in table["puzzles"].where(which, 0).groupby(table["technique"]).sum()[shown]
        ]
        for head, which in (
            (USED, needs.isin([ESSENTIAL, REPLACEABLE, USED])),
            (ESSENTIAL, needs == ESSENTIAL),
        )
    }
    rows(ax, shown, beside)
    ax.set_xlim(-0.7, max(1, len(cases)) - 0.3)
    if named:
        ax.set_xticks(range(len(cases)), cases["name"], rotation=90, fontsize="small")
    else:
        ax.set_xticks([])
        ax.set_xlabel(f"{puzzles.sum().max():,} puzzles, in the order of the table")
    ax.tick_params(axis="x", length=0)
    ax.spines["bottom"].set_visible(False)
    if some:
        # Above the heads of the numbers, which stand beside it where there are few puzzles.
        legend_above(ax, ncols=3, **OVER_HEADS)
    return ax
