"""Chains of two or three links that have a shape of their own, all of them."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.techniques.compiled.chain_records import follows, idle_ends, record_chain
from gridcrux.techniques.compiled.links import CELLS, COST, DIGIT, GROUPS, KIND, PAIRS, RULE, Graph
from gridcrux.techniques.compiled.notes import keep
from gridcrux.techniques.compiled.shapes import (
    ALS_LOOP,
    ALS_XZ,
    EMPTY_RECTANGLE,
    SKYSCRAPER,
    TWO_STRING_KITE,
    W_WING,
    XY_WING,
)
from gridcrux.techniques.compiled.tables import Ints, Tables


@inner
def share_a_candidate(graph: Graph, one: int, two: int) -> bool:
    """Whether two links have a candidate in common."""
    for word in range(graph.nodes.shape[1]):
        if (graph.nodes[one, word] | graph.nodes[one ^ 1, word]) & (
            graph.nodes[two, word] | graph.nodes[two ^ 1, word]
        ):
            return True
    return False


@inner
def is_shape(tables: Tables, graph: Graph, technique: int, path: Ints, count: int) -> bool:
    """Whether a chain of two or three links, no loop, has the shape of a technique."""
    one, two = graph.facts[path[0]], graph.facts[path[1]]
    if technique == ALS_XZ or technique == ALS_LOOP:
        alike = one[DIGIT] == graph.facts[path[1] ^ 1, DIGIT] or technique == ALS_LOOP
        return one[KIND] + two[KIND] > 2 * CELLS and alike
    if technique == XY_WING:
        return count == 2 or graph.facts[path[2] ^ 1, DIGIT] == one[DIGIT]
    if technique == W_WING:
        if one[KIND] != CELLS or two[KIND] != PAIRS:
            return False
        # The cells take the digit of the house link at its ends, and leave the same other digit.
        last = path[count - 1]
        return count == 2 or (
            graph.facts[last, KIND] == CELLS
            and graph.facts[last ^ 1, DIGIT] == one[DIGIT]
            and graph.facts[last, DIGIT] == two[DIGIT]
            and graph.facts[path[0] ^ 1, DIGIT] == two[DIGIT]
        )
    n = tables.size
    houses = (one[RULE] - tables.cells) // n, (two[RULE] - tables.cells) // n
    rows = (houses[0] < n) + (houses[1] < n)
    lines = (houses[0] < 2 * n) + (houses[1] < 2 * n)
    if technique == EMPTY_RECTANGLE:
        return is_empty_rectangle(tables, graph, path[0], houses[0], houses[1]) or (
            is_empty_rectangle(tables, graph, path[1], houses[1], houses[0])
        )
    if technique == SKYSCRAPER:
        return lines == 2 and rows != 1
    if technique == TWO_STRING_KITE:
        return lines == 2 and rows == 1
    return lines < 2


@inner
def is_empty_rectangle(tables: Tables, graph: Graph, direction: int, box: int, line: int) -> bool:
    """Whether a link is a box whose digit lies in one row and one column, the other a line."""
    n = tables.size
    if graph.facts[direction, KIND] != GROUPS or not tables.boxed[box] or line >= 2 * n:
        return False
    kinds = 0
    for node in (direction, direction ^ 1):
        for house in range(2 * n):
            rule = tables.cells + house * n + graph.facts[direction, DIGIT]
            inside = True
            for word in range(tables.rules.shape[1]):
                if graph.nodes[node, word] & ~tables.rules[rule, word]:
                    inside = False
            if inside:
                kinds |= (1 if node == direction else 4) << (house >= n)
    # One node in a row and the other in a column; a single candidate is in both.
    return kinds & 9 == 9 or kinds & 6 == 6


@inner
def find_short(
    tables: Tables,
    board: Ints,
    graph: Graph,
    technique: int,
    length: int,
    most: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """All chains of two or three links of a shape, each in one of its two directions."""
    found = 0
    looped = technique == ALS_LOOP
    path = np.full(4, -1, np.int64)
    draft = np.empty((1, records.shape[1]), np.int64)
    blocks = graph.following.shape[1]
    for first in range(graph.facts.shape[0]):
        path[0] = first
        if technique == W_WING and graph.facts[first, KIND] != CELLS:
            continue
        for block in range(blocks):
            left = graph.following[first, block]
            while left:
                second = (block << 6) + lowest(left)
                left &= left - 1
                path[1], path[2] = second, -1
                cost = graph.facts[first, COST] + graph.facts[second, COST]
                if (
                    cost > most
                    or (length == 2 and second ^ 1 < first)
                    or (length == 2 and idle_ends(tables, board, graph, first, second, looped))
                    or not is_shape(tables, graph, technique, path, 2)
                ):
                    continue
                for other in range(blocks if length == 3 else 1):
                    more = graph.following[second, other] if length == 3 else 1
                    while more:
                        last = second
                        if length == 3:
                            last = path[2] = (other << 6) + lowest(more)
                        more &= more - 1
                        if (
                            last ^ 1 < first
                            or cost + (length == 3) > most
                            or follows(graph, last, first) != looped
                            or share_a_candidate(graph, first, last)
                            or idle_ends(tables, board, graph, first, last, looped)
                            or (length == 3 and not is_shape(tables, graph, technique, path, 3))
                            or not record_chain(
                                tables, board, graph, technique, path, looped, draft, 0
                            )
                        ):
                            continue
                        found = keep(draft, records, row, found, limit)
                        if limit == 1:
                            most = cost - 1
                        if most < length or found == limit > 1:
                            return found
    return found
