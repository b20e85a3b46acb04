"""What the marks of boards mean: for each kind a small picture of it and a few words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from gridcrux.figures.curves import tip
from gridcrux.figures.marks import Curve, Disc, Frame, Label, Line, Mark, Rect, Scene
from gridcrux.figures.outlines import outline
from gridcrux.figures.shapes import around, layered

WIDTH, HEIGHT = 1.7, 1.1
"""Of a small picture, in cells."""

_SIZE, _RADIUS = 0.42, 0.24
"""Font size and radius of a candidate there."""


@dataclass(frozen=True)
class Entry:
    """A kind of mark.

    Attributes
    ----------
    role : that a picture has if the entry is of use beside it.
    words : what it means.
    scene : the small picture; it has no title, as the words stand beside it.
    """

    role: str
    words: str
    scene: Scene


def legend_of(scenes: Iterable[Scene]) -> list[Entry]:
    """The entries for the marks that occur in some scenes, in a fixed order."""
    roles = {mark.role for scene in scenes for mark in scene.marks}
    return [entry for entry in _entries() if entry.role in roles]


def _entries() -> Iterator[Entry]:
    x, y = WIDTH / 2, HEIGHT / 2
    one, two = x - 0.5, x + 0.5
    yield _entry(
        "premise-outline",
        "look here: a cell, or a house with its name",
        *_framed("premise-outline", x),
        Rect("premise-cell", x - 0.5, y - 0.5, 1, 1),
    )
    yield _entry("ring", "what is left there", *_candidate("base", x, "ring"))
    yield _entry("excluded-disc", "excluded", *_candidate("excluded", x, "excluded-disc"))
    yield _entry(
        "place-disc",
        "written by this step",
        Disc("place-disc", x, y, 0.4),
        Label("placed", x, y, 0.6, "5"),
    )
    yield _entry(
        "fresh-ring",
        "written by these steps",
        Disc("fresh-ring", x, y, 0.4),
        Label("written", x, y, 0.6, "5"),
    )
    strong = Curve("strong-link", one + _RADIUS, y, x, y, two - _RADIUS, y)
    yield _entry(
        "strong-link",
        "at least one of the two is true; the chain goes from circle to square, the two colours",
        strong,
        *_candidate("node", one, "first-node"),
        *_candidate("node", two, "second-node"),
    )
    weak = Curve("weak-link", one + _RADIUS, y, x, y, two - _RADIUS, y)
    yield _entry(
        "weak-link",
        "not both are true; the arrow goes on along the chain",
        weak,
        *tip("weak-tip", weak, 0.14),
        *_candidate("node", one, "second-node"),
        *_candidate("node", two, "first-node"),
    )
    follow = Curve("follow-link", one + _RADIUS, y, x, y, two - _RADIUS, y)
    yield _entry(
        "follow-link",
        "if the first is true, the next is told to be true; what is assumed is a square",
        follow,
        *tip("follow-tip", follow, 0.14),
        *_candidate("node", one, "second-node"),
        *_candidate("node", two, "first-node"),
    )
    yield _entry("broken-outline", "nothing is left here then", *_framed("broken-outline", x))
    yield _entry(
        "pattern-outline",
        "the pattern: its two digits could be exchanged here",
        *_framed("pattern-outline", x),
    )
    yield _entry(
        "together",
        "these are one place of the chain",
        Line("together", one + _RADIUS, y, two - _RADIUS, y),
        *_candidate("node", one, "first-node"),
        *_candidate("node", two, "first-node"),
    )
    fall = Curve("fall-link", 0.2, y, x, y, two - _RADIUS, y)
    yield _entry(
        "fall-link",
        "this excludes it: an end of the chain, or what is true in one of the cases",
        fall,
        *tip("fall-tip", fall, 0.14),
        *_candidate("excluded", two, "excluded-disc"),
    )
    yield _entry(
        "given-cell",
        "given",
        Rect("given-cell", x - 0.5, y - 0.5, 1, 1),
        Label("given", x, y, 0.6, "5"),
    )
    yield _entry("written", "written before", Label("written", x, y, 0.6, "5"))
    yield _entry("trail", "a diagonal: each digit once", Line("trail", one, y + 0.4, two, y - 0.4))


def _candidate(role: str, x: float, shape: str) -> Iterator[Mark]:
    y = HEIGHT / 2
    yield from around(shape, x, y, _RADIUS)
    yield Label(role, x, y, _SIZE, "5")


def _framed(role: str, x: float) -> Iterator[Mark]:
    y = HEIGHT / 2
    for x1, y1, x2, y2 in outline([0], 1, 0.06):
        yield Line(role, x1 + x - 0.5, y1 + y - 0.5, x2 + x - 0.5, y2 + y - 0.5)


def _entry(role: str, words: str, *marks: Mark) -> Entry:
    return Entry(role, words, Scene(Frame(0, 0, WIDTH, HEIGHT), layered(marks), "", ""))
