"""Compiled finders of the fins family: fish with fins, mixed fish, and sets in two sectors."""

from __future__ import annotations

import numpy as np
from numba import cfunc

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
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
from gridcrux.techniques.compiled.mixed import find_mixed
from gridcrux.techniques.compiled.notes import add_premise, begin, conclude
from gridcrux.techniques.compiled.sectors import find_sectors
from gridcrux.techniques.compiled.shapes import FINNED, MIXED, SASHIMI, TWO_SECTOR_SET
from gridcrux.techniques.compiled.spare import needs_all
from gridcrux.techniques.compiled.tables import BLOCK, Ints, Tables


@inner
def look_from(tables: Tables, board: Ints, digit: int, across: bool, cell: int, kept: Ints) -> None:
    """Write for each line the open places of a digit that a candidate in a cell leaves it.

    Lines are rows, or columns if `across`, and places are what crosses them.
    """
    n, links = tables.size, tables.links
    place = cell // n if across else cell % n
    for line in range(n):
        rule = tables.cells + (line + across * n) * n + digit
        kept[line] = board[MASKS, rule] & ~(1 << place)
    for j in range(1, links.shape[1]):
        house = links[cell, j, BLOCK]
        if house < 2 * n:
            continue
        for position in range(n):
            other = tables.candidates[tables.cells + house * n, position]
            line, place = (other % n, other // n) if across else (other // n, other % n)
            kept[line] &= ~(1 << place)


@inner
def rules_of(tables: Tables, digit: int, across: bool, lines: Ints, rules: Ints) -> None:
    """Write the rules of a digit in some lines."""
    for i in range(len(lines)):
        rules[i] = tables.cells + (lines[i] + across * tables.size) * tables.size + digit


@inner
def record_finned(
    tables: Tables,
    board: Ints,
    technique: int,
    digit: int,
    across: bool,
    lines: Ints,
    covers: int,
    records: Ints,
    row: int,
) -> None:
    """Write a fish: what falls lies in a cover, in no base, and conflicts with every fin."""
    n, words, size = tables.size, tables.rules.shape[1], len(lines)
    begin(records, row, technique)
    fins = np.zeros(words, np.int64)
    based = 0
    for i in range(size):
        based |= 1 << lines[i]
        rule = tables.cells + (lines[i] + across * n) * n + digit
        add_premise(tables, rule, records, row)
        for place in range(n):
            candidate = tables.candidates[rule, place]
            if covers >> place & 1:
                records[row, REMOVES + words + (candidate >> 6)] &= ~bit(candidate)
            elif board[MASKS, rule] >> place & 1:
                fins[candidate >> 6] |= bit(candidate)
    for line in range(n):
        left = 0 if based >> line & 1 else covers
        while left:
            candidate = tables.candidates[
                tables.cells + (line + across * n) * n + digit, lowest(left)
            ]
            left &= left - 1
            sees = True
            for word in range(words):
                sees &= not fins[word] & ~tables.conflicts[candidate, word]
            if sees:
                records[row, REMOVES + (candidate >> 6)] |= bit(candidate)
    conclude(tables, board, records, row)


@inner
def is_wanted(board: Ints, technique: int, rules: Ints, covers: int) -> bool:
    """Whether a fish has fins, a base in every cover, and the shape of the technique.

    Two lines of two places each are a skyscraper.
    """
    size = len(rules)
    most, fewest, places = 0, size, 0
    for rule in rules:
        mask = board[MASKS, rule]
        most, fewest = max(most, popcount(mask)), min(fewest, popcount(mask & covers))
        places |= mask
    if covers & ~places or not places & ~covers or (size == 2 and most == 2):
        return False
    return technique == (SASHIMI if fewest < 2 else FINNED) + size


@inner
def is_new(
    tables: Tables,
    board: Ints,
    digit: int,
    across: bool,
    cell: int,
    lines: Ints,
    rules: Ints,
    covers: int,
    records: Ints,
    row: int,
) -> bool:
    """Whether no lower cell of what a fish excludes led to this fish already."""
    n = tables.size
    kept = np.empty(n, np.int64)
    for word in range(tables.rules.shape[1]):
        left = records[row, REMOVES + word] & board[OPEN, word]
        while left:
            candidate = (word << 6) + lowest(left)
            left &= left - 1
            lower = candidate - digit * tables.cells
            if lower >= cell:
                return True
            look_from(tables, board, digit, across, lower, kept)
            union = np.int64(1) << (lower // n if across else lower % n)
            for line in lines:
                union |= kept[line]
            if union == covers and needs_all(tables, board, rules, candidate):
                return False
    return True


@inner
def find_finned(
    tables: Tables, board: Ints, technique: int, digit: int, records: Ints, row: int, limit: int
) -> int:
    """Fish of one digit with fins, by what they exclude.

    If a candidate is true, a line keeps the places that do not conflict with it.  As many lines
    as the fish is wide must keep one place fewer, and none of them may be to spare.
    """
    n, size = tables.size, technique - (SASHIMI if technique > SASHIMI else FINNED)
    lines, rules = np.empty(size, np.int64), np.empty(size, np.int64)
    unions, kept = np.zeros(size + 1, np.int64), np.empty(n, np.int64)
    found = 0
    for cell in range(tables.cells):
        candidate = digit * tables.cells + cell
        if not board[OPEN, candidate >> 6] & ~board[FORBIDDEN, candidate >> 6] & bit(candidate):
            continue
        for across in (False, True):
            look_from(tables, board, digit, across, cell, kept)
            own, place = (cell % n, cell // n) if across else (cell // n, cell % n)
            depth = 0
            lines[0] = -1
            while depth >= 0:
                lines[depth] += 1
                line = lines[depth]
                if line == n:
                    depth -= 1
                    continue
                union = unions[depth] | kept[line]
                mask = board[MASKS, tables.cells + (line + across * n) * n + digit]
                if line == own or kept[line] == 0 or mask & (mask - 1) == 0:
                    continue
                if popcount(union) >= size:
                    continue
                if depth + 1 < size:
                    depth += 1
                    unions[depth] = union
                    lines[depth] = line
                    continue
                covers = union | 1 << place
                rules_of(tables, digit, across, lines, rules)
                if not is_wanted(board, technique, rules, covers):
                    continue
                if not needs_all(tables, board, rules, candidate):
                    continue
                at = row + found
                record_finned(tables, board, technique, digit, across, lines, covers, records, at)
                if is_new(tables, board, digit, across, cell, lines, rules, covers, records, at):
                    found += 1
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
