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
from gridcrux.grids.bitwise import lowest

PLANES, MASKS = 0, 1
"""Kinds of state: digit planes (9x9 with boxes only) and masks (any layout)."""

TOP, NODES, FOUND, PROBED = 0, 1, 2, 3
"""Places in `control`: top row (-1 when done), states propagated, solutions, candidate probed."""

EXHAUSTED, SOLUTION, PAUSED = 0, 1, 2
"""How `advance` ends: nothing left, a solution in row TOP + 1, node budget used up."""

Stack = NDArray[np.uint32]
Control = NDArray[np.int64]
Words = NDArray[np.uint64]


@njit(cache=True)
def propagate(kind: int, geometry: Geometry, stack: Stack, top: int) -> int:
    if kind == PLANES:
        return planes.propagate(stack, top)
    return masks.propagate(geometry, stack, top)


@njit(cache=True)
def split(kind: int, geometry: Geometry, stack: Stack, top: int, seen: Words) -> None:
    if kind == PLANES:
        planes.split(stack, top, seen)
    else:
        masks.split(geometry, stack, top, seen)


@njit(cache=True)
def load_words(kind: int, geometry: Geometry, row: NDArray[np.uint32], words: Words) -> None:
    if kind == PLANES:
        planes.load_words(row, words)
    else:
        masks.load_words(geometry, row, words)


@njit(cache=True)
def load_givens(
    kind: int, geometry: Geometry, row: NDArray[np.uint32], givens: NDArray[np.int8]
) -> None:
    if kind == PLANES:
        planes.load_givens(row, givens)
    else:
        masks.load_givens(geometry, row, givens)


@njit(cache=True)
def read_words(kind: int, geometry: Geometry, row: NDArray[np.uint32], words: Words) -> None:
    if kind == PLANES:
        planes.read_words(row, words)
    else:
        masks.read_words(geometry, row, words)


@njit(cache=True)
def assume(kind: int, geometry: Geometry, row: NDArray[np.uint32], candidate: int) -> None:
    if kind == PLANES:
        planes.assume(row, candidate)
    else:
        masks.assume(geometry, row, candidate)


@njit(cache=True)
def exclude(kind: int, geometry: Geometry, row: NDArray[np.uint32], candidate: int) -> None:
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
    seen: Words,
    bottom: int,
    budget: int,
) -> int:
    """Search on, above row `bottom`, to the next solution, the end, or `budget` more nodes."""
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
            split(kind, geometry, stack, top, seen)
            top += 1
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
    seen = np.zeros(geometry.rules.shape[1], np.uint64)
    last = control[NODES] + budget
    result = PAUSED
    while control[FOUND] < limit:
        result = advance(kind, geometry, stack, control, seen, 0, last - control[NODES])
        if result != SOLUTION:
            break
    return result


@njit(cache=True, nogil=True)
def count_many(
    kind: int,
    geometry: Geometry,
    puzzles: NDArray[np.int8],
    limit: int,
    counts: NDArray[np.int64],
    nodes: NDArray[np.int64],
) -> None:
    """Count the solutions of many puzzles, each up to `limit`; `puzzles` is (N, cells)."""
    cells = puzzles.shape[1]
    length = 40 if kind == PLANES else cells + geometry.house_cells.size
    stack = np.zeros((cells + 2, length), np.uint32)
    control = np.zeros(4, np.int64)
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
    occurs: Words,
    budget: int,
) -> int:
    """Find which candidates of the state in row 0 occur in a solution; goes on after a pause.

    Candidates not yet seen in a solution are probed one by one.  A solution adds all its
    candidates to `occurs` (and the search prefers unseen ones, so it adds many); a refuted
    candidate is removed from row 0, which is propagated again, so later probes start stronger.
    EXHAUSTED means decided: `occurs` is exact and row 0 holds nothing else.  Start with
    control zeroed but TOP = 0 and PROBED = -1.
    """
    unseen = np.empty_like(occurs)
    last = control[NODES] + budget
    while True:
        if control[PROBED] < 0:
            control[NODES] += 1
            if propagate(kind, geometry, stack, 0) == DEAD:
                return EXHAUSTED
            read_words(kind, geometry, stack[0], unseen)
            candidate = -1
            for i in range(occurs.size):
                word = unseen[i] & ~occurs[i]
                if word:
                    candidate = 64 * i + lowest(word)
                    break
            if candidate < 0:
                return EXHAUSTED
            stack[1] = stack[0]
            assume(kind, geometry, stack[1], candidate)
            control[PROBED] = candidate
            control[TOP] = 1
        if control[NODES] >= last:
            return PAUSED
        result = advance(kind, geometry, stack, control, occurs, 1, last - control[NODES])
        if result == PAUSED:
            return PAUSED
        if result == SOLUTION:
            read_words(kind, geometry, stack[control[TOP] + 1], unseen)
            for i in range(occurs.size):
                occurs[i] |= unseen[i]
        else:
            exclude(kind, geometry, stack[0], control[PROBED])
        control[PROBED] = -1
