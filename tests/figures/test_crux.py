"""A route and its narrow places: what stands on the axes is what the table says."""

from __future__ import annotations

import pytest
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from gridcrux.corpus.sample import minimal
from gridcrux.figures.crux import NEAR, plot_crux, runs, together
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.techniques.repertoires import FIRST_FAMILY, SINGLES
from gridcrux.techniques.solve import route


@pytest.fixture(scope="module")
def tables():
    """What is drawn of some routes, easy ones and hard ones, solved ones and others."""
    states = [State.from_digits(item.puzzle.tolist()) for item in minimal(12, 51)]
    return [crux_profile(route(state, FIRST_FAMILY)).table() for state in states]


def drawn(table, **artist) -> Axes:
    return plot_crux(table, ax=Figure().subplots(), **artist)


def named(artists, label):
    """The one artist with a label, or None."""
    found = [each for each in artists if each.get_label() == label]
    assert len(found) < 2
    return found[0] if found else None


def points(line):
    return [] if line is None else list(zip(*line.get_data(), strict=True))


def bars(axes, label):
    """Heights of bars by the step that they stand on."""
    found = named([bars for inner in axes.child_axes for bars in inner.containers], label)
    return {} if found is None else {round(bar.get_center()[0]): bar.get_height() for bar in found}


def test_the_line_is_what_is_left(tables):
    for table in tables:
        line = named(drawn(table).lines, "candidates left")
        assert points(line) == list(zip(table["step"], table["left"], strict=True))
        assert line.get_drawstyle() == "steps-mid"


def test_hard_steps_are_marked_and_have_bars(tables):
    for table in tables:
        axes, hard = drawn(table), table[table["hard"]]
        usual, narrow = hard[~hard["narrow"]], hard[hard["narrow"]]
        for label, rows in (("hard step", usual), ("narrow step", narrow)):
            expected = list(zip(rows["step"], rows["left"], strict=True))
            assert points(named(axes.lines, label)) == expected
        for label, rows, what in (
            ("hard deductions open", usual, "open"),
            ("the fewest open", narrow, "open"),
            ("of these lead on", hard, "leading"),
        ):
            expected = dict(zip(rows["step"], rows[what], strict=True))
            assert bars(axes, label) == pytest.approx(expected)
    assert sum(table["narrow"].sum() for table in tables) > 5


def test_bars_can_be_told_apart_and_stay_below_the_line(tables):
    table = next(t for t in tables if t["hard"].sum() > 1).copy()
    hard = table.index[table["hard"]]
    table["left"] = 10 * table["left"]
    table.loc[hard, "narrow"], table.loc[hard, "open"] = False, 7
    table.loc[hard[0], "narrow"], table.loc[hard[0], ["open", "leading"]] = True, 1
    axes = drawn(table)
    (below,) = axes.child_axes
    axes.figure.draw_without_rendering()
    (one,), seven = (
        [bar.get_window_extent() for bar in named(below.containers, label)]
        for label in ("the fewest open", "hard deductions open")
    )
    height = axes.get_window_extent().height
    assert 0.03 * height < one.height == pytest.approx(seven[0].height / 7)
    nought = axes.transData.transform((0, 0))[1]
    assert seven[0].y1 < nought
    # Where all that was open led on, what was open is still seen.
    inside = named(below.containers, "of these lead on")[0].get_window_extent()
    assert inside.height == pytest.approx(one.height)
    assert one.x0 + 2 < inside.x0 < inside.x1 < one.x1 - 2
    # They are counted at the right, and stand at their steps.
    assert {0, 5} <= set(below.get_yticks())
    assert below.yaxis.get_ticks_position() == "right"
    assert below.get_xlim() == axes.get_xlim()


def test_narrow_steps_differ_in_more_than_colour(tables):
    table = next(t for t in tables if t["narrow"].any() and (t["hard"] & ~t["narrow"]).any())
    axes = drawn(table)
    usual, narrow = named(axes.lines, "hard step"), named(axes.lines, "narrow step")
    assert usual.get_marker() != narrow.get_marker()
    open_there, fewest = (
        named(axes.child_axes[0].containers, label)[0]
        for label in ("hard deductions open", "the fewest open")
    )
    assert fewest.get_hatch()
    assert not open_there.get_hatch()


def test_narrow_steps_have_labels(tables):
    for table in tables:
        narrow = table[table["narrow"]]
        said = [text.get_text() for text in drawn(table).texts]
        assert bool(said) == bool(len(narrow))
        for text in said:
            assert text.endswith(f": {narrow['open'].min()} open")
        # Where steps are far apart each has a label of its own.
        if len(narrow) == 1:
            assert said == [f"step {narrow['step'].iloc[0]}: {narrow['open'].iloc[0]} open"]


def test_narrow_steps_side_by_side_share_a_label(tables):
    table = next(t for t in tables if t["hard"].sum() > 3).copy()
    hard = table.index[table["hard"]]
    table.loc[hard, "narrow"] = True
    table.loc[hard, "open"] = 7
    axes = drawn(table)
    groups = together(table.loc[hard, "step"].tolist(), NEAR * len(table))
    assert len(axes.texts) == len(groups) < len(hard)
    assert f" {runs(groups[0])}: 7 open" in axes.texts[0].get_text()


def test_numbers_that_are_near_share_a_label():
    assert together([], 3) == []
    assert together([1, 4, 8], 3) == [[1, 4], [8]]
    assert runs([1, 2, 3, 7]) == "1-3, 7"


def test_a_route_without_hard_steps():
    found = route(read_puzzle("1234 34.. 2... 4..1"), SINGLES)
    axes = drawn(crux_profile(found).table())
    assert [line.get_label() for line in axes.lines] == ["candidates left"]
    assert not axes.child_axes
    assert not axes.texts
    assert axes.get_ylim()[0] == 0


def test_a_route_without_steps():
    found = route(read_puzzle("1234 3412 2143 4321"), SINGLES)
    assert len(found) == 0
    axes = drawn(crux_profile(found).table())
    assert points(named(axes.lines, "candidates left")) == []


def test_labels_and_legend(tables):
    table = next(t for t in tables if (t["hard"] & ~t["narrow"]).any())
    axes = drawn(table)
    assert axes.get_xlabel()
    assert axes.get_ylabel()
    assert sorted(text.get_text() for text in axes.get_legend().get_texts()) == sorted(
        [
            "candidates left",
            "hard step",
            "narrow step",
            "hard deductions open",
            "the fewest open",
            "of these lead on",
        ]
    )


def test_the_axes_given_are_drawn_on(tables):
    figures = plt.get_fignums()
    other, axes = Figure().subplots(1, 2)
    assert plot_crux(tables[0], ax=axes, color="red") is axes
    assert not other.lines
    assert to_hex(named(axes.lines, "candidates left").get_color()) == "#ff0000"
    assert plt.get_fignums() == figures


def test_a_figure_of_its_own(tables):
    axes = plot_crux(tables[0])
    assert tuple(axes.figure.get_size_inches()) == (6.4, 4.0)
    plt.close(axes.figure)
