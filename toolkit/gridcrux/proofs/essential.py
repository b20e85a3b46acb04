"""Which steps and techniques of a route are idle, replaceable or essential.

The goal is what the whole repertoire reaches: the solution, or where it gets stuck.

- A step is *idle* if the goal follows without it from the steps that remain (`logic.slicing`).
- A step is *replaceable* if the closure that may not draw its conclusion still reaches the goal:
  for an elimination, its candidates may be excluded by placements only; for a placement, its
  premise may not be used for a placement.
- A technique is *replaceable* if the closure of the repertoire without it reaches the goal.
- A single elimination of a step is idle if what remains stands without it from this step, and
  replaceable if the closure reaches the goal in which only placements may exclude it.
- Whatever is neither is *essential*.

`replay.reaches` is this definition; how it is told in little time is in `replay` and `statuses`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from typing import Any

import numpy as np

from gridcrux.grids.arrays import Words, to_words, word_count
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.records import CONTRADICTION, new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs import statuses
from gridcrux.proofs.desk import new_desk
from gridcrux.proofs.replay import reaches as reaches
from gridcrux.proofs.trust import certifying, refuse_unsound_own
from gridcrux.proofs.uniqueness import require_unique
from gridcrux.techniques.compiled.driver import run
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import Ints, tables
from gridcrux.techniques.policies import NOTHING
from gridcrux.techniques.repertoires import DEFAULT
from gridcrux.techniques.solve import board_of, route

ESSENTIAL, REPLACEABLE, IDLE = "essential", "replaceable", "idle"

NAMES = {statuses.ESSENTIAL: ESSENTIAL, statuses.REPLACEABLE: REPLACEABLE, statuses.IDLE: IDLE}
"""Statuses by their numbers in compiled code."""


@dataclass(frozen=True, eq=False)
class Crux:
    """A route with the status of each of its steps and techniques.

    Attributes
    ----------
    route : the route judged.
    techniques : status of every technique used, in the order of the repertoire.
    statuses : status of every step.
    """

    route: Route
    techniques: dict[str, str]
    statuses: tuple[str, ...] = field(repr=False)

    @property
    def solved(self) -> bool:
        return self.route.solved

    @property
    def essential(self) -> tuple[str, ...]:
        """Names of the essential techniques."""
        return tuple(name for name, status in self.techniques.items() if status == ESSENTIAL)

    @cached_property
    def idle(self) -> int:
        """Number of idle steps."""
        return self.statuses.count(IDLE)

    @cached_property
    def eliminations(self) -> tuple[dict[str, str], ...]:
        """For each step what it excludes, by name, with the status of that elimination alone.

        Empty for a step that writes a digit.  Worked out when first asked for.

        Raises
        ------
        ValueError : the route ends in a contradiction.
        """
        if self.route.ending == CONTRADICTION:
            raise ValueError("a route to a contradiction has no statuses of single eliminations")
        name = self.route.start.layout.candidate_name
        _, _, by_elimination = _statuses(self.route, each=True)
        return tuple(
            {name(c): NAMES[int(row[c])] for c in np.flatnonzero(row != statuses.UNUSED).tolist()}
            for row in by_elimination
        )

    @cached_property
    def sliced(self) -> Route:
        """The route without its idle steps; every step of it stands in its turn.

        Raises
        ------
        ValueError : it does not, which would be a fault of the slice.
        """
        short = self.route.sliced()
        if (flaw := short.flaw) is not None:
            raise ValueError(f"the route without its idle steps is no argument: {flaw}")
        return short

    def __iter__(self) -> Iterator[tuple[Deduction, str]]:
        return zip(self.route.steps, self.statuses, strict=True)

    def row(self) -> dict[str, Any]:
        return {
            "solved": self.solved,
            "steps": len(self.route),
            "essential_steps": self.statuses.count(ESSENTIAL),
            "replaceable_steps": self.statuses.count(REPLACEABLE),
            "idle_steps": self.idle,
            "essential_techniques": ", ".join(self.essential),
        }

    def as_dict(self) -> dict[str, Any]:
        route = self.route.as_dict()
        steps = zip(route.pop("steps"), self.statuses, strict=True)
        return {
            **route,
            "techniques": dict(self.techniques),
            "steps": [{**step, "status": status} for step, status in steps],
        }

    def _repr_html_(self) -> str:
        lines = "".join(
            f"<li><b>{escape(step.technique)}</b> ({status}): {escape(step.sentence)}</li>"
            for step, status in self
        )
        names = ", ".join(f"{name}: {status}" for name, status in self.techniques.items())
        return f"<p>{escape(self.route.status)}; {escape(names)}</p><ol>{lines}</ol>"


def crux(state: State, repertoire: Repertoire = DEFAULT, policy: str = "easiest") -> Crux:
    """Solve a state as a person would and say what the argument cannot do without.

    Raises
    ------
    NotUnique : the repertoire assumes that the puzzle has exactly one solution, and it has not.
    UnknownPolicy : there is no policy of that name.
    Unsound : as for `judge`.
    """
    require_unique(state, repertoire)
    return judge(route(state, repertoire, policy, unique=True))


def judge(found: Route) -> Crux:
    """The status of every step and every technique of a route.

    Raises
    ------
    Unsound : a technique that a user wrote finds what does not follow, on the route or on the
        way round it.
    """
    refuse_unsound_own(found)
    if found.ending == CONTRADICTION:
        return _judge_contradiction(found)
    by_technique, by_step, _ = _statuses(found, each=False)
    techniques = {
        technique.name: NAMES[status]
        for technique, status in zip(found.repertoire, by_technique.tolist(), strict=True)
        if status != statuses.UNUSED
    }
    return Crux(found, techniques, tuple(NAMES[status] for status in by_step.tolist()))


@certifying()
def _statuses(found: Route, each: bool) -> tuple[Ints, Ints, Ints]:
    """What `statuses.judge_route` says of a route, with single eliminations or without."""
    layout = found.start.layout
    desk = new_desk(layout, len(found))
    desk.start[:] = board_of(found.start)
    desk.goal[:] = board_of(found.end)
    desk.records[: len(found)] = found.records.table
    by_technique = np.empty(len(found.repertoire), np.int64)
    by_step = np.empty(len(found), np.int64)
    shape = (len(found), layout.candidates) if each else (0, 0)
    by_elimination = np.empty(shape, np.int64)
    statuses.judge_route(
        tables(layout),
        desk,
        plan_of(found.repertoire),
        len(found),
        found.ending,
        by_technique,
        by_step,
        by_elimination,
    )
    return by_technique, by_step, by_elimination


@certifying()
def _judge_contradiction(found: Route) -> Crux:
    """The statuses of a route to a contradiction: it is reached where any rule is left empty."""
    layout, start = found.start.layout, board_of(found.start)
    room = new_records(1, layout)

    def without(repertoire: Repertoire, forbidden: Words, barred: int) -> str:
        board = start.copy()
        _, ending = run(tables(layout), board, plan_of(repertoire), forbidden, barred, room)
        return REPLACEABLE if ending == CONTRADICTION else ESSENTIAL

    techniques = {
        name: without(found.repertoire.without(name), NOTHING, -1)
        for name, times in found.counts().items()
        if times
    }
    by_step = []
    for step, needed in zip(found.steps, found.needed, strict=True):
        if not needed:
            by_step.append(IDLE)
        elif step.places is None:
            forbidden = to_words(step.eliminates, word_count(layout))
            by_step.append(without(found.repertoire, forbidden, -1))
        else:
            by_step.append(without(found.repertoire, NOTHING, step.premises[0]))
    return Crux(found, techniques, tuple(by_step))
