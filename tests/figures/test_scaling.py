"""How time grows, as a table and as lines."""

from __future__ import annotations

import pandas as pd
import pytest
from matplotlib import pyplot as plt
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from gridcrux.figures.palette import WHITE
from gridcrux.figures.scaling import SCALING_COLUMNS, plot_scaling, scaling_table

MEASURED = pd.DataFrame(
    [
        ("slow", 9, 5.0, False),
        ("slow", 4, 1.0, False),
        ("slow", 4, 3.0, False),
        ("slow", 4, 2.5, True),
        ("fast", 9, 0.5, False),
        ("fast", 4, 0.1, False),
    ],
    columns=["engine", "size", "seconds", "cut"],
)


def test_median_and_range_of_each_place():
    table = scaling_table(MEASURED, "size")
    assert list(table.columns) == ["size", *SCALING_COLUMNS]
    assert table["engine"].tolist() == ["slow", "slow", "fast", "fast"]
    assert table["size"].tolist() == [4, 9, 4, 9]
    assert table.loc[0, ["seconds", "low", "high", "measured", "cut"]].tolist() == [2.5, 1, 3, 3, 1]
    assert scaling_table(MEASURED.drop(columns="cut"), "size")["cut"].sum() == 0
    assert scaling_table(MEASURED[:0], "size").empty


def test_a_missing_column_is_named():
    with pytest.raises(ValueError, match="no column givens"):
        scaling_table(MEASURED, "givens")


def test_a_line_for_each_engine_on_the_axes_given():
    figures = plt.get_fignums()
    axes = Figure().subplots()
    table = scaling_table(MEASURED, "size")
    assert plot_scaling(table, x="size", ax=axes, linewidth=3) is axes
    lines = {line.get_label(): line for line in axes.lines if line.get_linestyle() != "None"}
    assert set(lines) == {"slow", "fast"}
    assert lines["slow"].get_ydata().tolist() == [2.5, 5.0]
    assert lines["slow"].get_linewidth() == 3
    for look in ("get_color", "get_marker", "get_linestyle"):
        assert getattr(lines["slow"], look)() != getattr(lines["fast"], look)()
    assert (axes.get_xscale(), axes.get_yscale()) == ("log", "log")
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("size", "seconds")
    assert axes.get_xticks().tolist() == [4, 9]
    assert [text.get_text() for text in axes.get_legend().get_texts()] == ["slow", "fast"]
    assert plt.get_fignums() == figures


def test_what_was_cut_short_is_hollow():
    axes = plot_scaling(scaling_table(MEASURED, "size"), x="size", ax=Figure().subplots())
    (hollow,) = [line for line in axes.lines if line.get_linestyle() == "None"]
    assert hollow.get_xdata().tolist() == [4]
    assert to_hex(hollow.get_markerfacecolor()).upper() == WHITE


def test_new_axes_and_an_empty_table():
    axes = plot_scaling(scaling_table(MEASURED[:0], "size"), x="size", label="size of the grid")
    assert axes.get_xlabel() == "size of the grid"
    assert axes.get_legend() is None
    plt.close(axes.figure)
