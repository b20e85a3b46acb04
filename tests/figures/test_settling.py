"""Estimates from the first groups are those of a sample that has no others."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.figure import Figure

from figures.tables import grouped
from gridcrux.corpus.sample.estimates import summary_table
from gridcrux.figures.settling import PLACES, SETTLING_COLUMNS, plot_settling, settling_table

GROUPS = grouped(30)


def test_each_row_is_what_so_many_groups_say():
    table = settling_table(GROUPS)
    assert list(table.columns) == list(SETTLING_COLUMNS)
    assert table["groups"].unique().tolist() == list(range(2, 31))
    for number in (2, 9, 30):
        alone = summary_table(GROUPS[GROUPS["group"] < number])
        here = table[table["groups"] == number]
        for column in ("quantity", "estimate", "standard_error"):
            assert here[column].tolist() == alone[column].tolist()


def test_groups_count_in_the_order_in_which_they_come():
    parts = [part for _, part in GROUPS.groupby("group")]
    turned = settling_table(type(GROUPS)(np.concatenate(parts[::-1]), columns=GROUPS.columns))
    assert turned["estimate"][:3].tolist() == pytest.approx(
        summary_table(GROUPS[GROUPS["group"] >= 28])["estimate"].tolist()
    )
    last = settling_table(GROUPS)["estimate"][-3:].tolist()
    assert turned["estimate"][-3:].tolist() == pytest.approx(last)


def test_there_are_not_more_places_than_can_be_told_apart():
    many = settling_table(grouped(250))
    assert many["groups"].nunique() <= PLACES
    assert many["groups"].max() == 250


def test_the_first_place_has_puzzles():
    # No puzzles in the first groups: there are no shares of them.
    empty = GROUPS["group"] < 5
    late = GROUPS.assign(weight=GROUPS["weight"].mask(empty, 0), puzzles=0)
    assert settling_table(late)["groups"].min() == 6
    with pytest.raises(ValueError, match="1 groups with"):
        settling_table(GROUPS[GROUPS["group"] == 1])
    with pytest.raises(ValueError, match="30 groups with 0 puzzles"):
        settling_table(GROUPS.assign(weight=0.0, puzzles=0))


@pytest.mark.parametrize("quantity", ["mean givens", "minimal puzzles"])
def test_the_line_is_the_estimate_and_the_band_its_error(quantity):
    table = settling_table(GROUPS)
    part = table[table["quantity"] == quantity]
    ax = plot_settling(table, quantity=quantity, ax=Figure().subplots())
    line, last = ax.lines
    assert line.get_xdata().tolist() == part["groups"].tolist()
    assert line.get_ydata().tolist() == part["estimate"].tolist()
    assert set(last.get_ydata()) == {part["estimate"].iloc[-1]}
    (band,) = ax.collections
    drawn = band.get_paths()[0].vertices
    for row in part.itertuples():
        ends = drawn[drawn[:, 0] == row.groups][:, 1]
        wide = 2 * row.standard_error
        low = max(0, row.estimate - wide)
        assert (ends.min(), ends.max()) == pytest.approx((low, row.estimate + wide))


def test_large_numbers_are_in_a_power_of_ten():
    ax = plot_settling(settling_table(GROUPS), quantity="grids", ax=Figure().subplots())
    assert ax.get_ylabel() == "grids, in $10^{21}$"
    assert ax.yaxis.get_major_formatter()(5.5e21, 0) == "5.5"
    assert plot_settling(settling_table(GROUPS), ax=Figure().subplots()).get_ylabel() == (
        "mean givens"
    )


def test_a_quantity_that_is_not_there_is_told():
    with pytest.raises(ValueError, match="'width'; there are mean givens, minimal puzzles, grids"):
        plot_settling(settling_table(GROUPS), quantity="width", ax=Figure().subplots())
