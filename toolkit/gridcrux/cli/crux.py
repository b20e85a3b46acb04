"""The command `crux`: what a solution cannot do without, and how little it could do with."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from gridcrux.cli.inputs import BadInput, Solving, checked_seconds, level_named, one_by_one
from gridcrux.cli.output import (
    INTERRUPTED,
    board,
    console,
    listed,
    meter,
    plural,
    print_beside,
    print_json,
    table,
    tell_interrupted,
)
from gridcrux.cli.reasons import ending, show_open, solve, warn

if TYPE_CHECKING:
    from rich.console import Console
    from rich.table import Table

    from gridcrux.proofs.essential import Crux
    from gridcrux.proofs.hard.demand import Demand
    from gridcrux.proofs.hard.fewest import FewestSteps
    from gridcrux.proofs.hard.profile import CruxProfile
    from gridcrux.proofs.hard.ways import Ways
    from gridcrux.proofs.hard.without import WayRound
    from gridcrux.proofs.sufficient import TechniqueSets

SHOWN = 6
"""Technique sets of each kind that are printed."""

_LOOK = {"essential": "bold red", "replaceable": "", "idle": "dim"}
_MEANING = (
    "essential: without it the techniques do not get as far; replaceable: they do, some other way; "
    "idle: nothing that follows rests on it; open: hard deductions on offer before a hard step, "
    "* where they are fewest; lead: those after which something easy follows"
)

Above = Annotated[
    str,
    typer.Option(
        metavar="LEVEL", help="All techniques of this level are easy, and what goes beyond is hard."
    ),
]
Avoid = Annotated[
    list[str] | None,
    typer.Option(
        metavar="WHAT",
        help="Also look for a way round this technique, or elimination like r4c5!=7; may be "
        "repeated, for a way round all of them.",
        show_default=False,
    ),
]
Limit = Annotated[
    float, typer.Option(metavar="S", help="Time for each of the questions that may take long.")
]


Certify = Annotated[
    bool,
    typer.Option(
        "--certify",
        help="Also have a SAT solver check every step of the route without its idle steps, each "
        "from its premises alone.",
    ),
]


@dataclass(frozen=True)
class _Needs:
    """What is told of a puzzle beside the statuses."""

    demand: Demand
    ways: Ways | None
    round: WayRound | None

    def as_dict(self) -> dict[str, Any]:
        return {
            **self.demand.as_dict(),
            "shortest_ways": None if self.ways is None else self.ways.as_dict(),
            "way_round": None if self.round is None else self.round.as_dict(),
        }


@one_by_one
def crux(
    options: Solving,
    above: Above = "singles",
    avoid: Avoid = None,
    certify: Certify = False,
    seconds: Limit = 5.0,
) -> None:
    """Tell what a solution cannot do without, and how few hard steps it could do with.

    A status for each step and technique; the sets of techniques that suffice, and those that one
    cannot all do without; the fewest hard steps with a way to go; where the way is narrow; and,
    with --avoid, the way round what a setter has in mind. Exit status 1 if the puzzle is not
    solved, or not without what is to be avoided. Ctrl-C leaves the statuses.
    """
    checked_seconds(seconds)
    level_named(above, "--above")
    way, solutions = solve(options, "crux", "needs")
    from gridcrux.proofs.essential import judge

    found = judge(way)
    needs, refused, stopped = None, None, None
    try:
        needs = _needs(found, above, avoid or [], seconds)
        refused = _refused(found) if certify else None
    except KeyboardInterrupt as error:
        stopped = error
    if options.as_json:
        told = {**found.as_dict(), **({} if needs is None else needs.as_dict())}
        told |= {"solutions": solutions, **({} if stopped is None else {"interrupted": True})}
        if found.route.status != "contradiction":
            for step, each in zip(told["steps"], found.eliminations, strict=True):
                step["eliminations"] = each
        if refused is not None:
            told["sliced"] = {"steps": len(found.sliced), "refused": refused}
        print_json(told)
    else:
        _show(found, needs, solutions)
        if refused is not None:
            _show_certified(console(), found, refused)
    if needs is None or stopped is not None:
        tell_interrupted(stopped)
        raise typer.Exit(INTERRUPTED)
    avoided = needs.round is None or needs.round.avoidable
    raise typer.Exit(0 if found.solved and avoided and not refused else 1)


def _refused(found: Crux) -> list[int]:
    """Numbers of the steps, without the idle ones, that a SAT solver does not confirm."""
    from gridcrux.proofs.certified import certified

    certificates = certified(found.sliced)
    return [number for number, each in enumerate(certificates, 1) if not each.holds]


def _show_certified(out: Console, found: Crux, refused: list[int]) -> None:
    steps = f"without its idle steps the route has {plural(len(found.sliced), 'step')}"
    if refused:
        out.print(f"{steps}; not confirmed: {listed(map(str, refused))}", style="bold red")
    else:
        out.print(f"{steps}, each confirmed by a SAT solver from its premises alone")


def _needs(found: Crux, above: str, avoid: list[str], seconds: float) -> _Needs:
    """Answer all the questions, each with its own time."""
    from gridcrux.grids.names import NotationError
    from gridcrux.logic.repertoire import UnknownTechnique
    from gridcrux.proofs.hard.demand import demand
    from gridcrux.proofs.hard.ways import shortest_ways
    from gridcrux.proofs.hard.without import NothingToAvoid, way_round

    state, repertoire = found.route.start, found.route.repertoire
    with meter() as show:
        needs = demand(found.route, above, seconds=seconds, progress=show)
        ways = around = None
        if needs.fewest.exact and needs.fewest.solved:
            show("counting the shortest ways")
            ways = shortest_ways(needs.fewest, repertoire, seconds=seconds)
        if avoid:
            show("a way round")
            try:
                around = way_round(
                    state, avoid, repertoire, above, usual=needs.fewest, seconds=seconds
                )
            except (NothingToAvoid, NotationError, UnknownTechnique) as error:
                raise BadInput(f"--avoid: {error}") from error
    return _Needs(needs, ways, around)


def _show(found: Crux, needs: _Needs | None, solutions: str) -> None:
    out = console()
    warn(out, solutions)
    way = found.route
    print_beside(out, board(way.end), _techniques(found))
    out.print(ending(way))
    essential = found.statuses.count("essential")
    out.print(
        f"essential techniques: {listed(found.essential)}; steps: {essential} essential, "
        f"{found.statuses.count('replaceable')} replaceable, {found.idle} idle"
    )
    if way.status != "contradiction":
        single = [
            f"{name.replace('=', '!=')} (step {number})"
            for number, each in enumerate(found.eliminations, 1)
            for name, status in each.items()
            if status == "essential"
        ]
        out.print(f"essential eliminations: {listed(single)}")
    if needs is not None:
        _show_sets(out, needs.demand.sets)
        _show_fewest(out, needs)
        if needs.round is not None:
            out.print(needs.round.sentence, style="bold")
            if needs.round.avoidable:
                _show_hard(out, needs.round.round)
    _show_steps(out, found, None if needs is None else needs.demand.profile)
    show_open(out, way)


def _show_sets(out: Console, sets: TechniqueSets) -> None:
    """The smallest sets of both kinds, and how many there are."""
    if sets.sufficient == ((),):
        out.print("the placements alone get as far")
        return
    more = "" if sets.complete else " or more"
    kinds = (
        ("suffice beside placements", sets.sufficient),
        ("cannot all be left out", sets.blocking),
    )
    for verb, names in kinds:
        out.print(f"{plural(len(names), 'minimal set')}{more} of techniques that {verb}:")
        for each in names[:SHOWN]:
            out.print(f"  {listed(each)}")
        if len(names) > SHOWN:
            out.print(f"  and {len(names) - SHOWN:,} more (--json lists them)", style="dim")


def _show_fewest(out: Console, needs: _Needs) -> None:
    """The fewest hard steps, and what is known about ways that have no more."""
    fewest = needs.demand.fewest
    if not fewest.solved:
        out.print("the techniques do not solve the puzzle, so no number of hard steps is enough")
        return
    taken = len(needs.demand.profile.moments)
    out.print(f"above {fewest.above}: {fewest} (the route below takes {taken})", style="bold")
    if not fewest.upper:
        return
    wide = f"no step wider than {needs.demand.widest} is needed"
    about = [str(needs.demand.total), wide]
    if needs.ways is not None and fewest.upper:
        about.insert(0, f"shortest ways: {needs.ways}")
    out.print("; ".join(about))
    _show_hard(out, fewest)


def _show_hard(out: Console, fewest: FewestSteps) -> None:
    """The hard steps of a shortest way."""
    if fewest.route is None or not fewest.hard:
        return
    title = "a shortest way" if fewest.exact else "the shortest way found"
    steps = table(("", {"justify": "right"}), "technique", title)
    for number, place in enumerate(fewest.hard, 1):
        step = fewest.route.steps[place]
        steps.add_row(str(number), step.technique, step.sentence)
    out.print(steps)


def _show_steps(out: Console, found: Crux, profile: CruxProfile | None) -> None:
    """All steps of the route, with what was open before the hard ones."""
    if not len(found.route):
        return
    right = {"justify": "right"}
    moments = {} if profile is None else {moment.step: moment for moment in profile.moments}
    narrow = () if profile is None else profile.crux
    steps = table(
        ("step", right), "technique", "status", ("open", right), ("lead", right), "what it says"
    )
    for number, (step, status) in enumerate(found, 1):
        moment = moments.get(number)
        mark = "*" if number in narrow else ""
        counts = ("", "") if moment is None else (f"{mark}{moment.open}", str(moment.leading))
        steps.add_row(
            str(number), step.technique, status, *counts, step.sentence, style=_LOOK[status]
        )
    out.print(steps)
    out.print(_MEANING, style="dim")


def _techniques(found: Crux) -> Table:
    """Each technique used, how often, and its status."""
    right = {"justify": "right"}
    used = Counter(step.technique for step in found.route)
    needed = Counter(step.technique for step, status in found if status == "essential")
    made = table("technique", ("steps", right), ("essential", right), "status")
    for name, status in found.techniques.items():
        made.add_row(name, str(used[name]), str(needed[name]), status, style=_LOOK[status])
    return made
