"""What a route is judged on: its records, and a state kept as words, which costs next to nothing.

A state here is the open candidates and the written cells.  That is enough to tell whether a
recorded step stands, or which digits can be written; only finders need a board.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from gridcrux.grids.inner import inner
from gridcrux.grids.layout import Layout
from gridcrux.logic.records import PLACES, REMOVES, new_records
from gridcrux.techniques.compiled import board as boards
from gridcrux.techniques.compiled.board import bit, new_board
from gridcrux.techniques.compiled.shapes import (
    FULL_HOUSE,
    HIDDEN_SINGLE,
    NAKED_SINGLE,
    SIZES,
)
from gridcrux.techniques.compiled.tables import BLOCK, RULE, Ints, Tables, tables

BATCH = 8
"""Deductions of one technique that are taken at once when a new one is needed."""

OPEN, WRITTEN, BANNED = 0, 1, 2
"""Rows of `Desk.state`: (W,) the open candidates, as words; (C,) 1 where a digit is written;
(W,) candidates that only placements may exclude."""

ORDER, WAITING = 0, 1
"""Rows of `Desk.notes`: the deductions carried out, in order; 1 for each not carried out yet."""


class Desk(NamedTuple):
    """What the work is done on.

    Attributes
    ----------
    records : the route, and behind it room for what else is found.
    notes, state : see `ORDER` and `OPEN`.
    start, goal, board : the boards at the start and the end of the route; one to work on.
    """

    records: Ints
    notes: Ints
    state: Ints
    start: Ints
    goal: Ints
    board: Ints


def new_desk(layout: Layout, steps: int = 0) -> Desk:
    """A desk for the routes of a layout; `steps` is how long one is, if that is known."""
    index = tables(layout)
    # Every step closes a candidate or writes a digit, so a route has fewer steps than that.
    longest = layout.candidates + layout.cells
    records = new_records(max(steps, longest) + longest + BATCH, layout)
    return Desk(
        records,
        np.zeros((2, len(records)), np.int64),
        np.zeros((3, max(index.rules.shape[1], index.cells)), np.int64),
        new_board(index),
        new_board(index),
        new_board(index),
    )


@inner
def singles_of(order: Ints, banned: int) -> int:
    """The kinds of placement in a plan without a banned technique: bit k for shape k."""
    kinds = 0
    for technique in order:
        if technique != banned and technique // SIZES <= NAKED_SINGLE:
            kinds |= 1 << (technique // SIZES)
    return kinds


@inner
def is_last(index: Tables, state: Ints, rule: int, candidate: int) -> bool:
    """Whether a rule has no other candidate left."""
    for word in range(index.rules.shape[1]):
        others = index.rules[rule, word] & state[OPEN, word]
        if word == candidate >> 6:
            others &= ~bit(candidate)
        if others:
            return False
    return True


@inner
def is_full(index: Tables, state: Ints, house: int) -> bool:
    """Whether all cells of a house but one are written."""
    blanks = 0
    for position in range(index.size):
        cell = index.candidates[index.cells + house * index.size, position]
        blanks += 1 - state[WRITTEN, cell]
    return blanks == 1


@inner
def can_write(index: Tables, state: Ints, kinds: int, barred: int, candidate: int) -> bool:
    """Whether an open candidate is the last of a rule, other than the barred one.

    `kinds` says which placements may be made, as `singles_of` does.
    """
    links = index.links
    for j in range(links.shape[1]):
        rule = links[candidate, j, RULE]
        if rule < 0:
            break
        kind = HIDDEN_SINGLE if j else NAKED_SINGLE
        if rule == barred or not is_last(index, state, rule, candidate):
            continue
        if kinds >> kind & 1:
            return True
        if j and kinds >> FULL_HOUSE & 1 and is_full(index, state, links[candidate, j, BLOCK]):
            return True
    return False


@inner
def has_news(index: Tables, desk: Desk, row: int) -> bool:
    """Whether a deduction excludes something open that is not banned."""
    state = desk.state
    news = 0
    for word in range(index.rules.shape[1]):
        removes = desk.records[row, REMOVES + word]
        news |= removes & state[OPEN, word] & ~state[BANNED, word]
    return news != 0


@inner
def stands(index: Tables, desk: Desk, row: int) -> bool:
    """Whether all is absent that a deduction relies on."""
    words = index.rules.shape[1]
    for word in range(words):
        if desk.records[row, REMOVES + words + word] & desk.state[OPEN, word]:
            return False
    return True


@inner
def is_restored(index: Tables, desk: Desk, wanted: int) -> bool:
    """Whether what the ban took away has come about otherwise: from here on, the route stands.

    That is a digit, or that all that is banned is closed.  Of a banned technique it is not told.
    """
    state = desk.state
    if wanted >= 0:
        return state[WRITTEN, wanted % index.cells] != 0
    banned, left = 0, 0
    for word in range(index.rules.shape[1]):
        banned |= state[BANNED, word]
        left |= state[BANNED, word] & state[OPEN, word]
    return banned != 0 and left == 0


@inner
def is_at_goal(index: Tables, desk: Desk) -> bool:
    """Whether no more is open than at the goal and every digit is written that is written there."""
    for word in range(index.rules.shape[1]):
        if desk.state[OPEN, word] & ~desk.goal[boards.OPEN, word]:
            return False
    for cell in range(index.cells):
        if desk.goal[boards.WRITTEN, cell] and not desk.state[WRITTEN, cell]:
            return False
    return True


@inner
def rewind(index: Tables, desk: Desk, step: int, known: int) -> None:
    """Go to the state before a step of the route; of all other deductions none is carried out."""
    state, records = desk.state, desk.records
    words = index.rules.shape[1]
    for word in range(words):
        state[OPEN, word] = desk.start[boards.OPEN, word]
    for cell in range(index.cells):
        state[WRITTEN, cell] = desk.start[boards.WRITTEN, cell]
    for row in range(step):
        for word in range(words):
            state[OPEN, word] &= ~records[row, REMOVES + word]
        if records[row, PLACES] >= 0:
            state[WRITTEN, records[row, PLACES] % index.cells] = 1
        desk.notes[ORDER, row] = row
    desk.notes[WAITING, :step] = 0
    desk.notes[WAITING, step:known] = 1


@inner
def misses_more(index: Tables, desk: Desk) -> bool:
    """Whether anything is open that is neither open at the goal nor banned."""
    state = desk.state
    for word in range(index.rules.shape[1]):
        if state[OPEN, word] & ~desk.goal[boards.OPEN, word] & ~state[BANNED, word]:
            return True
    return False
