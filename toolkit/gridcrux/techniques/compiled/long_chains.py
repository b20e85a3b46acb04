"""Chains and loops of any length: for each candidate, or each link, the shortest."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.techniques.compiled.board import FORBIDDEN, OPEN, bit
from gridcrux.techniques.compiled.chain_records import follows, have_common, record_chain
from gridcrux.techniques.compiled.links import DIGIT, KIND, SETS, Graph
from gridcrux.techniques.compiled.notes import keep
from gridcrux.techniques.compiled.search import (
    ENDS,
    PATH,
    STARTS,
    TARGET,
    new_search,
    reversed_directions,
    shortest,
)
from gridcrux.techniques.compiled.tables import Ints, Tables


@inner
def with_colours(graph: Graph, layers: int) -> Graph:
    """The graph in which a weak link must be a pair as well, but for `layers` - 1 of them.

    Direction k in layer l has the number k + l * (64 B); another weak link leads one layer on.
    """
    count, blocks = graph.facts.shape[0], graph.following.shape[1]
    single = 64 * blocks
    following = np.zeros((layers * single, layers * blocks), np.int64)
    # Nodes with the same candidates take the number of the first of them.
    alike = np.arange(count)
    for direction in range(count):
        for first in range(direction, -1, -1):
            if (graph.nodes[first] == graph.nodes[direction]).all():
                alike[direction] = first
    paired = np.zeros((count, count), np.bool_)
    for direction in range(count):
        paired[alike[direction], alike[direction ^ 1]] = True
    for before in range(count):
        for after in range(count):
            if follows(graph, before, after):
                target = 0 if paired[alike[before ^ 1], alike[after]] else 1
                for layer in range(layers - target):
                    place = (layer + target) * single + after
                    following[layer * single + before, place >> 6] |= bit(place)
    return Graph(
        graph.facts,
        graph.nodes,
        graph.sees,
        graph.premises,
        graph.relies,
        graph.hits,
        following,
    )


@inner
def keep_remote_pairs(graph: Graph) -> None:
    """Let only cells with the same two digits follow each other."""
    for before in range(graph.facts.shape[0]):
        for block in range(graph.following.shape[1]):
            left = graph.following[before, block]
            while left:
                after = (block << 6) + lowest(left)
                left &= left - 1
                if graph.facts[after ^ 1, DIGIT] != graph.facts[before, DIGIT]:
                    graph.following[before, block] &= ~bit(after)


@inner
def find_long(
    tables: Tables,
    board: Ints,
    graph: Graph,
    technique: int,
    layers: int,
    least: int,
    most: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """For each candidate the shortest chain that refutes it; the shortest of all if limit is 1.

    A candidate that has a chain with fewer than `least` premises is left to other techniques.
    """
    blocks = graph.hits.shape[1]
    search = new_search(graph, layers)
    draft = np.empty((1, records.shape[1]), np.int64)
    found = 0
    for word in range(tables.rules.shape[1]):
        targets = board[OPEN, word] & ~board[FORBIDDEN, word]
        while targets:
            target = (word << 6) + lowest(targets)
            targets &= targets - 1
            search.walk[TARGET, 0] = target
            any_ = 0
            for block in range(blocks):
                hit = graph.hits[target, block]
                any_ |= hit
                search.sets[STARTS, block] = hit
                search.sets[ENDS, (layers - 1) * blocks + block] = reversed_directions(hit)
            width = shortest(graph, search, most) if any_ else 0
            if width >= least and record_chain(
                tables, board, graph, technique, search.walk[PATH], False, draft, 0
            ):
                found = keep(draft, records, row, found, limit)
                if limit == 1:
                    most = width - 1
                elif found == limit:
                    return found
    return found


@inner
def find_loops(
    tables: Tables,
    board: Ints,
    graph: Graph,
    technique: int,
    most: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """For each direction the shortest loop through it that excludes something.

    Unless the loop excludes something at the weak link where it closes, another of its
    directions will see it, or a set in it excludes something else.
    """
    search = new_search(graph, 1)
    draft = np.empty((1, records.shape[1]), np.int64)
    found = 0
    for first in range(graph.facts.shape[0]):
        for block in range(search.sets.shape[1]):
            search.sets[STARTS, block] = 0
        search.sets[STARTS, first >> 6] = bit(first)
        for block in range(search.sets.shape[1]):
            search.sets[ENDS, block] = reversed_directions(graph.following[first ^ 1, block])
            if graph.facts[first, KIND] == SETS:
                continue
            left = search.sets[ENDS, block]
            while left:
                last = (block << 6) + lowest(left)
                left &= left - 1
                if not have_common(tables, board, graph, first, last ^ 1):
                    search.sets[ENDS, block] &= ~bit(last)
        width = shortest(graph, search, most)
        if width and record_chain(
            tables, board, graph, technique, search.walk[PATH], True, draft, 0
        ):
            found = keep(draft, records, row, found, limit)
            if limit == 1:
                most = width - 1
            elif found == limit:
                return found
    return found
