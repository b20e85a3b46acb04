"""What is typed after a command, turned into states, layouts and repertoires."""

from __future__ import annotations

import math
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, BinaryIO

import typer

from gridcrux.cli.output import tell
from gridcrux.engines import ENGINES

if TYPE_CHECKING:
    from gridcrux.grids.layout import Layout
    from gridcrux.grids.state import State
    from gridcrux.logic.repertoire import Repertoire

LONGEST = 1 << 20
"""Bytes read of what should be one puzzle."""

SHORTEST = 16
"""Characters of the smallest puzzle; a shorter argument is meant as a file."""

_FILE_NAME = re.compile(r"[/\\]|\.[A-Za-z]{2,7}\d?$")


class BadInput(Exception):
    """Input that cannot be used; the message is one line that says what and why."""

    def __str__(self) -> str:
        return " ".join(str(self.args[0]).split())


PuzzleText = Annotated[
    str | None,
    typer.Argument(
        metavar="PUZZLE",
        help="The puzzle row by row with '.' or '0' for a blank, or a file that holds it, "
        "or '-' (also if left out) for standard input.",
        show_default=False,
    ),
]
LayoutName = Annotated[
    str | None,
    typer.Option(
        "--layout",
        metavar="NAME",
        help="Box height x width like '2x3', or 'latin-5'; '-diagonals' may follow. "
        "If left out, the number of cells decides.",
        show_default=False,
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON instead of text.")]
EngineName = Annotated[
    str, typer.Option("--engine", metavar="NAME", help=f"One of {', '.join(ENGINES)}.")
]
Seconds = Annotated[
    float | None,
    typer.Option(metavar="S", help="Give up after this time.", show_default=False),
]
Without = Annotated[
    list[str] | None,
    typer.Option(metavar="TECHNIQUE", help="Leave this technique out; may be repeated."),
]
Only = Annotated[
    list[str] | None,
    typer.Option(metavar="TECHNIQUE", help="Use no other than this; may be repeated."),
]
Widest = Annotated[
    int | None,
    typer.Option(
        metavar="K", min=1, help="Use techniques of at most K premises.", show_default=False
    ),
]


def layout_named(name: str | None) -> Layout | None:
    """The layout of that name, None for none."""
    from gridcrux.grids.layout import named

    try:
        return None if name is None else named(name)
    except ValueError as error:
        raise BadInput(error) from error


def state_from(text: str | None, layout_name: str | None) -> State:
    """The state that the argument of a command means."""
    from gridcrux.grids.sources import PuzzleError, open_source
    from gridcrux.grids.text import read_puzzle

    layout = layout_named(layout_name)
    try:
        if text is None or text == "-":
            invite()
            source = "standard input"
            return read_puzzle(_content(open_source("-"), source), layout, source)
        if _is_file(text):
            with open_source(text) as stream:
                return read_puzzle(_content(stream, text), layout, text)
        return read_puzzle(text, layout)
    except PuzzleError as error:
        if error.source == "argument" and _looks_like_file(text or ""):
            raise BadInput(f"{text!r} is neither a file nor a puzzle") from error
        raise BadInput(error) from error


def invite() -> None:
    """Tell who sits at a terminal that the command waits for input."""
    if sys.stdin.isatty():
        tell("type or paste a puzzle, then end the input (Ctrl-D)")


def _is_file(text: str) -> bool:
    try:
        return "\n" not in text and Path(text).exists()
    except (OSError, ValueError):
        return False


def _looks_like_file(text: str) -> bool:
    """Whether text that is no puzzle is more likely the name of a missing file."""
    return "\n" not in text and (len(text) < SHORTEST or bool(_FILE_NAME.search(text)))


def _content(stream: BinaryIO, source: str) -> str:
    from gridcrux.grids.sources import blocks

    content = bytearray()
    for block in blocks(stream, source):
        content += block
        if len(content) > LONGEST:
            break
    return content.decode("utf-8", "replace")


def checked_engine(name: str) -> str:
    """The name of an engine that exists."""
    if name not in ENGINES:
        raise BadInput(f"no engine is called {name!r}; there are {', '.join(ENGINES)}")
    return name


def checked_seconds(seconds: float | None) -> float | None:
    """A positive length of time, or None."""
    if seconds is not None and not (math.isfinite(seconds) and seconds > 0):
        raise BadInput(f"--seconds {seconds:g}: expected a number above 0")
    return seconds


def repertoire_of(
    without: list[str] | None, only: list[str] | None, widest: int | None
) -> Repertoire:
    """The full repertoire, cut down as the options say."""
    from gridcrux.logic.repertoire import UnknownTechnique
    from gridcrux.techniques.repertoires import FIRST_FAMILY

    repertoire = FIRST_FAMILY
    try:
        if only:
            repertoire = repertoire.only(*only)
        # Names are looked up in the whole repertoire: to leave out what is not in is no error.
        dropped = {FIRST_FAMILY[name].name for name in without or ()}
    except UnknownTechnique as error:
        raise BadInput(error) from error
    repertoire = repertoire.without(*dropped.intersection(repertoire.names))
    if widest is not None:
        repertoire = repertoire.widest(widest)
    if not len(repertoire):
        raise BadInput("--only, --without and --widest leave no technique; expected at least one")
    return repertoire
