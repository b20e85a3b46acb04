"""The kernel behind the engine protocol."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from gridcrux.engines.kernel import masks, planes, search
from gridcrux.engines.protocol import Count, Support
from gridcrux.grids.arrays import Geometry, from_words, geometry, state_words

if TYPE_CHECKING:
    from gridcrux.grids.layout import Layout
    from gridcrux.grids.state import State

_WORK_BETWEEN_CLOCK_CHECKS = 4_000_000
"""Nodes between two looks at the clock, times the candidates of the layout (some 5 ms)."""


def kind_of(layout: Layout) -> int:
    """Digit planes for 9x9 with boxes and nothing else, masks for all other layouts."""
    from gridcrux.grids.layout import NINE

    return search.PLANES if layout == NINE else search.MASKS


class _Search:
    """A stack with a state in row 0, ready to be searched."""

    def __init__(self, state: State) -> None:
        layout = state.layout
        self.cells = layout.cells
        self.kind = kind_of(layout)
        self.geometry: Geometry = geometry(layout)
        length = (
            planes.ROW_LENGTH if self.kind == search.PLANES else masks.row_length(self.geometry)
        )
        self.stack = np.zeros((layout.cells + 3, length), np.uint32)
        self.control = np.zeros(search.CONTROLS, np.int64)
        self.words: NDArray[np.uint64] = np.zeros(self.geometry.rules.shape[1], np.uint64)
        self.budget = max(1, _WORK_BETWEEN_CLOCK_CHECKS // layout.candidates)
        search.load_words(self.kind, self.geometry, self.stack[0], state_words(state))

    @property
    def effort(self) -> dict[str, int]:
        return {"nodes": int(self.control[search.NODES])}

    def digits(self, row: int) -> tuple[int, ...]:
        """The solution in a row of the stack."""
        search.read_words(self.kind, self.geometry, self.stack[row], self.words)
        mask = from_words(self.words)
        grid = [0] * self.cells
        while mask:
            low = mask & -mask
            digit, cell = divmod(low.bit_length() - 1, self.cells)
            grid[cell] = digit + 1
            mask ^= low
        return tuple(grid)


class KernelEngine:
    """Depth-first search with propagation, compiled by numba; see `search`."""

    name = "kernel"

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        if limit < 1:
            raise ValueError(f"limit is {limit}, expected at least 1")
        run = _Search(state)
        deadline = None if seconds is None else time.monotonic() + seconds
        stopped_by = None
        while True:
            if deadline is not None and time.monotonic() >= deadline:
                stopped_by = "seconds"
                break
            result = search.count(
                run.kind, run.geometry, run.stack, run.control, limit + 1, run.budget
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
                yield run.digits(int(run.control[search.TOP]) + 1)

    def support(self, state: State, seconds: float | None = None) -> Support:
        run = _Search(state)
        search.start_support(run.control)
        seen = np.zeros_like(run.stack[0])
        deadline = None if seconds is None else time.monotonic() + seconds
        complete = False
        while deadline is None or time.monotonic() < deadline:
            result = search.support(
                run.kind, run.geometry, run.stack, run.control, seen, run.budget
            )
            if result == search.EXHAUSTED:
                complete = True
                break
        search.read_words(run.kind, run.geometry, seen, run.words)
        occurs, undecided = from_words(run.words), 0
        if not complete:
            search.read_words(run.kind, run.geometry, run.stack[0], run.words)
            undecided = from_words(run.words) & ~occurs
        return Support(
            occurs, undecided, complete, None if complete else "seconds", self.name, run.effort
        )
