"""Which steps and techniques of a route are idle, replaceable or essential.

The goal is what the whole repertoire reaches: the solution, or where it gets stuck.

- A step is *idle* if the goal follows without it from the steps that remain (`logic.slicing`).
- A step is *replaceable* if the closure that may not draw its conclusion still reaches the goal:
  for an elimination, its candidates may be excluded by placements only; for a placement, its
  premise may not be used for a placement.
- A technique is *replaceable* if the closure of the repertoire without it reaches the goal.
- Whatever is neither is *essential*.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.arrays import Words, to_words, word_count
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.records import new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.uniqueness import require_unique
from gridcrux.techniques.compiled.board import BLANKS, OPEN
from gridcrux.techniques.compiled.driver import run
from gridcrux.techniques.compiled.families import Plan, plan_of
from gridcrux.techniques.compiled.tables import Ints, Tables, tables
from gridcrux.techniques.policies import NOTHING
from gridcrux.techniques.repertoires import DEFAULT
from gridcrux.techniques.solve import board_of, route

ESSENTIAL, REPLACEABLE, IDLE = "essential", "replaceable", "idle"


@njit(cache=True)
def reaches(
    index: Tables,
    board: Ints,
    start: Ints,
    plan: Plan,
    forbidden: Words,
    barred: int,
    goal: Ints,
    room: Ints,
) -> bool:
    """Whether the closure of the board `start`, worked out on `board`, gets as far as `goal`.

    It does if it leaves no more candidates open and writes as many digits.
    """
    board[:] = start
    run(index, board, plan, forbidden, barred, room)
    for word in range(index.rules.shape[1]):
        if board[OPEN, word] & ~goal[OPEN, word]:
            return False
    return board[BLANKS, index.houses] <= goal[BLANKS, index.houses]


@njit(cache=True)
def essential_techniques(
    index: Tables,
    board: Ints,
    start: Ints,
    plan: Plan,
    used: NDArray[np.bool_],
    goal: Ints,
    room: Ints,
) -> NDArray[np.bool_]:
    """Which techniques of a plan, of those flagged in `used`, the goal is not reached without.

    Parameters
    ----------
    board, room : space to work in, one board and one record.
    start : the board at the start.
    goal : the board at the end of the whole repertoire.
    """
    order = plan.order
    essential = np.zeros(order.shape[0], np.bool_)
    rest = np.empty(order.shape[0] - 1, np.int64)
    nothing = np.empty(0, np.uint64)
    for i in range(order.shape[0]):
        if used[i]:
            rest[:i] = order[:i]
            rest[i:] = order[i + 1 :]
            essential[i] = not reaches(
                index, board, start, Plan(rest, plan.widest, plan.finders), nothing, -1, goal, room
            )
    return essential


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
    """
    require_unique(state, repertoire)
    return judge(route(state, repertoire, policy, unique=True))


def judge(found: Route) -> Crux:
    """The status of every step and every technique of a route."""
    layout, plan = found.start.layout, plan_of(found.repertoire)
    index, start = tables(layout), board_of(found.start)
    board, room = start.copy(), new_records(1, layout)
    goal = board_of(found.end)

    used = np.array(list(found.counts().values())) > 0
    flags = essential_techniques(index, board, start, plan, used, goal, room)
    techniques = {
        technique.name: ESSENTIAL if flag else REPLACEABLE
        for technique, is_used, flag in zip(found.repertoire, used, flags, strict=True)
        if is_used
    }
    statuses = []
    for step, needed in zip(found.steps, found.needed, strict=True):
        if not needed:
            statuses.append(IDLE)
            continue
        if step.places is None:
            forbidden, barred = to_words(step.eliminates, word_count(layout)), -1
        else:
            forbidden, barred = NOTHING, step.premises[0]
        reached = reaches(index, board, start, plan, forbidden, barred, goal, room)
        statuses.append(REPLACEABLE if reached else ESSENTIAL)
    return Crux(found, techniques, tuple(statuses))
