"""Where the links of a chain run: from rim to rim, clear of what else is marked.

Of some bends to either side the one is taken that covers least: marks of the step before all,
links that are drawn already, then digits.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import hypot
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.figures.links import Links
from gridcrux.figures.marks import Curve, Line, Mark
from gridcrux.figures.palette import STYLES
from gridcrux.figures.slots import DIGIT, Slots, place_of
from gridcrux.grids.state import State, bits

BENDS = (0.0, 0.08, 0.16, 0.23, 0.3, 0.38, 0.45, 0.55, 0.65)
"""How far the control point may lie aside, in lengths of the link."""

LEAST = (0.0, 1.6, 2.4, 3.2, 4.0, 4.8, 5.6, 6.4, 7.2)
"""The same in radii of a candidate, which is what counts for neighbours."""

_ROOM = 0.06
"""How far a link may leave the board."""

_NEAR = 2.6
"""Up to so many radii apart candidates leave no room between them: their link goes round the
outside, at least so many radii aside, so that it is seen."""

_CLEAR = 4.0
"""From so many radii on there is room for an arrow head; what is nearer is led on by its shape."""

_TIP = (1.15, 0.6)
"""Length and half width of an arrow head, in radii of a candidate."""

_STEPS = np.linspace(0.0, 1.0, 25)

Points = NDArray[np.float64]
Point = tuple[float, float]


class Obstacle(NamedTuple):
    """What a link should not cover: a circle, and how much it matters."""

    x: float
    y: float
    radius: float
    weight: float


def link_marks(state: State, links: Links, excluded: int) -> Iterator[Mark]:
    """Curves between the candidates that are linked, with arrow heads where there is an order.

    Roles of links that have an order have a look for their heads.
    """
    layout = state.layout
    radius = Slots.of(layout.size).radius
    router = Router(layout.size, radius, list(_obstacles(state, links, excluded)))
    for role, pairs in (
        ("strong-link", links.strong),
        ("weak-link", links.weak),
        ("follow-link", links.follows),
        ("together", links.together),
        ("fall-link", links.falling),
    ):
        for one, two in pairs:
            start, end = place_of(layout, one), place_of(layout, two)
            if start == end:
                continue
            curve = router.link(role, start, end)
            yield curve
            apart = hypot(end[0] - start[0], end[1] - start[1])
            head = role.replace("link", "tip")
            if head in STYLES and apart > _CLEAR * radius:
                yield from tip(head, curve, radius)


def _obstacles(state: State, links: Links, excluded: int) -> Iterator[Obstacle]:
    """Marks of the step, candidates, and digits that have a cell to themselves."""
    layout = state.layout
    radius = Slots.of(layout.size).radius
    marked = links.first | links.second | excluded
    for cell in range(layout.cells):
        if state.placed >> cell & 1:
            row, column = divmod(cell, layout.size)
            yield Obstacle(column + 0.5, row + 0.5, DIGIT / 2, 0.3)
    for candidate in bits(state.open):
        if not state.placed >> candidate % layout.cells & 1:
            weight = 12.0 if marked >> candidate & 1 else 0.3
            yield Obstacle(*place_of(layout, candidate), radius, weight)


class Router:
    """Draws links one after the other, each clear of those before it.

    Parameters
    ----------
    size : cells in a row of the board, which no link should leave.
    radius : of a candidate, which is where links begin and end.
    obstacles : what lies on the board.
    """

    def __init__(self, size: int, radius: float, obstacles: Sequence[Obstacle]) -> None:
        self._size = size
        self._radius = radius
        self._obstacles = np.array(obstacles, np.float64).reshape(-1, 4)
        self._drawn: list[Points] = []

    def link(self, role: str, start: Point, end: Point) -> Curve:
        """The link between two candidates, as it covers least."""
        length = hypot(end[0] - start[0], end[1] - start[1])
        near = length < _NEAR * self._radius
        aside = np.array(
            [
                sign * max(bend * length, least * self._radius)
                for bend, least in zip(BENDS, LEAST, strict=True)
                for sign in (1, -1)
                if (least >= _NEAR if near else bend or sign > 0)
            ]
        )
        first, last = np.array(start), np.array(end)
        right, down = (last - first) / length
        control = (first + last) / 2 + aside[:, None] * np.array((down, -right))
        begins, ends = self._rim(first, control), self._rim(last, control)
        paths = _along(begins, control, ends)
        costs = self._covered(paths, first, last) + 0.2 * np.abs(aside)
        best = int(np.argmin(np.round(costs, 6)))
        self._drawn.append(paths[best])
        places = np.concatenate((begins[best], control[best], ends[best]))
        return Curve(role, *map(float, places))

    def _rim(self, centre: Points, towards: Points) -> Points:
        """Where links leave a candidate."""
        away = towards - centre
        return centre + away * (self._radius / np.hypot(*away.T)[:, None])

    def _covered(self, paths: Points, first: Points, last: Points) -> Points:
        """(K,) how much of the obstacles, and of the links before, lies under K paths."""
        others = self._obstacles
        # The two ends are no obstacles to their own link.
        apart = np.abs(others[:, None, :2] - np.array([first, last])).max(axis=2).min(axis=1) > 1e-9
        others = others[apart]
        nearest = _distances(paths, others[:, :2]).min(axis=1)
        costs = (np.clip(1.15 - nearest / others[:, 2], 0, 1) * others[:, 3]).sum(axis=1)
        outside = np.abs(paths - paths.clip(-_ROOM, self._size + _ROOM)).max(axis=(1, 2))
        costs += 60.0 * outside
        for drawn in self._drawn:
            gap = _distances(paths[:, 6:-6], drawn).min(axis=(1, 2))
            costs += 2.0 * np.clip(1 - gap / self._radius, 0, 1)
        return costs


def tip(role: str, curve: Curve, radius: float) -> Iterator[Line]:
    """The two strokes of an arrow head at the end of a curve."""
    back, aside = (part * radius for part in _TIP)
    right, down = curve.x2 - curve.x, curve.y2 - curve.y
    length = hypot(right, down)
    right, down = right / length, down / length
    for side in (aside, -aside):
        yield Line(
            role,
            curve.x2,
            curve.y2,
            curve.x2 - right * back - down * side,
            curve.y2 - down * back + right * side,
        )


def points_of(curve: Curve) -> Points:
    """(25, 2) points along a curve."""
    start, control, end = (
        np.array([point])
        for point in ((curve.x1, curve.y1), (curve.x, curve.y), (curve.x2, curve.y2))
    )
    return _along(start, control, end)[0]


def _along(start: Points, control: Points, end: Points) -> Points:
    """(K, 25, 2) points along K curves, of which (K, 2) points are given."""
    t = _STEPS[:, None]
    return (1 - t) ** 2 * start[:, None] + 2 * t * (1 - t) * control[:, None] + t**2 * end[:, None]


def _distances(paths: Points, places: Points) -> Points:
    """(K, points, places) distances."""
    across = paths[:, :, None, 0] - places[:, 0]
    down = paths[:, :, None, 1] - places[:, 1]
    return np.hypot(across, down)
