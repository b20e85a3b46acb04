"""Levels of consistency of many puzzles as a table and as bars in three parts."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib.figure import Figure
from scipy.stats import binomtest

from figures.tables import levels
from gridcrux.figures.consistency import CONSISTENCY_COLUMNS, consistency_table, plot_consistency
from gridcrux.proofs.consistency import CONSISTENCIES, levels_of

PUZZLES = [
    "1234 34.. 2... 4..1",  # naked singles
    "1... .... ..2. ...3",  # more than one solution
    "12.. .... ..3. ...4",
    "11.. .... .... ....",  # none
]


def test_every_puzzle_counts_once_on_each_level():
    digits = np.array([[int(each) for each in text.replace(" ", "").replace(".", "0")]
                       for text in PUZZLES], np.int8)  # fmt: skip
    found = levels_of(digits)
    table = consistency_table(found)
    assert list(table.columns) == list(CONSISTENCY_COLUMNS)
    assert table["level"].tolist() == list(CONSISTENCIES)
    assert (table["puzzles"] == 4).all()
    assert (table[["solved", "open", "dead"]].sum(axis=1) == 4).all()
    for row in table.itertuples():
        outcomes = list(found[row.level])
        assert (row.solved, row.open, row.dead) == tuple(
            outcomes.count(each) for each in ("solved", "open", "dead")
        )
        assert outcomes[0] == "solved"
        assert outcomes[3] == "dead"
        ends = binomtest(row.solved, 4).proportion_ci(0.95, "wilson")
        assert (row.solved_low, row.solved_high) == pytest.approx(tuple(ends))
    assert table["first"].sum() == found["weakest"].notna().sum()
    assert table["first"][0] == 1


def test_first_are_those_that_no_level_before_solves():
    found = levels()
    table = consistency_table(found)
    solved = (found[list(CONSISTENCIES)] == "solved").to_numpy()
    before = np.cumsum(solved, axis=1) - solved
    assert table["first"].tolist() == (solved & (before == 0)).sum(axis=0).tolist()
    assert table["first"].nunique() > 2


def test_parts_of_a_bar_follow_each_other_and_make_up_the_whole():
    table = consistency_table(levels())
    ax = plot_consistency(table, ax=Figure().subplots())
    # A container for the whiskers stands among those of the bars.
    bars = [container for container in ax.containers if hasattr(container, "patches")]
    assert [each.get_label() for each in bars] == ["solved", "left open", "no solution"]
    looks = {(each[0].get_facecolor(), each[0].get_hatch()) for each in bars}
    assert len({hatch for _, hatch in looks}) == 3
    end = np.zeros(len(table))
    for what, container in zip(("solved", "open", "dead"), bars, strict=True):
        assert [bar.get_x() for bar in container] == pytest.approx(end.tolist())
        share = (table[what] / table["puzzles"]).to_numpy()
        assert [bar.get_width() for bar in container] == pytest.approx(share.tolist())
        end = end + share
    assert end == pytest.approx(1)
    whiskers = bars[0].errorbar.lines[2][0].get_segments()
    drawn = [sorted(segment[:, 0].tolist()) for segment in whiskers]
    assert drawn == [pytest.approx(ends) for ends in
                     table[["solved_low", "solved_high"]].to_numpy().tolist()]  # fmt: skip
    texts = [text.get_text() for text in ax.texts]
    assert texts[-len(table) :] == [str(count) for count in table["first"]]


def test_what_no_puzzle_has_is_not_in_the_legend():
    table = consistency_table(levels().replace("dead", "open"))
    legend = plot_consistency(table, ax=Figure().subplots()).get_legend()
    assert [text.get_text() for text in legend.get_texts()] == ["solved", "left open"]


def test_without_puzzles_shares_are_missing():
    table = consistency_table(levels()[:0])
    assert table["puzzles"].tolist() == [0] * len(CONSISTENCIES)
    assert table["solved_share"].isna().all()
