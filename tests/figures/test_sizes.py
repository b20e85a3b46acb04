"""Points of sizes are the numbers of their table."""

from __future__ import annotations

import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from gridcrux.encodings import get_encoding
from gridcrux.encodings.sizes import sizes_table
from gridcrux.figures.palette import WHITE
from gridcrux.figures.sizes import HOLLOW, plot_sizes
from gridcrux.grids.layout import NINE, boxes

NAMES = ["dual", "minimal", "minimal-ladder"]


def test_points_are_the_numbers_and_hollow_ones_what_is_left_without_extras():
    table = sizes_table([NINE], map(get_encoding, NAMES))
    ax = plot_sizes(table, ax=Figure().subplots())
    filled = {line.get_label(): line for line in ax.lines if not line.get_label().startswith("_")}
    assert list(filled) == ["variables", "clauses", "literals"]
    for what, line in filled.items():
        assert line.get_xdata().tolist() == table[what].tolist()
        assert line.get_ydata().tolist() == [0, 1, 2]
    assert len({line.get_marker() for line in filled.values()}) == 3
    variables, clauses = (
        line for line in ax.lines if to_hex(line.get_markerfacecolor()).upper() == WHITE
    )
    nan = float("nan")
    assert variables.get_xdata().tolist() == pytest.approx([nan, nan, 729], nan_ok=True)
    assert clauses.get_xdata().tolist() == pytest.approx([nan, 7371, nan], nan_ok=True)
    assert ax.get_xscale() == "log"
    assert ax.get_xlim() == pytest.approx((100, 100_000))
    assert ax.get_legend().get_title().get_text() == HOLLOW
    assert [label.get_text() for label in ax.get_yticklabels()] == NAMES
    assert [text.get_text() for text in ax.texts] == [
        text
        for what in filled
        for text in (what, *(f"{count:,}" for count in table[what]))
    ]  # fmt: skip


def test_a_line_between_layouts_and_their_names():
    table = sizes_table([boxes(2, 2), NINE], map(get_encoding, NAMES[:1]))
    ax = plot_sizes(table, ax=Figure().subplots())
    assert [label.get_text() for label in ax.get_yticklabels()] == ["2x2, dual", "3x3, dual"]
    *_, between = ax.collections
    assert [segment[0][1] for segment in between.get_segments()] == [0.5]
    assert not ax.get_legend().get_title().get_text()
