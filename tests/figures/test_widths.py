"""Bottleneck widths as a table and as bars."""

from __future__ import annotations

import pytest
from matplotlib import pyplot as plt
from matplotlib.figure import Figure
from scipy.stats import binomtest

from gridcrux.figures.widths import WIDTH_COLUMNS, plot_widths, width_table
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.explain.bottleneck import Bottleneck, bottleneck


def result(width: int, left: int = 0) -> Bottleneck:
    state = State.empty()
    return Bottleneck(state, state, (), width, left, "seconds" if left else None)


def test_widths_are_counted_where_they_are_known():
    table = width_table([result(1), result(1), result(3), result(2, left=5)])
    assert list(table.columns) == list(WIDTH_COLUMNS)
    assert table["width"].tolist() == [1, 2, 3]
    assert table["puzzles"].tolist() == [2, 0, 1]
    assert table["total"].tolist() == [3, 3, 3]
    assert table["at_most"].tolist() == pytest.approx([2 / 3, 2 / 3, 1])
    ends = binomtest(2, 3).proportion_ci(0.95, "wilson")
    assert (table["puzzles_low"][0], table["puzzles_high"][0]) == pytest.approx(tuple(ends))
    assert width_table([]).empty


def test_a_real_puzzle_counts():
    found = bottleneck(read_puzzle("1234 34.. 2... 4..1"))
    assert width_table([found])["width"].tolist() == [1]


def test_the_axes_given_are_drawn_on():
    figures = plt.get_fignums()
    axes = Figure().subplots()
    table = width_table([result(1), result(1), result(2)])
    assert plot_widths(table, ax=axes, color="black") is axes
    assert [bar.get_height() for bar in axes.patches] == pytest.approx([2 / 3, 1 / 3])
    assert [text.get_text() for text in axes.texts] == ["67 %", "33 %"]
    assert plt.get_fignums() == figures
