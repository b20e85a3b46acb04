"""Compiled finders of the last resorts: forcing and contradictions, with as few premises as may be.

Both follow singles from an assumption (`forcing_worlds`).  What is found is then reduced: a
premise without which the same argument still works is left out for good, and so is an absence.
"""

from __future__ import annotations

import numpy as np
from numba import cfunc, njit

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.logic.records import REMOVES
from gridcrux.techniques.compiled.board import FORBIDDEN, MASKS, OPEN, WRITTEN, bit, is_stopped
from gridcrux.techniques.compiled.families import FINDER
from gridcrux.techniques.compiled.forcing_worlds import (
    ALIVE,
    ALLOWED,
    BEST,
    FACTS,
    KEPT,
    NESTED,
    NEVER,
    NO_START,
    PLACES_LEFT,
    RESULT,
    SINGLES,
    SOURCE,
    assume,
    begin_worlds,
    copy_words,
    follows,
    new_room,
    new_rows,
    refute,
)
from gridcrux.techniques.compiled.notes import add_premise, begin, rely_on_closed
from gridcrux.techniques.compiled.shapes import (
    CELL_FORCING,
    CONTRADICTION,
    HOUSE_FORCING,
)
from gridcrux.techniques.compiled.tables import Ints, Tables

NARROW = 12
"""Premises that the first look for a nested contradiction allows; each later look, twice."""


NOW, BEFORE = np.int64(0), np.int64(1)
"""Rows of premises: of what was found just now, and of the narrowest found before."""


@inner
def count_rules(premises: Ints, row: int) -> int:
    """How many rules a row has."""
    count = 0
    for wide in range(premises.shape[1]):
        count += popcount(premises[row, wide])
    return count


@inner
def load_room(tables: Tables, board: Ints, room: Ints, rows: Ints, absent: Ints) -> None:
    """Let every rule take part that has two open candidates or more."""
    for word in range(absent.shape[0]):
        absent[word] = ~board[OPEN, word]
    for rule in range(tables.rules.shape[0]):
        mask = board[MASKS, rule]
        if mask & (mask - 1):
            room[ALLOWED, rule >> 6] |= bit(rule)
    for candidate in range(tables.conflicts.shape[0]):
        room[SOURCE, candidate] = tables.rules.shape[0]
    begin_worlds(tables, room, rows, absent)


@inner
def reduce_premises(
    tables: Tables,
    room: Ints,
    rows: Ints,
    absent: Ints,
    pool: Ints,
    at: int,
    start: int,
    candidate: int,
    levels: int,
) -> int:
    """Leave out premises to spare from row `at` of a pool, the last first; how many are left."""
    copy_words(room, ALLOWED, room, KEPT)
    for rule in range(tables.rules.shape[0] - 1, -1, -1):
        if rule == start or not pool[at, rule >> 6] & bit(rule):
            continue
        copy_words(pool, at, room, ALLOWED)
        room[ALLOWED, rule >> 6] &= ~bit(rule)
        if follows(tables, room, rows, absent, start, candidate, levels):
            copy_words(room, RESULT, pool, at)
    copy_words(room, KEPT, room, ALLOWED)
    begin_worlds(tables, room, rows, absent)
    return count_rules(pool, at)


@inner
def record(
    tables: Tables,
    board: Ints,
    room: Ints,
    rows: Ints,
    pool: Ints,
    at: int,
    start: int,
    candidate: int,
    technique: int,
    records: Ints,
    row: int,
) -> None:
    """Write a record, with those absences only that the argument needs."""
    words = tables.rules.shape[1]
    levels = max(SINGLES, technique - CONTRADICTION)
    begin(records, row, technique)
    for rule in range(tables.rules.shape[0]):
        if pool[at, rule >> 6] & bit(rule):
            add_premise(tables, rule, records, row)
    rely_on_closed(tables, board, records, row)
    relies = np.empty(words, np.int64)
    for word in range(words):
        relies[word] = records[row, REMOVES + words + word]
    copy_words(room, ALLOWED, room, KEPT)
    copy_words(pool, at, room, ALLOWED)
    for absence in range(tables.conflicts.shape[0]):
        if relies[absence >> 6] & bit(absence):
            relies[absence >> 6] &= ~bit(absence)
            if not follows(tables, room, rows, relies, start, candidate, levels):
                relies[absence >> 6] |= bit(absence)
    for word in range(words):
        records[row, REMOVES + words + word] = relies[word]
    records[row, REMOVES + (candidate >> 6)] = bit(candidate)
    if start >= 0:
        add_forced(tables, room, rows, relies, start, records, row)
    copy_words(room, KEPT, room, ALLOWED)
    for word in range(words):
        relies[word] = ~board[OPEN, word]
        records[row, REMOVES + word] &= ~board[FORBIDDEN, word]
    begin_worlds(tables, room, rows, relies)


