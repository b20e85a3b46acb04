"""The command `route`: how a person gets there, and what else there is at each step."""

from __future__ import annotations

from collections import Counter
from itertools import islice
from typing import TYPE_CHECKING, Annotated

import typer

from gridcrux.cli.inputs import BadInput, Solving, one_by_one
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

    from gridcrux.logic.deduction import Deduction
    from gridcrux.logic.route import Route

PATIENCE = 20
"""Seconds that counting the solutions may take before the route is shown without it."""

_MORE = "; --level last-resorts goes on by following assumptions"
WARNINGS = {
    "none": "the puzzle has no solution; what follows is where the steps lead anyway",
    "several": "the puzzle has several solutions; steps can only show what they share",
    "unknown": f"how many solutions the puzzle has was not found out in {PATIENCE} s",
}


AllAt = Annotated[
    int | None,
    typer.Option(
        "--all-at",
        metavar="STEP",
        min=1,
        help="Show instead all that could be done before this step of the way, 1 for the first.",
        show_default=False,
    ),
]


@one_by_one
def route(options: Solving, all_at: AllAt = None) -> None:
    """Solve a puzzle as a person would, step by step. Exit status 1 if it is not solved."""
    found, solutions = solve(options, "count", "route")
    if all_at is not None:
        _show_choice(found, all_at, solutions, options.as_json)
        return
    if options.as_json:
        print_json({**found.as_dict(), "solutions": solutions})
    else:
        _show_route(found, solutions)
    raise typer.Exit(0 if found.solved else 1)


def solve(options: Solving, *compiled: str) -> tuple[Route, str]:
    """The way through a puzzle, and how many solutions this has: a key of `WARNINGS` or "one".

    `compiled` are the commands whose compiled code is needed.
    """
    state = options.state
    for command in compiled:
        prepare(command)
    repertoire = options.repertoire
    from gridcrux.proofs.counts import how_many
    from gridcrux.proofs.uniqueness import NotUnique, require_unique
    from gridcrux.techniques.policies import UnknownPolicy, policy_named
    from gridcrux.techniques.solve import route as find_route

    try:
        policy_named(options.policy)
        require_unique(state, repertoire, PATIENCE)
    except (NotUnique, UnknownPolicy) as error:
        raise BadInput(error) from error
    solutions = how_many(state, PATIENCE)
    if options.as_json and solutions in WARNINGS:
        tell(WARNINGS[solutions])
    return find_route(state, repertoire, options.policy, unique=True), solutions


def warn(out: Console, solutions: str) -> None:
    if solutions in WARNINGS:
        out.print(WARNINGS[solutions], style="bold red")


def _show_route(found: Route, solutions: str) -> None:
    out = console()
    warn(out, solutions)
    boards = [board(found.start), board(found.end)] if len(found) else [board(found.start)]
    print_beside(out, *boards)
    out.print(ending(found) + advice(found, solutions))
    if len(found):
        steps = table(("step", {"justify": "right"}), "technique", "what it says")
        for number, step in enumerate(found, 1):
            steps.add_row(str(number), step.technique, step.sentence)
        out.print(steps)
    show_open(out, found)


def _show_choice(found: Route, number: int, solutions: str, as_json: bool) -> None:
    """All that could be done before a step of a route, and what the route did."""
    if number > len(found):
        raise BadInput(f"--all-at {number}: the route has {plural(len(found), 'step')}")
    from gridcrux.techniques.alternatives import alternatives

    before = next(islice(found.states(), number - 1, None))
    taken = found.steps[number - 1]
    groups = alternatives(before, found.repertoire, unique=True)
    if as_json:
        told = [
            {
                **group.as_dict(),
                "deductions": [{**step.as_dict(), "taken": _same(step, taken)} for step in group],
            }
            for group in groups
        ]
        print_json(
            {
                "step": number,
                "steps": len(found),
                "solutions": solutions,
                "policy": found.policy,
                "alternatives": told,
                "open": before.marks,
            }
        )
        return
    out = console()
    warn(out, solutions)
    out.print(board(before, candidates=True))
    ways = sum(len(group) for group in groups)
    out.print(
        f"before step {number} of {len(found)}: {plural(ways, 'deduction')} with "
        f"{plural(len(groups), 'different conclusion')}; the route takes the one in bold with *"
    )
    columns = ("", "what falls", "technique", ("width", {"justify": "right"}), "what it says")
    shown = table(*columns)
    for group in groups:
        falls = group.falls
        for step in group:
            mark, look = ("*", "bold") if _same(step, taken) else ("", "")
            shown.add_row(mark, falls, step.technique, str(step.width), step.sentence, style=look)
            falls = ""
        if group.including:
            names = Counter(step.technique for step in group.including)
            more = listed(f"{name} ({times})" for name, times in names.items())
            shown.add_row("", "", "", "", f"excluded with more by {more}", style="dim")
    out.print(shown)


def _same(step: Deduction, other: Deduction) -> bool:
    """Whether two deductions are one, whatever the technique is called."""
    return (step.premises, step.eliminates, step.places) == (
        other.premises,
        other.eliminates,
        other.places,
    )


def ending(found: Route) -> str:
    """How a route ended, in a sentence."""
    steps = plural(len(found), "step")
    if found.solved:
        return f"solved in {steps}"
    if found.status == "contradiction":
        broken = found.end.broken_rule
        what = "" if broken is None else f": {found.start.layout.rules[broken].name} is impossible"
        return f"not solved: a contradiction after {steps}{what}"
    return f"not solved: nothing applies any more after {steps}"


def advice(found: Route, solutions: str) -> str:
    """What may lead on where a level as a whole is stuck on a puzzle that can be solved."""
    from gridcrux.techniques.repertoires import LEVELS

    whole = found.repertoire in LEVELS.values()
    forces = any(technique.family == "forcing" for technique in found.repertoire)
    stuck = found.status == "stuck" and solutions == "one"
    return _MORE if stuck and whole and not forces else ""


def show_open(out: Console, found: Route) -> None:
    """The candidates left over, in the board where the route ended."""
    marks = found.end.marks
    if marks:
        out.print(f"{plural(len(marks), 'cell')} not written; what is open in them:")
        out.print(board(found.end, candidates=True))
        if [] in marks.values():
            out.print("!: nothing is left for the cell", style="dim")
