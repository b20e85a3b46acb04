"""The links that are drawn are those of a chain: strong in a premise, weak between conflicts."""

from __future__ import annotations

from math import hypot

import pandas as pd
import pytest

from gridcrux.figures.links import FAMILIES, MOST_FALLING, Links, links_of
from gridcrux.figures.marks import Curve, Disc, Line, Rect
from gridcrux.figures.scene import board_scene
from gridcrux.figures.slots import Slots
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.solve import route

Step = tuple[State, Deduction, Links]


@pytest.fixture(scope="module")
def steps() -> list[Step]:
    """Steps with links on the way through some puzzles, of every technique that was met."""
    puzzles = pd.read_csv("datasets/lantern_quay.csv")["puzzle"][:120]
    found: list[Step] = []
    for puzzle in puzzles:
        way = route(read_puzzle(puzzle), LEVELS["almost-locked-sets"], unique=True)
        for state, step in zip(way.states(), way, strict=False):
            links = links_of(step)
            if links is not None:
                found.append((state, step, links))
    assert len({step.technique for _, step, _ in found}) > 8
    return found


def test_every_strong_link_lies_in_a_premise(steps: list[Step]) -> None:
    """Or, through an almost locked set, between cells that are premises."""
    for state, step, links in steps:
        layout = state.layout
        masks = [layout.rules[rule].mask for rule in step.premises]
        for one, two in links.strong:
            both = 1 << one | 1 << two
            cells = {one % layout.cells, two % layout.cells}
            assert any(not both & ~mask for mask in masks) or cells <= set(step.premises)


def test_every_weak_link_is_a_conflict(steps: list[Step]) -> None:
    for state, _, links in steps:
        assert all(state.layout.conflicts[one] >> two & 1 for one, two in links.weak)


def test_links_alternate_from_node_to_node(steps: list[Step]) -> None:
    for _, step, links in steps:
        assert len(links.strong) - 1 <= len(links.weak) <= len(links.strong)
        for number, (one, two) in enumerate(links.strong):
            assert (links.first | links.second) >> one & 1
            assert links.second >> two & 1
            if number < len(links.weak):
                assert links.second >> links.weak[number][0] & 1
        # What falls sees an end of the chain.
        assert all(
            any(step.layout.conflicts[k] >> node & 1 for node in bits(links.first | links.second))
            for k in bits(step.eliminates)
        )


def test_only_chains_have_links(steps: list[Step]) -> None:
    puzzle = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
    way = route(read_puzzle(puzzle), LEVELS["fish"])
    assert any(step.width > 1 for step in way)
    assert all(links_of(step) is None for step in way)
    for _, step, _ in steps:
        assert step.theorem is not None
        assert step.theorem.family in FAMILIES


def test_a_scene_shows_each_link_from_rim_to_rim(steps: list[Step]) -> None:
    for state, step, links in steps[:40]:
        layout = state.layout
        scene = board_scene(state, step)
        radius = Slots.of(layout.size).radius
        for role, pairs in (
            ("strong-link", links.strong),
            ("weak-link", links.weak),
            ("fall-link", links.falling),
        ):
            curves = [m for m in scene.marks if isinstance(m, Curve) and m.role == role]
            assert len(curves) == len([pair for pair in pairs if pair[0] != pair[1]])
            for curve, (one, two) in zip(curves, pairs, strict=True):
                for x, y, candidate in ((curve.x1, curve.y1, one), (curve.x2, curve.y2, two)):
                    digit, cell = divmod(candidate, layout.cells)
                    right, down = Slots.of(layout.size).place(digit)
                    middle = cell % layout.size + 0.5 + right, cell // layout.size + 0.5 + down
                    assert (x - middle[0]) ** 2 + (y - middle[1]) ** 2 == pytest.approx(radius**2)


def test_what_falls_is_joined_to_both_ends(steps: list[Step]) -> None:
    joined = 0
    for state, step, links in steps:
        if not links.falling:
            assert (
                len(links.weak) == len(links.strong) or step.eliminates.bit_count() > MOST_FALLING
            )
            continue
        fallen = 0
        for one, two in links.falling:
            assert step.eliminates >> two & 1
            assert state.layout.conflicts[one] >> two & 1
            fallen |= 1 << two
        # Once to the first node of the first link, and once to the second of the last.
        ends = [(links.first >> one & 1, links.second >> one & 1) for one, _ in links.falling]
        assert ends == [(1, 0), (0, 1)] * fallen.bit_count()
        joined += 1
    assert joined > 20


def test_arrows_end_where_their_link_ends(steps: list[Step]) -> None:
    for state, step, _ in steps[:40]:
        marks = board_scene(state, step).marks
        for kind in ("weak", "fall"):
            curves = [m for m in marks if isinstance(m, Curve) and m.role == f"{kind}-link"]
            tips = [m for m in marks if isinstance(m, Line) and m.role == f"{kind}-tip"]
            # Neighbours have no room for one.
            radius = Slots.of(state.layout.size).radius
            ends = [(m.x2, m.y2) for m in curves if hypot(m.x2 - m.x1, m.y2 - m.y1) > 3 * radius]
            assert set(ends) <= {(m.x1, m.y1) for m in tips} <= {(m.x2, m.y2) for m in curves}
            assert len(tips) % 2 == 0


def test_the_two_nodes_differ_in_shape(steps: list[Step]) -> None:
    both = [each for each in steps if each[2].first & each[2].second]
    assert both
    for state, step, links in (*steps[:40], *both):
        marks = board_scene(state, step).marks
        discs = [m for m in marks if m.role == "first-node"]
        squares = [m for m in marks if m.role == "second-node"]
        rings = [m for m in marks if m.role == "both-nodes"]
        shown = ~step.eliminates
        assert len(discs) == (links.first & ~links.second & shown).bit_count()
        assert len(rings) == (links.first & links.second & shown).bit_count()
        assert len(squares) == (links.second & shown).bit_count()
        assert all(isinstance(mark, Disc) for mark in discs)
        assert all(isinstance(mark, Rect) for mark in squares)
