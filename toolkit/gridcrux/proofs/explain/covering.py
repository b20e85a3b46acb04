"""The large cases by CP-SAT: a smallest set that meets all gaps, or how small it may yet be.

Where many gaps overlap, the bound by gaps without a common rule is weak; that of the linear
relaxation, which CP-SAT looks at, seldom misses the optimum by more than one or two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from gridcrux.engines.stoppable import solve

_RELAXED = 2
"""CP-SAT's highest level of linear relaxation."""


@dataclass(frozen=True)
class Meeting:
    """What is known of the smallest sets that meet all gaps.

    Attributes
    ----------
    elements : the smallest set found, ascending; None if there was no time to find one.
    lower : no set is smaller.
    """

    elements: tuple[int, ...] | None
    lower: int

    @property
    def exact(self) -> bool:
        """Whether the set is known to be as small as can be."""
        return self.elements is not None and len(self.elements) == self.lower


def smallest_meeting(gaps: Sequence[Sequence[int]], lower: int, seconds: float) -> Meeting:
    """Find a smallest set that has an element of every gap.

    One worker and a fixed seed: the answer depends on the time only if this runs out.

    Parameters
    ----------
    gaps : sets of elements, none empty.
    lower : a bound that is known.
    """
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    elements = sorted({element for gap in gaps for element in gap})
    taken = {element: model.new_bool_var(str(element)) for element in elements}
    for gap in gaps:
        model.add_bool_or([taken[element] for element in gap])
    total = sum(taken.values())
    model.add(total >= lower)
    model.minimize(total)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    solver.parameters.linearization_level = _RELAXED
    solver.parameters.symmetry_level = 0
    solver.parameters.max_time_in_seconds = max(seconds, 0.01)
    status = solve(solver, model)
    lower = max(lower, ceil(solver.best_objective_bound - 1e-6))
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Meeting(None, lower)
    return Meeting(tuple(e for e in elements if solver.boolean_value(taken[e])), lower)
