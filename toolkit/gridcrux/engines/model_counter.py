"""The rules as clauses, for the exact model counter Ganak.

It splits the formula into parts without a common variable and keeps their numbers, so that its
cost does not grow with the number of solutions as where each is visited.  It is not small either:
enumeration is faster up to millions of solutions.  Source: Sharma, Roy, Soos & Meel, "GANAK: a
scalable probabilistic exact model counter", IJCAI 2019.  As the title says, a part met before is
recognised by a hash value, so a wrong number is possible, if most unlikely.
"""

from __future__ import annotations

from gridcrux.encodings import get_encoding
from gridcrux.encodings.cnf import Cnf
from gridcrux.engines.apart import call, require
from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.protocol import Count
from gridcrux.engines.remainder import remainder
from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State

USUAL_ENCODING = "extended"


class GanakCounter:
    """Counts by pyganak.

    Parameters
    ----------
    encoding : a name that `encodings.get_encoding` knows.
    seed : of the library's random choices, which do not change the number.

    It counts everything, so a limit saves nothing, and a count that is cut short has found
    nothing.  The library cannot be interrupted: each count is a process of its own, which costs
    some hundredths of a second and is ended when the time is up.

    `effort` has the clauses and variables of what is counted: the encoding without what the
    state satisfies; unit propagation is left to the library.

    Raises
    ------
    ModuleNotFoundError : pyganak is not installed.
    ValueError : there is no such encoding.
    """

    def __init__(self, encoding: str = USUAL_ENCODING, seed: int = 0) -> None:
        self._encoding = get_encoding(encoding)
        require("pyganak")
        self.name = "ganak" if encoding == USUAL_ENCODING else f"ganak/{encoding}"
        self._seed = seed
        self._by_layout: dict[Layout, Cnf] = {}

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        """Count the solutions of a state.

        Raises
        ------
        ValueError : `limit` is below 1.
        CallFailed : the library gave no answer.
        """
        check_limit(limit)
        deadline = Deadline(seconds)
        effort = {"clauses": 0, "variables": 0}
        if state.broken_rule is not None:
            return Count(0, True, None, self.name, effort)
        if deadline.passed:
            return Count(0, False, "seconds", self.name, effort)
        if state.is_solved:
            return Count(1, True, None, self.name, effort)
        if state.layout not in self._by_layout:
            self._by_layout[state.layout] = self._encoding(state.layout).distinct()
        formula = remainder(self._by_layout[state.layout], state)
        effort = {"clauses": len(formula.clauses), "variables": formula.variables}
        # Auxiliary variables may take several values in one solution.
        auxiliary = formula.variables > formula.candidates
        request = {
            "clauses": formula.clauses,
            "variables": formula.variables,
            "projection": [*range(1, formula.candidates + 1)] if auxiliary else None,
            "seed": self._seed,
        }
        value: int | None = call("pyganak", request, deadline)
        if value is None:
            return Count(0, False, "seconds", self.name, effort)
        stopped_by = "limit" if value > limit else None
        return Count(min(value, limit), stopped_by is None, stopped_by, self.name, effort)
