"""A board on axes: the axes given, nothing global, a mark of its own for what is excluded."""

from __future__ import annotations

import matplotlib as mpl
import pytest
from matplotlib import pyplot as plt
from matplotlib.figure import Figure

from gridcrux.figures.board import plot_board
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import route

STUCK = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."


@pytest.mark.parametrize("shape", [(2, 2), (2, 3), (3, 3), (4, 4)])
def test_the_axes_given_are_drawn_on_and_nothing_else_changes(shape):
    figures, settings = plt.get_fignums(), dict(mpl.rcParams)
    ax = Figure().subplots()
    assert plot_board(State.empty(boxes(*shape)), ax=ax) is ax
    assert "candidate" in {patch.get_gid() for patch in ax.patches}
    assert plt.get_fignums() == figures
    assert dict(mpl.rcParams) == settings


def test_struck_candidates_have_a_line_each():
    found = route(read_puzzle(STUCK), FIRST_FAMILY)
    state, step = next(
        (state, step)
        for state, step in zip(found.states(), found, strict=False)
        if step.places is None
    )
    ax = plot_board(state, step, ax=Figure().subplots())
    (strikes,) = [lines for lines in ax.collections if lines.get_gid() == "strike"]
    assert len(strikes.get_segments()) == step.eliminates.bit_count()


def test_another_layout_is_refused():
    step = next(iter(route(read_puzzle(STUCK), FIRST_FAMILY)))
    with pytest.raises(ValueError, match="layout"):
        plot_board(State.empty(boxes(2, 2)), step, ax=Figure().subplots())
