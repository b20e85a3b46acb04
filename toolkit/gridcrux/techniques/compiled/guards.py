"""Guards of a rectangle, of which one is true (`rectangles`): what they exclude together."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import CHOSEN, LINES, MASKS, ROWS, TARGETS, UNIONS
from gridcrux.techniques.compiled.notes import add_premise, begin, is_news
from gridcrux.techniques.compiled.rectangles import GUARDED, allow, pair_of, slot_in
from gridcrux.techniques.compiled.tables import BLOCK, Ints, Tables

OTHERS = 3
"""Most cells beside the corners that a subset may take."""


@inner
def exclude_seen(
    tables: Tables, board: Ints, count: int, digit: int, records: Ints, row: int
) -> None:
    """Exclude what conflicts with a digit in each of the first `count` cells of `TARGETS`."""
    for word in range(tables.rules.shape[1]):
        seen = np.int64(-1)
        for i in range(count):
            seen &= tables.conflicts[digit * tables.cells + board[TARGETS, i], word]
        records[row, REMOVES + word] |= seen


@inner
def add_corners(
    tables: Tables, board: Ints, rectangle: Ints, count: int, guards: int, records: Ints, row: int
) -> int:
    """Take the corners as premises, and the guarded ones among the `TARGETS`; how many now."""
    for corner in range(4):
        add_premise(tables, rectangle[corner], records, row)
        allow(tables, rectangle[corner], pair_of(rectangle), records, row)
        if rectangle[GUARDED] >> corner & 1:
            allow(tables, rectangle[corner], guards, records, row)
            board[TARGETS, count] = rectangle[corner]
            count += 1
    return count


@inner
def find_guards(
    tables: Tables,
    board: Ints,
    technique: int,
    rectangle: Ints,
    widest: int,
    records: Ints,
    row: int,
) -> int:
    """What sees all guards, where these are of one digit."""
    guards = 0
    for corner in range(4):
        guards |= board[MASKS, rectangle[corner]] & ~pair_of(rectangle)
    if guards & (guards - 1) or widest < 4:
        return 0
    begin(records, row, technique)
    count = add_corners(tables, board, rectangle, 0, guards, records, row)
    exclude_seen(tables, board, count, lowest(guards), records, row)
    return 1 if is_news(tables, board, records, row) else 0


@inner
def record_subset(
    tables: Tables,
    board: Ints,
    technique: int,
    rectangle: Ints,
    size: int,
    digits: int,
    records: Ints,
    row: int,
) -> bool:
    """The chosen cells and a guard use up these digits; whether that is news."""
    begin(records, row, technique)
    for i in range(size):
        member = board[LINES, board[CHOSEN, i]]
        board[TARGETS, i] = member
        add_premise(tables, member, records, row)
        allow(tables, member, digits, records, row)
    count = add_corners(tables, board, rectangle, size, digits, records, row)
    while digits:
        digit = lowest(digits)
        digits &= digits - 1
        # A guard is neither of the two digits of the rectangle: a chosen cell has such a one.
        holders = size if pair_of(rectangle) >> digit & 1 else count
        exclude_seen(tables, board, holders, digit, records, row)
    return is_news(tables, board, records, row)


@inner
def choose_others(
    tables: Tables,
    board: Ints,
    technique: int,
    rectangle: Ints,
    count: int,
    size: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """Choose `size` of `count` cells that have, with the guards, one digit more than they are.

    `ROWS` and `LINES` hold the digits and the numbers of the cells, `UNIONS` first the guards.
    """
    found = 0
    depth = 0
    board[CHOSEN, 0] = -1
    while depth >= 0 and found < limit:
        choice = board[CHOSEN, depth] + 1
        board[CHOSEN, depth] = choice
        if choice > count - size + depth:
            depth -= 1
            continue
        union = board[UNIONS, depth] | board[ROWS, choice]
        if popcount(union) > size + 1:
            continue
        if depth + 1 < size:
            depth += 1
            board[UNIONS, depth] = union
            board[CHOSEN, depth] = choice
        elif popcount(union) == size + 1 and record_subset(
            tables, board, technique, rectangle, size, union, records, row + found
        ):
            found += 1
    return found


@inner
def find_subsets(
    tables: Tables,
    board: Ints,
    technique: int,
    rectangle: Ints,
    widest: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """Cells of a house that make a naked subset with the guards of two neighbouring corners."""
    edge = 3 if rectangle[GUARDED] == 9 else lowest(rectangle[GUARDED])
    cell, other = rectangle[edge], rectangle[(edge + 1) & 3]
    guards = (board[MASKS, cell] | board[MASKS, other]) & ~pair_of(rectangle)
    found = 0
    for j in range(1, tables.links.shape[1]):
        house = tables.links[cell, j, BLOCK]
        if popcount(guards) < 2 or house < 0 or slot_in(tables, other, house) < 0:
            continue
        count = 0
        for position in range(tables.size):
            member = tables.candidates[tables.cells + house * tables.size, position]
            mask = board[MASKS, member]
            if mask & (mask - 1) and member != cell and member != other:
                board[ROWS, count] = mask
                board[LINES, count] = member
                count += 1
        board[UNIONS, 0] = guards
        for size in range(1, min(OTHERS, widest - 4) + 1):
            found += choose_others(
                tables,
                board,
                technique,
                rectangle,
                count,
                size,
                records,
                row + found,
                limit - found,
            )
    return found
