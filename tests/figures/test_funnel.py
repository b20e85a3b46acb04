"""Bars of a funnel are as long as its table says."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from figures.tables import NARROWING, funnel
from gridcrux.corpus.shortlist import choose
from gridcrux.figures.funnel import plot_funnel


def lengths(ax: Axes) -> list[list[float]]:
    """Of the bars of the rows looked at, and of those left."""
    return [[bar.get_width() for bar in bars] for bars in ax.containers]


def column(ax: Axes, head: str) -> list[str]:
    """What is written on the right below a head; columns are written one after the other."""
    texts = [text.get_text() for text in ax.texts]
    at = texts.index(head)
    return texts[at + 1 : at + 1 + len(ax.get_yticks())]


def test_bars_are_the_rows_of_a_real_choice():
    lines = ["12....3....1....", "4.1..2..........", "....4....2....43", "1234341221434321"]
    study = pd.DataFrame(
        {"puzzle": lines, "layout": "2x2", "solutions": [1, 2, 1, 1], "givens": [4, 3, 4, 16]}
    )
    table = choose(study, where="givens < 5").funnel
    assert table["left"].tolist() == [4, 3, 2, 1]
    ax = plot_funnel(table, ax=Figure().subplots())
    assert lengths(ax) == [table["looked_at"].tolist(), table["left"].tolist()]
    assert [label.get_text().replace("\n", " ") for label in ax.get_yticklabels()] == list(
        table["condition"]
    )
    assert column(ax, "left") == [str(count) for count in table["left"]]
    assert ax.get_xscale() == "linear"
    assert "weighted" not in [text.get_text() for text in ax.texts]


def test_what_is_left_is_told_in_numbers_and_as_a_part():
    ax = plot_funnel(funnel(NARROWING), ax=Figure().subplots())
    assert column(ax, "left")[2:4] == ["8,204", "37"]
    assert column(ax, "of these")[2:4] == ["38 %", "0.45 %"]
    assert column(ax, "weighted")[2:] == ["31 %", "0.21 %", "0.04 %", "", ""]


def test_the_scale_is_logarithmic_where_few_of_many_are_left():
    ax = plot_funnel(funnel(NARROWING), ax=Figure().subplots())
    assert ax.get_xscale() == "symlog"
    assert ax.get_xticks().tolist() == [0, 1, 100, 10_000]
    # As far from one row to ten as from ten to a hundred.
    places = ax.transData.transform([(count, 0) for count in (1, 10, 100)])[:, 0]
    assert np.diff(places) == pytest.approx([places[1] - places[0]] * 2)
    assert plot_funnel(funnel(NARROWING[:3]), ax=Figure().subplots()).get_xscale() == "linear"


def test_no_row_has_no_bar():
    rows = [("rows", 40, 40, 1.0), ("solved", 40, 0, 0.0), ("two", 0, 0, 0.0)]
    ax = plot_funnel(funnel(rows), ax=Figure().subplots())
    looked_at, left = lengths(ax)
    assert looked_at == pytest.approx([40, 40, np.nan], nan_ok=True)
    assert left == pytest.approx([40, np.nan, np.nan], nan_ok=True)
    assert column(ax, "of these") == ["100 %", "0 %", ""]
