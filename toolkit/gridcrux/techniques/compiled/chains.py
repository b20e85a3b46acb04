"""Compiled finders of the chain family: which links, how many, and what follows.

If the start node of a chain is false, its end node is true (`links`).  So one of the two is
true, and what conflicts with both is false.  Where the end also conflicts with the start, the
chain is a loop: of the two nodes of every weak link just one is true, so what conflicts with
both is false, and so is what conflicts with all places of another digit of a set in the loop.
"""

from __future__ import annotations

import numpy as np
from numba import cfunc

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import (
    CHANGED,
    CLOCK,
    FACTS,
    FORBIDDEN,
    MASKS,
    OPEN,
    PASSED,
    bit,
    passed_at,
)
from gridcrux.techniques.compiled.families import FINDER
from gridcrux.techniques.compiled.inner import inner
from gridcrux.techniques.compiled.links import (
    CELLS,
    COST,
    DIGIT,
    GROUPS,
    KIND,
    PAIRS,
    RULE,
    SETS,
    Graph,
    links_of,
)
from gridcrux.techniques.compiled.notes import add_premise, begin, is_news, rely_on_closed
from gridcrux.techniques.compiled.search import (
    LONGEST,
    new_search,
    reversed_directions,
    shortest,
)
from gridcrux.techniques.compiled.shapes import (
    ALS_CHAIN,
    ALS_LOOP,
    ALS_XZ,
    CHAIN,
    EMPTY_RECTANGLE,
    GROUPED_CHAIN,
    GROUPED_LOOP,
    GROUPED_X_CHAIN,
    LOOP,
    MULTI_COLOURING,
    REMOTE_PAIR,
    SET_LOOP,
    SIMPLE_COLOURING,
    SKYSCRAPER,
    STEM_CELL,
    TURBOT_CHAIN,
    TWO_STRING_KITE,
    W_WING,
    X_CHAIN,
    XY_CHAIN,
    XY_WING,
    XYZ_WING,
)
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
        seen[:] = -1
        found = False
        for cell in range(tables.cells):
            if not graph.premises[direction >> 1, cell >> 6] & bit(cell):
                continue
            candidate = tables.candidates[cell, digit]
            if board[MASKS, cell] >> digit & 1:
                found = True
                seen &= tables.conflicts[candidate]
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
    """Write the chain of a path that ends with -1; whether it excludes anything open."""
    begin(records, row, technique)
    base, last = graph.facts.shape[0], 0
    single = (base + 63) >> 6 << 6
    while path[last + 1] >= 0:
        last += 1
    for i in range(last + 1):
        direction = path[i] % single
        add_link(tables, graph, direction, records, row)
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
    words = tables.rules.shape[1]
    for word in range(words):
        records[row, REMOVES + word] &= ~records[row, REMOVES + words + word]
    return is_news(tables, board, records, row)


