"""How many shortest ways there are."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from gridcrux.engines.limits import Deadline
from gridcrux.grids.arrays import from_words
from gridcrux.grids.rich import facts
from gridcrux.logic.records import REMOVES
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.hard.fewest import FewestSteps
from gridcrux.proofs.hard.moves import Walk
from gridcrux.proofs.trust import certifying
from gridcrux.techniques.compiled.tables import Ints
from gridcrux.techniques.repertoires import DEFAULT

LIMIT = 1000


@dataclass(frozen=True)
class Ways:
    """How many sets of hard steps solve a puzzle with as few of them as can be.

    Attributes
    ----------
    number : how many were found.
    complete : whether there are no others.
    stopped_by : None, "limit" or "seconds".
    """

    number: int
    complete: bool
    stopped_by: str | None

    def as_dict(self) -> dict[str, Any]:
        """The count as JSON can hold it."""
        return {"number": self.number, "complete": self.complete, "stopped_by": self.stopped_by}

    def __str__(self) -> str:
        return f"{self.number:,}" if self.complete else f"at least {self.number:,}"

    def _repr_html_(self) -> str:
        return facts(self.as_dict())


@certifying()
def shortest_ways(
    fewest: FewestSteps,
    repertoire: Repertoire = DEFAULT,
    *,
    limit: int = LIMIT,
    seconds: float | None = 5.0,
) -> Ways:
    """Count the shortest ways: different sets of what their hard steps exclude.

    Two ways that take the same steps in another order count once, and so do two deductions that
    exclude the same.  A deduction that excludes less than another on offer is not counted.

    Parameters
    ----------
    fewest : the answer of `fewest_hard_steps` for the same repertoire.

    Raises
    ------
    ValueError : the fewest hard steps are not known exactly, or there is no way.
    Unsound : a technique that a user wrote finds what does not follow.
    """
    if not fewest.exact or fewest.upper is None:
        raise ValueError(
            f"{fewest}: shortest ways can be counted only where the fewest hard steps are known; "
            "give fewest_hard_steps more seconds"
        )
    walk = Walk.above(fewest.start, repertoire, fewest.above)
    found: set[frozenset[int]] = set()
    counting = _Counting(walk, Deadline(seconds))
    stopped = None
    try:
        with walk.until(counting.deadline):
            for way in counting.ways(walk.start, fewest.upper, frozenset()):
                if way not in found and len(found) == limit:
                    stopped = "limit"
                    break
                found.add(way)
    except TimeoutError:
        stopped = "seconds"
    # One way is known in any case.
    return Ways(max(len(found), 1), stopped is None, stopped)


class _Counting:
    """Sets of conclusions, found depth first."""

    def __init__(self, walk: Walk, deadline: Deadline) -> None:
        self.walk, self.deadline = walk, deadline
        self.seen: set[tuple[int, frozenset[int]]] = set()
        self.hopeless: list[tuple[int, int]] = []

    def ways(self, left: int, steps: int, taken: frozenset[int]) -> Iterator[frozenset[int]]:
        """The sets that solve the puzzle from a state with exactly that many steps more."""
        if self.walk.solved(left):
            yield taken
            return
        # The same steps in another order lead to the same state.
        if (left, taken) in self.seen or not self.hopeful(left, steps):
            return
        self.seen.add((left, taken))
        moves = self.walk.moves(left, to_end=True)
        for after, record in zip(moves.left, moves.records, strict=True):
            yield from self.ways(after, steps - 1, taken | {self._excluded(record)})

    def hopeful(self, left: int, steps: int) -> bool:
        """Whether some steps, at most that many, solve the puzzle from a state."""
        if self.walk.solved(left):
            return True
        if steps == 0 or any(s >= steps and worse & ~left == 0 for worse, s in self.hopeless):
            return False
        if self.deadline.passed:
            raise TimeoutError
        moves = self.walk.moves(left)
        if moves.solving is not None:
            return True
        if steps > 1 and any(self.hopeful(after, steps - 1) for after in moves.left):
            return True
        self.hopeless.append((left, steps))
        return False

    def _excluded(self, record: Ints) -> int:
        """All that a deduction excludes, whether it was open or not."""
        return from_words(record[REMOVES : REMOVES + self.walk.words].view("u8"))
