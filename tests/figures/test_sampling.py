"""Weights of a sample against sums by hand, and the figures against their tables."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from figures.tables import card_givens
from gridcrux.corpus.cards import describe
from gridcrux.corpus.rows import UnknownColumn
from gridcrux.corpus.sample.estimates import givens_table
from gridcrux.figures.sampling import WEIGHT_COLUMNS, plot_givens, plot_weights, weight_table

SAMPLE = pd.DataFrame(
    {"givens": [24, 24, 24, 25, 25], "weight": [1.0, 2.0, 6.0, 8.0, 3.0], "group": [1, 1, 2, 2, 3]}
)


def test_weights_are_counted_by_givens_and_groups_by_their_sums():
    table = weight_table(SAMPLE)
    assert list(table.columns) == list(WEIGHT_COLUMNS)
    assert table["givens"].tolist()[:2] == [24, 25]
    assert pd.isna(table["givens"][2])
    assert table[["puzzles", "least", "median", "greatest"]].to_numpy().tolist() == [
        [3, 1, 2, 6],
        [2, 3, 5.5, 8],
        [5, 1, 3, 8],
    ]
    assert table["share"].tolist() == pytest.approx([9 / 20, 11 / 20, 1])
    sizes = [9**2 / (3**2 + 6**2), 11**2 / (8**2 + 3**2), 20**2 / (3**2 + 14**2 + 3**2)]
    assert table["effective"].tolist() == pytest.approx(sizes)


def test_without_groups_each_puzzle_is_one():
    table = weight_table(SAMPLE.drop(columns="group").assign(weight=2.0))
    assert table["effective"].tolist() == pytest.approx([3, 2, 5])


def test_what_is_missing_is_told():
    with pytest.raises(UnknownColumn, match="weight"):
        weight_table(SAMPLE.drop(columns="weight"))
    with pytest.raises(ValueError, match="no puzzles"):
        weight_table(SAMPLE[:0])
    with pytest.raises(ValueError, match="1 of 5 weights"):
        weight_table(SAMPLE.assign(weight=[1, 2, 3, 4, 0]))


def test_points_are_medians():
    table = weight_table(SAMPLE)
    ax = plot_weights(table, ax=Figure().subplots())
    drawn = sorted(x for line in ax.lines for x in np.atleast_1d(line.get_xdata()).tolist())
    assert drawn == pytest.approx(sorted(table["median"]))
    assert ax.get_xscale() == "log"
    assert [label.get_text() for label in ax.get_yticklabels()] == ["24 givens", "25 givens", "all"]


def test_bars_are_all_puzzles_and_diamonds_the_sample():
    columns = ["group", "grids", "givens", "puzzles", "weight"]
    rows = [(0, 9.0, 4, 2, 30.0), (0, 9.0, 5, 1, 10.0), (1, 7.0, 4, 1, 20.0), (1, 7.0, 6, 4, 5.0)]
    table = givens_table(pd.DataFrame(rows, columns=columns))
    ax = plot_givens(table, ax=Figure().subplots())
    assert [bar.get_height() for bar in ax.patches] == pytest.approx(
        [5000 / 65, 1000 / 65, 500 / 65]
    )
    (marks,) = [line for line in ax.lines if line.get_marker() == "D"]
    assert marks.get_xdata().tolist() == [4, 5, 6]
    assert marks.get_ydata() == pytest.approx([300 / 8, 100 / 8, 400 / 8])
    (whiskers,) = ax.collections
    low, high = whiskers.get_segments()[0][:, 1]
    error = table["standard_error"][0]
    assert (low, high) == pytest.approx((5000 / 65 - 2 * error, 5000 / 65 + 2 * error))


def bars_of(ax: Axes) -> dict[str, list[tuple[float, float]]]:
    """Of each set of bars the middles and heights."""
    return {
        bars.get_label(): [(bar.get_x() + bar.get_width() / 2, bar.get_height()) for bar in bars]
        for bars in ax.containers
    }


def test_of_a_card_bars_are_the_shares_of_its_puzzles(tmp_path):
    path = tmp_path / "few.txt"
    path.write_text("1234341221434321\n12..34..........\n.1......2...4..3\n1......2...3....\n")
    table = describe(path).frame()
    assert table["givens"].tolist() == [3, 4, 16]
    ax = plot_givens(table, ax=Figure().subplots())
    assert bars_of(ax) == {"2x2, 4 puzzles": [(3, 25), (4, 50), (16, 25)]}
    assert not ax.lines


def test_of_a_weighted_card_diamonds_are_the_puzzles_without_weight():
    table = card_givens("3x3", weighted=True)
    ax = plot_givens(table, ax=Figure().subplots())
    ((label, bars),) = bars_of(ax).items()
    assert label.endswith("puzzles, by weight")
    assert [height for _, height in bars] == pytest.approx(100 * table["weighted_share"])
    (marks,) = ax.lines
    assert marks.get_xdata().tolist() == table["givens"].tolist()
    assert marks.get_ydata() == pytest.approx(100 * table["share"])


def test_layouts_stand_side_by_side_where_they_have_givens_in_common():
    table = card_givens("3x3", "latin-9")
    ax = plot_givens(table, ax=Figure().subplots())
    one, two = bars_of(ax).values()
    here, there = (part for _, part in table.groupby("layout", sort=False))
    assert [place for place, _ in one] == pytest.approx(here["givens"] - 0.2)
    assert [place for place, _ in two] == pytest.approx(there["givens"] + 0.2)
    assert [height for _, height in two] == pytest.approx(100 * there["share"])
    assert len({bars[0].get_hatch() for bars in ax.containers}) == 2
    apart = table.assign(givens=table["givens"].where(table["layout"] == "3x3", lambda n: n + 50))
    places = [x for bars in bars_of(plot_givens(apart, ax=Figure().subplots())).values()
              for x, _ in bars]  # fmt: skip
    assert places == pytest.approx(apart["givens"].tolist())
