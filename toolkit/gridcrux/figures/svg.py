"""A board as SVG text, for notebooks and pages; needs nothing but this package."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from html import escape
from itertools import groupby
from zlib import crc32

from gridcrux.figures.marks import Curve, Disc, Label, Line, Mark, Rect, Scene
from gridcrux.figures.palette import STYLES
from gridcrux.figures.scene import board_scene
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction

CELL = 44
"""Pixels of a cell where nothing else decides the size of the picture."""

BASELINE = 0.36
"""How far the baseline lies below the middle of a digit, in font sizes."""


def board_svg(state: State, deduction: Deduction | None = None) -> str:
    """An SVG picture of a state, with a deduction drawn over it.

    Premises are outlined and shaded, the candidates they had left are ringed, excluded ones
    are struck through, a placed digit stands in a disc.  Title and description say the same
    in words.

    Parameters
    ----------
    state : as it is before the deduction.

    Raises
    ------
    ValueError : state and deduction have different layouts.

    >>> from gridcrux.grids.text import read_puzzle
    >>> picture = board_svg(read_puzzle("4..1 .1.. ..1. 1..2"))
    >>> picture[:4], "4 by 4 puzzle with 6 givens" in picture
    ('<svg', True)
    """
    return scene_svg(board_scene(state, deduction))


def step_svg(deduction: Deduction) -> str:
    """An SVG picture of a deduction alone, on a board that has only what it looks at."""
    scene = board_scene(deduction.looked_at, deduction)
    # Nothing is known of the digits of the puzzle, so nothing is said of them.
    told = scene.description.partition(" Row 1: ")[0]
    title = f"what {deduction.technique} looks at"
    return scene_svg(replace(scene, title=title, description=told))


def scene_svg(scene: Scene) -> str:
    """An SVG picture of a scene; its title and description are those of the scene.

    A scene without a title is hidden from who reads with their ears: what it shows is told beside.
    """
    width, height = _px(scene.frame.width), _px(scene.frame.height)
    corner = f"{_px(scene.frame.left)} {_px(scene.frame.top)}"
    body = "".join(
        _group(role, marks) for role, marks in groupby(scene.marks, key=lambda mark: mark.role)
    )
    told = 'aria-hidden="true"'
    if scene.title:
        words = escape(scene.title), escape(scene.description)
        # An id of its own for every picture, the same whenever the same picture is made.
        name = f"board-{crc32((words[0] + words[1] + body).encode()):08x}"
        told = f'role="img" aria-labelledby="{name}-title {name}-desc"'
        body = (
            f'<title id="{name}-title">{words[0]}</title>'
            f'<desc id="{name}-desc">{words[1]}</desc>{body}'
        )
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {told} width="{width}" height="{height}" '
        f'viewBox="{corner} {width} {height}" style="max-width:100%;height:auto" '
        f'font-family="system-ui, sans-serif" text-anchor="middle">{body}</svg>'
    )


def _px(cells: float) -> str:
    """A length in pixels, with one decimal where it has one."""
    text = f"{cells * CELL:.1f}".removesuffix(".0")
    return "0" if text == "-0" else text


def _group(role: str, marks: Iterable[Mark]) -> str:
    style = STYLES[role]
    look = [f'class="{role}"', f'fill="{style.fill or "none"}"']
    if style.stroke:
        look += [f'stroke="{style.stroke}"', f'stroke-width="{_px(style.width)}"']
        look.append('stroke-linecap="square"' if style.dash is None else "")
    if style.dash:
        look.append(f'stroke-dasharray="{" ".join(map(_px, style.dash))}"')
    if style.opacity < 1:
        look.append(f'opacity="{style.opacity}"')
    if style.bold:
        look.append('font-weight="bold"')
    return f"<g {' '.join(filter(None, look))}>{''.join(_elements(list(marks)))}</g>"


def _path(mark: Line | Curve) -> str:
    through = f"Q{_px(mark.x)} {_px(mark.y)} " if isinstance(mark, Curve) else "L"
    return f"M{_px(mark.x1)} {_px(mark.y1)}{through}{_px(mark.x2)} {_px(mark.y2)}"


def _elements(marks: list[Mark]) -> Iterator[str]:
    labels = [mark for mark in marks if isinstance(mark, Label)]
    for mark in marks:
        match mark:
            case Rect(_, x, y, width, height):
                yield (
                    f'<rect x="{_px(x)}" y="{_px(y)}" width="{_px(width)}" height="{_px(height)}"/>'
                )
            case Disc(_, x, y, radius):
                yield f'<circle cx="{_px(x)}" cy="{_px(y)}" r="{_px(radius)}"/>'
    path = "".join(_path(mark) for mark in marks if isinstance(mark, Line | Curve))
    if path:
        yield f'<path d="{path}"/>'
    for size, same in groupby(labels, key=lambda label: label.size):
        texts = "".join(
            f'<text x="{_px(x)}" y="{_px(y + BASELINE * size)}">{escape(text)}</text>'
            for _, x, y, _, text in same
        )
        yield f'<g font-size="{_px(size)}">{texts}</g>'
