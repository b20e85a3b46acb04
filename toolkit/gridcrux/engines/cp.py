"""Decides and counts by CP-SAT, with the rules stated in any of the ways of `encodings.cp`.

CP-SAT forgets between calls, so every call begins with its presolve; that is the price of an
opinion that shares no code with the others.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from typing import Any

from ortools.sat.python import cp_model

from gridcrux.encodings.cp import MODELS, Program
from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.probing import probe
from gridcrux.engines.protocol import Count, Support
from gridcrux.engines.solution import as_digits
from gridcrux.engines.stoppable import solve
from gridcrux.grids.state import State

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


class _Search:
    """Solutions of a program, and what they cost."""

    def __init__(self, program: Program) -> None:
        self.program = program
        self.model = program.model
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
            found.append(self.program.solution(shown.value))
            return len(found) < number

        return found, self.enumerate(Deadline(None), another)

    def ask(self, trial: Sequence[int], undecided: int, deadline: Deadline) -> int | None:
        """A solution with one of the candidates, as `probing.probe` asks for it.

        What is undecided is hinted at, which saves up to nine calls in ten.
        """
        self.model.clear_hints()
        for variable, value in self.program.hints(undecided):
            self.model.add_hint(variable, value)
        self.model.clear_assumptions()
        if trial:
            wanted = self.model.new_bool_var("")
            self.model.add_at_least_one(~wanted, *map(self.program.literal, trial))
            self.model.add_assumption(wanted)
        solver = self._solver(deadline)
        status = self._run(solver)
        if status == cp_model.UNKNOWN:
            return None
        return 0 if status == cp_model.INFEASIBLE else self.program.solution(solver.value)

    def close(self, trial: Sequence[int]) -> None:
        for candidate in trial:
            self.program.close(candidate)


class CpEngine:
    """Decides and counts by CP-SAT of OR-tools, with one worker and a fixed seed.

    Parameters
    ----------
    model : how the rules are stated, a name of `encodings.cp.MODELS`.

    `effort` counts the branches and the conflicts of all calls.

    Raises
    ------
    ValueError : the rules cannot be stated so.
    """

    def __init__(self, model: str = "booleans") -> None:
        if model not in MODELS:
            raise ValueError(f"model {model!r}: expected {', '.join(MODELS)}")
        self.name = "cp" if model == "booleans" else f"cp/{model}"
        self._program = MODELS[model]

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        check_limit(limit)
        deadline = Deadline(seconds)
        if state.broken_rule is not None:
            return Count(0, True, None, self.name, _NOTHING)
        search = _Search(self._program(state))
        found = 0

        def another(_: _Listener) -> bool:
            nonlocal found
            found += 1
            return found <= limit

        complete = search.enumerate(deadline, another)
        stopped_by = "limit" if found > limit else None if complete else "seconds"
        value = min(found, limit)
        return Count(value, stopped_by is None, stopped_by, self.name, dict(search.effort))

    def solutions(self, state: State) -> Iterator[tuple[int, ...]]:
        """The solutions, each as n*n digits from 1, as lazily as CP-SAT allows.

        It shows solutions and cannot be made to wait for the next request.  So an enumeration is
        stopped after a batch, and begun again for a larger one when that is used up; what was
        seen before is passed over.  All solutions yielded so far are kept.
        """
        if state.broken_rule is not None:
            return
        search = _Search(self._program(state))
        seen: set[int] = set()
        batch = 1
        complete = False
        while not complete:
            found, complete = search.first(batch)
            for solution in found:
                if solution not in seen:
                    seen.add(solution)
                    yield as_digits(solution, state.layout)
            batch *= _BATCH_GROWTH

    def support(self, state: State, seconds: float | None = None) -> Support:
        deadline = Deadline(seconds)
        if state.broken_rule is not None:
            return Support(0, 0, True, None, self.name, _NOTHING)
        search = _Search(self._program(state))

        def ask(trial: Sequence[int], undecided: int) -> int | None:
            return search.ask(trial, undecided, deadline)

        occurs, undecided = probe(state.open, ask, search.close)
        stopped_by = "seconds" if undecided else None
        effort = dict(search.effort)
        return Support(occurs, undecided, not undecided, stopped_by, self.name, effort)
