"""The commands `count` and `backbone`: what is true of the solutions, however it is found."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from gridcrux.cli.inputs import (
    AsJson,
    EngineName,
    LayoutName,
    PuzzleText,
    Seconds,
    checked_engine,
    checked_seconds,
    state_from,
)
from gridcrux.cli.output import console, framed, plural, print_json
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from gridcrux.engines.protocol import Count
    from gridcrux.proofs.counts import Backbone

MOST = 10**18
"""The highest limit of a count."""


def count(
    puzzle: PuzzleText = None,
    layout: LayoutName = None,
    limit: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=MOST,
            metavar="N",
            help="Stop at N solutions; set for each engine if left out.",
        ),
    ] = None,
    engine: EngineName = "kernel",
    seconds: Seconds = None,
    as_json: AsJson = False,
) -> None:
    """Count the solutions of a puzzle. Exit status 1 if none was found."""
    state = state_from(puzzle, layout)
    checked_engine(engine)
    checked_seconds(seconds)
    if engine == "kernel":
        prepare("count")
    from gridcrux.proofs.counts import count as count_solutions

    found = count_solutions(state, limit, engine, seconds)
    if as_json:
        print_json(
            {
                "count": found.value,
                "complete": found.complete,
                "engine": found.engine,
                "stopped_by": found.stopped_by,
                "effort": dict(found.effort),
            }
        )
    else:
        effort = "; ".join(f"{what}: {number:,}" for what, number in found.effort.items())
        print(_count_in_words(found, seconds))
        print(f"engine: {found.engine}{'; ' if effort else ''}{effort}")
    raise typer.Exit(0 if found.value else 1)


def _count_in_words(found: Count, seconds: float | None) -> str:
    if found.complete:
        if found.value == 0:
            return "no solution"
        return "exactly one solution" if found.value == 1 else plural(found.value, "solution")
    end = "the limit" if found.stopped_by == "limit" else f"{seconds:g} s"
    if found.value == 0:
        return f"unknown: no solution found within {end}, and the search is not complete"
    if found.stopped_by == "limit":
        return f"more than {plural(found.value, 'solution')}; the count stopped at the limit"
    return f"at least {plural(found.value, 'solution')}; the count stopped after {end}"


def backbone(
    puzzle: PuzzleText = None,
    layout: LayoutName = None,
    engine: EngineName = "kernel",
    seconds: Seconds = None,
    as_json: AsJson = False,
) -> None:
    """Find which digits occur in some solution, and which cells are the same in all.

    Exit status 1 if no solution was found.
    """
    state = state_from(puzzle, layout)
    checked_engine(engine)
    checked_seconds(seconds)
    if engine == "kernel":
        prepare("backbone")
    from gridcrux.proofs.counts import backbone as find_backbone

    found = find_backbone(state, engine, seconds)
    if as_json:
        print_json(
            {
                "cells": found.cells if found.solvable else {},
                "candidates": found.candidates,
                "complete": found.complete,
                "stopped_by": found.stopped_by,
            }
        )
    else:
        _show_backbone(found, seconds)
    raise typer.Exit(0 if found.solvable else 1)


def _show_backbone(found: Backbone, seconds: float | None) -> None:
    from rich.text import Text

    from gridcrux.grids.layout import SYMBOLS

    if not found.solvable:
        print(
            "no solution"
            if found.complete
            else f"unknown: no solution found within {seconds:g} s, and the search is not complete"
        )
        return
    state = found.state
    fixed, cells = found.cells, []
    for cell, (name, digits) in enumerate(found.candidates.items()):
        is_given = state.givens >> cell & 1
        look = "bold" if is_given else "cyan" if name in fixed else "dim"
        cells.append(Text("".join(SYMBOLS[digit - 1] for digit in digits), look))
    out = console()
    total, since = state.layout.cells, len(fixed) - state.givens.bit_count()
    out.print(
        f"{len(fixed)} of {total} cells hold the same digit in every solution: "
        f"{plural(state.givens.bit_count(), 'given')} and {since} more"
    )
    out.print(framed(state.layout, cells))
    if len(fixed) < total:
        out.print("cells with several digits: each of these occurs in some solution", style="dim")
    if not found.complete:
        out.print(
            f"not complete: {plural(found.undecided.bit_count(), 'candidate')} still undecided "
            f"after {seconds:g} s"
        )
