"""The strong links of a state and which of them can follow each other in a chain.

A *link* is one premise, or several, that leave two *nodes* of which at least one is true: two
candidates of a rule that has no other; the two parts of a rule whose candidates fall into two
groups; two digits of an almost locked set, which has one digit more than cells.  A node is
true when one of its candidates is.

Link i is used in two directions, numbered 2i and 2i + 1: from its first node to the second
and back.  The node that direction k comes from is node k, the one it leads to node k ^ 1.
Direction m can follow k when everything in node k ^ 1 conflicts with everything in node m:
then a true end of k makes m start false, and so its end true.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.techniques.compiled.board import MASKS, OPEN, WRITTEN, bit
from gridcrux.techniques.compiled.tables import BLOCK, INSIDE, OTHER, Ints, Tables

PAIRS, CELLS, GROUPS, SETS = 1, 2, 4, 8
"""Classes of links: a digit with two places in a house; a cell with two digits; a digit of a
house in two groups; an almost locked set of two cells or more."""

COST, KIND, RULE, DIGIT = 0, 1, 2, 3
"""Columns of `Graph.facts`."""

LARGEST_SET = 4
"""Cells of the largest almost locked set that is looked for."""


class Graph(NamedTuple):
    """L links in D = 2L directions, on a layout with K candidates.

    Attributes
    ----------
    facts : (D, 4) how many premises the link has, its class, its rule (-1 for a set), and the
        digit of the node from which the direction comes.
    nodes : (D, W) candidates of the node.
    sees : (D, W) what conflicts with every candidate of the node.
    premises : (L, P) rules of the link, as words.
    relies : (L, W) what must be absent.
    hits : (K, B) for each candidate the directions whose start it excludes, as B words.
    following : (64 B, B) for each direction those that can follow it.
    """

    facts: Ints
    nodes: Ints
    sees: Ints
    premises: Ints
    relies: Ints
    hits: Ints
    following: Ints


@inner
def new_graph(tables: Tables, room: int) -> Graph:
    """A graph with room for some links, and no connections yet."""
    words = tables.rules.shape[1]
    rule_words = (tables.rules.shape[0] + 63) >> 6
    return Graph(
        np.zeros((2 * room, 4), np.int64),
        np.zeros((2 * room, words), np.int64),
        np.full((2 * room, words), -1, np.int64),
        np.zeros((room, rule_words), np.int64),
        np.zeros((room, words), np.int64),
        np.zeros((0, 0), np.int64),
        np.zeros((0, 0), np.int64),
    )


@inner
def add_to_node(tables: Tables, graph: Graph, node: int, candidate: int) -> None:
    """Put a candidate into a node; what does not conflict with it is no longer seen."""
    graph.nodes[node, candidate >> 6] |= bit(candidate)
    for word in range(tables.rules.shape[1]):
        graph.sees[node, word] &= tables.conflicts[candidate, word]


@inner
def settle(tables: Tables, board: Ints, graph: Graph, link: int, kind: int, cost: int) -> bool:
    """Finish a link whose nodes and premises are there, if both ends see something open.

    It relies on what its premises (in `relies` till now) have beside the two nodes.
    """
    for node in range(2 * link, 2 * link + 2):
        blind = True
        for word in range(tables.rules.shape[1]):
            if graph.sees[node, word] & board[OPEN, word]:
                blind = False
        if blind:
            return False
    for word in range(tables.rules.shape[1]):
        graph.relies[link, word] &= ~(graph.nodes[2 * link, word] | graph.nodes[2 * link + 1, word])
    for node in range(2 * link, 2 * link + 2):
        graph.facts[node, COST] = cost
        graph.facts[node, KIND] = kind
    return True


@inner
def wipe(tables: Tables, graph: Graph, link: int) -> bool:
    """Make a link empty; False if there is no room for it."""
    if link >= graph.premises.shape[0]:
        return False
    for word in range(graph.nodes.shape[1]):
        graph.nodes[2 * link, word] = graph.nodes[2 * link + 1, word] = 0
        graph.sees[2 * link, word] = graph.sees[2 * link + 1, word] = -1
        graph.relies[link, word] = 0
    for word in range(graph.premises.shape[1]):
        graph.premises[link, word] = 0
    return True


@inner
def add_rule_link(
    tables: Tables, board: Ints, graph: Graph, link: int, kind: int, rule: int, one: int, two: int
) -> int:
    """Add the link of a rule with two masks of positions as nodes; how many links there are."""
    if not wipe(tables, graph, link):
        return link + 1
    for node, positions in ((2 * link, one), (2 * link + 1, two)):
        left = positions
        while left:
            candidate = tables.candidates[rule, lowest(left)]
            left &= left - 1
            add_to_node(tables, graph, node, candidate)
            graph.facts[node, DIGIT] = candidate // tables.cells
        graph.facts[node, RULE] = rule
    graph.premises[link, rule >> 6] = bit(rule)
    for word in range(tables.rules.shape[1]):
        graph.relies[link, word] = tables.rules[rule, word]
    return link + settle(tables, board, graph, link, kind, 1)


@inner
def crossing_around(tables: Tables, house: int, positions: int) -> int:
    """The part that a house shares with another one around these positions, or 0.

    A single position is a group of its own: what else a crossing has must then be absent.
    """
    if positions & (positions - 1) == 0:
        return positions
    j = 0
    while tables.crossings[house, j, OTHER] >= 0:
        if not positions & ~tables.crossings[house, j, INSIDE]:
            return tables.crossings[house, j, INSIDE]
        j += 1
    return 0


@inner
def add_groups(tables: Tables, board: Ints, graph: Graph, count: int, house: int, rule: int) -> int:
    """Add every way in which the places of a digit in a house fall into two groups.

    The first is all that a crossing holds.  The second is what is left; where that is all of
    another crossing, the split comes by twice and is taken once.
    """
    open_ = board[MASKS, rule]
    j = 0
    while tables.crossings[house, j, OTHER] >= 0:
        one = tables.crossings[house, j, INSIDE]
        j += 1
        first, second = open_ & one, open_ & ~one
        if first & (first - 1) == 0 or second == 0:
            continue
        around = crossing_around(tables, house, second)
        if second & (second - 1) and not around & first and second < first:
            continue
        two = around & ~first
        if two:
            count = add_rule_link(tables, board, graph, count, GROUPS, rule, one, two)
    return count


@inner
def add_set_links(
    tables: Tables, board: Ints, graph: Graph, count: int, cells: Ints, size: int, digits: int
) -> int:
    """Add a link for every two digits of an almost locked set."""
    for high in range(tables.size):
        for low in range(high):
            if not digits >> low & digits >> high & 1:
                continue
            if not wipe(tables, graph, count):
                count += 1
                continue
            for i in range(size):
                rule = cells[i]
                mask = board[MASKS, rule]
                graph.premises[count, rule >> 6] |= bit(rule)
                if mask >> low & 1:
                    add_to_node(tables, graph, 2 * count, tables.candidates[rule, low])
                if mask >> high & 1:
                    add_to_node(tables, graph, 2 * count + 1, tables.candidates[rule, high])
                for digit in range(tables.size):
                    if digit == low or digit == high or not digits >> digit & 1:
                        candidate = tables.candidates[rule, digit]
                        graph.relies[count, candidate >> 6] |= bit(candidate)
            graph.facts[2 * count, RULE] = graph.facts[2 * count + 1, RULE] = -1
            graph.facts[2 * count, DIGIT] = low
            graph.facts[2 * count + 1, DIGIT] = high
            count += settle(tables, board, graph, count, SETS, size)
    return count


@inner
def is_locked_inside(masks: Ints, size: int) -> bool:
    """Whether some of the cells, not all, have no more digits than they are cells."""
    for chosen in range(1, (1 << size) - 1):
        union = 0
        for i in range(size):
            if chosen >> i & 1:
                union |= masks[i]
        if popcount(union) <= popcount(chosen):
            return True
    return False


@inner
def is_first_home(tables: Tables, cells: Ints, size: int, house: int) -> bool:
    """Whether no house with a lower number than this one contains all of the cells."""
    for j in range(1, tables.links.shape[1]):
        other = tables.links[cells[0], j, BLOCK]
        if other < 0 or other >= house:
            continue
        shared = 0
        for i in range(size):
            for k in range(1, tables.links.shape[1]):
                shared += tables.links[cells[i], k, BLOCK] == other
        if shared == size:
            return False
    return True


@inner
def add_sets(tables: Tables, board: Ints, graph: Graph, count: int, house: int) -> int:
    """Add the links of all almost locked sets of two cells or more in a house."""
    n = tables.size
    free, chosen = np.empty(n, np.int64), np.empty(LARGEST_SET + 1, np.int64)
    cells, masks = np.empty(LARGEST_SET, np.int64), np.empty(LARGEST_SET, np.int64)
    blanks = 0
    for position in range(n):
        cell = tables.candidates[tables.cells + house * n, position]
        if not board[WRITTEN, cell]:
            free[blanks] = cell
            blanks += 1
    depth = 0
    chosen[0] = -1
    while depth >= 0:
        chosen[depth] += 1
        if chosen[depth] == blanks:
            depth -= 1
            continue
        cells[depth] = free[chosen[depth]]
        masks[depth] = board[MASKS, cells[depth]]
        size = depth + 1
        digits = 0
        for i in range(size):
            digits |= masks[i]
        if popcount(digits) > LARGEST_SET + 1:
            continue
        if (
            size > 1
            and popcount(digits) == size + 1
            and not is_locked_inside(masks, size)
            and is_first_home(tables, cells, size, house)
        ):
            count = add_set_links(tables, board, graph, count, cells, size, digits)
        if size < LARGEST_SET:
            depth += 1
            chosen[depth] = chosen[depth - 1]
    return count


@inner
def collect(tables: Tables, board: Ints, graph: Graph, classes: int, digit: int) -> int:
    """Write the links of some classes, those of one digit or (-1) of all; how many there are.

    What the graph has no room for is counted only.
    """
    n, count = tables.size, 0
    if classes & CELLS:
        for cell in range(tables.cells):
            mask = board[MASKS, cell]
            if popcount(mask) == 2:
                one, two = mask & -mask, mask & (mask - 1)
                count = add_rule_link(tables, board, graph, count, CELLS, cell, one, two)
    for house in range(tables.houses):
        if classes & (PAIRS | GROUPS):
            for each in range(n):
                if digit >= 0 and each != digit:
                    continue
                rule = tables.cells + house * n + each
                mask = board[MASKS, rule]
                if popcount(mask) == 2:
                    if classes & PAIRS:
                        one, two = mask & -mask, mask & (mask - 1)
                        count = add_rule_link(tables, board, graph, count, PAIRS, rule, one, two)
                elif classes & GROUPS and popcount(mask) > 2:
                    count = add_groups(tables, board, graph, count, house, rule)
        if classes & SETS:
            count = add_sets(tables, board, graph, count, house)
    return count


@inner
def links_of(tables: Tables, board: Ints, classes: int, digit: int) -> Graph:
    """The links of some classes, of one digit or (-1) of all, connected."""
    room = 24 if digit >= 0 else 160
    graph = new_graph(tables, room)
    count = collect(tables, board, graph, classes, digit)
    if count > room:
        graph = new_graph(tables, count)
        count = collect(tables, board, graph, classes, digit)
    return connect(tables, board, graph, count)


@inner
def connect(tables: Tables, board: Ints, graph: Graph, count: int) -> Graph:
    """Work out which directions can follow each other."""
    words, blocks = tables.rules.shape[1], (2 * count + 63) >> 6
    hits = np.zeros((tables.conflicts.shape[0], blocks), np.int64)
    following = np.zeros((64 * blocks, blocks), np.int64)
    for direction in range(2 * count):
        for word in range(words):
            left = graph.sees[direction, word] & board[OPEN, word]
            while left:
                hits[(word << 6) + lowest(left), direction >> 6] |= bit(direction)
                left &= left - 1
    for direction in range(2 * count):
        end = direction ^ 1
        closed = False
        for block in range(blocks):
            following[direction, block] = -1
        for word in range(words):
            left = graph.nodes[end, word] & board[OPEN, word]
            closed |= left != graph.nodes[end, word]
            while left:
                candidate = (word << 6) + lowest(left)
                left &= left - 1
                for block in range(blocks):
                    following[direction, block] &= hits[candidate, block]
        if closed:
            check_whole_group(tables, graph, direction, following)
    return Graph(
        graph.facts[: 2 * count],
        graph.nodes[: 2 * count],
        graph.sees[: 2 * count],
        graph.premises[:count],
        graph.relies[:count],
        hits,
        following,
    )


@inner
def check_whole_group(tables: Tables, graph: Graph, direction: int, following: Ints) -> None:
    """Keep what the closed candidates of a group exclude as well, as nobody relies on them."""
    for block in range(following.shape[1]):
        left = following[direction, block]
        while left:
            after = (block << 6) + lowest(left)
            left &= left - 1
            for word in range(tables.rules.shape[1]):
                if graph.nodes[after, word] & ~graph.sees[direction ^ 1, word]:
                    following[direction, block] &= ~bit(after)
