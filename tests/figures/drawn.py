"""What is really drawn of a figure: its pixels, and its texts with the room that they take."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Any
from unittest.mock import patch

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text
from numpy.typing import NDArray

TOUCH = 1.0
"""Pixels by which frames of texts may run into each other: they are wider than what is in them."""


def figure_of(ax: Axes) -> Figure:
    assert isinstance(ax.figure, Figure)
    return ax.figure


def pixels(figure: Figure) -> NDArray[np.uint8]:
    """(height, width, 3) the figure as it looks."""
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    return np.asarray(canvas.buffer_rgba())[:, :, :3].copy()


def written(figure: Figure) -> list[tuple[str, NDArray[np.float64]]]:
    """Each text that is drawn, and its frame as four corners in pixels.

    Matplotlib has many labels of ticks that are never drawn, so it is watched at drawing.
    """
    canvas, found, draw = FigureCanvasAgg(figure), [], Text.draw

    def watch(text: Text, renderer: Any, *args: Any, **options: Any) -> None:
        draw(text, renderer, *args, **options)
        if text.get_visible() and text.get_text().strip():
            found.append((text.get_text(), _frame(text, renderer)))

    canvas.draw()  # Layout takes several passes, of which only the last is seen.
    with patch.object(Text, "draw", watch):
        canvas.draw()
    return found


def _frame(text: Text, renderer: Any) -> NDArray[np.float64]:
    """(4, 2) corners of a text, turned as it is.

    The upright box around a turned text has the same centre as the text.
    """
    # What annotates something has its arrow counted, but for the method of its parent.
    box, angle = Text.get_window_extent(text, renderer), text.get_rotation()
    text.set_rotation(0)
    flat = Text.get_window_extent(text, renderer)
    text.set_rotation(angle)
    half = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (flat.width / 2, flat.height / 2)
    cos, sin = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    middle = (box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2
    return half @ np.array([[cos, sin], [-sin, cos]]) + middle


def overlapping(texts: list[tuple[str, NDArray[np.float64]]]) -> list[tuple[str, str]]:
    """The pairs of texts that run into each other."""
    return [(one, two) for (one, a), (two, b) in combinations(texts, 2) if _meet(a, b)]


def _meet(one: NDArray[np.float64], two: NDArray[np.float64]) -> bool:
    """Whether rectangles meet: no direction of a side has a gap between them."""
    for side in (*_directions(one), *_directions(two)):
        a, b = one @ side, two @ side
        if min(a.max(), b.max()) - max(a.min(), b.min()) < TOUCH:
            return False
    return True


def _directions(corners: NDArray[np.float64]) -> Iterator[NDArray[np.float64]]:
    for side in (corners[1] - corners[0], corners[3] - corners[0]):
        yield side / max(float(np.hypot(*side)), 1e-9)
