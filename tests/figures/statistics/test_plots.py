"""Figures of statistics: they show what the table says, and no text runs into another."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pandas as pd
import pytest
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

from gridcrux.corpus.statistics.comparison import compare_numbers, compare_shares
from gridcrux.corpus.statistics.cooccurrence import cooccurrence
from gridcrux.corpus.statistics.rates import means, rates
from gridcrux.corpus.statistics.regression import coefficients, predictions
from gridcrux.corpus.statistics.survival import solved_curve, solving_times
from gridcrux.figures.statistics.comparison import plot_differences
from gridcrux.figures.statistics.cooccurrence import plot_cooccurrence
from gridcrux.figures.statistics.rates import plot_means, plot_rates
from gridcrux.figures.statistics.regression import plot_coefficients, plot_predictions
from gridcrux.figures.statistics.survival import plot_solved

RANDOM = np.random.default_rng(4)
ROWS = 400
NAMES = ["claiming", "hidden-triple", "naked-quad", "swordfish", "two-string-kite", "x-wing"]
LEVELS = ["singles", "subsets", "fish", "almost-locked-sets"]


def study() -> pd.DataFrame:
    chances = [0.3, 0.1, 0.0, 0.04, 0.4, 0.02]
    has = RANDOM.random((ROWS, len(NAMES))) < chances
    has[:, 4] |= has[:, 0] & (RANDOM.random(ROWS) < 0.6)
    table = pd.DataFrame(has, columns=NAMES)
    solved_by = np.array([*LEVELS, None], object)[RANDOM.integers(0, 5, ROWS)]
    hard = RANDOM.poisson(2, ROWS)
    return table.assign(
        hard_steps=hard,
        nodes=1 + RANDOM.poisson(0.3 + hard),
        givens=RANDOM.integers(21, 30, ROWS),
        open_after_singles=RANDOM.integers(0, 200, ROWS),
        solved_by=solved_by,
        width=pd.array(RANDOM.integers(1, 6, ROWS), "Int64"),
    )


STUDY = study()
FIRST, SECOND = STUDY[: ROWS // 2], STUDY[ROWS // 2 :]
FLAGS = STUDY[NAMES]
NUMBERS = ["hard_steps", "nodes", "log10(nodes)"]


def curves() -> pd.DataFrame:
    parts = {
        name: solved_curve(solving_times(half, "solved_by", levels=LEVELS), levels=LEVELS)
        for name, half in (("first half", FIRST), ("second half", SECOND))
    }
    return pd.concat(parts, names=["curve"]).reset_index("curve")


PLOTS = {
    "rates": (plot_rates, rates(STUDY, FLAGS), {}),
    "rare": (plot_rates, rates(STUDY, FLAGS), {"log": True}),
    "means": (plot_means, means(STUDY, NUMBERS, resamples=200), {}),
    "shares": (
        plot_differences,
        compare_shares(FIRST, SECOND, {name: f"`{name}`" for name in NAMES}),
        {},
    ),
    "numbers": (plot_differences, compare_numbers(FIRST, SECOND, NUMBERS, resamples=200), {}),
    "pairs": (plot_cooccurrence, cooccurrence(STUDY, FLAGS, resamples=200), {}),
    "levels": (plot_solved, curves(), {}),
    "widths": (plot_solved, solved_curve(solving_times(STUDY, "width")), {}),
    "coefficients": (
        plot_coefficients,
        coefficients(STUDY, "log10(nodes)", ["givens", "hard_steps", "open_after_singles"]),
        {},
    ),
    "predictions": (plot_predictions, predictions(STUDY, "nodes", ["hard_steps", "givens"]), {}),
}

each_plot = pytest.mark.parametrize(("plot", "table", "options"), PLOTS.values(), ids=list(PLOTS))


def texts_of(ax: Axes) -> list[Text]:
    """What is written in and around axes; matplotlib keeps labels of ticks out of sight too."""
    found = [*ax.texts, ax.title, ax._left_title, ax.xaxis.label, ax.yaxis.label]
    if legend := ax.get_legend():
        found += legend.get_texts()
    for axis in (ax.xaxis, ax.yaxis):
        low, high = sorted(axis.get_view_interval())
        for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
            if low <= tick.get_loc() <= high:
                found.append(tick.label1 if tick.label1.get_visible() else tick.label2)
    return [text for text in found if text.get_visible() and text.get_text().strip()]


@each_plot
def test_no_text_runs_into_another_or_out_of_the_picture(plot, table, options):
    figure = plot(table, **options).figure
    try:
        figure.canvas.draw()
        texts = [text for ax in figure.axes for text in texts_of(ax)]
        frames = {text: text.get_window_extent() for text in texts}
        # Turned labels take less room than their upright frames.
        upright = [text for text in texts if text.get_rotation() in (0, 90)]
        for one, two in combinations(upright, 2):
            assert not frames[one].overlaps(frames[two]), (one, two)
        for text, frame in frames.items():
            assert -1 < frame.x0 < frame.x1 < figure.bbox.x1 + 1, text
            assert -1 < frame.y0 < frame.y1 < figure.bbox.y1 + 1, text
    finally:
        plt.close(figure)


@each_plot
def test_the_axes_given_are_drawn_on_and_the_table_left_alone(plot, table, options):
    figures, before = plt.get_fignums(), table.copy()
    ax = Figure().subplots()
    assert plot(table, ax=ax, **options) is ax
    assert plt.get_fignums() == figures
    pd.testing.assert_frame_equal(table, before)


def drawn(ax: Axes) -> list[float]:
    """Places of points along the axis below, filled ones first."""
    return [x for line in ax.lines for x in np.atleast_1d(line.get_xdata()).tolist()]


def test_points_are_shares_and_filled_where_sure():
    table = PLOTS["rates"][1]
    ax = plot_rates(table, ax=Figure().subplots())
    assert drawn(ax)[: len(NAMES)] == pytest.approx(table["share"].tolist())
    table = PLOTS["coefficients"][1]
    ax = plot_coefficients(table, ax=Figure().subplots())
    sure = table["standardised"][(table["p"] < 0.05)].tolist()
    assert 0 < len(sure) < 3
    assert drawn(ax)[: len(sure)] == pytest.approx(sure)
    assert [label.get_text() for label in ax.get_yticklabels()] == table["feature"].tolist()[:3]


def test_a_feature_never_seen_has_no_point_on_a_logarithmic_scale():
    table = PLOTS["rare"][1]
    ax = plot_rates(table, log=True, ax=Figure().subplots())
    assert ax.get_xscale() == "log"
    missing = np.isnan(drawn(ax)[: len(NAMES)])
    assert missing.tolist() == (table["share"] == 0).tolist()


def test_pairs_stand_in_their_cells():
    table = PLOTS["pairs"][1]
    ax = plot_cooccurrence(table, ax=Figure().subplots())
    names = list(dict.fromkeys([*table["first"], *table["second"]]))
    cells = {text.get_position(): text for text in ax.texts}
    assert len(cells) == len(table)
    for row in table.itertuples():
        text = cells[names.index(row.first), names.index(row.second)]
        assert text.get_text().split("\n")[1].startswith(f"{row.together} / ")
        assert (text.get_fontweight() == "bold") == (row.p_corrected < 0.05)


def test_curves_are_steps_to_the_shares():
    table = PLOTS["levels"][1]
    ax = plot_solved(table, ax=Figure().subplots())
    for line, (_, part) in zip(ax.lines, table.groupby("curve", sort=False), strict=True):
        assert line.get_ydata()[:-1].tolist() == pytest.approx(part["solved"].tolist())
    assert [label.get_text() for label in ax.get_xticklabels()] == LEVELS


def test_artists_are_passed_on():
    ax = plot_solved(PLOTS["widths"][1], ax=Figure().subplots(), linewidth=5)
    assert ax.lines[0].get_linewidth() == 5
    ax = plot_rates(PLOTS["rates"][1], ax=Figure().subplots(), color="black")
    assert ax.lines[0].get_color() == "black"
