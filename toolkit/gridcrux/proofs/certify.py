"""A certificate of a deduction: a SAT solver refutes what its premises are said to exclude.

Nothing here knows a technique.  The formula says that candidates in conflict are not both true
and that each premise keeps a true candidate; no other rule of the puzzle takes part.  So a
candidate that is false in the solution, but not for the reason that is given, is not refuted.

There are two readings, which differ in what is absent:

- strict (no state): only what the deduction relies on; then all that it removes must be false;
- local (a state): all that is closed in that state; then what it eliminates must be false.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from pysat.solvers import Solver

from gridcrux.grids.layout import Layout
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction

_RETIREMENTS = 2000
"""Premises that a solver has known before it is made anew, as each leaves a little behind."""


@dataclass(frozen=True)
class Certificate:
    """What came of checking a deduction.

    Attributes
    ----------
    deduction : what was checked.
    reading : "strict" or "local".
    checked : how many candidates had to be refuted.
    failures : the candidates that do not follow: those that should be false and may be true
        though the premises hold; and the candidate that is written, if no premise has it left.
    """

    deduction: Deduction
    reading: str
    checked: int
    failures: tuple[int, ...]

    @property
    def holds(self) -> bool:
        """Whether everything that the deduction says follows from its premises."""
        return not self.failures

    @property
    def failure_names(self) -> tuple[str, ...]:
        """The candidates that do not follow, by name: ``("r4c5=7",)``."""
        return tuple(map(self.deduction.layout.candidate_name, self.failures))

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "technique": self.deduction.technique,
            "reading": self.reading,
            "holds": self.holds,
            "checked": self.checked,
            "failures": "; ".join(self.failure_names),
        }

    def _repr_html_(self) -> str:
        return f"{self.deduction._repr_html_()}{facts(self.row())}"


@dataclass
class _Referee:
    """A standing solver that holds the conflicts of a layout; premises come and go."""

    layout: Layout
    solver: Any = field(init=False)
    fresh: int = field(init=False)

    def __post_init__(self) -> None:
        self.renew()

    def renew(self) -> None:
        self.fresh = self.layout.candidates + 1
        self.solver = Solver(
            "minisat22",
            bootstrap_with=[
                [-(candidate + 1), -(rival + 1)]
                for candidate, rivals in enumerate(self.layout.conflicts)
                for rival in bits(rivals)
                if candidate < rival
            ],
        )

    @contextmanager
    def premises(self, deduction: Deduction, absent: int) -> Iterator[list[int]]:
        """Activation literals of the premises without what is absent, one for each."""
        if self.fresh > self.layout.candidates + _RETIREMENTS:
            self.solver.delete()
            self.renew()
        literals = []
        for rule in deduction.premises:
            left = bits(self.layout.rules[rule].mask & ~absent)
            self.solver.add_clause([-self.fresh, *(candidate + 1 for candidate in left)])
            literals.append(self.fresh)
            self.fresh += 1
        try:
            yield literals
        finally:
            for literal in literals:
                self.solver.add_clause([-literal])

    def possible(self, premises: list[int], candidate: int) -> bool:
        """Whether a candidate can be true while these premises hold."""
        return bool(self.solver.solve(assumptions=[*premises, candidate + 1]))


@lru_cache(maxsize=8)
def _referee(layout: Layout) -> _Referee:
    return _Referee(layout)


def _absent(deduction: Deduction, state: State | None) -> int:
    if state is None:
        return deduction.relies
    if state.layout != deduction.layout:
        raise ValueError(
            f"the deduction is on layout {deduction.layout.name!r}, the state on "
            f"{state.layout.name!r}; give a state of the same layout"
        )
    return state.layout.full & ~state.open


def certify(deduction: Deduction, state: State | None = None) -> Certificate:
    """Check by SAT that a deduction follows from its premises.

    Each candidate that the deduction excludes is assumed to be true, and the solver must find
    that this cannot be.  A candidate that is written must be the only one that one of the
    premises has left: every other candidate of it is absent or refuted.

    Parameters
    ----------
    deduction : what to check.
    state : None for the strict reading, a state for the local one (see above).

    Raises
    ------
    ValueError : the state has another layout.
    """
    absent = _absent(deduction, state)
    excluded = deduction.removes if state is None else deduction.eliminates
    referee = _referee(deduction.layout)
    with referee.premises(deduction, absent) as premises:
        failures = [c for c in bits(excluded) if referee.possible(premises, c)]
        if deduction.places is not None:
            failures += _rivals_left(referee, premises, deduction, absent)
    return Certificate(
        deduction,
        "strict" if state is None else "local",
        excluded.bit_count(),
        tuple(dict.fromkeys(failures)),
    )


def counterexample(deduction: Deduction, candidate: int) -> tuple[int, ...]:
    """What can be true together while the premises hold: a candidate, and one of each premise.

    Nothing, if the candidate is refuted; the reading is the strict one.  Of all that there is it
    is the first, candidate by candidate, so it does not depend on the solver.
    """
    layout, seen = deduction.layout, 0
    for rule in deduction.premises:
        seen |= layout.rules[rule].mask
    referee, true = _referee(layout), [candidate]
    with referee.premises(deduction, deduction.relies) as premises:
        if not referee.possible(premises, candidate):
            return ()
        for other in bits(seen & ~layout.conflicts[candidate] & ~(1 << candidate)):
            if not any(layout.conflicts[each] >> other & 1 for each in true):
                taken = [each + 1 for each in true]
                if referee.possible([*premises, *taken], other):
                    true.append(other)
    return tuple(sorted(true))


def _rivals_left(
    referee: _Referee, premises: list[int], deduction: Deduction, absent: int
) -> list[int]:
    """What a premise has left beside the candidate written; that one if no premise has it left."""
    placed = deduction.places
    assert placed is not None
    homes = [
        mask
        for rule in deduction.premises
        if (mask := deduction.layout.rules[rule].mask & ~absent) >> placed & 1
    ]
    left = [
        [c for c in bits(mask & ~(1 << placed)) if referee.possible(premises, c)] for mask in homes
    ]
    return min(left, key=len, default=[placed])


def irreducible(deduction: Deduction, state: State | None = None) -> bool:
    """Whether no premise can be spared: without any one of them, some conclusion is lost.

    The conclusions are the candidates that the deduction eliminates, or those that it removes
    if it eliminates none.  The readings are those of `certify`.

    Raises
    ------
    ValueError : the state has another layout.
    """
    excluded = deduction.eliminates or deduction.removes
    referee = _referee(deduction.layout)
    with referee.premises(deduction, _absent(deduction, state)) as premises:
        return all(
            any(referee.possible(premises[:i] + premises[i + 1 :], c) for c in bits(excluded))
            for i in range(len(premises))
        )
