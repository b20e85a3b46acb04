"""Shortest chains in the graph of links: breadth first, by the number of premises.

To refute a candidate means to find a chain of directions that starts with a node that the
candidate excludes and ends with one that excludes the candidate.  A set of directions is a
row of B words, so one step of the search is a few operations on words.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.techniques.compiled.board import bit
from gridcrux.techniques.compiled.links import COST, LARGEST_SET, Graph
from gridcrux.techniques.compiled.tables import Ints

LONGEST = 40
"""Most premises of a chain."""

PATIENCE = 2000
"""Links tried for one end of a chain, which is given up then."""

EVEN = 0x5555555555555555


class Search(NamedTuple):
    """What a search works in: few arrays, as each costs time where it is handed over.

    Attributes
    ----------
    sets : (rows, B) sets of directions: `REACHED` so far; `STARTS` and `ENDS`, where a chain may
        start and end; those whose links have so many premises from `COSTS` on; those first
        reached with so many premises from `LEVELS` on.
    walk : (rows, LONGEST + 2) the `PATH` found, from its start, closed by -1; while it is traced
        the `WIDTHS` before each direction and what was last `TRIED` there; the `TARGET` that
        the chain refutes, or -1.
    """

    sets: Ints
    walk: Ints


REACHED, STARTS, ENDS, COSTS, LEVELS = 0, 1, 2, 3, 4 + LARGEST_SET
PATH, WIDTHS, TRIED, TARGET = 0, 1, 2, 3


@inner
def new_search(graph: Graph, layers: int) -> Search:
    """Room to search a graph, whose directions may occur in several layers."""
    blocks = graph.following.shape[1]
    sets = np.zeros((LEVELS + LONGEST + LARGEST_SET + 2, blocks), np.int64)
    single = blocks // layers * 64
    for layer in range(layers):
        for direction in range(graph.facts.shape[0]):
            place = layer * single + direction
            sets[COSTS + graph.facts[direction, COST], place >> 6] |= bit(place)
    return Search(sets, np.full((4, LONGEST + 2), -1, np.int64))


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

    The chain is left in the `PATH`; it is the lowest-numbered of those that are as short,
    read from its end.  One that would use a premise twice does not count.
    """
    sets = search.sets
    blocks = sets.shape[1]
    for block in range(blocks):
        sets[REACHED, block] = 0
        for width in range(2 * LARGEST_SET + 2):
            sets[LEVELS + width, block] = 0
        for cost in range(1, LARGEST_SET + 1):
            sets[LEVELS + cost, block] = sets[STARTS, block] & sets[COSTS + cost, block]
    last = LARGEST_SET
    width = 0
    while width < last and width < most:
        width += 1
        for block in range(blocks):
            new = sets[LEVELS + width, block] & ~sets[REACHED, block]
            sets[LEVELS + width, block] = new
            sets[REACHED, block] |= new
            ending = new & sets[ENDS, block]
            while ending:
                end = (block << 6) + lowest(ending)
                ending &= ending - 1
                # One link alone is no chain.
                alone = sets[STARTS, block] & bit(end) and cost_of(search, end) == width
                if not alone and trace(graph, search, width, end):
                    return width
        for block in range(blocks):
            sets[LEVELS + width + LARGEST_SET + 1, block] = 0
        for block in range(blocks):
            left = sets[LEVELS + width, block]
            while left:
                here = (block << 6) + lowest(left)
                left &= left - 1
                for other in range(blocks):
                    new = graph.following[here, other] & ~sets[REACHED, other]
                    if new:
                        last = width + LARGEST_SET
                        for cost in range(1, LARGEST_SET + 1):
                            sets[LEVELS + width + cost, other] |= new & sets[COSTS + cost, other]
    return 0


@inner
def cost_of(search: Search, direction: int) -> int:
    """How many premises the link of a direction has."""
    cost = 1
    while not search.sets[COSTS + cost, direction >> 6] & bit(direction):
        cost += 1
    return cost


@inner
def touches(graph: Graph, direction: int, candidate: int) -> bool:
    """Whether a candidate, or -1 for none, is in a node of a link."""
    if candidate < 0:
        return False
    word = candidate >> 6
    return (graph.nodes[direction, word] | graph.nodes[direction ^ 1, word]) & bit(candidate) != 0


@inner
def before(graph: Graph, search: Search, width: int, depth: int, last: int) -> int:
    """A direction above `last`, reached with `width` premises, that leads on along the path.

    It may have no premise in common with the path, which runs from its end to `depth`; -1 if
    there is none.
    """
    here = search.walk[PATH, depth]
    single = 64 * graph.hits.shape[1]
    for block in range((last + 1) >> 6, search.sets.shape[1]):
        left = search.sets[LEVELS + width, block]
        if block == (last + 1) >> 6:
            left &= ~(bit(last + 1) - 1)
        while left:
            found = (block << 6) + lowest(left)
            left &= left - 1
            if not graph.following[found, here >> 6] & bit(here):
                continue
            apart = not touches(graph, found % single, search.walk[TARGET, 0])
            for i in range(depth + 1):
                for word in range(graph.premises.shape[1]):
                    if (
                        graph.premises[found % single >> 1, word]
                        & graph.premises[search.walk[PATH, i] % single >> 1, word]
                    ):
                        apart = False
            if apart:
                return found
    return -1


@inner
def trace(graph: Graph, search: Search, width: int, end: int) -> bool:
    """Write a chain that reaches `end` with `width` premises into the `PATH`, closed by -1.

    Backwards and with second thoughts, as a chain may not use a premise twice, nor go through
    the candidate that it refutes.  False if all ways do, or if it is not found out soon.
    """
    walk = search.walk
    depth, patience = 0, PATIENCE
    if touches(graph, end % (64 * graph.hits.shape[1]), search.walk[TARGET, 0]):
        return False
    walk[PATH, 0] = end
    walk[WIDTHS, 0] = width - cost_of(search, end)
    walk[TRIED, 0] = -1
    while walk[WIDTHS, depth]:
        found = before(graph, search, walk[WIDTHS, depth], depth, walk[TRIED, depth])
        patience -= 1
        if found < 0 or patience == 0:
            depth -= 1
            if depth < 0 or patience == 0:
                return False
            continue
        walk[TRIED, depth] = found
        depth += 1
        walk[PATH, depth] = found
        walk[WIDTHS, depth] = walk[WIDTHS, depth - 1] - cost_of(search, found)
        walk[TRIED, depth] = -1
    walk[PATH, depth + 1] = -1
    for i in range((depth + 1) // 2):
        walk[PATH, i], walk[PATH, depth - i] = walk[PATH, depth - i], walk[PATH, i]
    return True
