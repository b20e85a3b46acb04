"""How few hard steps a puzzle takes, with a proven lower bound and a way to go."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

import numpy as np

from gridcrux.engines.limits import Deadline
from gridcrux.grids.arrays import to_words
from gridcrux.grids.state import State
from gridcrux.logic.records import Records, new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.hard.layers import Layers, Progress
from gridcrux.proofs.hard.moves import Walk
from gridcrux.proofs.trust import certifying
from gridcrux.proofs.uniqueness import require_unique
from gridcrux.techniques.compiled.driver import apply, run
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import Ints, tables
from gridcrux.techniques.policies import NOTHING
from gridcrux.techniques.repertoires import DEFAULT
from gridcrux.techniques.solve import board_of, route

ABOVE = "singles"
"""The level of which all is easy, if no other is named."""

SECONDS = 10.0


@dataclass(frozen=True, eq=False)
class FewestSteps:
    """How few hard steps a repertoire needs.

    Attributes
    ----------
    start : the state asked about.
    above : the level that counts as easy; what else the repertoire has is hard.
    lower : no way has fewer hard steps; None if the repertoire does not solve the puzzle.
    hard : places of the hard steps in `route`.
    route : a way with `upper` hard steps, all easy ones written out, or None if none was found.
    stopped_by : None if the number is exact, else "seconds".
    """

    start: State
    above: str
    lower: int | None
    route: Route | None = field(repr=False)
    hard: tuple[int, ...] = field(repr=False)
    stopped_by: str | None

    @property
    def solved(self) -> bool:
        """Whether the repertoire solves the puzzle at all."""
        return self.lower is not None

    @property
    def upper(self) -> int | None:
        """The fewest hard steps that are known to suffice, or None."""
        return None if self.route is None else len(self.hard)

    @property
    def exact(self) -> bool:
        """Whether the answer is known: the number, or that there is none."""
        return self.lower == self.upper

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "fewest_hard_steps": self.upper if self.exact else None,
            "lower_bound": self.lower,
            "upper_bound": self.upper,
            "above": self.above,
            "stopped_by": self.stopped_by,
        }

    def as_dict(self) -> dict[str, Any]:
        """The bounds and the way, as JSON can hold them."""
        steps = [] if self.route is None else [step.as_dict() for step in self.route]
        for place in self.hard:
            steps[place]["hard"] = True
        return {
            "upper": self.upper,
            "lower": self.lower,
            "above": self.above,
            "stopped_by": self.stopped_by,
            "route": steps,
        }

    def __str__(self) -> str:
        if self.lower is None:
            return "the techniques do not solve the puzzle"
        if self.upper is None:
            return f"at least {self.lower} hard step{'' if self.lower == 1 else 's'}"
        if self.upper == 0:
            return "no hard step is needed"
        if self.exact:
            return f"{self.upper} hard step{'' if self.upper == 1 else 's'}, and no fewer will do"
        return f"between {self.lower} and {self.upper} hard steps"

    def _repr_html_(self) -> str:
        steps = () if self.route is None else (self.route.steps[place] for place in self.hard)
        lines = "".join(
            f"<li><b>{escape(step.technique)}</b>: {escape(step.sentence)}</li>" for step in steps
        )
        return f"<p>{escape(str(self))} (above {escape(self.above)})</p><ol>{lines}</ol>"


@certifying()
def fewest_hard_steps(
    state: State,
    repertoire: Repertoire = DEFAULT,
    above: str = ABOVE,
    *,
    forbidden: int = 0,
    seconds: float | None = SECONDS,
    progress: Progress | None = None,
) -> FewestSteps:
    """The fewest hard steps with which a repertoire solves a puzzle, everything easy being free.

    A hard step is one deduction that the repertoire offers in a state in which nothing easy is
    left, with all that it excludes.  The bound takes for granted that what is on offer in a state
    is on offer where more is excluded, or more is, in one step; `benchmarks/hard.py` compares
    with a search that does not.

    Parameters
    ----------
    above : name of the level of which all techniques are easy.
    forbidden : mask of candidates that only placements may exclude.
    seconds : limit, after which bounds and the best way so far are returned.
    progress : told the bounds now and then.

    Raises
    ------
    NotUnique : the repertoire assumes that the puzzle has exactly one solution, and it has not.
    Unsound : a technique that a user wrote finds what does not follow.
    UnknownLevel : there is no level of that name.

    >>> from gridcrux.grids.text import read_puzzle
    >>> puzzle = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."
    >>> print(fewest_hard_steps(read_puzzle(puzzle)))
    3 hard steps, and no fewer will do
    """
    require_unique(state, repertoire)
    walk = Walk.above(state, repertoire, above, forbidden)
    known = _hard_steps(state, repertoire, walk)
    if known is None:
        return FewestSteps(state, above, None, None, (), None)
    walk.prepare()
    layers = Layers(walk, Deadline(seconds), progress)
    layers.search(known)
    if layers.best is None:
        return FewestSteps(state, above, layers.lower, None, (), "seconds")
    way, hard = written_out(walk, repertoire, layers.best)
    stopped = None if layers.lower == len(hard) else "seconds"
    return FewestSteps(state, above, layers.lower, way, hard, stopped)


def _hard_steps(state: State, repertoire: Repertoire, walk: Walk) -> list[Ints] | None:
    """The hard steps of the route that takes the easiest first, or None if it solves nothing."""
    if walk.forbidden:
        return _hard_steps_of(walk)
    way = route(state, repertoire, unique=True)
    if not way.solved:
        return None
    return list(way.records.table[np.isin(way.records.techniques, walk.hard.order)])


def _hard_steps_of(walk: Walk) -> list[Ints] | None:
    """The hard steps of a way that takes the first move of each state, under a ban."""
    left, steps = walk.start, list[Ints]()
    while not walk.solved(left):
        moves = walk.moves(left)
        if not moves.left:
            return None
        place = len(moves) - 1 if moves.solving is not None else 0
        steps.append(moves.records[place])
        left = moves.left[place]
    return steps


def written_out(
    walk: Walk, repertoire: Repertoire, hard: Sequence[Ints]
) -> tuple[Route, tuple[int, ...]]:
    """A route of hard steps with all easy ones between them, and the places of the hard ones."""
    layout = walk.state.layout
    index, board, easy = tables(layout), board_of(walk.state), plan_of(walk.easy)
    forbidden = to_words(walk.forbidden, walk.words) if walk.forbidden else NOTHING
    # Two rows more than there can be steps, as a single row would be overwritten.
    room = new_records(layout.candidates + 2, layout)
    count, ending = run(index, board, easy, forbidden, -1, room)
    places = []
    for record in hard:
        room[count] = record
        apply(index, board, room, count)
        places.append(count)
        more, ending = run(index, board, easy, forbidden, -1, room[count + 1 :])
        count += 1 + more
    records = Records(room[:count].copy(), walk.words)
    return Route(walk.state, repertoire, records, ending, "fewest hard steps"), tuple(places)