@inner
def follows(graph: Graph, before: int, after: int) -> bool:
    """Whether one direction can follow another."""
    return graph.following[before, after >> 6] & bit(after) != 0


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
    found, kept = 0, 0
    looped = technique == ALS_LOOP
    path = np.full(4, -1, np.int64)
    draft = np.empty((1, records.shape[1]), np.int64)
    blocks = graph.following.shape[1]
    for first in range(graph.facts.shape[0]):
        path[0] = first
        for block in range(blocks):
            left = graph.following[first, block]
            while left:
                second = (block << 6) + lowest(left)
                left &= left - 1
                path[1], path[2] = second, -1
                cost = graph.facts[first, COST] + graph.facts[second, COST]
                if cost > most or not is_shape(tables, graph, technique, path, 2):
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
                            or (length == 3 and not is_shape(tables, graph, technique, path, 3))
                            or not record_chain(
                                tables, board, graph, technique, path, looped, draft, 0
                            )
                        ):
                            continue
                        records[row + found] = draft[0]
                        if limit > 1:
                            found += 1
                            if found == limit:
                                return found
                        elif cost == length or length == 3:
                            return 1
                        else:
                            kept, most = 1, cost - 1
    return max(found, kept)


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
    found = 0
    for word in range(tables.rules.shape[1]):
        targets = board[OPEN, word] & ~board[FORBIDDEN, word]
        while targets:
            target = (word << 6) + lowest(targets)
            targets &= targets - 1
            any_ = 0
            for block in range(blocks):
                hit = graph.hits[target, block]
                any_ |= hit
                search.starts[block] = hit
                search.ends[(layers - 1) * blocks + block] = reversed_directions(hit)
            width = shortest(graph, search, most) if any_ else 0
            if width >= least:
                place = row if limit == 1 else row + found
                record_chain(tables, board, graph, technique, search.path, False, records, place)
                if limit == 1:
                    found, most = 1, width - 1
                else:
                    found += 1
                    if found == limit:
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
        search.starts[:] = 0
        search.starts[first >> 6] = bit(first)
        for block in range(search.ends.shape[0]):
            search.ends[block] = reversed_directions(graph.following[first ^ 1, block])
            if graph.facts[first, KIND] == SETS:
                continue
            left = search.ends[block]
            while left:
                last = (block << 6) + lowest(left)
                left &= left - 1
                idle = True
                for word in range(tables.rules.shape[1]):
                    common = graph.sees[last ^ 1, word] & graph.sees[first, word]
                    idle &= not common & board[OPEN, word] & ~board[FORBIDDEN, word]
                if idle:
                    search.ends[block] &= ~bit(last)
        width = shortest(graph, search, most)
        if width and record_chain(tables, board, graph, technique, search.path, True, draft, 0):
            records[row if limit == 1 else row + found] = draft[0]
            if limit == 1:
                found, most = 1, width - 1
            else:
                found += 1
                if found == limit:
                    return found
    return found


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
    chosen = np.empty(n, np.int64)
    found = 0
    for cell in range(tables.cells):
        mask = board[MASKS, cell]
        digits = popcount(mask)
        if digits < 3 or (technique == XYZ_WING and digits > 3):
            continue
        for word in range(words):
            targets = board[OPEN, word] & ~board[FORBIDDEN, word]
            while targets:
                target = (word << 6) + lowest(targets)
                targets &= targets - 1
                if target % tables.cells == cell:
                    continue
                cost, free, left = 1, 0, mask
                while left:
                    digit = lowest(left)
                    left &= left - 1
                    start = tables.candidates[cell, digit]
                    if tables.conflicts[target, start >> 6] & bit(start):
                        chosen[digit] = -1
                        free += 1
                        continue
                    link = branch_of(
                        tables,
                        graph,
                        digit,
                        start,
                        target,
                        CELLS if technique == XYZ_WING else CELLS | SETS,
                    )
                    chosen[digit] = link
                    if link < 0:
                        left = mask
                        break
                    cost += graph.facts[link, COST]
                if cost > most or left or (technique == XYZ_WING and free != 1):
                    continue
                place = row if limit == 1 else row + found
                record_stem(tables, board, graph, technique, cell, target, chosen, records, place)
                if limit == 1:
                    found, most = 1, cost - 1
                else:
                    found += 1
                    if found == limit:
                        return found
    return found


@inner
def record_stem(
    tables: Tables,
    board: Ints,
    graph: Graph,
    technique: int,
    cell: int,
    target: int,
    chosen: Ints,
    records: Ints,
    row: int,
) -> None:
    """Write what all digits of a cell exclude, each through its chosen link or as it stands."""
    words = tables.rules.shape[1]
    begin(records, row, technique)
    add_premise(tables, cell, records, row)
    rely_on_closed(tables, board, records, row)
    for word in range(words):
        records[row, REMOVES + word] = -1
    left = board[MASKS, cell]
    while left:
        digit = lowest(left)
        left &= left - 1
        if chosen[digit] < 0:
            for word in range(words):
                seen = tables.conflicts[tables.candidates[cell, digit], word]
                records[row, REMOVES + word] &= seen
        else:
            add_link(tables, graph, chosen[digit], records, row)
            for word in range(words):
                records[row, REMOVES + word] &= graph.sees[chosen[digit] ^ 1, word]
    for word in range(words):
        records[row, REMOVES + word] &= ~records[row, REMOVES + words + word]
    is_news(tables, board, records, row)


