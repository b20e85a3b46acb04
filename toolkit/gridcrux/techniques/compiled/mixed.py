"""Compiled finder of mixed fish: houses of any kind as bases and covers of one digit."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import MASKS, OPEN, bit
from gridcrux.techniques.compiled.notes import add_premise, begin, conclude
from gridcrux.techniques.compiled.shapes import MIXED
from gridcrux.techniques.compiled.spare import stands_without
from gridcrux.techniques.compiled.tables import BLOCK, Ints, Tables


@inner
def planes_of(tables: Tables, board: Ints, digit: int, planes: Ints) -> None:
    """(H, w) for each house the cells in which it has the digit open, as words."""
    n = tables.size
    planes[:] = 0
    for house in range(tables.houses):
        left = board[MASKS, tables.cells + house * n + digit]
        while left:
            cell = tables.candidates[tables.cells + house * n, lowest(left)]
            left &= left - 1
            planes[house, cell >> 6] |= bit(cell)


@inner
def are_lines(tables: Tables, houses: Ints) -> bool:
    """Whether all of some houses are rows or columns."""
    lines = True
    for house in houses:
        lines &= house < 2 * tables.size
    return lines


@inner
def is_whole(planes: Ints, bases: Ints, covers: Ints, size: int) -> bool:
    """Whether no proper part of the bases lies in as many of the covers."""
    for part in range(1, (1 << size) - 1):
        met = 0
        for j in range(size):
            meets = False
            for i in range(size):
                if part >> i & 1:
                    for word in range(planes.shape[1]):
                        meets |= (planes[bases[i], word] & planes[covers[j], word]) != 0
            met += meets
        if met <= popcount(part):
            return False
    return True


@inner
def is_lean(tables: Tables, board: Ints, digit: int, bases: Ints, records: Ints, row: int) -> bool:
    """Whether without any one of the bases something that a record excludes could be true."""
    rules = tables.cells + bases * tables.size + digit
    for spared in range(len(bases)):
        lost = False
        for word in range(tables.rules.shape[1]):
            left = records[row, REMOVES + word] & board[OPEN, word]
            while left and not lost:
                candidate = (word << 6) + lowest(left)
                left &= left - 1
                lost = stands_without(tables, board, rules, spared, candidate)
        if not lost:
            return False
    return True


@inner
def record_mixed(
    tables: Tables,
    board: Ints,
    technique: int,
    digit: int,
    bases: Ints,
    covers: Ints,
    size: int,
    records: Ints,
    row: int,
) -> bool:
    """Write a mixed fish; whether it excludes anything open, and needs all of its bases.

    It relies on the places of the bases outside the covers, and on those in two bases: were
    one of these true, it would do for both.
    """
    n, words = tables.size, tables.rules.shape[1]
    begin(records, row, technique)
    for i in range(size):
        add_premise(tables, tables.cells + bases[i] * n + digit, records, row)
    for word in range(words):
        based, twice, covered = 0, 0, 0
        for i in range(size):
            rule = tables.rules[tables.cells + bases[i] * n + digit, word]
            twice |= based & rule
            based |= rule
            covered |= tables.rules[tables.cells + covers[i] * n + digit, word]
        records[row, REMOVES + word] = covered & ~based
        records[row, REMOVES + words + word] = based & ~covered | twice
    return conclude(tables, board, records, row) and (
        is_lean(tables, board, digit, bases, records, row)
    )


@inner
def cover_bases(
    tables: Tables,
    board: Ints,
    technique: int,
    digit: int,
    planes: Ints,
    bases: Ints,
    size: int,
    across: bool,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """All ways to cover the bases by as many other houses, but lines like theirs.

    The lowest cell that is not covered yet takes one of its houses, in turn.
    """
    words = planes.shape[1]
    covers, choice = np.empty(size, np.int64), np.zeros(size, np.int64)
    left = np.zeros((size + 1, words), np.int64)
    for i in range(size):
        for word in range(words):
            left[0, word] |= planes[bases[i], word]
    found = 0
    depth = 0
    while depth >= 0:
        cell = 0
        for word in range(words):
            if left[depth, word]:
                cell = (word << 6) + lowest(left[depth, word])
                break
        choice[depth] += 1
        house = -1
        if choice[depth] < tables.links.shape[1]:
            house = tables.links[cell, choice[depth], BLOCK]
        if house < 0:
            choice[depth] = 0
            depth -= 1
            continue
        used = house // tables.size == across
        for i in range(size):
            used |= bases[i] == house
        if used:
            continue
        covers[depth] = house
        done = True
        for word in range(words):
            left[depth + 1, word] = left[depth, word] & ~planes[house, word]
            done &= not left[depth + 1, word]
        if depth + 1 < size:
            # Covered by fewer houses than bases: there is no solution, or it is no fish.
            if not done:
                depth += 1
            continue
        if (
            done
            and not (are_lines(tables, bases) and are_lines(tables, covers))
            and is_whole(planes, bases, covers, size)
            and record_mixed(
                tables, board, technique, digit, bases, covers, size, records, row + found
            )
        ):
            found += 1
            if found == limit:
                return found
    return found


@inner
def find_mixed(
    tables: Tables, board: Ints, technique: int, digit: int, records: Ints, row: int, limit: int
) -> int:
    """Fish of one digit with rows and boxes as bases, columns and boxes as covers, or across.

    Boxes stand for all houses that are no lines.  Lines in lines are plain fish.
    """
    n, size = tables.size, technique - MIXED
    planes = np.empty((tables.houses, (tables.cells + 63) >> 6), np.int64)
    planes_of(tables, board, digit, planes)
    bases = np.empty(size, np.int64)
    found = 0
    for across in (False, True):
        depth = 0
        bases[0] = -1
        while depth >= 0:
            bases[depth] += 1
            house = bases[depth]
            if house == tables.houses:
                depth -= 1
                continue
            places = popcount(board[MASKS, tables.cells + house * n + digit])
            if house // n == 1 - across or places < 2:
                continue
            apart = True
            for i in range(depth):
                for word in range(planes.shape[1]):
                    apart &= not planes[bases[i], word] & planes[house, word]
            if not apart:
                continue
            if depth + 1 < size:
                depth += 1
                bases[depth] = house
                continue
            found += cover_bases(
                tables,
                board,
                technique,
                digit,
                planes,
                bases,
                size,
                across,
                records,
                row + found,
                limit - found,
            )
            if found == limit:
                return found
    return found
