"""Which techniques each puzzle uses, and which of these it cannot do without, as a matrix."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.container import BarContainer
from matplotlib.legend_handler import HandlerPatch, update_from_first_child
from matplotlib.patches import Rectangle
from matplotlib.ticker import MaxNLocator

from gridcrux.corpus.statistics.features import essential_flags, require, used_flags
from gridcrux.figures.expected import expect_table
from gridcrux.figures.palette import BLACK, BLUE, GREY, PALE, SKY_BLUE, WHITE
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

STRIPS: dict[str, dict[str, Any]] = {
    ESSENTIAL: {"height": 0.84, "color": BLUE},
    REPLACEABLE: {"height": 0.46, "color": SKY_BLUE},
    USED: {"height": 0.24, "color": GREY},
    UNKNOWN: {"height": 0.08, "color": PALE},
}
"""The same where a column may be too narrow for a mark: they differ in height, too."""

NAMED = 40
"""Up to so many puzzles have marks, and their names below these."""

LEAST = 1 / 150
"""Cases of less than this part of the puzzles are drawn together."""


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
    """Draw a matrix: techniques below each other, puzzles side by side.

    A filled square is a technique that the puzzle cannot do without, an open circle one that it
    uses and could do without, an open diamond one that it uses, if no more is known, and a cross
    one of which not even that is known.  Where there are more than `NAMED` cases, or puzzles were
    put together, these are strips of four heights instead: a case is as wide as it has puzzles.
    Cases of less than `LEAST` of all puzzles share the end of each row, sorted by need.
    Techniques that no puzzle uses are left out.  On the right stand the numbers of puzzles.

    Parameters
    ----------
    table : as `need_table` returns it.
    ax : None for axes of a new figure.
    artist : passed on to all marks or strips.
    """
    columns = "case name puzzles technique need"
    expect_table(table, "figures.needs.need_table", columns.split())
    table = table.assign(need=table["need"].fillna(UNKNOWN))
    some = set(table["technique"][table["need"] != UNUSED])
    shown = [name for name in dict.fromkeys(table["technique"]) if name in some]
    cases = table.drop_duplicates("case")
    named = len(cases) <= NAMED and cases["puzzles"].max() <= 1
    if ax is None:
        # Names are written on the left and below; the numbers or the legend are on the right.
        left = 0.085 * max(map(len, shown), default=0)
        below = 0.08 * max(map(len, cases["name"]), default=0) if named else 0.4
        width = left + (max(3.8, 1.8 + 0.22 * len(cases)) if named else 5.6)
        size = width, 1.1 + 0.28 * max(1, len(shown)) + below
        _, ax = plt.subplots(figsize=size, layout="constrained")
    puzzles = table["puzzles"]
    beside = {
        head: [
            f"{count:,}"
            for count in puzzles.where(which, 0).groupby(table["technique"]).sum()[shown]
        ]
        for head, which in (
            (USED, table["need"].isin([ESSENTIAL, REPLACEABLE, USED])),
            (ESSENTIAL, table["need"] == ESSENTIAL),
        )
    }
    place = table["technique"].map(dict(zip(shown, range(len(shown)), strict=True)))
    drawn = table.assign(row=place)[place.notna()]
    (_marks if named else _strips)(ax, drawn, cases, artist)
    rows(ax, shown, beside)
    if some:
        # Above the heads of the numbers, which stand beside it where there are few puzzles.
        handler = HandlerPatch(_as_high, update_func=update_from_first_child)
        legend_above(ax, ncols=3, handler_map={BarContainer: handler}, **OVER_HEADS)
    return ax


def _marks(ax: Axes, drawn: pd.DataFrame, cases: pd.DataFrame, artist: dict[str, Any]) -> None:
    """A column of marks for each puzzle, with its name below it."""
    column = drawn["case"].map(dict(zip(cases["case"], range(len(cases)), strict=True)))
    room = 72 * ax.get_window_extent().width / ax.figure.dpi / max(1, len(cases))
    for need, mark in LOOKS.items():
        here = (drawn["need"] == need).to_numpy(bool)
        look: dict[str, Any] = {"s": np.clip(0.5 * room, 1.5, 6.5) ** 2, "linewidths": 1.0}
        if here.any():
            ax.scatter(column[here], drawn["row"][here], **(look | mark | {"label": need} | artist))
    ax.set_xlim(-0.7, max(1, len(cases)) - 0.3)
    ax.set_xticks(range(len(cases)), cases["name"], rotation=90, fontsize="small")
    ax.tick_params(axis="x", length=0)
    ax.spines["bottom"].set_visible(False)


def _strips(ax: Axes, drawn: pd.DataFrame, cases: pd.DataFrame, artist: dict[str, Any]) -> None:
    """Columns as wide as a case has puzzles, and behind them what the others need."""
    total = cases["puzzles"].sum()
    wide = cases[cases["puzzles"] >= LEAST * total]
    edges = dict(zip(wide["case"], wide["puzzles"].cumsum() - wide["puzzles"], strict=True))
    alone = drawn[drawn["case"].isin(edges)]
    rest = drawn[~drawn["case"].isin(edges)]
    order = pd.Categorical(rest["need"], [*STRIPS, UNUSED])
    sums = rest.groupby(["row", order], observed=False)["puzzles"].sum()
    behind = sums.groupby("row").cumsum() - sums + wide["puzzles"].sum()
    room = 72 * ax.get_window_extent().width / ax.figure.dpi / total
    for need, strip in STRIPS.items():
        here, others = alone[alone["need"] == need], sums[sums.index.get_level_values(1) == need]
        others = others[others > 0]
        # White lines part the columns, if there is room for these.
        narrowest = room * wide["puzzles"].min() if len(here) else 0
        look: dict[str, Any] = {"edgecolor": WHITE, "linewidth": np.clip(0.1 * narrowest, 0, 0.8)}
        if len(here) or len(others):
            ax.barh(
                [*here["row"], *others.index.get_level_values(0)],
                [*here["puzzles"], *others],
                left=[*here["case"].map(edges), *behind[others.index]],
                **(look | strip | {"label": need} | artist),
            )
    ax.set_xlim(0, total)
    ax.xaxis.set_major_locator(MaxNLocator(integer=True, steps=[1, 2, 5, 10]))
    first = ", the most frequent first" if cases["puzzles"].is_monotonic_decreasing else ""
    words = f"{total:,} puzzles"
    if len(cases) < total:
        words += f" in {len(cases):,} cases{first}"
    elif len(wide):
        words += ", in the order of the table"
    if len(wide) == 0:
        words += ", sorted in each row"
    elif len(wide) < len(cases):
        ax.axvline(wide["puzzles"].sum(), color=BLACK, lw=1.0, ls=":", zorder=3)
        words += f"\nright of the dots {len(cases) - len(wide):,} rare cases, sorted in each row"
    ax.set_xlabel(words)


def _as_high(*, orig_handle: BarContainer, width: float, height: float, **_: Any) -> Rectangle:
    """A strip in the legend, as high beside the others as in the figure."""
    part = orig_handle.patches[0].get_height() / max(strip["height"] for strip in STRIPS.values())
    return Rectangle((0, height * (1 - part) / 2), width, height * part)
