"""Links run from rim to rim, on the board, and under nothing else that is marked."""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

import numpy as np
import pandas as pd
import pytest

from gridcrux.figures.curves import Obstacle, Router, points_of, tip
from gridcrux.figures.links import links_of
from gridcrux.figures.marks import Curve
from gridcrux.figures.scene import board_scene
from gridcrux.figures.slots import Slots, place_of
from gridcrux.grids.state import bits
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.solve import route

RADIUS = 0.14


def nearest(curve: Curve, x: float, y: float) -> float:
    """How near a curve comes to a point."""
    return float(np.hypot(*(points_of(curve) - (x, y)).T).min())


def drawn() -> Iterator[tuple[Curve, list[tuple[float, float]]]]:
    """The curves of chains in some puzzles, each with the other marked candidates."""
    for puzzle in pd.read_csv("datasets/lantern_quay.csv")["puzzle"][:60]:
        way = route(read_puzzle(puzzle), LEVELS["almost-locked-sets"], unique=True)
        for state, step in zip(way.states(), way, strict=False):
            links = links_of(step)
            if links is None:
                continue
            radius = Slots.of(state.layout.size).radius
            marked = links.first | links.second | step.eliminates
            places = [place_of(state.layout, candidate) for candidate in bits(marked)]
            for curve in board_scene(state, step).marks:
                if not isinstance(curve, Curve):
                    continue
                ends = ((curve.x1, curve.y1), (curve.x2, curve.y2))
                yield (
                    curve,
                    [
                        (x, y)
                        for x, y in places
                        if all(abs(hypot(x - u, y - v) - radius) > 1e-6 for u, v in ends)
                    ],
                )


def test_no_link_runs_under_another_mark_or_off_the_board() -> None:
    curves = 0
    for curve, others in drawn():
        # It may touch the rim of a mark, but not what stands in it.
        assert all(nearest(curve, x, y) > 0.8 * Slots.of(9).radius for x, y in others)
        points = points_of(curve)
        assert points.min() > -0.1
        assert points.max() < 9.1
        curves += 1
    assert curves > 500


def test_a_link_gives_way_to_what_matters_most() -> None:
    plain = Router(9, RADIUS, []).link("strong-link", (1, 4), (6, 4))
    assert nearest(plain, 3.5, 4) == pytest.approx(0)
    x, y = points_of(plain)[12]
    moved = Router(9, RADIUS, [Obstacle(x, y, RADIUS, 4.0)]).link("strong-link", (1, 4), (6, 4))
    assert nearest(moved, x, y) >= RADIUS
    # Where every way is blocked, the way is that of the least weight.
    walls = [Obstacle(3.5, 0.25 * i, RADIUS, 4.0) for i in range(36) if not 9 <= i <= 11]
    through = Router(9, RADIUS, walls).link("strong-link", (1, 4), (6, 4))
    assert all(nearest(through, wall.x, wall.y) > 0.9 * RADIUS for wall in walls)


def test_links_keep_clear_of_links_before_them() -> None:
    router = Router(9, RADIUS, [])
    first, second = (router.link("weak-link", (1, 4), (6, 4)) for _ in range(2))
    assert nearest(second, *points_of(first)[12]) > RADIUS


@pytest.mark.parametrize("apart", [2.0, 2.83, 6.0])
def test_links_of_neighbours_can_be_seen(apart: float) -> None:
    start, end = (4.5, 4.5), (4.5 + apart * RADIUS, 4.5)
    curve = Router(9, RADIUS, []).link("strong-link", start, end)
    points = points_of(curve)
    assert float(np.hypot(*np.diff(points, axis=0).T).sum()) > 0.5 * RADIUS
    for (x, y), (u, v) in (((curve.x1, curve.y1), start), ((curve.x2, curve.y2), end)):
        assert hypot(x - u, y - v) == pytest.approx(RADIUS)


def test_arrow_heads_are_where_the_link_ends_and_behind_it() -> None:
    curve = Router(9, RADIUS, []).link("weak-link", (1, 4), (6, 4))
    strokes = list(tip("weak-tip", curve, RADIUS))
    assert len(strokes) == 2
    for stroke in strokes:
        assert (stroke.x1, stroke.y1) == (curve.x2, curve.y2)
        assert stroke.x2 < curve.x2
