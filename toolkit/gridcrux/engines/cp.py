"""The rules as exactly-one constraints over Booleans, for CP-SAT.

A state makes a model of its open candidates only.  CP-SAT forgets between calls, so every call
begins with its presolve; that is the price of an opinion that shares no code with the others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from ortools.sat.python import cp_model

from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.probing import probe
from gridcrux.engines.protocol import Count, Support
from gridcrux.engines.solution import as_digits
from gridcrux.engines.stoppable import solve
from gridcrux.grids.state import State, bits

_BATCH_GROWTH = 8
"""How many times more solutions an enumeration is asked for when it is begun again."""

_NOTHING = {"branches": 0, "conflicts": 0}


class _Listener(cp_model.CpSolverSolutionCallback):
    """Shows every solution to `accept` and stops the search once that answers false."""

    def __init__(self, accept: Callable[[_Listener], bool]) -> None:
        super().__init__()
        self._accept = accept

    def on_solution_callback(self) -> None:
        if not self._accept(self):
            self.stop_search()


class _Program:
    """The open candidates of a state as Booleans, and one constraint a rule.

    Every rule must have an open candidate.
    """

    def __init__(self, state: State) -> None:
        self.model = cp_model.CpModel()
        self.variables = {candidate: self.model.new_bool_var("") for candidate in bits(state.open)}
        for rule in state.layout.rules:
            self.model.add_exactly_one(self.variables[k] for k in bits(rule.mask & state.open))
        self.effort: Counter[str] = Counter()

    def _solver(self, deadline: Deadline) -> Any:
        solver = cp_model.CpSolver()
        # One worker and a fixed seed: the same model gives the same search.
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        if not deadline.never:
            solver.parameters.max_time_in_seconds = deadline.remaining
        return solver

    def _run(self, solver: Any, listener: _Listener | None = None) -> int:
        status = solve(solver, self.model, listener)
        self.effort.update(branches=solver.num_branches, conflicts=solver.num_conflicts)
        return status

    def enumerate(self, deadline: Deadline, accept: Callable[[_Listener], bool]) -> bool:
        """Show each solution once to `accept` until that answers false; whether all were shown."""
        solver = self._solver(deadline)
        solver.parameters.enumerate_all_solutions = True
        return self._run(solver, _Listener(accept)) in (cp_model.OPTIMAL, cp_model.INFEASIBLE)

    def first(self, number: int) -> tuple[list[int], bool]:
        """As many solutions, as masks, and whether these are all."""
        found: list[int] = []

        def another(shown: _Listener) -> bool:
            found.append(_true(self.variables, shown))
            return len(found) < number

        return found, self.enumerate(Deadline(None), another)

    def ask(self, trial: Sequence[int], undecided: int, deadline: Deadline) -> int | None:
        """A solution with one of the candidates, as `probing.probe` asks for it.

        What is undecided is hinted at, which saves up to nine calls in ten.
        """
        self.model.clear_hints()
        for candidate in bits(undecided):
            self.model.add_hint(self.variables[candidate], 1)
        self.model.clear_assumptions()
        if trial:
            wanted = self.model.new_bool_var("")
            self.model.add_at_least_one(wanted.negated(), *(self.variables[k] for k in trial))
            self.model.add_assumption(wanted)
        solver = self._solver(deadline)
        status = self._run(solver)
        if status == cp_model.UNKNOWN:
            return None
        return 0 if status == cp_model.INFEASIBLE else _true(self.variables, solver)

    def close(self, trial: Sequence[int]) -> None:
        for candidate in trial:
            self.model.add(self.variables[candidate] == 0)


def _true(variables: dict[int, Any], shown: Any) -> int:
    """The mask of the candidates that are true in what a solver or a listener shows."""
    return sum(1 << candidate for candidate, variable in variables.items() if shown.value(variable))


class CpEngine:
    """Decides and counts by CP-SAT of OR-tools, with one worker and a fixed seed.

    `effort` counts the branches and the conflicts of all calls.
    """

    name = "cp"

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        check_limit(limit)
        deadline = Deadline(seconds)
        if state.broken_rule is not None:
            return Count(0, True, None, self.name, _NOTHING)
        program = _Program(state)
        found = 0

        def another(_: _Listener) -> bool:
            nonlocal found
            found += 1
            return found <= limit

        complete = program.enumerate(deadline, another)
        stopped_by = "limit" if found > limit else None if complete else "seconds"
        value = min(found, limit)
        return Count(value, stopped_by is None, stopped_by, self.name, dict(program.effort))

    def solutions(self, state: State) -> Iterator[tuple[int, ...]]:
        """The solutions, each as n*n digits from 1, as lazily as CP-SAT allows.

        It shows solutions and cannot be made to wait for the next request.  So an enumeration is
        stopped after a batch, and begun again for a larger one when that is used up; what was
        seen before is passed over.  All solutions yielded so far are kept.
        """
        if state.broken_rule is not None:
            return
        program = _Program(state)
        seen: set[int] = set()
        batch = 1
        complete = False
        while not complete:
            found, complete = program.first(batch)
            for solution in found:
                if solution not in seen:
                    seen.add(solution)
                    yield as_digits(solution, state.layout)
            batch *= _BATCH_GROWTH

    def support(self, state: State, seconds: float | None = None) -> Support:
        deadline = Deadline(seconds)
        if state.broken_rule is not None:
            return Support(0, 0, True, None, self.name, _NOTHING)
        program = _Program(state)

        def ask(trial: Sequence[int], undecided: int) -> int | None:
            return program.ask(trial, undecided, deadline)

        occurs, undecided = probe(state.open, ask, program.close)
        stopped_by = "seconds" if undecided else None
        effort = dict(program.effort)
        return Support(occurs, undecided, not undecided, stopped_by, self.name, effort)
