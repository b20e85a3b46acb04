"""Writing a chain as a record, and what two nodes exclude together."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import FORBIDDEN, MASKS, OPEN, bit
from gridcrux.techniques.compiled.links import COST, DIGIT, KIND, SETS, Graph
from gridcrux.techniques.compiled.notes import begin, conclude, width_of
from gridcrux.techniques.compiled.shapes import REMOTE_PAIR
from gridcrux.techniques.compiled.tables import Ints, Tables


@inner
def add_link(tables: Tables, graph: Graph, direction: int, records: Ints, row: int) -> None:
    """Note the premises of a link in a record, and what it relies on."""
    words = tables.rules.shape[1]
    for word in range(graph.premises.shape[1]):
        records[row, REMOVES + 2 * words + word] |= graph.premises[direction >> 1, word]
    for word in range(words):
        records[row, REMOVES + words + word] |= graph.relies[direction >> 1, word]


@inner
def add_common(tables: Tables, graph: Graph, one: int, two: int, records: Ints, row: int) -> None:
    """Note as excluded what conflicts with all of two nodes."""
    for word in range(tables.rules.shape[1]):
        records[row, REMOVES + word] |= graph.sees[one, word] & graph.sees[two, word]


@inner
def add_locked(
    tables: Tables, board: Ints, graph: Graph, direction: int, records: Ints, row: int
) -> None:
    """Note what the other digits of a set exclude when one of two of its digits has left it."""
    seen = np.empty(tables.rules.shape[1], np.int64)
    for digit in range(tables.size):
        if digit == graph.facts[direction, DIGIT] or digit == graph.facts[direction ^ 1, DIGIT]:
            continue
        for word in range(seen.shape[0]):
            seen[word] = -1
        found = False
        for cell in range(tables.cells):
            if not graph.premises[direction >> 1, cell >> 6] & bit(cell):
                continue
            candidate = tables.candidates[cell, digit]
            if board[MASKS, cell] >> digit & 1:
                found = True
                for word in range(seen.shape[0]):
                    seen[word] &= tables.conflicts[candidate, word]
            else:
                column = REMOVES + tables.rules.shape[1] + (candidate >> 6)
                records[row, column] |= bit(candidate)
        if found:
            for word in range(seen.shape[0]):
                records[row, REMOVES + word] |= seen[word]


@inner
def record_chain(
    tables: Tables,
    board: Ints,
    graph: Graph,
    technique: int,
    path: Ints,
    is_loop: bool,
    records: Ints,
    row: int,
) -> bool:
    """Write the chain of a path that ends with -1; whether it excludes anything open.

    A path that uses a premise twice is no chain: some candidate in it falls by a shorter one.
    """
    begin(records, row, technique)
    cost = 0
    base, last = graph.facts.shape[0], 0
    single = (base + 63) >> 6 << 6
    while path[last + 1] >= 0:
        last += 1
    for i in range(last + 1):
        direction = path[i] % single
        add_link(tables, graph, direction, records, row)
        cost += graph.facts[direction, COST]
        if is_loop:
            after = path[0 if i == last else i + 1] % single
            add_common(tables, graph, direction ^ 1, after, records, row)
            if graph.facts[direction, KIND] == SETS:
                add_locked(tables, board, graph, direction, records, row)
    if not is_loop:
        first, final = path[0] % single, path[last] % single
        add_common(tables, graph, first, final ^ 1, records, row)
        if technique == REMOTE_PAIR:
            add_common(tables, graph, first ^ 1, final, records, row)
    # What is in a node of the chain falls by a part of the chain alone, if it falls.
    words = tables.rules.shape[1]
    for word in range(words):
        records[row, REMOVES + word] &= ~records[row, REMOVES + words + word]
        for i in range(last + 1):
            node = path[i] % single
            own = graph.nodes[node, word] | graph.nodes[node ^ 1, word]
            records[row, REMOVES + word] &= ~own
    return cost == width_of(tables, records, row) and conclude(tables, board, records, row)


@inner
def have_common(tables: Tables, board: Ints, graph: Graph, one: int, two: int) -> bool:
    """Whether anything that may be excluded conflicts with all of two nodes."""
    for word in range(tables.rules.shape[1]):
        common = graph.sees[one, word] & graph.sees[two, word]
        if common & board[OPEN, word] & ~board[FORBIDDEN, word]:
            return True
    return False


@inner
def idle_ends(
    tables: Tables, board: Ints, graph: Graph, first: int, last: int, looped: bool
) -> bool:
    """Whether a chain, if it is no loop, has nothing to exclude at its ends."""
    return not looped and not have_common(tables, board, graph, first, last ^ 1)


@inner
def follows(graph: Graph, before: int, after: int) -> bool:
    """Whether one direction can follow another."""
    return graph.following[before, after >> 6] & bit(after) != 0
