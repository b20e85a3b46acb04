"""Compiled finders of the chain family: which links, how many, and what follows.

If the start node of a chain is false, its end node is true (`links`).  So one of the two is
true, and what conflicts with both is false.  Where the end also conflicts with the start, the
chain is a loop: of the two nodes of every weak link just one is true, so what conflicts with
both is false, and so is what conflicts with all places of another digit of a set in the loop.
"""

from __future__ import annotations

from numba import cfunc

from gridcrux.grids.inner import inner
from gridcrux.techniques.compiled.board import CHANGED, CLOCK, FACTS, PASSED, passed_at
from gridcrux.techniques.compiled.families import FINDER
from gridcrux.techniques.compiled.links import CELLS, GROUPS, PAIRS, SETS, links_of
from gridcrux.techniques.compiled.long_chains import (
    find_long,
    find_loops,
    keep_remote_pairs,
    with_colours,
)
from gridcrux.techniques.compiled.notes import width_of
from gridcrux.techniques.compiled.search import LONGEST
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
    STEM_CELL,
    TURBOT_CHAIN,
    W_WING,
    X_CHAIN,
    XY_CHAIN,
    XY_WING,
    XYZ_WING,
)
from gridcrux.techniques.compiled.short_chains import find_short
from gridcrux.techniques.compiled.stems import find_stems
from gridcrux.techniques.compiled.tables import Ints, Tables


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


@cfunc(FINDER, cache=True)
def find(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Find a technique of the chain family (`families.FINDER`)."""
    most = min(widest, LONGEST)
    one_digit = technique <= GROUPED_X_CHAIN
    found = 0
    # One call serves both cases: every call is compiled into this function anew.
    for turn in range(tables.size if one_digit else 1):
        note = passed_at(tables, technique, turn)
        if one_digit and board[PASSED, note] >= board[CHANGED, tables.houses + turn]:
            continue
        here = search_graph(
            tables,
            board,
            technique,
            turn if one_digit else -1,
            most,
            records,
            row + found if limit > 1 else row,
            limit - found if limit > 1 else 1,
        )
        if here == 0:
            if one_digit and most == LONGEST:
                board[PASSED, note] = board[FACTS, CLOCK]
        elif limit > 1:
            found += here
            if found == limit:
                return found
        else:
            found = 1
            most = width_of(tables, records, row) - 1
            if technique <= EMPTY_RECTANGLE or most < 2:
                return found
    return found
