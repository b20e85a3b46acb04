"""The storyboard as one HTML page that needs nothing beside it: no network, no other file.

It can be read from top to bottom, without scripts and by a screen reader: every picture has its
title and description, every part is a section with a heading, and the chapter list links to them.
With scripts one part can be shown at a time, by buttons or by the arrow keys.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from importlib.resources import files

from gridcrux.figures.legend import legend_of
from gridcrux.figures.storyboard.part import Part
from gridcrux.figures.storyboard.story import Storyboard
from gridcrux.figures.storyboard.words import clock, outcome, plural
from gridcrux.figures.svg import scene_svg
from gridcrux.logic.deduction import Deduction

_STYLE, _SCRIPT = (
    files("gridcrux.figures.storyboard").joinpath(name).read_text("utf-8")
    for name in ("page.css", "page.js")
)

KEYS = (
    "Right and left arrow: one part at a time, on and back; Home and End: the first and the last; "
    "Escape: all parts."
)
"""What the keys do."""


def page(board: Storyboard, title: str = "A walk through a puzzle") -> str:
    """The page as text.

    Parameters
    ----------
    title : of the page; the puzzle itself is told below it.
    """
    items = "".join(
        f'<li><a href="#part-{part.number}"><time>{clock(begins)}</time>'
        f"{escape(part.title)}</a></li>"
        for begins, part in board.timed()
    )
    sections = "".join(map(_section, board))
    legend = "".join(
        f"<li>{scene_svg(entry.scene)}<span>{escape(entry.words)}</span></li>"
        for entry in legend_of(part.scene for part in board)
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n<body>\n"
        '<a class="skip" href="#parts">to the first part</a>\n'
        f"<header><h1>{escape(title)}</h1><p>{escape(board.headline)}.</p>"
        f'<div class="opening">{scene_svg(board.opening)}</div>'
        f'<p class="keys">{escape(KEYS)}</p></header>\n'
        f'<nav class="contents" aria-label="parts"><ol>{items}</ol></nav>\n'
        f'<main id="parts">\n{sections}</main>\n'
        f'<aside class="legend" aria-labelledby="marks"><h2 id="marks">What the marks mean</h2>'
        f"<ul>{legend}</ul></aside>\n"
        '<nav class="controls" aria-label="one part at a time">'
        '<button id="back" type="button">back</button>'
        '<button id="on" type="button">on</button>'
        '<button id="all" type="button" aria-pressed="true">all parts</button>'
        '<span id="where" role="status"></span></nav>\n'
        f"<script>{_SCRIPT}</script>\n</body>\n</html>\n"
    )


def _section(part: Part) -> str:
    said = f'<p class="look">{escape(part.look)}</p>' if part.look else ""
    others = (part.why, part.falls, part.opens, part.ending)
    said += "".join(f"<p>{escape(text)}</p>" for text in others if text)
    number = f" <small>(hard step {part.hard_number})</small>" if part.hard else ""
    if part.beside:
        said += f'<p class="beside">{escape(part.beside)}</p>'
    said += _ways(part.same, 1, "other way", "to the same")
    said += _ways(part.others, len(part.same) + 1, "other step", "that could be taken here")
    return (
        f'<section id="part-{part.number}" tabindex="-1" aria-labelledby="head-{part.number}">'
        f'<h2 id="head-{part.number}">{part.number}. {escape(part.title)}{number}</h2>'
        f"<div>{scene_svg(part.scene)}</div><div>{said}</div></section>\n"
    )


def _ways(steps: Sequence[Deduction], first: int, noun: str, what: str) -> str:
    """A list that can be opened, numbered on from where the one before it ends."""
    if not steps:
        return ""
    items = "".join(
        f"<li>{escape(step.technique)}, {escape(outcome(step))}: {escape(step.sentence)}</li>"
        for step in steps
    )
    head = escape(f"{plural(len(steps), noun)} {what}")
    return f'<details><summary>{head}</summary><ol start="{first}">{items}</ol></details>'
