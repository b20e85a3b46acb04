"""The legend explains every kind of mark that one could ask about, with a picture of it."""

from __future__ import annotations

import pandas as pd
import pytest

from gridcrux.figures.legend import HEIGHT, WIDTH, _entries, legend_of
from gridcrux.figures.marks import Curve, Line, Rect
from gridcrux.figures.palette import STYLES
from gridcrux.figures.scene import board_scene
from gridcrux.grids.layout import named
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.solve import route

PLAIN = {"paper", "line", "border", "name", "candidate", "key"}
"""What is a board without anything marked."""

OF_WIDGETS = {"highlight", "highlight-cell", "highlight-outline"}
"""What one marks oneself, and so knows."""


def test_every_kind_of_mark_is_explained() -> None:
    shown = {mark.role for entry in _entries() for mark in entry.scene.marks}
    beside = {
        "premise-house": "as premise-cell, paler",
        "tag": "its text says what it is",
        "tag-ground": "below a tag",
        "fresh-cell": "below a ring",
        "both-nodes": "a circle in a square",
    }
    assert set(STYLES) - PLAIN - OF_WIDGETS - shown == set(beside)


def test_a_legend_has_what_is_drawn_and_no_more() -> None:
    puzzle = pd.read_csv("datasets/lantern_quay.csv")["puzzle"][7]
    way = route(read_puzzle(puzzle), LEVELS["fish"])
    for state, step in list(zip(way.states(), way, strict=False))[::4]:
        scene = board_scene(state, step)
        roles = {mark.role for mark in scene.marks}
        found = [entry.role for entry in legend_of([scene])]
        assert set(found) == roles & {entry.role for entry in _entries()}
        assert found == [entry.role for entry in _entries() if entry.role in roles]
    diagonal = board_scene(State.empty(named("2x2-diagonals")))
    assert [entry.role for entry in legend_of([diagonal])] == ["trail"]


@pytest.mark.parametrize("entry", list(_entries()), ids=lambda entry: entry.role)
def test_its_pictures_stay_in_their_frames(entry) -> None:
    assert entry.role in {mark.role for mark in entry.scene.marks}
    assert entry.words == entry.words.strip(" .")
    for mark in entry.scene.marks:
        match mark:
            case Rect(_, x, y, width, height):
                ends = [(x, y), (x + width, y + height)]
            case Line(_, x1, y1, x2, y2) | Curve(_, x1, y1, _, _, x2, y2):
                ends = [(x1, y1), (x2, y2)]
            case _:
                ends = [(mark.x, mark.y)]
        assert all(0 <= x <= WIDTH and 0 <= y <= HEIGHT for x, y in ends)
