"""The commands `count` and `backbone`: what is true of the solutions, however it is found."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from gridcrux.cli.inputs import (
    ENGINE_NAMES,
    AsJson,
    BadInput,
    EngineName,
    LayoutName,
    PuzzleText,
    Seconds,
    checked_engine,
    checked_seconds,
    state_from,
)
from gridcrux.cli.output import UNKNOWN, console, framed, plural, print_json
from gridcrux.cli.prepare import prepare, prepare_cover
from gridcrux.proofs.counts import KERNEL_LIMIT, LIBRARY_LIMIT

if TYPE_CHECKING:
    from gridcrux.engines.protocol import Count
    from gridcrux.grids.state import State
    from gridcrux.proofs.counts import Backbone
    from gridcrux.proofs.total import Total

MOST = 10**18
"""The highest limit of a count."""

PATIENCE = 60.0
"""Seconds after which bounds are good enough, if nothing else is said."""


def count(
    puzzle: PuzzleText = None,
    layout: LayoutName = None,
    limit: Annotated[
        int | None,
        typer.Option(
            min=1,
            max=MOST,
            metavar="N",
            help="Stop at N solutions. If left out, all are counted; by an engine that visits "
            f"each, up to {KERNEL_LIMIT:,} (kernel) or {LIBRARY_LIMIT:,}.",
            show_default=False,
        ),
    ] = None,
    engine: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help=f"{ENGINE_NAMES}; or ganak or bands, which only count. If left out, whatever "
            "gets to the end.",
            show_default=False,
        ),
    ] = None,
    seconds: Annotated[
        float | None,
        typer.Option(
            metavar="S",
            help=f"Give up after this time; {PATIENCE:g} if neither a limit nor an engine is "
            "named.",
            show_default=False,
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Count the solutions of a puzzle, exactly where possible. Exit status 1 if there is none.

    Where an exact count does not end in time, an estimate with its guarantee or bounds are told.
    """
    state = state_from(puzzle, layout)
    checked_seconds(seconds)
    if engine == "cover":
        prepare_cover()
    if engine is not None:
        checked_engine(engine, counting=True)
    if engine == "bands":
        prepare("joining bands")
    elif engine in (None, "kernel"):
        prepare("count")
    if limit is None and engine is None:
        _count_all(state, PATIENCE if seconds is None else seconds, as_json)
        return
    from gridcrux.engines import get_engine
    from gridcrux.proofs.counts import count as count_solutions

    if engine is not None and limit is not None:
        try:
            get_engine(engine)
        except ValueError:
            raise BadInput(
                f"{engine} counts to the end whatever the limit; leave out --limit, or end it by "
                "--seconds"
            ) from None
    try:
        found = count_solutions(state, limit, engine or "kernel", seconds)
    except (ValueError, ModuleNotFoundError) as error:
        raise BadInput(str(error)) from None
    if as_json:
        print_json(
            {
                "count": found.value,
                "complete": found.complete,
                "lower": found.value,
                "upper": found.value if found.complete else None,
                "engine": found.engine,
                "stopped_by": found.stopped_by,
                "effort": dict(found.effort),
            }
        )
    else:
        print(_count_in_words(found, seconds))
        print(f"engine: {found.engine}{_effort_in_words(found.effort)}")
    raise typer.Exit(0 if found.value else 1 if found.complete else UNKNOWN)


def _count_all(state: State, seconds: float, as_json: bool) -> NoReturn:
    """Tell the number of all solutions, or what is known of it."""
    from gridcrux.proofs.total import total

    def begins(method: str) -> None:
        if method == "joining bands":
            prepare(method)

    with _bar() as progress:
        found = total(state, seconds, begins=begins, progress=progress)
    if as_json:
        print_json(
            {
                "count": found.value if found.exact else None,
                "complete": found.exact,
                "estimate": None if found.exact else found.value,
                "lower": found.lower,
                "upper": found.upper,
                "confidence": found.confidence,
                "method": found.method,
                "stopped_by": found.stopped_by,
                "effort": found.effort,
            }
        )
    else:
        print(_total_in_words(found, seconds))
        print(f"{found.source}{_effort_in_words(found.effort)}")
    raise typer.Exit(0 if found.value or found.lower else 1 if found.exact else UNKNOWN)


@contextmanager
def _bar() -> Iterator[Callable[[int, int], None]]:
    """A progress bar, on a terminal, for a count that takes more than a second."""
    from tqdm import tqdm

    with tqdm(total=1, delay=1, leave=False, disable=None, unit="product", unit_scale=True) as bar:

        def progress(done: int, all_: int) -> None:
            bar.total = all_
            bar.update(done - bar.n)

        yield progress


def _total_in_words(found: Total, seconds: float) -> str:
    if found.exact:
        if not found.value:
            return "no solution"
        return "exactly one solution" if found.value == 1 else plural(found.value, "solution")
    if found.value is not None:
        return (
            f"about {found.value:,} solutions; between {found.lower:,} and {found.upper:,} with "
            f"a probability of at least {found.confidence:g}"
        )
    most = "" if found.upper is None else f" and at most {found.upper:,}"
    if not found.lower:
        return f"unknown: no solution found within {seconds:g} s{most and ', but' + most[4:]}"
    return f"at least {found.lower:,}{most} solutions; {seconds:g} s were not enough for more"


def _effort_in_words(effort: Mapping[str, int]) -> str:
    return "".join(f"; {what}: {number:,}" for what, number in effort.items())


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

    Exit status 1 if there is no solution.
    """
    state = state_from(puzzle, layout)
    if engine == "cover":
        prepare_cover()
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
    raise typer.Exit(0 if found.solvable else 1 if found.complete else UNKNOWN)


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
