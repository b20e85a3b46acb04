"""The command `givens`: which givens a puzzle can spare, or how many it still needs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.inputs import (
    AsJson,
    BadInput,
    LayoutName,
    PuzzleText,
    checked_seconds,
    state_from,
)
from gridcrux.cli.output import (
    INTERRUPTED,
    UNKNOWN,
    board,
    console,
    listed,
    meter,
    print_beside,
    print_json,
    tell_interrupted,
)
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from gridcrux.grids.state import State
    from gridcrux.proofs.givens import RedundantGivens

Limit = Annotated[
    float, typer.Option(metavar="S", help="Time for each of the questions that may take long.")
]

SHOWN = 12
"""Sets of further givens that are printed."""

_SAID = {
    "one": "one solution",
    "several": "several solutions",
    "unknown": "one solution or several",
}
"""What is known of a puzzle before its givens are looked at."""


def givens(
    puzzle: PuzzleText = None,
    layout: LayoutName = None,
    seconds: Limit = 20.0,
    as_json: AsJson = False,
) -> None:
    """Find which givens a puzzle can spare, or how many more it needs to have one solution.

    With one solution: the givens that can go, each on its own, and a smallest subset that still
    leaves one solution. With several: the fewest further givens that leave one, and the choices
    there are. Exit status 1 if the puzzle does not have one solution.
    """
    checked_seconds(seconds)
    state = state_from(puzzle, layout)
    prepare("count")
    prepare("backbone")
    from gridcrux.proofs.counts import how_many

    number = how_many(state, seconds)
    told: dict[str, Any] = {}
    ask = {"one": _spare, "none": _hopeless}.get(number, _missing)
    try:
        for part in ask(state, seconds, as_json):
            told |= part
    except KeyboardInterrupt as error:
        if as_json:
            print_json({"solutions": number, **told, "interrupted": True})
        elif not told:
            console().print(f"The puzzle has {_SAID[number]}.")
        tell_interrupted(error)
        raise typer.Exit(INTERRUPTED) from None
    if as_json:
        print_json({"solutions": number, **told})
    raise typer.Exit({"one": 0, "unknown": UNKNOWN}.get(number, 1))


def _spare(state: State, seconds: float, as_json: bool) -> Iterator[dict[str, Any]]:
    """What can go, each given on its own, and then together."""
    from gridcrux.proofs.givens import redundant_givens, sufficient_givens

    with meter() as show:
        show("which givens can go, each on its own")
        redundant = redundant_givens(state, seconds=seconds)
    if not as_json:
        console().print(_in_short(redundant))
    yield redundant.as_dict()
    with meter() as show:
        show("a smallest set of givens")
        few = sufficient_givens(state, seconds=seconds)
    if not as_json:
        out = console()
        out.print(f"{few}.")
        print_beside(out, board(state), board(few.state))
        out.print(few.state.line)
    yield {"smallest": few.as_dict()}


def _in_short(redundant: RedundantGivens) -> str:
    """Which givens can go, or where these are most of many, which cannot."""
    from gridcrux.logic.wording import listing

    of, few = len(redundant.answers), len(redundant.needed)
    if not redundant.complete or few * 2 > of or len(redundant.redundant) <= SHOWN:
        return f"{redundant}."
    if not few:
        return f"Each of the {of} givens is redundant, on its own."
    return (
        f"{len(redundant.redundant)} of {of} givens are redundant, each on its own: all but "
        f"{listing(redundant.needed)}."
    )


def _hopeless(state: State, seconds: float, as_json: bool) -> Iterator[dict[str, Any]]:
    """That there is no solution."""
    if not as_json:
        console().print("The puzzle has no solution; no further givens can help.")
    yield {}


def _missing(state: State, seconds: float, as_json: bool) -> Iterator[dict[str, Any]]:
    """What must be added."""
    from gridcrux.proofs.further import further_givens

    with meter() as show:
        try:
            more = further_givens(state, seconds=seconds, progress=show)
        except TimeoutError as error:
            raise BadInput(error) from error
    if not as_json:
        out = console()
        print_beside(out, board(state), board(more.state))
        out.print(f"The puzzle has several solutions: {more}.")
        if more.number is not None and more.number > 1:
            choices = [" + ".join(names) for names in more.choices[:SHOWN]]
            left = more.number - len(choices)
            out.print(f"choices: {listed(choices)}" + (f" and {left:,} more" if left > 0 else ""))
        elif more.number is None and more.exact:
            out.print(
                "These are one choice; others of as many are not counted where three or more are "
                "needed."
                if more.upper > 2
                else "There was no time to count the other choices."
            )
        if more.upper:
            out.print(more.state.line)
    yield {"further": more.as_dict()}
