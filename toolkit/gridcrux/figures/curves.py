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
from gridcrux.figures.slots import DIGIT, Slots, place_of
from gridcrux.grids.state import State, bits

BENDS = (0.16, -0.16, 0.0, 0.3, -0.3, 0.45, -0.45, 0.65, -0.65)
"""How far the control point may lie to the left, in lengths of the link; the first of equals."""

_LEAST = (2.4, -2.4, 0.0, 4.0, -4.0, 5.6, -5.6, 7.2, -7.2)
"""The same in radii of a candidate, which is what counts for neighbours."""

_NEAR = 2.6
"""Up to so many radii apart candidates leave no room between them for a straight link."""

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
    """Curves between the candidates that are linked, with arrow heads where there is an order."""
    layout = state.layout
    radius = Slots.of(layout.size).radius
    router = Router(layout.size, radius, list(_obstacles(state, links, excluded)))
    for role, pairs in (
        ("strong-link", links.strong),
        ("weak-link", links.weak),
        ("fall-link", links.falling),
    ):
        for one, two in pairs:
            start, end = place_of(layout, one), place_of(layout, two)
            if start == end:
                continue
            curve = router.link(role, start, end)
            yield curve
            if role != "strong-link":
                yield from tip(role.replace("link", "tip"), curve, radius)
    for one, two in links.together:
        (x1, y1), (x2, y2) = place_of(layout, one), place_of(layout, two)
        yield Line("together", x1, y1, x2, y2)


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
            weight = 4.0 if marked >> candidate & 1 else 0.3
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
        curves, costs = [], []
        for bend, least in zip(BENDS, _LEAST, strict=True):
            far = bend * length
            if abs(far) < abs(least) * self._radius:
                far = least * self._radius
            elif not far and length < _NEAR * self._radius:
                continue
            curve = self._curve(role, start, end, far)
            curves.append(curve)
            costs.append(self._cost(curve, start, end) + 0.2 * abs(far))
        best = curves[int(np.argmin(np.round(costs, 6)))]
        self._drawn.append(_points(best))
        return best

    def _curve(self, role: str, start: Point, end: Point, far: float) -> Curve:
        """From rim to rim, through a control point `far` to the left of the middle."""
        (x1, y1), (x2, y2) = start, end
        length = hypot(x2 - x1, y2 - y1)
        x = (x1 + x2) / 2 + (y2 - y1) / length * far
        y = (y1 + y2) / 2 - (x2 - x1) / length * far
        return Curve(role, *self._rim(start, (x, y)), x, y, *self._rim(end, (x, y)))

    def _rim(self, centre: Point, towards: Point) -> Point:
        right, down = towards[0] - centre[0], towards[1] - centre[1]
        part = self._radius / hypot(right, down)
        return centre[0] + right * part, centre[1] + down * part

    def _cost(self, curve: Curve, start: Point, end: Point) -> float:
        """How much of the obstacles, and of the links before, lies under a curve."""
        points = _points(curve)
        others = self._obstacles
        # The two ends are no obstacles to their own link.
        ends = np.array([start, end])
        apart = np.abs(others[:, None, :2] - ends[None]).max(axis=2).min(axis=1) > 1e-9
        others = others[apart]
        nearest = _distances(points, others[:, :2]).min(axis=0)
        covered = np.clip(1.15 - nearest / others[:, 2], 0, 1) * others[:, 3]
        cost = float(covered.sum()) + 9.0 * float(np.abs(points - points.clip(0, self._size)).max())
        middle = points[6:-6]
        for drawn in self._drawn:
            gap = float(_distances(middle, drawn).min())
            cost += 2.0 * max(0.0, 1 - gap / self._radius)
        return cost


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


def _points(curve: Curve) -> Points:
    """(25, 2) points along a curve."""
    t = _STEPS[:, None]
    start, control, end = (
        np.array(point)
        for point in ((curve.x1, curve.y1), (curve.x, curve.y), (curve.x2, curve.y2))
    )
    return (1 - t) ** 2 * start + 2 * t * (1 - t) * control + t**2 * end


def _distances(some: Points, others: Points) -> Points:
    """(some, others) distances."""
    return np.hypot(*np.moveaxis(some[:, None] - others[None], 2, 0))
