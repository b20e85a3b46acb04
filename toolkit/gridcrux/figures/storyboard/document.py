"""The storyboard as a document: a page of what is in it, then a page a part."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from textwrap import TextWrapper
from typing import Any

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from gridcrux.figures.board import plot_scene
from gridcrux.figures.legend import Entry, legend_of
from gridcrux.figures.palette import GREY
from gridcrux.figures.storyboard.part import Part
from gridcrux.figures.storyboard.story import Storyboard
from gridcrux.figures.storyboard.words import clock, plural

WIDTH, HEIGHT = 8.27, 11.69
"""A page of A4 in inches."""

LEFT, RIGHT, TOP = 0.08, 0.92, 0.96
LEADING = 1.35
SIZES = (11.0, 10.0, 9.0, 8.0, 7.0, 6.0)
"""Font sizes of what is said: the first that fits."""

FEW = 30
"""Parts that the page of contents lists in large letters."""

BOTTOM, LEGEND = 0.04, 0.24
"""Where a page ends, and the height of the legend."""

ACROSS = 82
"""Letters of the largest size in a line of what is said: names have wide ones."""

_TOP: dict[str, Any] = {"va": "top", "ha": "left"}


def document(board: Storyboard, title: str) -> bytes:
    """The storyboard as a PDF, without a date in it."""
    drawn = BytesIO()
    with PdfPages(drawn, metadata={"Title": title, "CreationDate": None}) as pages:
        for contents in _contents(board, title):
            pages.savefig(contents)
        for begins, part in board.timed():
            pages.savefig(sheet(part, begins))
    return drawn.getvalue()


def _contents(board: Storyboard, title: str) -> Iterator[Figure]:
    """Title, parts with their times and numbers, and what the marks mean."""
    left = [(clock(begins), f"{part.number}. {part.title}") for begins, part in board.timed()]
    size, down, letters = (10.5, 0.0185, 85) if len(left) <= FEW else (8.5, 0.0125, 105)
    first = True
    while left or first:
        figure = Figure(figsize=(WIDTH, HEIGHT))
        head = wrapped(title if first else f"{title} (continued)", 46)
        figure.text(LEFT, TOP, head, fontsize=18, weight="bold", **_TOP)
        below = TOP - 0.03 * (head.count("\n") + 1)
        if first:
            said = wrapped(f"{board.headline}.", 95)
            figure.text(LEFT, below, said, fontsize=10, color=GREY, **_TOP)
            below -= 0.017 * (said.count("\n") + 1)
        below -= 0.012
        room = int((below - BOTTOM) / down)
        for row, (time, text) in enumerate(left[:room]):
            place = below - down * row
            figure.text(LEFT + 0.06, place, time, fontsize=size, va="top", ha="right", color=GREY)
            figure.text(LEFT + 0.08, place, shortened(text, letters), fontsize=size, **_TOP)
        below -= down * len(left[:room])
        left, first = left[room:], False
        if not left:
            if below < BOTTOM + LEGEND:
                yield figure
                figure = Figure(figsize=(WIDTH, HEIGHT))
                figure.text(LEFT, TOP, "What the marks mean", fontsize=18, weight="bold", **_TOP)
                below = TOP - 0.05
            draw_legend(
                figure,
                legend_of(part.scene for part in board),
                (LEFT, below - LEGEND, 0.84, LEGEND - 0.02),
            )
        yield figure


def sheet(part: Part, begins: float) -> Figure:
    """The page of a part: the board, below it what is said, then how much depends on it."""
    figure = Figure(figsize=(WIDTH, HEIGHT))
    head = wrapped(f"{part.number}. {part.title}", 46)
    figure.text(LEFT, TOP, head, fontsize=14, weight="bold", **_TOP)
    hard = f"hard step {part.hard_number}, " if part.hard else ""
    beside = f"{hard}{clock(begins)}"
    figure.text(RIGHT, TOP, beside, fontsize=11, color=GREY, va="top", ha="right")
    frame = part.scene.frame
    height = min(0.52, 0.84 * WIDTH / HEIGHT * frame.height / frame.width)
    plot_scene(part.scene, ax=figure.add_axes((LEFT, 0.92 - height, 0.84, height)))
    beside = "\n".join(wrapped(text, 100) for text in (part.beside, said_of_ways(part)) if text)
    figure.text(LEFT, 0.03, beside, fontsize=9, color=GREY, va="bottom", ha="left", linespacing=1.3)
    low = 0.045 + 9 * 1.3 / 72 / HEIGHT * (beside.count("\n") + 1)
    text, size = fitting("\n\n".join(part.sentences), (0.9 - height - low) * HEIGHT * 72)
    figure.text(LEFT, 0.9 - height, text, fontsize=size, linespacing=LEADING, **_TOP)
    return figure


def said_of_ways(part: Part, named: int = 4) -> str:
    """What else could be done, in a line or two: the first ones named, with their numbers."""
    said, first = [], 1
    for what, ways in (("Other ways to the same", part.same), ("Instead", part.others)):
        names = [
            f"{number}. {way.technique} ({way.verdict})"
            for number, way in enumerate(ways[:named], first)
        ]
        if len(ways) > named:
            names.append(f"and {plural(len(ways) - named, 'other')}")
        if names:
            said.append(f"{what}: {'; '.join(names)}.")
        first += len(ways)
    return " ".join(said)


def fitting(text: str, points: float) -> tuple[str, float]:
    """A text in lines, and the largest font size at which they are no higher than some points."""
    for size in SIZES:
        # A letter is about half as wide as it is high.
        width = round(ACROSS * SIZES[0] / size)
        lines = "\n\n".join(wrapped(each, width) for each in text.split("\n\n"))
        if (lines.count("\n") + 1) * size * LEADING <= points:
            break
    return lines, size


def wrapped(text: str, width: int) -> str:
    """A text in lines of so many letters; names with hyphens stay whole."""
    return TextWrapper(width, break_on_hyphens=False).fill(text)


def shortened(text: str, letters: int) -> str:
    """A text of so many letters at most; what is cut off has dots in its place."""
    return text if len(text) <= letters else text[: letters - 4].rstrip(" ,;") + " ..."


def draw_legend(
    figure: Figure, entries: list[Entry], box: tuple[float, float, float, float], columns: int = 2
) -> None:
    """The small pictures and their words within a part of a figure (left, low, width, height)."""
    left, low, width, height = box
    rows = max(-(-len(entries) // columns), 1)
    across = width / columns
    down = min(height / rows, 0.4 / figure.get_figheight())
    for number, entry in enumerate(entries):
        column, row = divmod(number, rows)
        x, y = left + column * across, low + height - (row + 1) * down
        plot_scene(entry.scene, ax=figure.add_axes((x, y, 0.13 * across, down)))
        words = wrapped(entry.words, 46)
        figure.text(x + 0.15 * across, y + down / 2, words, fontsize=8, va="center")
