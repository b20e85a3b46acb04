"""The command `describe`: data cards of files of puzzles and of studies."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Annotated

import typer

from gridcrux.cli.inputs import AsJson, BadInput, LayoutName, layout_named
from gridcrux.cli.output import listed, plural, print_json, tell
from gridcrux.cli.prepare import prepare


def describe(
    sources: Annotated[
        list[str],
        typer.Argument(
            metavar="SOURCE...",
            help="Files of puzzles, packed or not, or folders that 'gridcrux study' made.",
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="CARD.md", help="Write to this file instead of printing.", show_default=False
        ),
    ] = None,
    title: Annotated[
        str | None,
        typer.Option(metavar="TEXT", help="Title of the card; else the name.", show_default=False),
    ] = None,
    note: Annotated[
        list[str] | None,
        typer.Option(metavar="TEXT", help="What else the card shall say; may be repeated."),
    ] = None,
    licence: Annotated[
        str, typer.Option(metavar="TEXT", help="Terms under which it may be used.")
    ] = "",
    layout: LayoutName = None,
    sample: Annotated[
        int | None,
        typer.Option(
            min=1,
            metavar="N",
            help="Where there are more puzzles, ask a random sample of so many (50,000 if left "
            "out) whether givens can be spared and which puzzles are alike.",
            show_default=False,
        ),
    ] = None,
    seed: Annotated[int, typer.Option(min=0, metavar="S", help="Which sample.")] = 0,
    as_json: AsJson = False,
) -> None:
    """Make a data card: what is in a file of puzzles, and how it was made.

    It counts givens, solutions, symmetric patterns, puzzles that are twice in it, also up to
    symmetry, and puzzles with givens to spare. How the file was made is read from FILE.json
    beside FILE.csv; what nothing states, the card does not claim. Exit status 1 if there are no
    puzzles in a file.
    """
    each = layout_named(layout)
    for what in ("count", "shortlist", "describe"):
        prepare(what)
    from gridcrux.corpus.cards import SAMPLE
    from gridcrux.corpus.cards import describe as card_of
    from gridcrux.corpus.rows import NoStudy
    from gridcrux.grids.sources import PuzzleError

    command = _command(sources, out, title, note or [], licence, layout, sample, seed)
    cards = []
    try:
        for source in sources:
            cards.append(
                card_of(
                    source,
                    layout=each,
                    title=title,
                    notes=note or [],
                    licence=licence,
                    command=command,
                    sample=sample or SAMPLE,
                    seed=seed,
                    progress=True,
                )
            )
        if out is not None:
            text = "\n".join(card.markdown for card in cards)
            out.write_text(text, encoding="utf-8")
    except (PuzzleError, NoStudy) as error:
        raise BadInput(error) from error
    except OSError as error:
        raise BadInput(f"{error.filename or out}: {error.strerror or error}") from error
    if as_json:
        print_json([card.as_dict() for card in cards])
    elif out is None:
        print("\n".join(card.markdown for card in cards), end="")
    else:
        total = sum(card.survey.puzzles for card in cards)
        print(f"{plural(len(cards), 'card')} of {plural(total, 'puzzle')} in {out}")
    empty = [source for source, card in zip(sources, cards, strict=True) if not card.survey.puzzles]
    if empty:
        tell(f"no puzzles in {listed(empty)}")
        raise typer.Exit(1)


def _command(
    sources: list[str],
    out: Path | None,
    title: str | None,
    notes: list[str],
    licence: str,
    layout: str | None,
    sample: int | None,
    seed: int,
) -> str:
    """The command that makes the card again, without what is so anyway."""
    words = ["gridcrux", "describe", *sources]
    words += [] if title is None else ["--title", title]
    for note in notes:
        words += ["--note", note]
    words += ["--licence", licence] if licence else []
    words += ["--layout", layout] if layout else []
    words += [] if sample is None else ["--sample", str(sample)]
    words += ["--seed", str(seed)] if seed else []
    words += [] if out is None else ["--out", str(out)]
    return shlex.join(words)
