"""Bars of a walk begin and end when its parts do."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from figures.tables import TITLES, told
from gridcrux.figures.storyboard import storyboard
from gridcrux.figures.storyboard.story import clock
from gridcrux.figures.storyboard.timeline import plot_timeline
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS

PUZZLE = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."


def spans(ax: Axes) -> dict[int, tuple[str, float, float]]:
    """By row what its bar is called, where it begins, and where it ends."""
    found = {}
    for bars in ax.containers:
        for row, bar in enumerate(bars):
            if not np.isnan(bar.get_width()):
                assert row not in found
                found[row] = bars.get_label(), bar.get_x(), bar.get_x() + bar.get_width()
    return found


def test_bars_are_the_parts_of_a_real_walk():
    walk = storyboard(read_puzzle(PUZZLE), LEVELS["one-digit"])
    ax = plot_timeline(walk.table, ax=Figure().subplots())
    found = spans(ax)
    assert len(found) == len(walk.parts) > 3
    for row, (begins, part) in enumerate(walk.timed()):
        label, first, last = found[row]
        assert label == (f"{part.status} step" if part.hard else "easy steps")
        assert (first, last) == pytest.approx((begins, begins + walk.seconds(part)))
    marks = [line for line in ax.lines if line.get_marker() == "D"]
    narrow = [row for row, part in enumerate(walk) if part.narrow]
    assert marks[0].get_ydata().tolist() == narrow
    names = [label.get_text().replace("\n", " ") for label in ax.get_yticklabels()]
    assert names == [part.title for part in walk]
    texts = [text.get_text() for text in ax.texts]
    assert texts[1 : 1 + len(walk.parts)] == [clock(walk.seconds(part)) for part in walk]
    assert texts[2 + len(walk.parts) :] == [
        "" if part.open is None else str(part.open) for part in walk
    ]


def test_looks_differ_in_more_than_colour():
    ax = plot_timeline(told(TITLES), ax=Figure().subplots())
    drawn = [bars[0] for bars in ax.containers]
    assert len(drawn) == 4
    hatches = {bars.get_label(): bars[0].get_hatch() for bars in ax.containers}
    assert len({hatches[f"{each} step"] for each in ("essential", "replaceable", "idle")}) == 3


@pytest.mark.parametrize(("parts", "apart"), [(1, 10), (9, 60), (60, 600), (0, 1)])
def test_times_below_are_round(parts, apart):
    ax = plot_timeline(told((TITLES * 7)[:parts]), ax=Figure().subplots())
    assert np.unique(np.diff(ax.get_xticks())).tolist() == [apart]
    assert ax.xaxis.get_major_formatter()(90, 0) == "1:30"
