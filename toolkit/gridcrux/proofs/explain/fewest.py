"""A smallest set of givens that suffices, found from above: each set looked for is smaller.

What suffices has a given of every gap: of every set of givens that some contrary grid lacks.  A
SAT solver with a bound on the number proposes a set that meets all known gaps and is smaller than
the best one.  Either it suffices, or a contrary grid shows another gap; when there is no such
set, the best one is smallest.  Most proposals are easy to find, and there is one hard proof only,
where proposals of the least size would each need one.  If the time runs out before that proof,
the rest of it goes to a lower bound.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Protocol

from pysat.card import ITotalizer
from pysat.solvers import Solver

from gridcrux.engines.limits import Deadline
from gridcrux.proofs.explain.covering import smallest_meeting

CONFLICTS = 2_000
"""Conflicts between two looks at the clock."""

_FROM_ABOVE = 0.6
"""Share of the time after which the lower bound is looked for."""


class Contrary(Protocol):
    """Looks for grids that have some givens of a puzzle and yet are contrary to something."""

    @property
    def givens(self) -> tuple[int, ...]:
        """The cells of all givens."""

    @property
    def deadline(self) -> Deadline:
        """When to stop."""

    def gaps(self, cells: Sequence[int]) -> list[list[int]]:
        """Sets of givens without a common one, each missing in a grid that has those in cells.

        There is none if and only if these givens suffice.

        Raises
        ------
        TimeoutError : the time was up before all were found.
        """

    def irreducible(self, cells: Sequence[int]) -> tuple[int, ...]:
        """Givens of which none can be spared, out of some that suffice.

        Raises
        ------
        TimeoutError : the time was up first.
        """


class _Proposals:
    """Sets of givens that meet all known gaps, each smaller than a bound."""

    def __init__(self, cells: Iterable[int], size: int) -> None:
        self.variable = {cell: number for number, cell in enumerate(cells, 1)}
        total = ITotalizer(list(self.variable.values()), size, len(self.variable))
        self.solver = Solver("minisat22", bootstrap_with=total.cnf.clauses)
        self.more = list(total.rhs)
        total.delete()

    def meet(self, gaps: Sequence[Sequence[int]]) -> None:
        for gap in gaps:
            self.solver.add_clause([self.variable[cell] for cell in gap])

    def below(self, size: int, deadline: Deadline) -> tuple[int, ...] | None:
        """A set with fewer elements, ascending; None if there is none, now and later.

        Raises
        ------
        TimeoutError : the time was up first.
        """
        self.solver.add_clause([-self.more[size - 1]])
        while not deadline.passed:
            self.solver.conf_budget(CONFLICTS)
            answer = self.solver.solve_limited()
            if answer is False:
                return None
            if answer:
                model = self.solver.get_model()
                return tuple(c for c, number in self.variable.items() if model[number - 1] > 0)
        raise TimeoutError("whether fewer givens suffice was not found out in time")


def fewest(
    against: Contrary, best: tuple[int, ...], gaps: Sequence[Sequence[int]] = ()
) -> tuple[tuple[int, ...], int]:
    """A smallest set of givens that suffices, and a lower bound to the size of any.

    The set has that size, unless the time was up; then it is the smallest one found.

    Parameters
    ----------
    best : a set that suffices.
    gaps : gaps that are known already.
    """
    deadline = against.deadline
    gaps = list(gaps)
    soon = deadline if deadline.never else Deadline(_FROM_ABOVE * deadline.remaining)
    proposals = _Proposals(against.givens, len(best))
    proposals.meet(gaps)
    try:
        while best:
            cells = proposals.below(len(best), soon)
            if cells is None:
                return best, len(best)
            found = against.gaps(cells)
            if not found:
                best = cells
                best = against.irreducible(cells)
            proposals.meet(found)
            gaps += found
    except TimeoutError:
        return best, smallest_meeting(gaps, 0, deadline.remaining).lower
    return best, 0
