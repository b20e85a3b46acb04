"""Widths along a route as a table and as bars."""

from __future__ import annotations

from dataclasses import replace

import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from figures.tables import steps
from gridcrux.figures.palette import WHITE
from gridcrux.figures.steps import STEP_COLUMNS, plot_steps, step_table
from gridcrux.grids.names import Claim
from gridcrux.grids.state import bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.explain.bottleneck import bottleneck
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.solve import route

PUZZLE = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."


def test_a_route_of_techniques_step_by_step():
    way = route(read_puzzle(PUZZLE), LEVELS["chains"])
    table = step_table(way)
    assert list(table.columns) == list(STEP_COLUMNS)
    assert table["step"].tolist() == list(range(1, len(way) + 1))
    assert table["width"].tolist() == way.records.widths.tolist()
    assert table["writes"].tolist() == [step.placement_name is not None for step in way]
    assert table["technique"].tolist() == [step.technique for step in way]
    assert 0 < table["widest"].sum() < len(table)
    assert table["widest"].tolist() == (table["width"] == way.row()["width"]).tolist()


def test_a_route_of_narrowest_steps_is_as_wide_as_the_bottleneck():
    found = bottleneck(read_puzzle(PUZZLE))
    table = step_table(found)
    assert table["width"].tolist() == [step.size for step in found]
    assert table["width"].max() == found.width
    assert table["widest"].sum() == found.row()["widest_steps"]
    assert step_table(bottleneck(read_puzzle("1234341221434321"))).empty


def test_premises_of_a_shape_without_a_name_have_no_technique():
    found = bottleneck(read_puzzle(PUZZLE))
    widest = max(found, key=lambda step: step.size)
    state, claim = widest.state, widest.claims[0]
    other = next(bit for bit in bits(state.open) if bit != claim.candidate)
    odd = replace(widest, claims=(claim, Claim(other, True, state.layout)))
    table = step_table(replace(found, steps=(widest, odd)))
    assert table["technique"][0] == widest.technique
    assert table["technique"].isna().tolist() == [False, True]


def test_bars_are_the_widths_and_hollow_where_a_digit_is_written():
    table = steps([1, 1, 1, 1, 2, 3, 1, 3])
    ax = plot_steps(table, ax=Figure().subplots())
    drawn = {}
    for bar in ax.patches:
        hollow = to_hex(bar.get_facecolor()).upper() == WHITE
        drawn[round(bar.get_x() + bar.get_width() / 2, 6)] = (bar.get_height(), hollow)
    assert drawn == {
        row.step: (row.width, row.writes) for row in table.itertuples()
    }  # fmt: skip
    assert {hollow for _, hollow in drawn.values()} == {True, False}
    (marks,) = ax.lines
    assert marks.get_xdata().tolist() == [6, 8]
    assert (marks.get_ydata() > 3).all()


@pytest.mark.parametrize(
    ("widths", "told"),
    [
        ([1, 2, 1], "widest, 2: step 2"),
        ([1, 2, 2, 2, 1, 2], "widest, 2: steps 2-4, 6"),
        ([1, 2] * 20, "widest, 2: 20 steps"),
    ],
)
def test_the_legend_tells_the_widest(widths, told):
    legend = plot_steps(steps(widths), ax=Figure().subplots()).get_legend()
    assert told in [text.get_text() for text in legend.get_texts()]
