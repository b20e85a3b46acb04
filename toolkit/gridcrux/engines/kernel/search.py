"""One depth-first search over both kinds of state: counting, enumerating, and support.

The stack holds one state a row; its top is worked on, a dead one is dropped, an open one is
split in two.  All that the search knows between two calls lies in the stack and in `control`,
so that it can be stopped after any number of nodes (for a clock, for Ctrl-C, for a caller who
wants the next solution) and goes on as if nothing had happened.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.kernel import masks, planes
from gridcrux.engines.kernel.status import DEAD, OPEN, SOLVED
from gridcrux.grids.arrays import Geometry
from gridcrux.grids.layout import NINE, Layout

PLANES, MASKS = 0, 1
"""Kinds of state: digit planes (9x9 with boxes only) and masks (any layout)."""

TOP, NODES, FOUND, PROBED, BOLD_UNTIL = 0, 1, 2, 3, 4
"""Places in `control`: top row (-1 when done), states propagated, solutions, candidate probed,
node at which its probe stops preferring what is new."""

CONTROLS = 5
"""Length of `control`."""

BOLD_NODES = 40
"""Nodes after which a probe stops preferring what is new; most need fewer than ten."""

EXHAUSTED, SOLUTION, PAUSED = 0, 1, 2
"""How `advance` ends: nothing left, a solution in row TOP + 1, node budget used up."""

Row = NDArray[np.uint32]
Stack = NDArray[np.uint32]
Control = NDArray[np.int64]
Words = NDArray[np.uint64]


def kind_of(layout: Layout) -> int:
    """Digit planes for 9x9 with boxes and nothing else, masks for all other layouts."""
    return PLANES if layout == NINE else MASKS


def new_stack(kind: int, geometry: Geometry) -> Stack:
    """Rows enough for any search: support keeps two of its own, each decision adds one."""
    cells = len(geometry.cell_houses)
    length = planes.ROW_LENGTH if kind == PLANES else masks.row_length(geometry)
    return np.zeros((cells + 3, length), np.uint32)


@njit(cache=True, inline="always")
def propagate(kind: int, geometry: Geometry, stack: Stack, top: int) -> int:
    if kind == PLANES:
        return planes.propagate(stack, top)
    return masks.propagate(geometry, stack, top)


@njit(cache=True, inline="always")
def choose(kind: int, geometry: Geometry, row: Row, seen: Row, explore: bool) -> int:
    if kind == PLANES:
        return planes.choose(row, seen, explore)
    return masks.choose(geometry, row, seen, explore)


@njit(cache=True, inline="always")
def first_unseen(kind: int, geometry: Geometry, row: Row, seen: Row) -> int:
    if kind == PLANES:
        return planes.first_unseen(row, seen)
    return masks.first_unseen(geometry, row, seen)


@njit(cache=True, inline="always")
def add_seen(kind: int, geometry: Geometry, seen: Row, row: Row) -> None:
    if kind == PLANES:
        planes.add_seen(seen, row)
    else:
        masks.add_seen(geometry, seen, row)


@njit(cache=True, inline="always")
def load_words(kind: int, geometry: Geometry, row: Row, words: Words) -> None:
    if kind == PLANES:
        planes.load_words(row, words)
    else:
        masks.load_words(geometry, row, words)


@njit(cache=True, inline="always")
def load_givens(kind: int, geometry: Geometry, row: Row, givens: NDArray[np.int8]) -> None:
    if kind == PLANES:
        planes.load_givens(row, givens)
    else:
        masks.load_givens(geometry, row, givens)


@njit(cache=True, inline="always")
def read_words(kind: int, geometry: Geometry, row: Row, words: Words) -> None:
    if kind == PLANES:
        planes.read_words(row, words)
    else:
        masks.read_words(geometry, row, words)


@njit(cache=True, inline="always")
def assume(kind: int, geometry: Geometry, row: Row, candidate: int) -> None:
    if kind == PLANES:
        planes.assume(row, candidate)
    else:
        masks.assume(geometry, row, candidate)


@njit(cache=True, inline="always")
def exclude(kind: int, geometry: Geometry, row: Row, candidate: int) -> None:
    if kind == PLANES:
        planes.exclude(row, candidate)
    else:
        masks.exclude(geometry, row, candidate)


@njit(cache=True)
def advance(
    kind: int,
    geometry: Geometry,
    stack: Stack,
    control: Control,
    seen: Row,
    explore: bool,
    bottom: int,
    budget: int,
) -> int:
    """Search on, above row `bottom`, to the next solution, the end, or `budget` more nodes.

    `seen` and `explore` say what to decide next: see `planes.choose`.
    """
    top = control[TOP]
    nodes = 0
    result = EXHAUSTED
    while top >= bottom:
        if nodes == budget:
            result = PAUSED
            break
        nodes += 1
        status = propagate(kind, geometry, stack, top)
        if status == OPEN:
            candidate = choose(kind, geometry, stack[top], seen, explore)
            stack[top + 1] = stack[top]
            exclude(kind, geometry, stack[top], candidate)
            top += 1
            assume(kind, geometry, stack[top], candidate)
        else:
            top -= 1
            if status == SOLVED:
                control[FOUND] += 1
                result = SOLUTION
                break
    control[TOP] = top
    control[NODES] += nodes
    return result


@njit(cache=True, nogil=True)
def count(
    kind: int, geometry: Geometry, stack: Stack, control: Control, limit: int, budget: int
) -> int:
    """Count on until `limit` solutions are found, nothing is left, or the budget is used up."""
    nothing = np.zeros(stack.shape[1], np.uint32)
    last = control[NODES] + budget
    result = PAUSED
    while control[FOUND] < limit:
        left = last - control[NODES]
        result = advance(kind, geometry, stack, control, nothing, False, 0, left)
        if result != SOLUTION:
            break
    return result


@njit(cache=True, nogil=True)
def count_many(
    kind: int,
    geometry: Geometry,
    stack: Stack,
    puzzles: NDArray[np.int8],
    limit: int,
    counts: NDArray[np.int64],
    nodes: NDArray[np.int64],
) -> None:
    """Count the solutions of many puzzles, each up to `limit`; `puzzles` is (N, cells)."""
    control = np.zeros(CONTROLS, np.int64)
    for i in range(puzzles.shape[0]):
        control[:] = 0
        load_givens(kind, geometry, stack[0], puzzles[i])
        count(kind, geometry, stack, control, limit, 1 << 62)
        counts[i] = control[FOUND]
        nodes[i] = control[NODES]


@njit(cache=True, nogil=True)
def support(
    kind: int,
    geometry: Geometry,
    stack: Stack,
    control: Control,
    seen: Row,
    budget: int,
) -> int:
    """Find which candidates of the state in row 0 occur in a solution; goes on after a pause.

    Candidates not yet seen in a solution are probed one by one.  A solution adds all its
    candidates to `seen`, a row of its own, and the search prefers unseen ones, so it adds many.
    A refuted candidate is removed from row 0, which is propagated again, so later probes start
    stronger.  Preferring the unseen leads into long detours once most of them are in no
    solution; a probe that does not end in `BOLD_NODES` starts again without that preference.

    EXHAUSTED means decided: `seen` is exact and row 0 holds nothing else.  Begin with `seen`
    empty and `start_support(control)`.
    """
    last = control[NODES] + budget
    while control[NODES] < last:
        if control[PROBED] < 0:
            control[NODES] += 1
            if propagate(kind, geometry, stack, 0) == DEAD:
                return EXHAUSTED
            control[PROBED] = first_unseen(kind, geometry, stack[0], seen)
            if control[PROBED] < 0:
                return EXHAUSTED
            control[BOLD_UNTIL] = control[NODES] + BOLD_NODES
            control[TOP] = 0
        if control[TOP] == 0:
            stack[1] = stack[0]
            assume(kind, geometry, stack[1], control[PROBED])
            control[TOP] = 1
        bold = control[BOLD_UNTIL] > control[NODES]
        until = min(last, control[BOLD_UNTIL]) if bold else last
        left = until - control[NODES]
        result = advance(kind, geometry, stack, control, seen, bold, 1, left)
        if result == SOLUTION:
            add_seen(kind, geometry, seen, stack[control[TOP] + 1])
            control[PROBED] = -1
        elif result == EXHAUSTED:
            exclude(kind, geometry, stack[0], control[PROBED])
            control[PROBED] = -1
        elif bold and control[NODES] == control[BOLD_UNTIL]:
            control[TOP] = 0
    return PAUSED


@njit(cache=True)
def start_support(control: Control) -> None:
    """Make `control` ready for `support`."""
    control[:] = 0
    control[PROBED] = -1
