"""The kernel behind the engine protocol."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gridcrux.engines.kernel import search
from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.protocol import Count, Support
from gridcrux.engines.solution import as_digits
from gridcrux.grids.arrays import from_words, geometry, state_words
from gridcrux.grids.state import State

_WORK_BETWEEN_CLOCK_CHECKS = 4_000_000
"""Nodes between two looks at the clock, times the candidates of the layout (some 5 ms)."""

_MOST = 2**63 - 1
"""As high as compiled code counts, which takes some hundred thousand years."""


class _Search:
    """A stack with a state in row 0, ready to be searched."""

    def __init__(self, state: State) -> None:
        self.layout = state.layout
        self.kind = search.kind_of(state.layout)
        self.geometry = geometry(state.layout)
        self.stack = search.new_stack(self.kind, self.geometry)
        self.control = np.zeros(search.CONTROLS, np.int64)
        self.budget = max(1, _WORK_BETWEEN_CLOCK_CHECKS // state.layout.candidates)
        search.load_words(self.kind, self.geometry, self.stack[0], state_words(state))

    @property
    def effort(self) -> dict[str, int]:
        return {"nodes": int(self.control[search.NODES])}

    def mask(self, row: search.Row) -> int:
        """The open candidates of a row."""
        words = np.empty(self.geometry.rules.shape[1], np.uint64)
        search.read_words(self.kind, self.geometry, row, words)
        return from_words(words)


class KernelEngine:
    """Depth-first search with propagation, compiled by numba; see `search`."""

    name = "kernel"

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        check_limit(limit)
        run = _Search(state)
        looked_for = min(limit + 1, _MOST)
        deadline = Deadline(seconds)
        stopped_by = None
        while True:
            if deadline.passed:
                stopped_by = "seconds"
                break
            result = search.count(
                run.kind, run.geometry, run.stack, run.control, looked_for, run.budget
            )
            if result == search.EXHAUSTED:
                break
            if run.control[search.FOUND] > limit:
                stopped_by = "limit"
                break
        found = min(int(run.control[search.FOUND]), limit)
        return Count(found, stopped_by is None, stopped_by, self.name, run.effort)

    def solutions(self, state: State) -> Iterator[tuple[int, ...]]:
        run = _Search(state)
        nothing = np.zeros_like(run.stack[0])
        while True:
            result = search.advance(
                run.kind, run.geometry, run.stack, run.control, nothing, False, 0, run.budget
            )
            if result == search.EXHAUSTED:
                return
            if result == search.SOLUTION:
                solution = run.stack[run.control[search.TOP] + 1]
                yield as_digits(run.mask(solution), run.layout)

    def support(self, state: State, seconds: float | None = None) -> Support:
        run = _Search(state)
        search.start_support(run.control)
        seen = np.zeros_like(run.stack[0])
        deadline = Deadline(seconds)
        complete = False
        while not complete and not deadline.passed:
            result = search.support(
                run.kind, run.geometry, run.stack, run.control, seen, run.budget
            )
            complete = result == search.EXHAUSTED
        occurs = run.mask(seen)
        undecided = 0 if complete else run.mask(run.stack[0]) & ~occurs
        return Support(
            occurs, undecided, complete, None if complete else "seconds", self.name, run.effort
        )
