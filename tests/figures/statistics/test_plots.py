"""Figures of statistics show what their tables say."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from figures.examples import EXAMPLES, LEVELS, NAMES
from gridcrux.figures.statistics.comparison import plot_differences
from gridcrux.figures.statistics.cooccurrence import plot_cooccurrence
from gridcrux.figures.statistics.correlation import plot_correlations
from gridcrux.figures.statistics.rates import plot_means, plot_rates
from gridcrux.figures.statistics.regression import plot_coefficients
from gridcrux.figures.statistics.survival import plot_solved


def table_of(plot: str, example: str = "usual") -> pd.DataFrame:
    table, *_ = EXAMPLES[plot][example].drawn
    return table


def drawn(ax: Axes) -> list[float]:
    """Places of points along the axis below, filled ones first."""
    return [x for line in ax.lines for x in np.atleast_1d(line.get_xdata()).tolist()]


def test_points_are_shares_and_filled_where_sure():
    table = table_of("plot_rates")
    ax = plot_rates(table, ax=Figure().subplots())
    assert drawn(ax)[: len(NAMES)] == pytest.approx(table["share"].tolist())
    table = table_of("plot_coefficients")
    ax = plot_coefficients(table, ax=Figure().subplots())
    sure = table["standardised"][(table["p"] < 0.05)].tolist()
    assert 0 < len(sure) < 3
    assert drawn(ax)[: len(sure)] == pytest.approx(sure)
    assert [label.get_text() for label in ax.get_yticklabels()] == table["feature"].tolist()[:3]


def test_correlations_are_points_and_filled_where_the_interval_leaves_out_nought():
    table = table_of("plot_correlations")
    ax = plot_correlations(table, ax=Figure().subplots())
    sure = (table["low"] > 0) | (table["high"] < 0)
    assert 0 < sure.sum() < len(table)
    expected = [*table["spearman"][sure], *table["spearman"][~sure]]
    assert drawn(ax)[: len(table)] == pytest.approx(expected)


def test_differences_say_which_study_is_taken_from_which():
    for example, what in (("usual", "shares"), ("numbers", "means")):
        table = table_of("plot_differences", example)
        label = plot_differences(table, ax=Figure().subplots()).get_xlabel()
        assert label.startswith(f"difference of {what}, ")
        assert label.endswith("second study minus first study")
        named = plot_differences(table, names=("quay", "pier"), ax=Figure().subplots())
        assert named.get_xlabel().endswith("pier minus quay")


def test_unlike_numbers_on_one_axis_are_said_to_be():
    table = table_of("plot_means")
    label = plot_means(table, ax=Figure().subplots()).get_xlabel()
    assert label.endswith("each number in its own unit")
    alone = plot_means(table[:1], ax=Figure().subplots()).get_xlabel()
    assert alone == f"{table['column'].iloc[0]}: mean and median of puzzles"


def test_a_feature_never_seen_has_no_point_on_a_logarithmic_scale():
    table = table_of("plot_rates", "rare")
    ax = plot_rates(table, log=True, ax=Figure().subplots())
    assert ax.get_xscale() == "log"
    missing = np.isnan(drawn(ax)[: len(NAMES)])
    assert missing.tolist() == (table["share"] == 0).tolist()


def test_pairs_stand_in_their_cells():
    table = table_of("plot_cooccurrence")
    ax = plot_cooccurrence(table, ax=Figure().subplots())
    names = list(dict.fromkeys([*table["first"], *table["second"]]))
    cells = {text.get_position(): text for text in ax.texts}
    assert len(cells) == len(table)
    for row in table.itertuples():
        text = cells[names.index(row.first), names.index(row.second)]
        assert text.get_text().split("\n")[1].startswith(f"{row.together} / ")
        assert (text.get_fontweight() == "bold") == (row.p_corrected < 0.05)


def test_curves_are_steps_to_the_shares():
    table = table_of("plot_solved")
    ax = plot_solved(table, ax=Figure().subplots())
    for line, (_, part) in zip(ax.lines, table.groupby("curve", sort=False), strict=True):
        assert line.get_ydata()[:-1].tolist() == pytest.approx(part["solved"].tolist())
    assert [label.get_text() for label in ax.get_xticklabels()] == LEVELS


def test_artists_are_passed_on():
    ax = plot_solved(table_of("plot_solved", "widths"), ax=Figure().subplots(), linewidth=5)
    assert ax.lines[0].get_linewidth() == 5
    ax = plot_rates(table_of("plot_rates"), ax=Figure().subplots(), color="black")
    assert ax.lines[0].get_color() == "black"
