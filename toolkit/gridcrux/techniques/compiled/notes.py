"""Writing a record: what every compiled finder does once it has found something."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.logic.records import PLACES, REMOVES, TECHNIQUE
from gridcrux.techniques.compiled.board import FORBIDDEN, OPEN, bit
from gridcrux.techniques.compiled.tables import Ints, Tables


@inner
def begin(records: Ints, row: int, technique: int) -> None:
    """Begin a record that places nothing, with no premise and empty masks."""
    records[row, TECHNIQUE] = technique
    records[row, PLACES] = -1
    for column in range(REMOVES, records.shape[1]):
        records[row, column] = 0


@inner
def add_premise(tables: Tables, rule: int, records: Ints, row: int) -> None:
    """Note a premise, and all of its candidates in `relies`; take out later what may be open."""
    words = tables.rules.shape[1]
    records[row, REMOVES + 2 * words + (rule >> 6)] |= bit(rule)
    for word in range(words):
        records[row, REMOVES + words + word] |= tables.rules[rule, word]


@inner
def rely_on_closed(tables: Tables, board: Ints, records: Ints, row: int) -> None:
    """Let a record rely on every candidate of its premises that is closed."""
    words = tables.rules.shape[1]
    for word in range(words):
        records[row, REMOVES + words + word] &= ~board[OPEN, word]


@inner
def is_news(tables: Tables, board: Ints, records: Ints, row: int) -> bool:
    """Take out of `removes` what is forbidden; whether it excludes anything that is open."""
    news = False
    for word in range(tables.rules.shape[1]):
        records[row, REMOVES + word] &= ~board[FORBIDDEN, word]
        if records[row, REMOVES + word] & board[OPEN, word]:
            news = True
    return news


@inner
def spare_excluded(tables: Tables, records: Ints, row: int) -> None:
    """Rely on nothing that conflicts with all that is excluded.

    When one of these is assumed to be true, such a candidate is false without having been so.
    """
    words = tables.rules.shape[1]
    common = np.empty(words, np.int64)
    for word in range(words):
        common[word] = -1
    for word in range(words):
        left = records[row, REMOVES + word]
        while left:
            candidate = (word << 6) + lowest(left)
            left &= left - 1
            for other in range(words):
                common[other] &= tables.conflicts[candidate, other]
    for word in range(words):
        records[row, REMOVES + words + word] &= ~common[word]


@inner
def conclude(tables: Tables, board: Ints, records: Ints, row: int) -> bool:
    """Finish a record whose conclusions and premises are there; whether it is news."""
    news = is_news(tables, board, records, row)
    if news:
        spare_excluded(tables, records, row)
    return news


@inner
def width_of(tables: Tables, records: Ints, row: int) -> int:
    """How many premises a record has."""
    width = 0
    for column in range(REMOVES + 2 * tables.rules.shape[1], records.shape[1]):
        width += popcount(records[row, column])
    return width


@inner
def keep(draft: Ints, records: Ints, row: int, found: int, limit: int) -> int:
    """Copy a record from a draft behind those found since `row`; how many these are then.

    Where one is wanted only, it takes the place of the one found before, which it must beat.
    """
    place = 0 if limit == 1 else found
    for column in range(records.shape[1]):
        records[row + place, column] = draft[0, column]
    return place + 1
