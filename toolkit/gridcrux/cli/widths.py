"""The command `width`: how many rules the hardest step needs, whatever techniques are known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.claims import After, Limit, Marks, state_after, what_to_know_first
from gridcrux.cli.inputs import (
    AsJson,
    BadInput,
    LayoutName,
    checked_seconds,
    level_named,
    state_from,
)
from gridcrux.cli.output import UNKNOWN, console, listed, meter, plural, print_json, table, tell
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from rich.console import Console

    from gridcrux.grids.state import State
    from gridcrux.logic.repertoire import Repertoire
    from gridcrux.proofs.explain.bottleneck import Bottleneck


def width(
    puzzle: Annotated[
        str,
        typer.Argument(
            metavar="PUZZLE", help="The puzzle, a file that holds it, or '-' for standard input."
        ),
    ] = "-",
    layout: LayoutName = None,
    marks: Marks = None,
    after: After = None,
    coverage: Annotated[
        str | None,
        typer.Option(
            metavar="LEVEL",
            help="Also tell which narrow eliminations the techniques of this level find, and "
            "which they miss, in the states where no single premise leads on.",
            show_default=False,
        ),
    ] = None,
    most: Annotated[
        int,
        typer.Option(metavar="K", min=1, max=6, help="Widest eliminations of --coverage."),
    ] = 3,
    seconds: Limit = 30.0,
    as_json: AsJson = False,
) -> None:
    """Find how many rules one has to look up at once, at least, in the hardest step.

    Whatever techniques are known: each step shown is as narrow as any could be at its turn.
    Exit status 1 if the time was up first.
    """
    checked_seconds(seconds)
    start = state_from(puzzle, layout)
    repertoire = None if coverage is None else level_named(coverage, "--coverage")
    prepare("count")
    prepare("prove")
    prepare("width")
    state = state_after(start, marks, after)
    from gridcrux.proofs.counts import how_many
    from gridcrux.proofs.explain.bottleneck import bottleneck

    notes = what_to_know_first(start, state, how_many(state, seconds))
    with meter() as show:
        found = bottleneck(
            state,
            seconds,
            lambda left, widest: show(f"{left} candidates to exclude; width so far {widest}"),
        )
    for note in notes:
        tell(note)
    if as_json:
        told = found.as_dict()
        if repertoire is not None:
            told["coverage"] = _coverage(found, start, repertoire, most)[1]
        print_json(told)
    else:
        _show_width(console(), found)
        if repertoire is not None:
            _show_coverage(console(), found, start, repertoire, most)
    raise typer.Exit(0 if found.exact else UNKNOWN)


def _show_width(screen: Console, found: Bottleneck) -> None:
    from gridcrux.proofs.explain.bottleneck import conclusion

    right = {"justify": "right"}
    if found.exact:
        screen.print(f"bottleneck width: {found.lower}", style="bold")
    else:
        screen.print(f"bottleneck width: at least {found.lower}; the time was up", style="bold")
    steps = "; ".join(f"{number} of width {size}" for size, number in found.counts().items())
    screen.print(f"{plural(len(found), 'step')}: {steps or 'none'}")
    shown = table(("step", right), ("width", right), "what falls", "shape", "premises")
    for number, step in enumerate(found, 1):
        look = "bold" if step.size == found.lower > 1 else "" if step.size > 1 else "dim"
        shown.add_row(
            str(number),
            str(step.size),
            conclusion(step),
            step.technique or "",
            listed(step.premise_names),
            style=look,
        )
    screen.print(shown)


def _coverage(
    found: Bottleneck, start: State, repertoire: Repertoire, most: int
) -> tuple[Any, dict[str, Any]]:
    """The table of what is found in the hard states, and the same for JSON."""
    from gridcrux.proofs.explain.coverage import coverage, coverage_table
    from gridcrux.proofs.uniqueness import NotUnique

    prepare("route")
    hard = [step.state for step in found if step.size > 1] or [start]
    try:
        table_ = coverage(hard, repertoire, most)
    except NotUnique as error:
        raise BadInput(error) from error
    shares = coverage_table(table_)
    missed = table_[table_["found_by"].isna()][["state", "candidate", "width", "premises", "shape"]]
    return table_, {
        "shares": shares.to_dict("records"),
        "missed": missed.where(missed.notna(), None).to_dict("records"),
    }


def _show_coverage(
    screen: Console, found: Bottleneck, start: State, repertoire: Repertoire, most: int
) -> None:
    _, told = _coverage(found, start, repertoire, most)
    right = {"justify": "right"}
    screen.print("Narrow eliminations in the states where no single premise leads on:")
    shares = table(
        ("width", right), ("there are", right), ("found", right), ("found as narrow", right)
    )
    for row in told["shares"]:
        shares.add_row(
            str(row["width"]),
            str(row["eliminations"]),
            f"{row['covered']} ({row['covered_share']:.0%})",
            f"{row['as_narrow']} ({row['as_narrow_share']:.0%})",
        )
    screen.print(shares)
    if told["missed"]:
        screen.print("Missed:")
        missed = table(("state", right), "candidate", ("width", right), "premises", "shape")
        for row in told["missed"]:
            missed.add_row(
                str(row["state"]),
                row["candidate"],
                str(row["width"]),
                row["premises"],
                row["shape"] or "",
            )
        screen.print(missed)
