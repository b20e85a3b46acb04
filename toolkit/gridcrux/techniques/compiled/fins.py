"""Compiled finders of the fins family: fish with fins, mixed fish, and sets in two sectors."""

from __future__ import annotations

import numpy as np
from numba import cfunc

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import (
    CHANGED,
    CLOCK,
    FACTS,
    MASKS,
    PASSED,
    bit,
    passed_at,
)
from gridcrux.techniques.compiled.families import FINDER
from gridcrux.techniques.compiled.inner import inner
from gridcrux.techniques.compiled.mixed import find_mixed
from gridcrux.techniques.compiled.notes import add_premise, begin, is_news, spare_excluded
from gridcrux.techniques.compiled.sectors import find_sectors
from gridcrux.techniques.compiled.shapes import FINNED, MIXED, SASHIMI, TWO_SECTOR_SET
from gridcrux.techniques.compiled.tables import Ints, Tables


@inner
def inside_of(tables: Tables, house: int, across: bool, inside: Ints) -> None:
    """For each line, rows or `across` columns, the mask of its positions in a house."""
    n = tables.size
    inside[:] = 0
    for position in range(n):
        cell = tables.candidates[tables.cells + house * n, position]
        line, place = (cell % n, cell // n) if across else (cell // n, cell % n)
        inside[line] |= 1 << place


@inner
def is_tight(masks: Ints, size: int, covers: int) -> bool:
    """Whether each proper part of the lines has at least as many places in `covers` as lines."""
    for part in range(1, (1 << size) - 1):
        union = 0
        for i in range(size):
            if part >> i & 1:
                union |= masks[i] & covers
        if popcount(union) < popcount(part):
            return False
    return True


@inner
def record_finned(
    tables: Tables,
    board: Ints,
    technique: int,
    digit: int,
    across: bool,
    lines: Ints,
    size: int,
    covers: int,
    targets: int,
    inside: Ints,
    records: Ints,
    row: int,
) -> bool:
    """Write a fish with its fins in a house; whether it excludes anything open.

    What falls lies in the house and in the covers of `targets`, outside the bases.  A closed
    place of a base matters unless it is in a cover or would be a fin in the house.
    """
    n, words = tables.size, tables.rules.shape[1]
    begin(records, row, technique)
    based = 0
    for i in range(size):
        based |= 1 << lines[i]
        rule = tables.cells + (lines[i] + across * n) * n + digit
        add_premise(tables, rule, records, row)
        for place in range(n):
            if (covers | inside[lines[i]]) >> place & 1:
                candidate = tables.candidates[rule, place]
                records[row, REMOVES + words + (candidate >> 6)] &= ~bit(candidate)
    for line in range(n):
        left = 0 if based >> line & 1 else inside[line] & targets
        rule = tables.cells + (line + across * n) * n + digit
        while left:
            candidate = tables.candidates[rule, lowest(left)]
            left &= left - 1
            records[row, REMOVES + (candidate >> 6)] |= bit(candidate)
    if not is_news(tables, board, records, row):
        return False
    spare_excluded(tables, records, row)
    return True


@inner
def try_finned(
    tables: Tables,
    board: Ints,
    technique: int,
    digit: int,
    across: bool,
    lines: Ints,
    masks: Ints,
    size: int,
    inside: Ints,
    home: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """All fish on the chosen lines with every fin in the house that `inside` and `home` tell.

    Covers are all places outside the house, and some of the house's, `home`, to make up as many
    as there are lines.
    """
    outside, most, places = 0, 0, 0
    for i in range(size):
        outside |= masks[i] & ~inside[lines[i]]
        places |= masks[i]
        most = max(most, popcount(masks[i]))
    missing = size - popcount(outside)
    if missing < 0 or (size == 2 and most == 2):
        return 0
    found = 0
    more = home & places & ~outside
    extra = more
    while True:
        covers = outside | extra
        if popcount(extra) == missing:
            fins, fewest = 0, size
            for i in range(size):
                fins |= masks[i] & ~covers
                fewest = min(fewest, popcount(masks[i] & covers))
            wanted = SASHIMI if fewest < 2 else FINNED
            if fins and fewest and technique == wanted + size:
                targets = 0
                left = covers & home
                while left:
                    target = left & -left
                    left &= left - 1
                    if is_tight(masks, size, covers & ~target):
                        targets |= target
                if targets and record_finned(
                    tables,
                    board,
                    technique,
                    digit,
                    across,
                    lines,
                    size,
                    covers,
                    targets,
                    inside,
                    records,
                    row + found,
                ):
                    found += 1
                    if found == limit:
                        return found
        if extra == 0:
            return found
        extra = (extra - 1) & more


@inner
def find_finned(
    tables: Tables, board: Ints, technique: int, digit: int, records: Ints, row: int, limit: int
) -> int:
    """Fish of one digit whose fins lie in one house, by lines, then by house."""
    n = tables.size
    size = technique - (SASHIMI if technique > SASHIMI else FINNED)
    inside, lines, masks = np.empty(n, np.int64), np.empty(size, np.int64), np.empty(size, np.int64)
    found = 0
    for across in (False, True):
        for house in range(2 * n, tables.houses):
            inside_of(tables, house, across, inside)
            home = 0
            for line in range(n):
                home |= inside[line]
            depth = 0
            lines[0] = -1
            while depth >= 0:
                lines[depth] += 1
                if lines[depth] == n:
                    depth -= 1
                    continue
                rule = tables.cells + (lines[depth] + across * n) * n + digit
                masks[depth] = board[MASKS, rule]
                if (
                    popcount(masks[depth]) < 2
                    or popcount(masks[depth] & ~inside[lines[depth]]) > size
                ):
                    continue
                if depth + 1 < size:
                    depth += 1
                    lines[depth] = lines[depth - 1]
                    continue
                found += try_finned(
                    tables,
                    board,
                    technique,
                    digit,
                    across,
                    lines,
                    masks,
                    size,
                    inside,
                    home,
                    records,
                    row + found,
                    limit - found,
                )
                if found == limit:
                    return found
    return found


@cfunc(FINDER, cache=True)
def find(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Find a technique of the fins family (`families.FINDER`)."""
    if technique == TWO_SECTOR_SET:
        return find_sectors(tables, board, technique, widest, records, row, limit)
    base = MIXED if technique > MIXED else SASHIMI if technique > SASHIMI else FINNED
    if technique - base > widest:
        return 0
    found = 0
    for digit in range(tables.size):
        note = passed_at(tables, technique, digit)
        if board[PASSED, note] >= board[CHANGED, tables.houses + digit]:
            continue
        if base == MIXED:
            here = find_mixed(tables, board, technique, digit, records, row + found, limit - found)
        else:
            here = find_finned(tables, board, technique, digit, records, row + found, limit - found)
        if here == 0:
            board[PASSED, note] = board[FACTS, CLOCK]
        found += here
        if found == limit:
            break
    return found
