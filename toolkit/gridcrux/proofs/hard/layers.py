"""The states that a number of hard steps can reach, layer by layer, until one solves the puzzle.

Of each layer only those states count that no other beats: a deduction that holds in a state holds
where more is excluded too, so the better state needs no more steps.  Whether one more step solves
the puzzle from any state of a layer is asked of many states at once: where all is excluded that any
of them has excluded, a step does as much as in each of them; if it solves nothing there, it does
not in any.  So most states of the last layer are never looked at alone.

The joined states do the work that unsatisfied subsets do in an implicit hitting set search
(Chandrasekaran, Karp, Moreno-Centeno and Vempala, "Algorithms for implicit hitting set problems",
SODA 2011; for steps that have conditions Haslum, Slaney and Thiebaux, "Minimal landmarks for
optimal delete-free planning", ICAPS 2012), but without asking which deduction is the same as
another in another state.  Chains have no such identity: of many for a conclusion a finder writes a
shortest, which is another one in the next state.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field

from gridcrux.engines.limits import Deadline
from gridcrux.proofs.hard.moves import Moves, Walk, best_of
from gridcrux.techniques.compiled.tables import Ints

DIVES = 3
"""States of each layer from which a way is sought by always taking what leaves least."""

NEAREST = 64
"""States of a layer that may be joined to one at a time."""

Progress = Callable[[int, int | None], None]
"""Told the bounds: no way has fewer steps; the shortest that is known."""


@dataclass
class Layers:
    """A search under way, for the fewest hard steps.

    Attributes
    ----------
    lower : no way has fewer steps.
    best : the records of the hard steps of the shortest way found, or None.
    """

    walk: Walk
    deadline: Deadline
    progress: Progress | None = None
    lower: int = 0
    best: list[Ints] | None = None
    _refuted: list[int] = field(default_factory=list)
    _from: dict[int, tuple[int, Ints]] = field(default_factory=dict)

    def search(self, known: Sequence[Ints] = ()) -> None:
        """Look for the shortest way until it is known or the time is up.

        Parameters
        ----------
        known : the hard steps of some way, to begin with.
        """
        layer = [self.walk.start]
        self.best = self.walk.replayed(known)
        if self.walk.solved(self.walk.start):
            return
        self.lower = 1
        with suppress(TimeoutError), self.walk.until(self.deadline):
            self._dive(self.walk.start)
            while layer and (self.best is None or self.lower < len(self.best)):
                if not self._refute(layer):
                    break
                self.lower += 1
                if self.best is not None and self.lower == len(self.best):
                    break
                layer = self._next(layer)
                for left in layer[:DIVES]:
                    self._dive(left)

    def refuted(self, left: int) -> bool:
        """Whether it is known already that no single step solves the puzzle from a state."""
        return any(worse & ~left == 0 for worse in self._refuted)

    def _moves(self, left: int) -> Moves:
        if self.deadline.passed:
            raise TimeoutError
        if self.progress is not None:
            self.progress(self.lower, None if self.best is None else len(self.best))
        return self.walk.moves(left)

    def _way(self, left: int) -> list[Ints]:
        """The records of the hard steps that lead to a state."""
        steps: list[Ints] = []
        while left != self.walk.start:
            left, record = self._from[left]
            steps.append(record)
        return steps[::-1]

    def _dive(self, left: int) -> None:
        """Follow the moves after which least is left, while that may make a shorter way."""
        steps = self._way(left)
        while self.best is None or len(steps) + 1 < len(self.best):
            moves = self._moves(left)
            if moves.solving is not None:
                self.best = [*steps, moves.records[moves.solving]]
            if moves.solving is not None or not moves.left:
                return
            place = min(range(len(moves)), key=lambda i: (moves.left[i].bit_count(), i))
            steps.append(moves.records[place])
            left = moves.left[place]

    def _next(self, layer: list[int]) -> list[int]:
        """The states one step further that count.

        Should one of them be solved, what was refuted in joined states was refuted wrongly.  As all
        states of the layers before have been looked at by then, there is no shorter way.
        """
        found = []
        for left in layer:
            moves = self._moves(left)
            if moves.solving is not None:
                self.best = [*self._way(left), moves.records[moves.solving]]
                self.lower = len(self.best)
                return []
            for after, record in zip(moves.left, moves.records, strict=True):
                self._from.setdefault(after, (left, record))
            found += moves.left
        return best_of(found)

    def _refute(self, layer: list[int]) -> bool:
        """Whether no further step solves the puzzle from any state of a layer; else `best` is."""
        for place, left in enumerate(layer):
            if self.refuted(left):
                continue
            moves = self._moves(left)
            if moves.solving is not None:
                self.best = [*self._way(left), moves.records[moves.solving]]
                return False
            self._refuted.append(left)
            self._join(left, layer[place + 1 :])
        return True

    def _join(self, refuted: int, others: list[int]) -> None:
        """Refute one step from states that have excluded more and more, while it can be.

        The number of states that are joined doubles while that goes well.
        """
        size = 1
        while size:
            together = self._together(refuted, others, size)
            if together == refuted:
                return
            if self._moves(together).solving is None:
                self._refuted[-1] = refuted = together
                size *= 2
            else:
                size //= 4

    def _together(self, refuted: int, others: list[int], size: int) -> int:
        """A state joined with up to `size` of the others, those that add least, and unsolved."""
        nearest = [other for other in others if refuted & ~other]
        nearest.sort(key=lambda other: (refuted & ~other).bit_count())
        together, joined = refuted, 0
        for other in nearest[:NEAREST]:
            if joined == size:
                break
            closed = self.walk.close(together & other)
            if not self.walk.solved(closed):
                together = closed
                joined += 1
        return together
