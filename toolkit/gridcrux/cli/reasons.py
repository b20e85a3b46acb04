"""The commands `route` and `crux`: how a person gets there, and what the way depends on."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import typer

from gridcrux.cli.inputs import (
    AsJson,
    LayoutName,
    Only,
    PuzzleText,
    Widest,
    Without,
    repertoire_of,
    state_from,
)
from gridcrux.cli.output import (
    board,
    console,
    listed,
    plural,
    print_beside,
    print_json,
    table,
    tell,
)
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from gridcrux.logic.route import Route
    from gridcrux.proofs.essential import Crux

PATIENCE = 20
"""Seconds that counting the solutions may take before the route is shown without it."""

_LOOK = {"essential": "bold red", "replaceable": "", "idle": "dim"}
_MEANING = (
    "essential: without it the techniques do not get as far; replaceable: they do, some other way; "
    "idle: nothing that follows rests on it"
)
_WARNINGS = {
    "none": "the puzzle has no solution; what follows is where the steps lead anyway",
    "several": "the puzzle has several solutions; steps can only show what they share",
    "unknown": f"how many solutions the puzzle has was not found out in {PATIENCE} s",
}


def route(
    puzzle: PuzzleText = None,
    layout: LayoutName = None,
    without: Without = None,
    only: Only = None,
    widest: Widest = None,
    as_json: AsJson = False,
) -> None:
    """Solve a puzzle as a person would, step by step. Exit status 1 if it is not solved."""
    state = state_from(puzzle, layout)
    prepare("route")
    repertoire = repertoire_of(without, only, widest)
    from gridcrux.techniques.solve import route as find_route

    found = find_route(state, repertoire)
    if as_json:
        print_json(found.as_dict())
    else:
        out = console()
        boards = [board(found.start), board(found.end)] if len(found) else [board(found.start)]
        print_beside(out, *boards)
        out.print(_ending(found))
        if len(found):
            steps = table(("step", {"justify": "right"}), "technique", "what it says")
            for number, step in enumerate(found, 1):
                steps.add_row(str(number), step.technique, step.sentence)
            out.print(steps)
        _show_open(out, found)
    raise typer.Exit(0 if found.solved else 1)


def crux(
    puzzle: PuzzleText = None,
    layout: LayoutName = None,
    without: Without = None,
    only: Only = None,
    widest: Widest = None,
    as_json: AsJson = False,
) -> None:
    """Tell which steps and techniques a solution cannot do without.

    Exit status 1 if the puzzle is not solved.
    """
    state = state_from(puzzle, layout)
    prepare("crux")
    repertoire = repertoire_of(without, only, widest)
    from gridcrux.proofs.counts import count
    from gridcrux.proofs.essential import crux as find_crux

    number = count(state, 2, seconds=PATIENCE)
    solutions = ("none", "one", "several")[number.value]
    if not number.complete and solutions != "several":
        solutions = "unknown"
    warning = _WARNINGS.get(solutions)
    found = find_crux(state, repertoire)
    if as_json:
        if warning:
            tell(warning)
        print_json({**found.as_dict(), "solutions": solutions})
    else:
        _show_crux(found, warning)
    raise typer.Exit(0 if found.solved else 1)


def _show_crux(found: Crux, warning: str | None) -> None:
    out = console()
    if warning:
        out.print(warning, style="bold red")
    way = found.route
    print_beside(out, board(way.end), _techniques(found))
    out.print(_ending(way))
    essential = found.statuses.count("essential")
    out.print(
        f"essential techniques: {listed(found.essential)}; steps: {essential} essential, "
        f"{found.statuses.count('replaceable')} replaceable, {found.idle} idle"
    )
    if len(way):
        steps = table(("step", {"justify": "right"}), "technique", "status", "what it says")
        for number, (step, status) in enumerate(found, 1):
            steps.add_row(str(number), step.technique, status, step.sentence, style=_LOOK[status])
        out.print(steps)
        out.print(_MEANING, style="dim")
    _show_open(out, way)


def _techniques(found: Crux) -> Table:
    """Each technique used, how often, and its status."""
    right = {"justify": "right"}
    used = Counter(step.technique for step in found.route)
    needed = Counter(step.technique for step, status in found if status == "essential")
    made = table("technique", ("steps", right), ("essential", right), "status")
    for name, status in found.techniques.items():
        made.add_row(name, str(used[name]), str(needed[name]), status, style=_LOOK[status])
    return made


def _ending(found: Route) -> str:
    """How a route ended, in a sentence."""
    steps = plural(len(found), "step")
    if found.solved:
        return f"solved in {steps}"
    if found.status == "contradiction":
        broken = found.end.broken_rule
        what = "" if broken is None else f": {found.start.layout.rules[broken].name} is impossible"
        return f"not solved: a contradiction after {steps}{what}"
    return f"not solved: nothing applies any more after {steps}"


def _show_open(out: Console, found: Route) -> None:
    """The candidates left over, in the board where the route ended."""
    marks = found.end.marks
    if marks:
        out.print(f"{plural(len(marks), 'cell')} not written; what is open in them:")
        out.print(board(found.end, candidates=True))
        if [] in marks.values():
            out.print("!: nothing is left for the cell", style="dim")
