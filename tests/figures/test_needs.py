"""What puzzles need: the table says what the study or the judged route says, the marks the same."""

from __future__ import annotations

import pandas as pd
import pytest
from matplotlib.collections import PathCollection
from matplotlib.figure import Figure

from gridcrux.corpus.rows import UnknownColumn
from gridcrux.corpus.study import study
from gridcrux.figures.needs import LEAST, LOOKS, NAMED, NEED_COLUMNS, STRIPS, need_table, plot_needs
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.essential import crux
from gridcrux.techniques.repertoires import FIRST_FAMILY

STUDY = pd.DataFrame(
    {
        "id": ["a", "b", "c", "d"],
        "steps_naked_pair": [1, 2, 3, None],
        "steps_x_wing": [0, 1, 0, None],
        "steps_swordfish": [0, 0, 0, 0],
        "essential_techniques": ["naked-pair", "x-wing", None, None],
    }
)


def needs(table: pd.DataFrame) -> list[list[object]]:
    wide = table.pivot(index="case", columns="technique", values="need")
    order = list(dict.fromkeys(table["technique"]))
    return wide[order].astype(object).where(wide[order].notna(), None).to_numpy().tolist()


def test_needs_are_those_of_the_study_and_what_is_not_known_is_missing():
    table = need_table(STUDY)
    assert list(table.columns) == list(NEED_COLUMNS)
    assert table["name"].tolist() == [name for name in "abcd" for _ in range(3)]
    assert needs(table) == [
        ["essential", "unused", "unused"],
        ["replaceable", "essential", "unused"],
        ["used", "unused", "unused"],
        [None, None, "unused"],
    ]


def test_puzzles_with_the_same_needs_come_together_the_most_frequent_first():
    table = need_table(STUDY.iloc[[0, 1, 3, 1, 3, 3]], together=True)
    firsts = table.drop_duplicates("case")
    assert firsts["puzzles"].tolist() == [3, 2, 1]
    assert firsts["name"].tolist() == ["3 puzzles", "2 puzzles", "1 puzzle"]
    assert needs(table)[0] == [None, None, "unused"]
    assert needs(table)[1] == ["replaceable", "essential", "unused"]


def test_a_study_and_judged_routes_say_the_same():
    puzzles = {
        "one": ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3",
        "two": "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2.......",
    }
    judged = need_table({name: crux(read_puzzle(p), FIRST_FAMILY) for name, p in puzzles.items()})
    measured = need_table(study(list(puzzles.values())).assign(id=list(puzzles)))
    pd.testing.assert_frame_equal(judged, measured)
    assert set(judged["need"]) == {"essential", "replaceable", "unused"}


def test_nothing_to_look_at_is_told():
    with pytest.raises(ValueError, match="no puzzles"):
        need_table({})
    with pytest.raises(ValueError, match="no puzzles"):
        need_table(STUDY[:0])
    with pytest.raises(UnknownColumn, match="essential_techniques"):
        need_table(STUDY.drop(columns="essential_techniques"))


def marks(ax) -> dict[str, set[tuple[float, ...]]]:
    clouds = [each for each in ax.collections if isinstance(each, PathCollection)]
    return {each.get_label(): set(map(tuple, each.get_offsets().tolist())) for each in clouds}


def test_a_mark_stands_where_the_table_has_a_need():
    ax = plot_needs(need_table(STUDY), ax=Figure().subplots())
    assert marks(ax) == {
        "essential": {(0, 0), (1, 1)},
        "replaceable": {(1, 0)},
        "used": {(2, 0)},
        "not known": {(3, 0), (3, 1)},
    }
    assert [label.get_text() for label in ax.get_yticklabels()] == ["naked-pair", "x-wing"]
    assert [label.get_text() for label in ax.get_xticklabels()] == list("abcd")
    # Used, then essential, from the top; swordfish is used by none and left out.
    assert [text.get_text() for text in ax.texts] == ["used", "3", "1", "essential", "1", "1"]


def test_needs_differ_in_more_than_colour():
    assert len({look["marker"] for look in LOOKS.values()}) == len(LOOKS)
    assert len({strip["height"] for strip in STRIPS.values()}) == len(STRIPS) == len(LOOKS)


def strips(ax) -> dict[str, set[tuple[float, ...]]]:
    """By need the row, the left end and the width of each strip."""
    return {
        each.get_label(): {(round(b.get_y() + b.get_height() / 2), b.get_x(), b.get_width())
                           for b in each}
        for each in ax.containers
    }  # fmt: skip


def test_many_puzzles_are_counted_and_not_named():
    many = pd.concat([STUDY] * (NAMED // 4 + 1), ignore_index=True)
    ax = plot_needs(need_table(many), ax=Figure().subplots())
    assert not marks(ax)
    assert ax.get_xlabel() == f"{len(many)} puzzles, in the order of the table"
    ones = range(0, len(many), 4)
    assert strips(ax) == {
        "essential": {(0, i, 1) for i in ones} | {(1, i + 1, 1) for i in ones},
        "replaceable": {(0, i + 1, 1) for i in ones},
        "used": {(0, i + 2, 1) for i in ones},
        "not known": {(row, i + 3, 1) for i in ones for row in (0, 1)},
    }


def test_a_case_is_as_wide_as_it_has_puzzles():
    some = STUDY.iloc[[0, 1, 3, 1, 3, 3]]
    ax = plot_needs(need_table(some, together=True), ax=Figure().subplots())
    assert ax.get_xlabel() == "6 puzzles in 3 cases, the most frequent first"
    assert strips(ax) == {
        "not known": {(0, 0, 3), (1, 0, 3)},
        "essential": {(0, 5, 1), (1, 3, 2)},
        "replaceable": {(0, 3, 2)},
    }
    assert ax.get_xlim() == (0, 6)


def test_rare_cases_are_drawn_together_behind_the_others():
    few = round(1 / LEAST) + 1
    some = STUDY.iloc[[3] * few + [1, 2, 0]]
    ax = plot_needs(need_table(some, together=True), ax=Figure().subplots())
    assert ax.get_xlabel().splitlines() == [
        f"{few + 3} puzzles in 4 cases, the most frequent first",
        "right of the dots 3 rare cases, sorted in each row",
    ]
    assert strips(ax) == {
        "not known": {(0, 0, few), (1, 0, few)},
        "essential": {(0, few, 1), (1, few, 1)},
        "replaceable": {(0, few + 1, 1)},
        "used": {(0, few + 2, 1)},
    }
    # A case of its own for each of so many puzzles is a case of the rest.
    apart = pd.concat([STUDY] * few, ignore_index=True)
    ax = plot_needs(need_table(apart), ax=Figure().subplots())
    assert ax.get_xlabel() == f"{4 * few} puzzles, sorted in each row"
    assert strips(ax)["essential"] == {(0, 0, few), (1, 0, few)}
    assert strips(ax)["used"] == {(0, 2 * few, few)}


def test_strips_are_as_high_in_the_legend():
    ax = plot_needs(need_table(STUDY.iloc[[0, 1, 1]], together=True), ax=Figure().subplots())
    ax.figure.draw_without_rendering()
    one, two = (patch.get_height() for patch in ax.get_legend().get_patches())
    assert one / two == pytest.approx(
        STRIPS["essential"]["height"] / STRIPS["replaceable"]["height"]
    )
