"""The command `storyboard`: the walk through a puzzle, as pictures, a page and a document."""

from __future__ import annotations

import re
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.claims import After, Marks, state_after, what_to_know_first
from gridcrux.cli.inputs import BadInput, Solving, checked_unique, level_named, one_by_one
from gridcrux.cli.output import console, plural, print_json, table, tell
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from gridcrux.figures.storyboard import Storyboard

KINDS = ("svg", "png", "html", "pdf", "gif")

Out = Annotated[str, typer.Option("--out", metavar="DIR", help="Folder for the files.")]
Above = Annotated[
    str,
    typer.Option(
        metavar="LEVEL",
        help="Steps of this level are easy and gathered, each other gets a picture; 'nothing' for "
        "a picture of every step.",
    ),
]
Swap = Annotated[
    list[str] | None,
    typer.Option(
        metavar="N=K",
        help="At hard step N do the K-th of its other ways instead, as the page numbers both; "
        "may be repeated.",
        show_default=False,
    ),
]
Show = Annotated[
    list[int] | None,
    typer.Option(
        metavar="N",
        help="Tell only hard step N by itself, and gather the others; may be repeated.",
        show_default=False,
    ),
]
Speed = Annotated[
    float,
    typer.Option("--words-per-minute", metavar="W", help="How fast it will be spoken: 40 to 400."),
]
Kinds = Annotated[
    list[str] | None,
    typer.Option(
        "--file",
        metavar="KIND",
        help=f"Write this kind of file only ({', '.join(KINDS)}), beside chapters.txt and "
        "parts.csv; may be repeated.",
        show_default=False,
    ),
]
Title = Annotated[
    str | None,
    typer.Option(metavar="TEXT", help="Title of the page and the PDF.", show_default=False),
]


@one_by_one
def storyboard(
    options: Solving,
    out: Out = "storyboard",
    above: Above = "singles",
    marks: Marks = None,
    after: After = None,
    swap: Swap = None,
    show: Show = None,
    words_per_minute: Speed = 130.0,
    file: Kinds = None,
    title: Title = None,
) -> None:
    """Prepare a walk through a puzzle: what to look at, why, what falls, and what it opens.

    Easy steps are gathered, each hard step has a picture, what else could be done there, and
    whether one can do without it. Writes pictures (SVG and PNG), a page that needs no network, a
    PDF, an animated picture and a chapter list with times. Exit status 1 if the walk does not
    reach the end of the puzzle.
    """
    above = _above(above)
    if not out.strip():
        raise BadInput("--out '': expected the name of a folder, which is made if there is none")
    folder = Path(out)
    start = options.state
    repertoire = options.repertoire
    checked_unique(start, repertoire)
    for each in ("count", "crux", "needs"):
        prepare(each)
    state = state_after(start, marks, after)
    if marks is not None:
        from gridcrux.proofs.counts import how_many

        for note in what_to_know_first(start, state, how_many(state, seconds=5)):
            tell(note)
    from gridcrux.figures.storyboard import storyboard as tell_story
    from gridcrux.figures.storyboard.files import write_storyboard
    from gridcrux.figures.storyboard.story import NoSuchStep

    try:
        board = tell_story(
            state,
            repertoire,
            above=above,
            policy=options.policy,
            swaps=_swaps(swap),
            words_per_minute=words_per_minute,
        )
    except NoSuchStep as error:
        raise BadInput(f"--swap: {error}") from error
    except ValueError as error:
        raise BadInput(error) from error
    try:
        if show:
            board = board.chosen(show)
        written = write_storyboard(board, folder, tuple(file or KINDS), title)
    except NoSuchStep as error:
        raise BadInput(f"--show: {error}") from error
    except ValueError as error:
        raise BadInput(error) from error
    except OSError as error:
        raise BadInput(f"{error.filename or folder}: {error.strerror or error}") from error
    if options.as_json:
        print_json(_as_dict(board, written))
    else:
        _tell(board, written, folder)
    raise typer.Exit(0 if board.route.solved else 1)


def _above(name: str) -> str:
    """The level, or the word for none."""
    from gridcrux.techniques.repertoires import LEVELS

    if name.lower() == "nothing":
        return "nothing"
    if name not in LEVELS and get_close_matches(name.lower(), ["nothing"], cutoff=0.6):
        raise BadInput(f"--above: no level is called {name!r}; did you mean nothing?")
    level_named(name, "--above")
    return name


def _swaps(texts: list[str] | None) -> dict[int, int]:
    found: dict[int, int] = {}
    for text in texts or []:
        match = re.fullmatch(r"(\d+)=(\d+)", text.strip(), re.ASCII)
        if match is None:
            raise BadInput(
                f"--swap {text!r}: expected the number of a hard step and that of another way, "
                "as 3=2"
            )
        if int(match[1]) in found:
            raise BadInput(f"--swap {text}: hard step {match[1]} is swapped twice")
        found[int(match[1])] = int(match[2])
    return found


def _as_dict(board: Storyboard, written: list[Path]) -> dict[str, Any]:
    from gridcrux.corpus.rows import records_of

    return {
        "solved": board.route.solved,
        "seconds": round(board.duration, 1),
        "words_per_minute": board.words_per_minute,
        "parts": [
            {
                **row,
                "sentences": list(part.sentences),
                "same": [step.as_dict() for step in part.same],
                "others": [step.as_dict() for step in part.others],
            }
            for row, part in zip(records_of(board.table), board, strict=True)
        ],
        "files": [str(path) for path in written],
    }


def _tell(board: Storyboard, written: list[Path], out: Path) -> None:
    from gridcrux.figures.storyboard.words import clock

    shown = table(
        ("", {"justify": "right"}),
        ("from", {"justify": "right"}),
        "part",
        ("hard step", {"justify": "right"}),
        "status",
        ("open", {"justify": "right"}),
        ("other ways", {"justify": "right"}),
    )
    for begins, part in board.timed():
        open_ = "" if part.open is None else f"{part.open}{'*' if part.narrow else ''}"
        others = str(len(part.ways)) if part.hard else ""
        hard = str(part.hard_number or "")
        shown.add_row(
            str(part.number), clock(begins), part.title, hard, part.status or "", open_, others
        )
    screen = console()
    screen.print(f"{board.headline}\n")
    screen.print(shown)
    if any(part.narrow for part in board):
        screen.print("open: hard deductions on offer, * where they are fewest")
    if ending := board.parts[-1].ending:
        screen.print(ending)
    screen.print(f"{plural(len(written), 'file')} in {out}")
