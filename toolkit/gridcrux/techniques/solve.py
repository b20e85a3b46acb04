"""What a repertoire does to a state: its route, its closure, and what it offers at a moment."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.arrays import Words, from_words, placed_cells, state_words, word_count
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction, from_record
from gridcrux.logic.records import Records, new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.techniques.compiled.board import OPEN, WRITTEN, load_state, new_board
from gridcrux.techniques.compiled.driver import find, run
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import Ints, tables
from gridcrux.techniques.repertoires import FIRST_FAMILY

NOTHING: Words = np.empty(0, np.uint64)
"""No forbidden candidates, for `driver.run`."""


def board_of(state: State) -> Ints:
    """A compiled board with a state loaded.

    Raises
    ------
    ValueError : a cell counts as written though it has several candidates, or though an open
        candidate conflicts with its digit.
    """
    layout = state.layout
    for cell in bits(state.placed):
        digits = state.digits_of(cell)
        for digit in digits:
            rivals = state.open & layout.conflicts[(digit - 1) * layout.cells + cell]
            if rivals:
                rival = layout.candidate_name((rivals & -rivals).bit_length() - 1)
                raise ValueError(
                    f"{layout.cell_name(cell)}={digit} counts as written, but {rival} is still "
                    "open; write digits with State.with_placed, which excludes their rivals"
                )
    board = new_board(tables(layout))
    load_state(tables(layout), board, state_words(state), placed_cells(state))
    return board


def route(state: State, repertoire: Repertoire = FIRST_FAMILY) -> Route:
    """Apply a repertoire until nothing applies, always the first technique that finds something.

    Within a technique the lowest-numbered finding is taken, so the route is a function of the
    state and the repertoire alone.
    """
    geometry = tables(state.layout)
    board = board_of(state)
    room = new_records(state.layout.candidates, state.layout)
    steps, ending = run(geometry, board, plan_of(repertoire), NOTHING, -1, room)
    return Route(state, repertoire, Records(room[:steps].copy(), word_count(state.layout)), ending)


def closure(state: State, repertoire: Repertoire = FIRST_FAMILY) -> State:
    """What a repertoire leaves of a state: the end of its route, without the route."""
    board = board_of(state)
    none = new_records(1, state.layout)
    run(tables(state.layout), board, plan_of(repertoire), NOTHING, -1, none)
    return state_of(state, board)


def state_of(start: State, board: Ints) -> State:
    """The state on a board that was loaded from `start`."""
    layout = start.layout
    placed = sum(1 << cell for cell in np.flatnonzero(board[WRITTEN, : layout.cells]).tolist())
    return State(
        layout, from_words(board[OPEN, : word_count(layout)].view(np.uint64)), placed, start.givens
    )


def available(state: State, repertoire: Repertoire | str = FIRST_FAMILY) -> list[Deduction]:
    """Every deduction that a repertoire, or one named technique, offers in a state.

    They come in the order of the repertoire; each removes something or writes a digit.  What
    a technique finds in two places with the same premises and conclusion is listed once.
    """
    if isinstance(repertoire, str):
        repertoire = FIRST_FAMILY.only(repertoire)
    index, plan = tables(state.layout), plan_of(repertoire)
    found: dict[Deduction, None] = {}
    for technique in repertoire:
        capacity = 256
        while True:
            room = new_records(capacity, state.layout)
            board = board_of(state)
            count = find(index, board, plan, technique.number, -1, room, 0, capacity)
            if count < capacity:
                break
            capacity *= 4
        records = Records(room[:count], word_count(state.layout))
        for row in range(count):
            found.setdefault(from_record(records, row, state, technique))
    return list(found)
