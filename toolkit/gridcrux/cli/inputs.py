"""What is typed after a command, turned into states, layouts and repertoires."""

from __future__ import annotations

import math
import re
import sys
from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import wraps
from inspect import Parameter, Signature, signature
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, BinaryIO, get_type_hints

import typer

from gridcrux.cli.output import tell
from gridcrux.engines import get_counter, get_engine

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
ENGINE_NAMES = (
    "kernel, sat, cp, cover, or a path: cp/integers, a solver of python-sat with an encoding and "
    "a use as in cadical195/minimal/fresh"
)
EngineName = Annotated[str, typer.Option("--engine", metavar="NAME", help=f"{ENGINE_NAMES}.")]
Seconds = Annotated[
    float | None,
    typer.Option(metavar="S", help="Give up after this time.", show_default=False),
]
ResultsFolder = Annotated[
    Path, typer.Option("--out", metavar="DIR", help="Folder for the results.")
]
PuzzleFiles = Annotated[
    list[str] | None,
    typer.Argument(
        metavar="FILE",
        help="Files of puzzles, one a line or as a table with a column 'puzzle', packed or "
        "not; '-' (also if left out) for standard input.",
        show_default=False,
    ),
]
Workers = Annotated[
    int | None,
    typer.Option(
        min=1,
        metavar="N",
        help="Processes; if left out one a core, or none but this one for a few puzzles.",
        show_default=False,
    ),
]
Scheduler = Annotated[
    str | None,
    typer.Option(
        metavar="ADDRESS",
        help="Measure on the cluster of this Dask scheduler instead, as tcp://host:8786.",
        show_default=False,
    ),
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
LevelName = Annotated[
    str | None,
    typer.Option(
        "--level",
        metavar="NAME",
        help="How much is known, each level with all before it: singles, locked, subsets, fish, "
        "one-digit, two-digit-cells, chains, almost-locked-sets (if left out), last-resorts; or "
        "uniqueness, everything. 'gridcrux techniques' tells what is in them.",
        show_default=False,
    ),
]
NoUniqueness = Annotated[
    bool,
    typer.Option(
        "--no-uniqueness",
        help="Leave out the techniques that assume that the puzzle has exactly one solution.",
    ),
]
PolicyName = Annotated[
    str,
    typer.Option(
        "--policy",
        metavar="NAME",
        help="Which step comes next: the easiest; the narrowest (fewest premises); the nearest to "
        "the last; or what leads on with the fewest steps, looking one step ahead (fewest) or "
        "two (fewest-2).",
    ),
]


@dataclass(frozen=True)
class Solving:
    """What the commands that solve a puzzle as a person would have in common."""

    puzzle: PuzzleText = None
    layout: LayoutName = None
    level: LevelName = None
    without: Without = None
    only: Only = None
    widest: Widest = None
    no_uniqueness: NoUniqueness = False
    policy: PolicyName = "easiest"
    as_json: AsJson = False

    @property
    def state(self) -> State:
        return state_from(self.puzzle, self.layout)

    @property
    def repertoire(self) -> Repertoire:
        return repertoire_of(
            self.without, self.only, self.widest, self.level, not self.no_uniqueness
        )


def one_by_one(command: Callable[..., None]) -> Callable[..., None]:
    """Let a command take the fields of its first parameter, a dataclass, as options.

    typer wants every option in the signature; so commands can share theirs.
    """
    first, *others = signature(command).parameters.values()
    hints = get_type_hints(command, include_extras=True)
    kind: Any = hints[first.name]
    types = get_type_hints(kind, include_extras=True)
    shared = [Parameter(f.name, Parameter.KEYWORD_ONLY, default=f.default) for f in fields(kind)]
    own = [other.replace(kind=Parameter.KEYWORD_ONLY) for other in others]
    parameters = [p.replace(annotation={**types, **hints}[p.name]) for p in (*shared, *own)]

    @wraps(command)
    def call(**values: Any) -> None:
        given = {each.name: values.pop(each.name) for each in shared}
        command(kind(**given), **values)

    call.__signature__ = Signature(parameters)  # type: ignore[attr-defined]
    call.__annotations__ = {each.name: each.annotation for each in parameters}
    return call


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
    if text is not None and not text.strip():
        raise BadInput("the puzzle is empty; expected its cells row by row, a file, or '-'")
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


def checked_engine(name: str, counting: bool = False) -> str:
    """The name of an engine that exists, or also of what only counts."""
    try:
        (get_counter if counting else get_engine)(name)
    except (ValueError, ModuleNotFoundError) as error:
        raise BadInput(str(error)) from None
    return name


def checked_seconds(seconds: float | None, option: str = "--seconds") -> float | None:
    """A positive length of time, or None."""
    if seconds is not None and not (math.isfinite(seconds) and seconds > 0):
        raise BadInput(f"{option} {seconds:g}: expected a number above 0")
    return seconds


def level_named(name: str, option: str = "--level") -> Repertoire:
    """The repertoire of a level, named by an option."""
    from gridcrux.techniques.repertoires import UnknownLevel
    from gridcrux.techniques.repertoires import level_named as named

    try:
        return named(name)
    except UnknownLevel as error:
        raise BadInput(f"{option}: {error}") from error


def checked_unique(state: State, repertoire: Repertoire) -> None:
    """Refuse techniques that assume one solution where the puzzle has none or several."""
    from gridcrux.proofs.uniqueness import NotUnique, require_unique

    try:
        require_unique(state, repertoire)
    except NotUnique as error:
        raise BadInput(error) from error


def marks_from(path: Path, start: State) -> State:
    """The candidates in a file, as marks in a puzzle; the puzzle's givens stay givens."""
    from gridcrux.grids.state import State, bits

    if not path.exists():
        raise BadInput(f"--marks {path}: there is no such file")
    layout, closed = start.layout, []
    try:
        marks = state_from(str(path), layout.name)
    except BadInput as error:
        raise BadInput(
            f"--marks {error}. Marks are {layout.cells} cells, row by row, with blanks between "
            "them: the digits that are open in each"
        ) from error
    for cell, digit in enumerate(start.puzzle):
        if digit and not marks.is_open((digit - 1) * layout.cells + cell):
            closed.append(f"{layout.cell_name(cell)}={digit}")
    if closed:
        raise BadInput(
            f"--marks {path}: {', '.join(closed)} is given in the puzzle but not open in the marks"
        )
    # What conflicts with a given is closed, whether or not the marks have it still.
    both = State(layout, marks.open & start.open)
    still = sum(1 << cell for cell in bits(marks.placed) if both.digits_of(cell))
    return State(layout, both.open, start.placed | still, start.givens)


def repertoire_of(
    without: list[str] | None,
    only: list[str] | None,
    widest: int | None,
    level: str | None = None,
    uniqueness: bool = True,
) -> Repertoire:
    """The repertoire of a level, cut down as the options say.

    Without a level it is the usual one; but `only` may then name any technique there is.
    """
    from gridcrux.logic.repertoire import UnknownTechnique
    from gridcrux.techniques.repertoires import DEFAULT_LEVEL, EVERYTHING, LEVELS

    if level is not None:
        level_named(level)
    repertoire = EVERYTHING if only and level is None else LEVELS[level or DEFAULT_LEVEL]
    try:
        # Names are looked up among all: to leave out what is not in is no error.
        dropped = {EVERYTHING[name].name for name in without or ()}
        kept = {EVERYTHING[name].name for name in only or EVERYTHING.names}
    except UnknownTechnique as error:
        raise BadInput(error) from error
    beyond = sorted(set(only or ()) & kept - set(repertoire.names))
    if beyond:
        home = next(name for name, each in LEVELS.items() if beyond[0] in each.names)
        raise BadInput(f"{beyond[0]} is not in level {level}; it comes with level {home}")
    repertoire = repertoire.only(*(kept - dropped).intersection(repertoire.names))
    if not uniqueness:
        repertoire = repertoire.without_uniqueness()
    if widest is not None:
        repertoire = repertoire.widest(widest)
    if not len(repertoire):
        raise BadInput(
            "--level, --only, --without, --widest and --no-uniqueness leave no technique; "
            "expected at least one"
        )
    return repertoire
