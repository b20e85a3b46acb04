"""Cells each of whose digits excludes the same candidate, through an almost locked set."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import FORBIDDEN, MASKS, OPEN, bit
from gridcrux.techniques.compiled.chain_records import add_link
from gridcrux.techniques.compiled.links import CELLS, COST, DIGIT, KIND, SETS, Graph
from gridcrux.techniques.compiled.notes import (
    add_premise,
    begin,
    conclude,
    keep,
    rely_on_closed,
    width_of,
)
from gridcrux.techniques.compiled.search import reversed_directions
from gridcrux.techniques.compiled.shapes import XYZ_WING
from gridcrux.techniques.compiled.tables import Ints, Tables


@inner
def branch_of(tables: Tables, graph: Graph, digit: int, start: int, target: int, kinds: int) -> int:
    """The narrowest link by which `start` excludes `target` through its own digit, or -1.

    The link is entered at places of `digit`, that of `start`, and left at places of the digit
    of `target`.
    """
    best = -1
    for block in range(graph.hits.shape[1]):
        left = graph.hits[start, block] & reversed_directions(graph.hits[target, block])
        while left:
            direction = (block << 6) + lowest(left)
            left &= left - 1
            if (
                graph.facts[direction, DIGIT] == digit
                and graph.facts[direction ^ 1, DIGIT] == target // tables.cells
                and graph.facts[direction, KIND] & kinds
                and (best < 0 or graph.facts[direction, COST] < graph.facts[best, COST])
            ):
                best = direction
    return best


@inner
def reach_of(tables: Tables, graph: Graph, cell: int, digit: int, kinds: int, seen: Ints) -> None:
    """Write into `seen` what a digit of a cell excludes through one link, or as it stands."""
    start = tables.candidates[cell, digit]
    for word in range(seen.shape[0]):
        seen[word] = tables.conflicts[start, word]
    for block in range(graph.hits.shape[1]):
        left = graph.hits[start, block]
        while left:
            direction = (block << 6) + lowest(left)
            left &= left - 1
            if graph.facts[direction, DIGIT] == digit and graph.facts[direction, KIND] & kinds:
                for word in range(seen.shape[0]):
                    seen[word] |= graph.sees[direction ^ 1, word]


@inner
def find_stems(
    tables: Tables,
    board: Ints,
    graph: Graph,
    technique: int,
    most: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """Candidates that every digit of a cell excludes, each through a set, or as it stands.

    For each cell and candidate the narrowest.  An XYZ-wing is a cell of three digits with two
    cells for sets, in which the third digit excludes the candidate as it stands.
    """
    n, words = tables.size, tables.rules.shape[1]
    chosen, seen, targets = (
        np.empty(n, np.int64),
        np.empty(words, np.int64),
        np.empty(words, np.int64),
    )
    draft = np.empty((1, records.shape[1]), np.int64)
    kinds = CELLS if technique == XYZ_WING else CELLS | SETS
    found = 0
    for cell in range(tables.cells):
        mask = board[MASKS, cell]
        if popcount(mask) < 3 or (technique == XYZ_WING and popcount(mask) > 3):
            continue
        for word in range(words):
            targets[word] = board[OPEN, word] & ~board[FORBIDDEN, word]
        left = mask
        while left:
            reach_of(tables, graph, cell, lowest(left), kinds, seen)
            for word in range(words):
                targets[word] &= seen[word]
            left &= left - 1
        for word in range(words):
            while targets[word]:
                target = (word << 6) + lowest(targets[word])
                targets[word] &= targets[word] - 1
                cost = choose_branches(tables, graph, cell, mask, target, kinds, chosen)
                free = 0
                for digit in range(n):
                    free += mask >> digit & 1 and chosen[digit] < 0
                if cost == 0 or cost > most or (technique == XYZ_WING and free != 1):
                    continue
                if not record_stem(tables, board, graph, technique, cell, chosen, draft, 0):
                    continue
                found = keep(draft, records, row, found, limit)
                if limit == 1:
                    most = cost - 1
                elif found == limit:
                    return found
    return found


@inner
def choose_branches(
    tables: Tables, graph: Graph, cell: int, mask: int, target: int, kinds: int, chosen: Ints
) -> int:
    """For each digit of a cell the link by which it excludes a candidate, -1 if by itself.

    Returns
    -------
    The number of premises, or 0 if some digit has no link.
    """
    cost = 1
    while mask:
        digit = lowest(mask)
        mask &= mask - 1
        start = tables.candidates[cell, digit]
        chosen[digit] = -1
        if tables.conflicts[target, start >> 6] & bit(start):
            if target % tables.cells == cell:
                return 0
            continue
        chosen[digit] = branch_of(tables, graph, digit, start, target, kinds)
        if chosen[digit] < 0:
            return 0
        cost += graph.facts[chosen[digit], COST]
    return cost


@inner
def record_stem(
    tables: Tables,
    board: Ints,
    graph: Graph,
    technique: int,
    cell: int,
    chosen: Ints,
    records: Ints,
    row: int,
) -> bool:
    """Write what all digits of a cell exclude, each through its chosen link or as it stands.

    False if two of the links have a premise in common.
    """
    words = tables.rules.shape[1]
    begin(records, row, technique)
    add_premise(tables, cell, records, row)
    rely_on_closed(tables, board, records, row)
    for word in range(words):
        records[row, REMOVES + word] = -1
    cost, left = 1, board[MASKS, cell]
    while left:
        digit = lowest(left)
        left &= left - 1
        if chosen[digit] < 0:
            for word in range(words):
                seen = tables.conflicts[tables.candidates[cell, digit], word]
                records[row, REMOVES + word] &= seen
        else:
            add_link(tables, graph, chosen[digit], records, row)
            cost += graph.facts[chosen[digit], COST]
            for word in range(words):
                records[row, REMOVES + word] &= graph.sees[chosen[digit] ^ 1, word]
    for word in range(words):
        records[row, REMOVES + word] &= ~records[row, REMOVES + words + word]
    return cost == width_of(tables, records, row) and conclude(tables, board, records, row)
