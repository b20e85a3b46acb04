"""An estimate of the number of solutions with a guarantee, where an exact count takes too long.

Random parity constraints cut the solutions into cells of about equal size; one cell is counted and
multiplied by the number of cells, and the median of several rounds is taken.  Source:
Chakraborty, Meel & Vardi, "Algorithmic improvements in approximate counting for probabilistic
inference: from linear to logarithmic SAT calls", IJCAI 2016.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Any

from gridcrux.encodings.clausal import EXTENDED
from gridcrux.engines.apart import call, require
from gridcrux.engines.limits import Deadline
from gridcrux.engines.remainder import remainder
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State


@dataclass(frozen=True)
class ApproximateCount:
    """How many solutions there are, about.

    With probability at least `confidence`, over the random choices, the number of solutions is
    within `lower` and `upper`.

    Attributes
    ----------
    value : the estimate; None if the time was up first.
    lower, upper : the whole numbers within ``value / (1 + epsilon)`` and
        ``value * (1 + epsilon)``; both `value` if that is exact; None if the time was up first.
    confidence : 1 - delta; 1 if `value` is exact.
    exact : whether `value` is the number itself, as there were so few that all were visited.
    stopped_by : None or "seconds".
    """

    value: int | None
    lower: int | None
    upper: int | None
    confidence: float | None
    exact: bool
    stopped_by: str | None

    def row(self) -> dict[str, Any]:
        return {
            "value": self.value,
            "lower": self.lower,
            "upper": self.upper,
            "confidence": self.confidence,
            "exact": self.exact,
            "stopped_by": self.stopped_by,
        }

    def _repr_html_(self) -> str:
        return facts(self.row())


def approximate_count(
    state: State,
    epsilon: float = 0.8,
    delta: float = 0.2,
    seed: int = 1,
    seconds: float | None = None,
) -> ApproximateCount:
    """Estimate the number of solutions by pyapproxmc.

    Its cost grows with the variables of the constraints: 9x9 with 20 givens takes seconds, with
    16 givens longer than minutes.  The library cannot be interrupted: it works in a process of
    its own, which is ended when the time is up.

    Parameters
    ----------
    epsilon : the factor 1 + epsilon by which the estimate may be off, either way.
    delta : the probability, at most, that it is off by more.
    seed : of the random choices; the same seed gives the same estimate.

    Raises
    ------
    ModuleNotFoundError : pyapproxmc is not installed.
    ValueError : epsilon is not above 0, or delta not between 0 and 1.
    CallFailed : the library gave no answer.
    """
    if not epsilon > 0:
        raise ValueError(f"epsilon is {epsilon}; expected more than 0")
    if not 0 < delta < 1:
        raise ValueError(f"delta is {delta}; expected a probability between 0 and 1")
    require("pyapproxmc")
    deadline = Deadline(seconds)
    if state.broken_rule is not None:
        return _exactly(0)
    if deadline.passed:
        return _TOO_LATE
    if state.is_solved:
        return _exactly(1)
    formula = remainder(EXTENDED(state.layout).distinct(), state)
    request = {
        "clauses": formula.clauses,
        "projection": [*range(1, formula.variables + 1)],
        "epsilon": epsilon,
        "delta": delta,
        "seed": seed,
    }
    answer: tuple[int, int] | None = call("pyapproxmc", request, deadline)
    if answer is None:
        return _TOO_LATE
    in_cell, hashes = answer
    if hashes == 0:
        return _exactly(in_cell)
    value = in_cell << hashes
    factor = 1 + Fraction(epsilon)
    return ApproximateCount(
        value, ceil(value / factor), floor(value * factor), 1 - delta, False, None
    )


_TOO_LATE = ApproximateCount(None, None, None, None, False, "seconds")


def _exactly(value: int) -> ApproximateCount:
    return ApproximateCount(value, value, value, 1.0, True, None)
