"""How narrow a way can be: the least widest step, and the least total width of the hard steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from html import escape
from typing import Any

import numpy as np

from gridcrux.engines.limits import Deadline
from gridcrux.grids.state import State
from gridcrux.logic.records import Records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.hard.fewest import ABOVE, SECONDS, FewestSteps, written_out
from gridcrux.proofs.hard.moves import Walk
from gridcrux.proofs.hard.offers import NARROWEST
from gridcrux.proofs.trust import certifying
from gridcrux.proofs.uniqueness import require_unique
from gridcrux.techniques.compiled.tables import Ints
from gridcrux.techniques.repertoires import DEFAULT
from gridcrux.techniques.solve import closure, route


@certifying()
def least_widest_step(state: State, repertoire: Repertoire = DEFAULT) -> int | None:
    """The least width to which all steps of some way can be kept; None if there is no way.

    All deductions of at most that many premises that the techniques find solve the puzzle, those
    of fewer do not.

    Raises
    ------
    NotUnique : the repertoire assumes that the puzzle has exactly one solution, and it has not.
    Unsound : a technique that a user wrote finds what does not follow.
    """
    require_unique(state, repertoire)
    way = route(state, repertoire, unique=True)
    if not way.solved:
        return None
    widest = int(way.records.widths.max(initial=0))
    for width in range(widest):
        narrow = repertoire.widest(width)
        if len(narrow) and closure(state, narrow, unique=True).is_solved:
            return width
    return widest


@dataclass(frozen=True, eq=False)
class LeastWidth:
    """How few premises the hard steps of a way can have together.

    Attributes
    ----------
    above : the level that counts as easy.
    lower : no way has less; None if the repertoire does not solve the puzzle.
    upper : the least that is known to suffice.
    hard : places of the hard steps in `route`.
    route : a way with that total, all easy steps written out.
    stopped_by : None if the number is exact, else "seconds".
    """

    above: str
    lower: int | None
    upper: int | None
    route: Route | None = field(repr=False)
    hard: tuple[int, ...] = field(repr=False)
    stopped_by: str | None

    @property
    def exact(self) -> bool:
        """Whether the answer is known."""
        return self.lower == self.upper

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "least_total_width": self.upper if self.exact else None,
            "lower_bound": self.lower,
            "upper_bound": self.upper,
            "above": self.above,
            "stopped_by": self.stopped_by,
        }

    def as_dict(self) -> dict[str, Any]:
        """The bounds as JSON can hold them."""
        return {"upper": self.upper, "lower": self.lower, "stopped_by": self.stopped_by}

    def __str__(self) -> str:
        if self.lower is None:
            return "the techniques do not solve the puzzle"
        if self.exact:
            return f"total width of the hard steps: {self.upper}"
        return f"total width of the hard steps: between {self.lower} and {self.upper}"

    def _repr_html_(self) -> str:
        return f"<p>{escape(str(self))}</p>"


@certifying()
def least_total_width(
    state: State,
    repertoire: Repertoire = DEFAULT,
    above: str = ABOVE,
    *,
    known: Iterable[FewestSteps] = (),
    seconds: float | None = SECONDS,
) -> LeastWidth:
    """The fewest premises that the hard steps of a way have together, everything easy being free.

    States are taken up in the order of the width spent (Dijkstra, "A note on two problems in
    connexion with graphs", Numerische Mathematik 1, 1959); one in which no less is left than in
    another that has cost no more is passed over.  Bounds are proven as in `fewest_hard_steps`.

    Parameters
    ----------
    known : answers of `fewest_hard_steps`, of which the ways are known to be possible.
    seconds : limit, after which bounds and the best way so far are returned.

    Raises
    ------
    NotUnique : the repertoire assumes that the puzzle has exactly one solution, and it has not.
    Unsound : a technique that a user wrote finds what does not follow.
    UnknownLevel : there is no level of that name.
    """
    require_unique(state, repertoire)
    way = route(state, repertoire, "easiest", unique=True)
    if not way.solved:
        return LeastWidth(above, None, None, None, (), None)
    walk = Walk.above(state, repertoire, above, keep=NARROWEST)
    walk.prepare()
    search = _Spending(walk, Deadline(seconds))
    hard = np.isin(way.records.techniques, search.walk.hard.order)
    search.take_over(list(way.records.table[hard]))
    for each in known:
        if each.route is not None:
            search.take_over([each.route.records.table[place] for place in each.hard])
    with suppress(TimeoutError), walk.until(search.deadline):
        search.run()
    shortest, places = written_out(search.walk, repertoire, search.best)
    stopped = None if search.lower == search.upper else "seconds"
    return LeastWidth(above, search.lower, search.upper, shortest, places, stopped)


class _Spending:
    """A search under way."""

    def __init__(self, walk: Walk, deadline: Deadline) -> None:
        self.walk, self.deadline = walk, deadline
        self.lower, self.upper, self.best = 0, 1 << 30, list[Ints]()
        self.waiting: dict[int, dict[int, tuple[Ints, ...]]] = {0: {walk.start: ()}}
        self.taken: list[int] = []

    def width(self, record: Ints) -> int:
        """How many premises a record has."""
        return int(Records(record[None], self.walk.words).widths[0])

    def take_over(self, known: Sequence[Ints]) -> None:
        """Start from the hard steps of a way that is known, if it is the best so far."""
        steps = self.walk.replayed(known)
        total = sum(map(self.width, steps or ()))
        if steps is not None and total < self.upper:
            self.best, self.upper = steps, total

    def run(self) -> None:
        """Take up states until what is spent is proven least, or the time is up."""
        narrowest = min((technique.width for technique in self.walk.hard), default=1)
        while self.waiting:
            spent = min(self.waiting)
            # Where nothing is solved yet, one more step is taken at least.
            self.lower = min(self.upper, spent + (narrowest if self.upper > spent else 0))
            if self.lower == self.upper:
                return
            states = self.waiting.pop(spent)
            for left in sorted(states, key=lambda each: (each.bit_count(), each)):
                if self.deadline.passed:
                    return
                self._take_up(left, spent, states[left])
        self.lower = self.upper

    def _take_up(self, left: int, spent: int, steps: tuple[Ints, ...]) -> None:
        if any(better & ~left == 0 for better in self.taken):
            return
        self.taken.append(left)
        moves = self.walk.moves(left, to_end=True)
        for after, record in zip(moves.left, moves.records, strict=True):
            total = spent + self.width(record)
            if total >= self.upper:
                continue
            if self.walk.solved(after):
                self.upper, self.best = total, [*steps, record]
            else:
                self.waiting.setdefault(total, {}).setdefault(after, (*steps, record))
