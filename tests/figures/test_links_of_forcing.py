"""What is followed from assumptions is drawn in the order in which it is told."""

from __future__ import annotations

from itertools import pairwise

import pytest

from gridcrux.figures.links import MOST_FALLING, Links, links_of
from gridcrux.figures.marks import Curve, Disc, Line, Rect
from gridcrux.figures.scene import board_scene, premise_cells_and_houses
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction
from gridcrux.techniques.deadly import pattern
from gridcrux.techniques.repertoires import EVERYTHING, SINGLES
from gridcrux.techniques.solve import available, route
from gridcrux.techniques.stages import stages

HARD = ".....618...3..5.9.9...1...2.8.6...1.1...3...839....4..62.....4....57...6.....2..."
UNIQUE = "48.5.1..2...76.5....6..4..76.1...2...7..............718..1.2.4..1...6..5..4..53.."
FORCING = ("cell-forcing", "house-forcing", "contradiction")


@pytest.fixture(scope="module")
def steps() -> list[tuple[State, Deduction, Links]]:
    """Forcing steps of every kind, as they are found where singles get stuck."""
    state = route(read_puzzle(HARD), SINGLES).end
    found = [step for name in FORCING for step in available(state, EVERYTHING.only(name))[:12]]
    assert {step.technique for step in found} >= {"contradiction", "cell-forcing"}
    links = [(state, step, links_of(step)) for step in found]
    return [(state, step, each) for state, step, each in links if each is not None]


def test_it_goes_along_what_is_told(steps: list[tuple[State, Deduction, Links]]) -> None:
    for _, step, links in steps:
        told = stages(step)
        for stage in told:
            way = [stage.assumed, *(each.candidate for each in stage.follows if each.holds)]
            assert set(pairwise(way)) <= set(links.follows)
            assert (links.second | step.eliminates) >> stage.assumed & 1
            assert all((links.first | step.eliminates) >> each & 1 for each in way[1:])
        assert set(links.broken) == {each.broken for each in told if each.broken is not None}
        assert (links.strong, links.weak, links.together) == ((), (), ())


def test_each_case_leads_to_what_falls(steps: list[tuple[State, Deduction, Links]]) -> None:
    joined = 0
    for state, step, links in steps:
        gone = {two for _, two in links.falling}
        assert all(state.layout.conflicts[one] >> two & 1 for one, two in links.falling)
        assert gone <= set(bits(step.eliminates))
        cases = [stage for stage in stages(step) if stage.excludes]
        if cases and step.eliminates.bit_count() <= MOST_FALLING:
            assert gone
            joined += 1
    assert joined


def test_arrows_squares_and_broken_rules_are_drawn(
    steps: list[tuple[State, Deduction, Links]],
) -> None:
    for state, step, links in steps:
        scene = board_scene(state, step)
        curves = [m for m in scene.marks if isinstance(m, Curve) and m.role == "follow-link"]
        assert len(curves) == len(links.follows)
        squares = [m for m in scene.marks if isinstance(m, Rect) and m.role == "second-node"]
        assert len(squares) == links.second.bit_count()
        rounds = [m for m in scene.marks if isinstance(m, Disc) and m.role == "first-node"]
        assert len(rounds) == (links.first & ~links.second).bit_count()
        outlined = {m for m in scene.marks if isinstance(m, Line) and m.role == "broken-outline"}
        cells, houses = premise_cells_and_houses(state.layout, links.broken)
        assert bool(outlined) == bool(cells or houses)


def test_the_pattern_of_an_argument_from_uniqueness_is_outlined() -> None:
    state, seen = read_puzzle(UNIQUE), 0
    way = route(state, EVERYTHING, unique=True)
    for before, step in zip(way.states(), way, strict=False):
        lines = [m for m in board_scene(before, step).marks if m.role == "pattern-outline"]
        found = pattern(step)
        if found is None:
            assert lines == []
            continue
        cells = {int((m.y1 + m.y2) / 2) * 9 + int((m.x1 + m.x2) / 2) for m in lines}
        assert cells == set(found.cells)
        seen += 1
    assert seen
