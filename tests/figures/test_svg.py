"""The SVG of a board is XML that holds every digit, and marks deductions by more than colour."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pytest

from gridcrux.figures.scene import board_scene
from gridcrux.figures.svg import board_svg, scene_svg, step_svg
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import route

STUCK = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."
SPACE = "{http://www.w3.org/2000/svg}"


def texts(svg, role):
    root = ElementTree.fromstring(svg)
    groups = [g for g in root.iter(f"{SPACE}g") if g.get("class") == role]
    return [t.text for g in groups for t in g.iter(f"{SPACE}text")]


def test_givens_and_candidates_are_all_there():
    state = read_puzzle(STUCK)
    svg = board_svg(state)
    assert texts(svg, "given") == [d for d in STUCK if d != "."]
    blank = [c for c in range(81) if STUCK[c] == "."]
    assert texts(svg, "candidate") == [str(d) for c in blank for d in state.digits_of(c)]


def test_what_is_excluded_is_struck_through():
    found = route(read_puzzle(STUCK), FIRST_FAMILY)
    drawn = 0
    for state, step in zip(found.states(), found, strict=False):
        if step.places is not None:
            continue
        svg = board_svg(state, step)
        root = ElementTree.fromstring(svg)
        (strikes,) = [g for g in root.iter(f"{SPACE}g") if g.get("class") == "strike"]
        assert strikes.find(f"{SPACE}path").get("d").count("M") == step.eliminates.bit_count()
        assert len(texts(svg, "excluded")) == step.eliminates.bit_count()
        drawn += 1
    assert drawn


def test_a_step_alone_has_only_what_it_looks_at():
    found = route(read_puzzle(STUCK), FIRST_FAMILY)
    for state, step in zip(found.states(), found, strict=False):
        svg = step_svg(step)
        assert texts(svg, "given") == texts(svg, "written") == []
        for role in ("excluded", "base", "placed"):
            assert texts(svg, role) == texts(board_svg(state, step), role), role
        root = ElementTree.fromstring(svg)
        said = [root.find(f"{SPACE}{tag}").text for tag in ("title", "desc")]
        assert said[0] == f"what {step.technique} looks at"
        assert step.sentence in said[1]
        assert "Row 1" not in said[1]
    assert len(found) > 10


def test_a_picture_without_a_title_is_hidden_from_those_who_listen():
    blank = State.empty(boxes(2, 2))
    told, untold = (scene_svg(replace(board_scene(blank), title=title)) for title in ("Quay", ""))
    assert ElementTree.fromstring(told).find(f"{SPACE}title").text == "Quay"
    root = ElementTree.fromstring(untold)
    assert root.get("aria-hidden") == "true"
    assert root.get("role") is None
    assert root.find(f"{SPACE}title") is None


@pytest.mark.parametrize("shape", [(2, 2), (2, 3), (3, 3), (3, 4), (4, 4)])
def test_all_sizes_are_well_formed(shape):
    layout = boxes(*shape)
    svg = board_svg(State.empty(layout))
    assert len(texts(svg, "candidate")) == layout.size**3
    assert svg == board_svg(State.empty(layout))
