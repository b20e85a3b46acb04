"""Shortest chains in the graph of links: breadth first, by the number of premises.

To refute a candidate means to find a chain of directions that starts with a node that the
candidate excludes and ends with one that excludes the candidate.  A set of directions is a
row of B words, so one step of the search is a few operations on words.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gridcrux.grids.bitwise import lowest
from gridcrux.techniques.compiled.board import bit
from gridcrux.techniques.compiled.inner import inner
from gridcrux.techniques.compiled.links import COST, LARGEST_SET, Graph
from gridcrux.techniques.compiled.tables import Ints

LONGEST = 40
"""Most premises of a chain."""

EVEN = 0x5555555555555555


class Search(NamedTuple):
    """What a search works in; directions fill B words.

    Attributes
    ----------
    levels : (LONGEST + LARGEST_SET + 2, B) directions first reached with so many premises.
    reached : (B,) all reached so far.
    starts, ends : (B,) where a chain may start and end.
    path : (LONGEST + 1,) directions of the chain found, from its start.
    costs : (LARGEST_SET + 1, B) directions with so many premises.
    """

    levels: Ints
    reached: Ints
    starts: Ints
    ends: Ints
    path: Ints
    costs: Ints


@inner
def new_search(graph: Graph, layers: int) -> Search:
    """Room to search a graph, whose directions may occur in several layers."""
    blocks = graph.following.shape[1]
    costs = np.zeros((LARGEST_SET + 1, blocks), np.int64)
    single = blocks // layers * 64
    for layer in range(layers):
        for direction in range(graph.facts.shape[0]):
            place = layer * single + direction
            costs[graph.facts[direction, COST], place >> 6] |= bit(place)
    return Search(
        np.zeros((LONGEST + LARGEST_SET + 2, blocks), np.int64),
        np.zeros(blocks, np.int64),
        np.zeros(blocks, np.int64),
        np.zeros(blocks, np.int64),
        np.zeros(LONGEST + 1, np.int64),
        costs,
    )


@inner
def reversed_directions(word: int) -> int:
    """The directions of a word, each turned round."""
    return (word & EVEN) << 1 | word >> 1 & EVEN


@inner
def shortest(graph: Graph, search: Search, most: int) -> int:
    """The fewest premises of a chain from `starts` to `ends` with several links, or 0.

    Parameters
    ----------
    most : premises that it may have.

    The chain is left in `search.path`; it is the lowest-numbered of those that are as short,
    read from its end.
    """
    blocks = search.reached.shape[0]
    search.reached[:] = 0
    search.levels[: 2 * LARGEST_SET + 2] = 0
    for cost in range(1, LARGEST_SET + 1):
        for block in range(blocks):
            search.levels[cost, block] = search.starts[block] & search.costs[cost, block]
    last = LARGEST_SET
    width = 0
    while width < last and width < most:
        width += 1
        for block in range(blocks):
            new = search.levels[width, block] & ~search.reached[block]
            search.levels[width, block] = new
            search.reached[block] |= new
            ending = new & search.ends[block]
            while ending:
                end = (block << 6) + lowest(ending)
                ending &= ending - 1
                # One link alone is no chain.
                alone = search.starts[block] & bit(end) and cost_of(search, end) == width
                if not alone:
                    trace(graph, search, width, end)
                    return width
        search.levels[width + LARGEST_SET + 1] = 0
        for block in range(blocks):
            left = search.levels[width, block]
            while left:
                here = (block << 6) + lowest(left)
                left &= left - 1
                for other in range(blocks):
                    new = graph.following[here, other] & ~search.reached[other]
                    if new:
                        last = width + LARGEST_SET
                        for cost in range(1, LARGEST_SET + 1):
                            search.levels[width + cost, other] |= new & search.costs[cost, other]
    return 0


@inner
def cost_of(search: Search, direction: int) -> int:
    """How many premises the link of a direction has."""
    cost = 1
    while not search.costs[cost, direction >> 6] & bit(direction):
        cost += 1
    return cost


@inner
def trace(graph: Graph, search: Search, width: int, end: int) -> None:
    """Write the chain that reached `end` with `width` premises into `search.path`, closed by -1."""
    path = search.path
    count = 1
    path[0] = end
    while True:
        width -= cost_of(search, path[count - 1])
        if width == 0:
            break
        before = -1
        for block in range(search.reached.shape[0]):
            left = search.levels[width, block]
            while left and before < 0:
                here = (block << 6) + lowest(left)
                left &= left - 1
                if graph.following[here, path[count - 1] >> 6] & bit(path[count - 1]):
                    before = here
        path[count] = before
        count += 1
    path[count] = -1
    for i in range(count // 2):
        path[i], path[count - 1 - i] = path[count - 1 - i], path[i]
