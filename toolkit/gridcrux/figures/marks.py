"""Marks in cell units and the scene they make up; what draws a scene knows nothing of boards."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple


class Rect(NamedTuple):
    """A filled rectangle; x and y are its top left corner."""

    role: str
    x: float
    y: float
    width: float
    height: float


class Line(NamedTuple):
    """A straight line."""

    role: str
    x1: float
    y1: float
    x2: float
    y2: float


class Curve(NamedTuple):
    """A curved line from x1, y1 to x2, y2, drawn towards the control point x, y."""

    role: str
    x1: float
    y1: float
    x: float
    y: float
    x2: float
    y2: float


class Disc(NamedTuple):
    """A circle around x, y."""

    role: str
    x: float
    y: float
    radius: float


class Label(NamedTuple):
    """Text of a font size, centred at x, y."""

    role: str
    x: float
    y: float
    size: float
    text: str


Mark = Rect | Line | Curve | Disc | Label


class Frame(NamedTuple):
    """The part of the plane that a scene shows: left, top, right and bottom, y downward."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top


@dataclass(frozen=True)
class Scene:
    """Marks in the order of drawing; unit: one cell; origin: top left corner of the board.

    Attributes
    ----------
    frame : what is shown.
    title, description : the same in words, for those who do not see it.
    """

    frame: Frame
    marks: tuple[Mark, ...]
    title: str
    description: str

    def _repr_svg_(self) -> str:
        from gridcrux.figures.svg import scene_svg

        return scene_svg(self)