@inner
def add_forced(
    tables: Tables, room: Ints, rows: Ints, relies: Ints, start: int, records: Ints, row: int
) -> None:
    """Note all that is excluded whichever candidate of the start is true."""
    begin_worlds(tables, room, rows, relies)
    words = tables.rules.shape[1]
    for word in range(words):
        records[row, REMOVES + word] = room[ALIVE, word]
    spare = tables.conflicts.shape[0] & 63
    if spare:
        records[row, REMOVES + words - 1] &= bit(spare) - 1
    left = room[PLACES_LEFT, start]
    while left:
        branch = np.int64(tables.candidates[start, lowest(left)])
        left &= left - 1
        assume(tables, room, rows, branch, NEVER)
        for word in range(words):
            records[row, REMOVES + word] &= ~room[ALIVE + 1, word]


@inner
def needs_all(
    tables: Tables, room: Ints, rows: Ints, absent: Ints, pool: Ints, at: int, candidate: int
) -> bool:
    """Whether no premise is to spare in row `at` of a pool when a contradiction is looked for."""
    needed = True
    copy_words(room, ALLOWED, room, KEPT)
    for rule in range(tables.rules.shape[0]):
        if needed and pool[at, rule >> 6] & bit(rule):
            copy_words(pool, at, room, ALLOWED)
            room[ALLOWED, rule >> 6] &= ~bit(rule)
            needed = not follows(tables, room, rows, absent, NO_START, candidate, NESTED)
    copy_words(room, KEPT, room, ALLOWED)
    begin_worlds(tables, room, rows, absent)
    return needed


@inner
def force(
    tables: Tables, board: Ints, room: Ints, rows: Ints, start: int, fewest: Ints, pool: Ints
) -> None:
    """Keep, for each candidate, the fewest premises by which all that a rule has left excludes it.

    Parameters
    ----------
    fewest : (K, 2) how many premises, and the rule to start from.
    pool : (2K, P) the premises; behind them those of the branches so far.
    """
    words, last = tables.rules.shape[1], fewest.shape[0]
    excluded = np.empty(words, np.int64)
    for word in range(words):
        excluded[word] = board[OPEN, word] & ~board[FORBIDDEN, word]
    first = True
    left = board[MASKS, start]
    while left:
        branch = np.int64(tables.candidates[start, lowest(left)])
        left &= left - 1
        assume(tables, room, rows, branch, NEVER)
        common = np.int64(0)
        for word in range(words):
            excluded[word] &= ~room[ALIVE + 1, word]
            common |= excluded[word]
            members = excluded[word]
            while members:
                candidate = (word << 6) + lowest(members)
                members &= members - 1
                source = room[SOURCE, candidate]
                for wide in range(pool.shape[1]):
                    before = np.int64(0) if first else pool[last + candidate, wide]
                    pool[last + candidate, wide] = before | rows[source, wide]
        first = False
        # A branch that breaks a rule is false itself: a contradiction, which says it better.
        if not common or room[FACTS, BEST] < NEVER:
            return
    for word in range(words):
        while excluded[word]:
            candidate = (word << 6) + lowest(excluded[word])
            excluded[word] &= excluded[word] - 1
            pool[last + candidate, start >> 6] |= bit(start)
            count = count_rules(pool, last + candidate)
            if 1 < count < fewest[candidate, 0]:
                fewest[candidate, 0], fewest[candidate, 1] = count, start
                copy_words(pool, last + candidate, pool, candidate)


