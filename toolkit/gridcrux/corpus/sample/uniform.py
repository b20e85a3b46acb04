"""Random complete grids with weights under which all grids count the same.

Houses of which no two share a cell or see each other (the three boxes of a diagonal, a row of a
Latin square) are filled with independent random permutations.  All completions of this *filling*
are listed, and grids are drawn from the list, each as likely as any other.  A filling with c
completions has the weight F * c, where F is the number of fillings; so the mean of the weights
estimates the number of all grids without bias, and a statistic of the grids drawn, taken with
these weights, that of all grids.  For 9x9, c hardly varies: 140,000 with a standard deviation of
12 %.

Filling number i of a seed depends on the seed and i alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from math import factorial
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.sample.deletion import Givens, Workbench, generator, read_grid
from gridcrux.engines.kernel import search
from gridcrux.grids.arrays import Geometry
from gridcrux.grids.layout import NINE, Layout
from gridcrux.grids.rich import facts

GRIDS = 8
"""Grids drawn from one list of completions when nothing else is said."""

NODES = 4_000_000
"""Nodes that listing the completions may take; beyond, the layout is called too large."""


@dataclass(frozen=True)
class Filling:
    """Some houses filled at random, and grids drawn from its completions.

    Attributes
    ----------
    index : its number among those of its seed.
    completions : number of grids that have these digits.
    weight : completions times the number of fillings: an unbiased estimate of the number of grids.
    grids : (k, n*n) drawn with replacement, all completions alike; none if there is no completion.
    """

    index: int
    completions: int
    weight: float
    grids: Givens

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {"index": self.index, "completions": self.completions, "weight": self.weight}

    def _repr_html_(self) -> str:
        return facts(self.row())


@lru_cache(maxsize=64)
def unseen_houses(layout: Layout) -> tuple[tuple[int, ...], ...]:
    """Cells of houses of which no two share a cell or see each other, chosen greedily."""
    reach = [
        frozenset(house.cells).union(*(layout.peers[cell] for cell in house.cells))
        for house in layout.houses
    ]
    best: list[int] = []
    for first in range(len(layout.houses)):
        chosen = [first]
        for number, house in enumerate(layout.houses):
            if not any(reach[other].intersection(house.cells) for other in chosen):
                chosen.append(number)
        if len(chosen) > len(best):
            best = chosen
    return tuple(layout.houses[number].cells for number in best)


@njit(cache=True)
def _draw(
    kind: int,
    tables: Geometry,
    stack: NDArray[np.uint32],
    control: NDArray[np.int64],
    filling: Givens,
    random: np.random.Generator,
    grids: Givens,
    nodes: int,
) -> int:
    """Draw `grids` from the completions of a filling; their number, or -1 after so many nodes.

    One pass without a list: each grid is replaced by the n-th completion with probability 1/n,
    and the number of the completion that replaces it next is drawn at once.
    """
    nothing = np.zeros(stack.shape[1], np.uint32)
    words = np.empty(tables.rules.shape[1], np.uint64)
    following = np.ones(grids.shape[0])
    soonest = 1.0
    control[:] = 0
    search.load_givens(kind, tables, stack[0], filling)
    while True:
        left = nodes - control[search.NODES]
        ended = search.advance(kind, tables, stack, control, nothing, False, 0, left)
        if ended != search.SOLUTION:
            break
        found = control[search.FOUND]
        if found < soonest:
            continue
        search.read_words(kind, tables, stack[control[search.TOP] + 1], words)
        soonest = np.inf
        for i in range(grids.shape[0]):
            if found == following[i]:
                read_grid(words, grids[i])
                following[i] = np.floor(found / (1.0 - random.random())) + 1.0
            soonest = min(soonest, following[i])
    return control[search.FOUND] if ended == search.EXHAUSTED else -1


def fill(bench: Workbench, index: int, random: np.random.Generator, grids: int = GRIDS) -> Filling:
    """One filling and its grids; see `fillings`."""
    layout = bench.layout
    houses = unseen_houses(layout)
    filling = np.zeros(layout.cells, np.int8)
    for cells in houses:
        filling[list(cells)] = random.permutation(layout.size) + 1
    drawn = np.zeros((grids, layout.cells), np.int8)
    found = _draw(
        bench.kind, bench.tables, bench.stack, bench.control, filling, random, drawn, NODES
    )
    if found < 0:
        raise ValueError(
            f"layout {layout.name!r} is too large: with {len(houses)} of its houses filled, there "
            f"are more ways to complete the grid than can be listed in {NODES:,} nodes"
        )
    weight = float(factorial(layout.size) ** len(houses) * found)
    return Filling(index, found, weight, drawn if found else drawn[:0])


def fillings(
    count: int, seed: int, layout: Layout = NINE, start: int = 0, grids: int = GRIDS
) -> Iterator[Filling]:
    """Random fillings, numbers `start` to `start + count - 1` of a seed, each with some grids.

    Parameters
    ----------
    count, start : how many, and the number of the first.
    seed : which corpus.
    grids : how many to draw from each; those of one filling are alike in the houses filled.

    Raises
    ------
    ValueError : the completions are too many to list (Latin squares of order 7, 12x12).
    """
    bench = Workbench(layout)
    for index in range(start, start + count):
        yield fill(bench, index, generator(seed, index), grids)
