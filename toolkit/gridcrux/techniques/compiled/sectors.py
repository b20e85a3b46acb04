"""Compiled finder of sets in two sectors: cells of a line and a box that are locked together."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import (
    CHANGED,
    CLOCK,
    FACTS,
    MASKS,
    PASSED,
    WRITTEN,
    passed_at,
)
from gridcrux.techniques.compiled.links import is_locked_inside
from gridcrux.techniques.compiled.notes import add_premise, begin, conclude
from gridcrux.techniques.compiled.shapes import TWO_SECTOR_SET
from gridcrux.techniques.compiled.tables import INSIDE, OTHER, Ints, Tables

LARGEST = 8
"""Cells of the largest set that is looked for."""


@inner
def split(
    tables: Tables, board: Ints, line: int, box: int, inside: int, cells: Ints, counts: Ints
) -> None:
    """Write the blank cells of a line and a box into rows of `cells`: shared, line's, box's."""
    n = tables.size
    counts[:] = 0
    for position in range(n):
        cell = tables.candidates[tables.cells + line * n, position]
        part = 0 if inside >> position & 1 else 1
        if not board[WRITTEN, cell]:
            cells[part, counts[part]] = cell
            counts[part] += 1
    for position in range(n):
        cell = tables.candidates[tables.cells + box * n, position]
        shared = False
        for i in range(counts[0]):
            shared |= cells[0, i] == cell
        if not board[WRITTEN, cell] and not shared:
            cells[2, counts[2]] = cell
            counts[2] += 1


@inner
def digits_of(board: Ints, cells: Ints, chosen: int) -> int:
    """The open digits of some cells, chosen by a mask of their places in the row."""
    digits = 0
    while chosen:
        digits |= board[MASKS, cells[lowest(chosen)]]
        chosen &= chosen - 1
    return digits


@inner
def is_tied(board: Ints, cells: Ints, chosen: Ints) -> bool:
    """Whether no proper part of the chosen cells has no more digits than it has cells."""
    masks = np.empty(64, np.int64)
    size = 0
    for part in range(3):
        left = chosen[part]
        while left:
            masks[size] = board[MASKS, cells[part, lowest(left)]]
            size += 1
            left &= left - 1
    return not is_locked_inside(masks, size)


@inner
def record_sectors(
    tables: Tables,
    board: Ints,
    line: int,
    box: int,
    cells: Ints,
    chosen: Ints,
    digits: int,
    outer: int,
    inner_: int,
    records: Ints,
    row: int,
) -> bool:
    """Write the chosen cells as premises; whether they exclude anything open.

    Each digit is covered by the line or the box; one that only the shared cells have, by both.
    """
    n, words = tables.size, tables.rules.shape[1]
    begin(records, row, TWO_SECTOR_SET)
    for part in range(3):
        left = chosen[part]
        while left:
            add_premise(tables, cells[part, lowest(left)], records, row)
            left &= left - 1
    bases, harmless = np.empty(words, np.int64), np.empty(words, np.int64)
    for word in range(words):
        bases[word] = records[row, REMOVES + words + word]
    for digit in range(n):
        if not digits >> digit & 1:
            continue
        # A closed place would do no harm if it lies in every cover of its digit that is used.
        for word in range(words):
            harmless[word] = -1
        for house in (line, box):
            if not (outer if house == box else inner_) >> digit & 1:
                rule = tables.cells + house * n + digit
                for word in range(words):
                    harmless[word] &= tables.rules[rule, word]
                    records[row, REMOVES + word] |= tables.rules[rule, word] & ~bases[word]
        for word in range(words):
            records[row, REMOVES + words + word] &= ~harmless[word]
    return conclude(tables, board, records, row)


@inner
def find_sectors(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """All sets of two cells or more in a crossing with one or more of the line and of the box."""
    n = tables.size
    cells, counts, chosen = np.empty((3, n), np.int64), np.empty(3, np.int64), np.empty(3, np.int64)
    found = 0
    for line in range(2 * n):
        changed = board[CHANGED, line]
        j = 0
        while tables.crossings[line, j, OTHER] >= 0:
            changed = max(changed, board[CHANGED, tables.crossings[line, j, OTHER]])
            j += 1
        # Two notes a digit: the number behind this technique's is not in use.
        note = passed_at(tables, technique, 0) + line
        if board[PASSED, note] >= changed:
            continue
        before = found
        j = -1
        while tables.crossings[line, j + 1, OTHER] >= 0:
            j += 1
            box = tables.crossings[line, j, OTHER]
            if box < 2 * n:
                continue
            split(tables, board, line, box, tables.crossings[line, j, INSIDE], cells, counts)
            for shared in range(1 << counts[0]):
                middle = digits_of(board, cells[0], shared)
                if popcount(shared) < 2 or popcount(middle) < popcount(shared) + 2:
                    continue
                for outside in range(1, 1 << counts[1]):
                    outer = digits_of(board, cells[1], outside)
                    # Every cell beside the crossing may add one digit less than a set needs.
                    need = popcount(middle | outer) - popcount(shared) - popcount(outside)
                    if popcount(outer) < popcount(outside) + 1 or need < 1 or need > counts[2]:
                        continue
                    for within in range(1, 1 << counts[2]):
                        size = popcount(shared) + popcount(outside) + popcount(within)
                        if size > widest or size > LARGEST:
                            continue
                        inner_ = digits_of(board, cells[2], within)
                        digits = middle | outer | inner_
                        if outer & inner_ or popcount(digits) != size:
                            continue
                        chosen[0], chosen[1], chosen[2] = shared, outside, within
                        if is_tied(board, cells, chosen) and record_sectors(
                            tables,
                            board,
                            line,
                            box,
                            cells,
                            chosen,
                            digits,
                            outer,
                            inner_,
                            records,
                            row + found,
                        ):
                            found += 1
                            if found == limit:
                                return found
        if found == before and widest >= LARGEST:
            board[PASSED, note] = board[FACTS, CLOCK]
    return found