@inner
def find_forced(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """What everything that a cell, or a digit in a house, has left excludes."""
    candidates, words = tables.conflicts.shape
    room, rows = new_room(tables), new_rows(tables)
    absent = np.empty(words, np.int64)
    load_room(tables, board, room, rows, absent)
    fewest = np.full((candidates, 2), NEVER, np.int64)
    pool = np.zeros((2 * candidates, rows.shape[1]), np.int64)
    houses = technique == HOUSE_FORCING
    for start in range(tables.cells * houses, tables.rules.shape[0] if houses else tables.cells):
        if room[ALLOWED, start >> 6] & bit(start):
            force(tables, board, room, rows, start, fewest, pool)
    found, chosen, narrowest = 0, np.int64(-1), min(widest + 1, NEVER)
    while found < limit:
        # The next candidate is the one with the fewest premises before they are reduced.
        at = np.int64(np.argmin(fewest[:, 0]))
        start = fewest[at, 1]
        if fewest[at, 0] == NEVER or (limit == 1 and fewest[at, 0] >= narrowest):
            break
        fewest[at, 0] = NEVER
        count = reduce_premises(tables, room, rows, absent, pool, at, start, at, SINGLES)
        if count >= narrowest or count < 2:
            continue
        if not needs_all(tables, room, rows, absent, pool, at, at):
            continue
        chosen = at
        if limit == 1:
            narrowest = count
        else:
            record(tables, board, room, rows, pool, at, start, at, technique, records, row + found)
            found += 1
    if limit == 1 and chosen >= 0:
        start = fewest[chosen, 1]
        record(tables, board, room, rows, pool, chosen, start, chosen, technique, records, row)
        return 1
    return found


@inner
def find_refuted(
    tables: Tables,
    board: Ints,
    technique: int,
    widest: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """Candidates that leave a rule without any, `technique - CONTRADICTION` levels deep."""
    candidates, words = tables.conflicts.shape
    room, rows = new_room(tables), new_rows(tables)
    absent = np.empty(words, np.int64)
    load_room(tables, board, room, rows, absent)
    levels = technique - CONTRADICTION
    best = tables.rules.shape[0] + 1
    pool = np.zeros((2, rows.shape[1]), np.int64)
    done = np.zeros(candidates, np.bool_)
    for candidate in range(candidates):
        free = board[OPEN, candidate >> 6] & ~board[FORBIDDEN, candidate >> 6]
        done[candidate] = not free & bit(candidate) or board[WRITTEN, candidate % tables.cells]
        # What fewer levels refute is left to the technique that needs no more.
        if levels and not done[candidate]:
            done[candidate] = refute(tables, room, rows, candidate, levels - 1, NEVER) < NEVER
    found, chosen, narrowest = 0, NO_START, NEVER
    bound = NARROW if levels else NEVER
    while True:
        for candidate in range(candidates):
            most = min(bound, narrowest)
            if done[candidate]:
                continue
            if is_stopped(board):
                return found
            if refute(tables, room, rows, candidate, levels, most) >= most:
                continue
            done[candidate] = True
            copy_words(rows, best, pool, NOW)
            count = reduce_premises(
                tables, room, rows, absent, pool, NOW, NO_START, candidate, levels
            )
            if count > widest or count >= narrowest:
                continue
            chosen = candidate
            if limit == 1:
                narrowest = count
                copy_words(pool, NOW, pool, BEFORE)
                continue
            record(
                tables,
                board,
                room,
                rows,
                pool,
                NOW,
                NO_START,
                chosen,
                technique,
                records,
                row + found,
            )
            found += 1
            if found == limit:
                return found
        if bound == NEVER or (limit == 1 and chosen >= 0):
            break
        bound = bound * 2 if bound < tables.rules.shape[0] else NEVER
    if limit == 1 and chosen >= 0:
        record(tables, board, room, rows, pool, BEFORE, NO_START, chosen, technique, records, row)
        return 1
    return found


@njit(cache=True)
def search(
    tables: Tables,
    board: Ints,
    technique: int,
    widest: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """As `find`, to be called from Python."""
    if technique == CELL_FORCING or technique == HOUSE_FORCING:
        return find_forced(tables, board, technique, widest, records, row, limit)
    return find_refuted(tables, board, technique, widest, records, row, limit)


@cfunc(FINDER, cache=True)
def find(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Find deductions of any technique in this file; see `families.FINDER`."""
    # Not by way of `search`: what a function calls is compiled into it anew.
    if technique == CELL_FORCING or technique == HOUSE_FORCING:
        return find_forced(tables, board, technique, widest, records, row, limit)
    return find_refuted(tables, board, technique, widest, records, row, limit)
