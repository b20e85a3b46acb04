"""What a repertoire does to a state: its route, its closure, and what it offers at a moment."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.arrays import from_words, placed_cells, state_words, word_count
from gridcrux.grids.state import State, bits, expect_state
from gridcrux.logic.deduction import Deduction, from_record
from gridcrux.logic.records import STUCK, Records, new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.logic.technique import Technique
from gridcrux.logic.wording import listing
from gridcrux.techniques.compiled.board import GIVENS, OPEN, WRITTEN, load_state, new_board
from gridcrux.techniques.compiled.driver import run
from gridcrux.techniques.compiled.families import plans_of
from gridcrux.techniques.compiled.tables import Ints, tables
from gridcrux.techniques.policies import NOTHING, Moment, policy_named
from gridcrux.techniques.repertoires import DEFAULT, EVERYTHING


def board_of(state: State) -> Ints:
    """A compiled board with a state loaded.

    Raises
    ------
    ValueError : a cell counts as written though it has several candidates, or though an open
        candidate conflicts with its digit.
    """
    expect_state(state)
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
    board[GIVENS, list(bits(state.givens))] = 1
    return board


class AssumesUnique(ValueError):
    """A repertoire that holds only in puzzles with one solution, where nobody says there is one."""

    def __init__(self, repertoire: Repertoire) -> None:
        super().__init__(
            f"{listing(repertoire.assuming_unique)} hold only if the puzzle has exactly one "
            "solution; make sure with proofs.uniqueness.require_unique and say so with "
            "unique=True, or leave them out with Repertoire.without_uniqueness()"
        )


def refuse_uniqueness(repertoire: Repertoire, unique: bool) -> None:
    """Raise `AssumesUnique` if a repertoire needs it and `unique` does not promise it."""
    if repertoire.assumes_unique and not unique:
        raise AssumesUnique(repertoire)


def route(
    state: State,
    repertoire: Repertoire = DEFAULT,
    policy: str = "easiest",
    *,
    unique: bool = False,
) -> Route:
    """Apply a repertoire until nothing applies, in the order that a policy chooses.

    The route is a function of the state, the repertoire and the policy alone.

    Parameters
    ----------
    policy : a name in `policies.POLICIES`; "easiest" always takes the first technique that
        finds something, and of what it finds the first.
    unique : the puzzle is known to have exactly one solution (nothing here counts them); asked
        for only if the repertoire assumes it.

    Raises
    ------
    AssumesUnique : the repertoire assumes one solution, and `unique` does not promise it.
    UnknownPolicy : there is no policy of that name.
    """
    expect_state(state)
    walk = policy_named(policy)
    refuse_uniqueness(repertoire, unique)
    table, ending = walk(state.layout, board_of(state), repertoire)
    return Route(state, repertoire, Records(table, word_count(state.layout)), ending, policy)


def closure(state: State, repertoire: Repertoire = DEFAULT, *, unique: bool = False) -> State:
    """What a repertoire leaves of a state: the end of its route, without the route.

    Raises
    ------
    AssumesUnique : as for `route`.
    """
    refuse_uniqueness(repertoire, unique)
    board = board_of(state)
    none = new_records(1, state.layout)
    for plan in plans_of(repertoire):
        _, ending = run(tables(state.layout), board, plan, NOTHING, -1, none)
        if ending != STUCK:
            break
    return state_of(state, board)


def state_of(start: State, board: Ints) -> State:
    """The state on a board that was loaded from `start`."""
    layout = start.layout
    placed = sum(1 << cell for cell in np.flatnonzero(board[WRITTEN, : layout.cells]).tolist())
    return State(
        layout, from_words(board[OPEN, : word_count(layout)].view(np.uint64)), placed, start.givens
    )


def available(state: State, repertoire: Repertoire | str = DEFAULT) -> list[Deduction]:
    """Every deduction that a repertoire, or one named technique, offers in a state.

    They come in the order of the repertoire; each removes something or writes a digit.  What
    is found more than once, with the same premises and the same conclusion, is listed once,
    under the name that comes first in the repertoire.
    """
    expect_state(state)
    if isinstance(repertoire, str):
        repertoire = EVERYTHING.only(repertoire)
    moment = Moment.of(state.layout, board_of(state), repertoire)
    found: dict[tuple[tuple[int, ...], int, int | None], Deduction] = {}
    for technique in repertoire:
        records = Records(moment.all(technique), word_count(state.layout))
        for row in range(len(records)):
            step = from_record(records, row, state, technique)
            found.setdefault((step.premises, step.eliminates, step.places), step)
    return list(found.values())


def first(state: State, technique: Technique) -> Deduction | None:
    """The first deduction of a technique in a state, the one that a route would take, or None."""
    expect_state(state)
    moment = Moment.of(state.layout, board_of(state), Repertoire((technique,)))
    record = moment.first(technique)
    if record is None:
        return None
    return from_record(Records(record[None], word_count(state.layout)), 0, state, technique)
