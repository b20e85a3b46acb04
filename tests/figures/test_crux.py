"""A route with its narrow places, as lines, marks and bars."""

from __future__ import annotations

import pandas as pd
import pytest
from matplotlib import pyplot as plt

from gridcrux.figures.crux import plot_crux, runs, together
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import route

NEEDS = "5...........7.659..87...4..4......2.2.5.3..8..9...1...1.25...4.....43......9.785."


@pytest.fixture(scope="module")
def table() -> pd.DataFrame:
    return crux_profile(route(read_puzzle(NEEDS), FIRST_FAMILY)).table()


def test_what_is_drawn_is_what_the_table_says(table: pd.DataFrame) -> None:
    ax = plot_crux(table)
    (line,) = (each for each in ax.lines if each.get_label() == "candidates left")
    assert line.get_ydata().tolist() == table["left"].tolist()
    marks = {each.get_label(): each.get_xdata().tolist() for each in ax.lines}
    narrow = table.loc[table["narrow"], "step"].tolist()
    assert marks["narrow step"] == narrow
    assert sorted(marks["hard step"] + narrow) == table.loc[table["hard"], "step"].tolist()
    heights = {bars.get_label(): [bar.get_height() for bar in bars] for bars in ax.containers}
    least = table.loc[table["narrow"], "open"].min()
    assert heights[f"the fewest open: {least}"] == [least] * len(narrow)
    assert heights["of these lead on"] == table.loc[table["hard"], "leading"].tolist()
    shown = " ".join(text.get_text() for text in ax.texts)
    assert shown.startswith("step")
    assert str(narrow[0]) in shown
    plt.close("all")


def test_axes_that_are_given_are_used(table: pd.DataFrame) -> None:
    figure, (left, right) = plt.subplots(1, 2)
    assert plot_crux(table, ax=right, color="red") is right
    assert not left.lines
    assert right.lines[0].get_color() == "red"
    plt.close(figure)


def test_a_route_without_hard_steps_is_a_line() -> None:
    easy = route(
        read_puzzle(
            "53..7....6..195....98....6.8...6...34..8.3..17...2...6.6....28....419..5....8..79"
        )
    )
    ax = plot_crux(crux_profile(easy).table())
    assert [line.get_label() for line in ax.lines] == ["candidates left"]
    assert not ax.containers
    plt.close("all")


def test_numbers_that_are_near_share_a_label() -> None:
    assert together([], 3) == []
    assert together([1, 4, 8], 3) == [[1, 4], [8]]
    assert runs([1, 2, 3, 7]) == "1-3, 7"
