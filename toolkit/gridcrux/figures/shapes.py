"""The marks around a candidate, and the order of drawing: the same on boards and in the legend."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from gridcrux.figures.marks import Disc, Line, Mark, Rect
from gridcrux.figures.palette import STYLES

_ORDER = {role: rank for rank, role in enumerate(STYLES)}


def layered(marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """Marks in the order of drawing."""
    return tuple(sorted(marks, key=lambda mark: _ORDER[mark.role]))


def around(role: str, x: float, y: float, radius: float) -> Iterator[Mark]:
    """What stands around a candidate of a radius: a circle, a square, or a disc struck through."""
    if role == "second-node":
        half = radius * 0.85
        yield Rect(role, x - half, y - half, 2 * half, 2 * half)
        return
    yield Disc(role, x, y, radius * 0.95)
    if role == "excluded-disc":
        # Falling, because the strokes of 1, 2, 4 and 7 rise.
        yield Line("strike", x - radius, y - radius, x + radius, y + radius)