@inner
def classes_of(technique: int) -> int:
    """The classes of links that a technique works with."""
    if technique <= TURBOT_CHAIN or SIMPLE_COLOURING <= technique <= X_CHAIN:
        return PAIRS
    if technique == EMPTY_RECTANGLE or technique == GROUPED_X_CHAIN:
        return PAIRS | GROUPS
    if technique == W_WING or technique == CHAIN or technique == LOOP:
        return CELLS | PAIRS
    if technique == GROUPED_CHAIN or technique == GROUPED_LOOP:
        return CELLS | PAIRS | GROUPS
    if technique < CHAIN:
        return CELLS
    return CELLS | SETS if technique <= STEM_CELL else CELLS | PAIRS | GROUPS | SETS


@inner
def search_graph(
    tables: Tables,
    board: Ints,
    technique: int,
    digit: int,
    most: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """Find a technique in the links of one digit, or (-1) of all."""
    graph = links_of(tables, board, classes_of(technique), digit)
    if graph.premises.shape[0] < 2:
        return 0
    if technique <= EMPTY_RECTANGLE or technique == ALS_XZ or technique == ALS_LOOP:
        return find_short(tables, board, graph, technique, 2, most, records, row, limit)
    if technique == XY_WING or technique == W_WING:
        return find_short(tables, board, graph, technique, 3, most, records, row, limit)
    if technique == LOOP or technique == GROUPED_LOOP or technique == SET_LOOP:
        return find_loops(tables, board, graph, technique, most, records, row, limit)
    if technique == XYZ_WING or technique == STEM_CELL:
        return find_stems(tables, board, graph, technique, most, records, row, limit)
    layers, least = 1, 2
    if technique == SIMPLE_COLOURING or technique == MULTI_COLOURING:
        layers, least = 1 + (technique == MULTI_COLOURING), 3
        graph = with_colours(graph, layers)
    if technique == REMOTE_PAIR:
        keep_remote_pairs(graph)
    if technique == X_CHAIN or technique == ALS_CHAIN:
        least = 3
    if technique == REMOTE_PAIR or technique == XY_CHAIN:
        least = 4
    return find_long(tables, board, graph, technique, layers, least, most, records, row, limit)


@inner
def find_chains(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Find a technique of the chain family (`families.FINDER`)."""
    most = min(widest, LONGEST)
    if technique > GROUPED_X_CHAIN:
        return search_graph(tables, board, technique, -1, most, records, row, limit)
    found = 0
    for digit in range(tables.size):
        note = passed_at(tables, technique, digit)
        if board[PASSED, note] >= board[CHANGED, tables.houses + digit]:
            continue
        here = search_graph(
            tables,
            board,
            technique,
            digit,
            most,
            records,
            row if limit == 1 else row + found,
            limit if limit == 1 else limit - found,
        )
        if here == 0:
            if most == LONGEST:
                board[PASSED, note] = board[FACTS, CLOCK]
        elif limit > 1:
            found += here
            if found == limit:
                return found
        else:
            found = 1
            if technique <= EMPTY_RECTANGLE:
                return found
            most = width_of(tables, records, row) - 1
    return found


@inner
def width_of(tables: Tables, records: Ints, row: int) -> int:
    """How many premises a record has."""
    width = 0
    for column in range(REMOVES + 2 * tables.rules.shape[1], records.shape[1]):
        width += popcount(records[row, column])
    return width


@cfunc(FINDER, cache=True)
def find(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Find a technique of the chain family (`families.FINDER`)."""
    return find_chains(tables, board, technique, widest, records, row, limit)
