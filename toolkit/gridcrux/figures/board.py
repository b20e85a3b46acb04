"""A board on matplotlib axes: the same scene as `svg`, in data coordinates of one cell each."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import groupby
from typing import Any

from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.font_manager import FontProperties
from matplotlib.patches import PathPatch
from matplotlib.path import Path
from matplotlib.textpath import TextPath
from matplotlib.transforms import Affine2D

from gridcrux.figures.marks import Curve, Disc, Label, Line, Mark, Rect, Scene
from gridcrux.figures.palette import STYLES, Style
from gridcrux.figures.scene import board_scene
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction


def plot_board(state: State, deduction: Deduction | None = None, *, ax: Axes | None = None) -> Axes:
    """Draw a state, with a deduction over it, on axes; looks as `svg.board_svg`.

    One artist is added for each kind of mark, with the role of the mark as its gid.  Cells are
    one unit wide and rows count downward, so that cell r1c1 has its centre at (0.5, 0.5).

    Parameters
    ----------
    state : as it is before the deduction.
    ax : None for axes of a new figure.

    Raises
    ------
    ValueError : state and deduction have different layouts.
    """
    return plot_scene(board_scene(state, deduction), ax=ax)


def plot_scene(scene: Scene, *, ax: Axes | None = None) -> Axes:
    """Draw a scene on axes; None for axes of a new figure."""
    if ax is None:
        _, ax = plt.subplots(figsize=_inches(scene))
    for rank, (role, group) in enumerate(groupby(scene.marks, key=lambda mark: mark.role)):
        style, marks = STYLES[role], list(group)
        paths = list(_paths(marks, style.bold))
        if paths:
            # Glyphs are shapes, so that they keep their size within the cells.  They do not
            # count for the limits of the axes, which are known and slow to find out from them.
            ax.add_artist(
                PathPatch(
                    Path.make_compound_path(*paths),
                    facecolor=style.fill or "none",
                    edgecolor=style.stroke or "none",
                    linewidth=_points(ax, scene, style.width),
                    alpha=style.opacity,
                    zorder=1 + rank / 100,
                    gid=role,
                )
            )
        curves = [mark for mark in marks if isinstance(mark, Curve)]
        if curves:
            ax.add_artist(
                PathPatch(
                    Path.make_compound_path(*map(_curve, curves)),
                    facecolor="none",
                    edgecolor=style.stroke,
                    linewidth=_points(ax, scene, style.width),
                    linestyle=_dashes(style),
                    capstyle="butt",
                    alpha=style.opacity,
                    zorder=1 + rank / 100,
                    gid=role,
                )
            )
        lines = [mark for mark in marks if isinstance(mark, Line)]
        if lines:
            width = _points(ax, scene, style.width)
            ax.add_collection(
                LineCollection(
                    [((line.x1, line.y1), (line.x2, line.y2)) for line in lines],
                    colors=style.stroke,
                    linewidths=width,
                    linestyles=_dashes(style),
                    capstyle="butt" if style.dash else "projecting",
                    alpha=style.opacity,
                    zorder=1 + rank / 100,
                    gid=role,
                ),
                autolim=False,
            )
    ax.set_xlim(scene.frame.left, scene.frame.right)
    ax.set_ylim(scene.frame.bottom, scene.frame.top)
    ax.set_aspect("equal")
    ax.set_axis_off()
    return ax


def _curve(mark: Curve) -> Path:
    ends = [(mark.x1, mark.y1), (mark.x, mark.y), (mark.x2, mark.y2)]
    return Path(ends, [Path.MOVETO, Path.CURVE3, Path.CURVE3])


def _dashes(style: Style) -> Any:
    """What matplotlib calls a line style: dashes are counted in widths of the line."""
    return (0, tuple(d / style.width for d in style.dash)) if style.dash else "solid"


def _inches(scene: Scene) -> tuple[float, float]:
    """The size of a figure for a scene alone."""
    return 0.52 * scene.frame.width, 0.52 * scene.frame.height


def _points(ax: Axes, scene: Scene, cells: float) -> float:
    """A width in cells as points, as the axes stand now."""
    box = ax.get_window_extent()
    pixels = min(box.width / scene.frame.width, box.height / scene.frame.height)
    return float(cells * pixels * 72 / ax.figure.dpi)


def _paths(marks: list[Mark], bold: bool) -> Iterator[Path]:
    """Filled marks as paths; lines are left out."""
    for mark in marks:
        match mark:
            case Rect(_, x, y, width, height):
                yield _moved(Path.unit_rectangle(), x, y, width, height)
            case Disc(_, x, y, radius):
                yield _moved(Path.unit_circle(), x, y, radius, radius)
            case Label(_, x, y, size, text):
                yield _moved(_glyphs(text, bold), x, y, size, -size)


def _moved(path: Path, x: float, y: float, width: float, height: float) -> Path:
    return path.transformed(Affine2D().scale(width, height).translate(x, y))


@lru_cache(maxsize=256)
def _glyphs(text: str, bold: bool) -> Path:
    """Text of font size 1 around the origin, y upward."""
    font = FontProperties(family="sans-serif", weight="bold" if bold else "normal")
    # At size 1 glyphs are hinted to nothing; they are drawn large and scaled down.
    path = TextPath((0, 0), text, size=100, prop=font)
    box = path.get_extents()
    tall = TextPath((0, 0), "8", size=100, prop=font).get_extents().height
    return path.transformed(Affine2D().translate(-(box.x0 + box.x1) / 2, -tall / 2).scale(0.01))
