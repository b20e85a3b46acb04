"""Levels of consistency: how much of a state some standard propagation excludes.

Each level is a function from states to states.  Where fewer candidates are open it leaves no more,
and it finds nothing in what it leaves.  Where it finds a contradiction nothing is left open, as
anything follows.  A written digit excludes its rivals on all levels.

Levels are those of Lynce & Ouaknine, "Sudoku as a SAT problem", ISAIM 2006 (unit propagation over
two encodings, failed literals) and of Simonis, "Sudoku as a constraint problem", CP workshop on
modelling and reformulation 2005 (bounds, all-different, shaving; from memory).  That naked and
hidden subsets of all sizes are all-different consistency is from Provan, "Sudoku: strategy versus
structure", American Mathematical Monthly 116, 2009 (details from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gridcrux.engines.kernel import status
from gridcrux.engines.protocol import ThreeValued
from gridcrux.grids.arrays import open_candidates
from gridcrux.grids.state import State, expect_state
from gridcrux.proofs.consistency.filters import (
    BOUNDS,
    HIDDEN,
    LOCKED,
    MATCHINGS,
    SETTLED,
    new_room,
)
from gridcrux.proofs.consistency.shaving import NO_ASSUMPTION, settle_many


class Outcome(ThreeValued):
    """What a level makes of a state: a contradiction, neither, or one digit in every cell."""

    DEAD = "dead"
    OPEN = "open"
    SOLVED = "solved"


OUTCOMES = {
    status.DEAD: Outcome.DEAD,
    status.OPEN: Outcome.OPEN,
    status.SOLVED: Outcome.SOLVED,
}
"""Outcomes by what the kernel calls them."""


@dataclass(frozen=True)
class Level:
    """A level of consistency; called with a state it gives the state that it leaves.

    Attributes
    ----------
    name : its key in `CONSISTENCIES`.
    meaning : what it looks at.
    parts : what is propagated, all that the level sees without an assumption; see `filters`.
    assumed : what is propagated under an assumption, or `NO_ASSUMPTION`.
    """

    name: str
    meaning: str
    parts: int
    assumed: int = NO_ASSUMPTION

    def __call__(self, state: State) -> State:
        return _settle(self, state)[1]

    def outcome(self, state: State) -> Outcome:
        """What the level makes of a state."""
        return _settle(self, state)[0]

    def sees_no_more_than(self, other: Level) -> bool:
        """Whether the other level excludes all that this one does, in any state."""
        if self.parts & ~other.parts:
            return False
        if self.assumed == NO_ASSUMPTION or other.assumed == NO_ASSUMPTION:
            return self.assumed == NO_ASSUMPTION
        return self.assumed & ~other.assumed == 0


CONSISTENCIES = {
    level.name: level
    for level in (
        Level("minimal-units", "unit propagation over the minimal encoding: naked singles", 0),
        Level(
            "extended-units",
            "unit propagation over the extended encoding: naked and hidden singles",
            HIDDEN,
        ),
        Level("locked", "these units and locked candidates", HIDDEN | LOCKED),
        Level(
            "bounds", "bound consistency of all-different in each house, with naked singles", BOUNDS
        ),
        Level(
            "all-different",
            "domain consistency of all-different in each house",
            HIDDEN | BOUNDS | MATCHINGS,
        ),
        Level(
            "all-different-locked",
            "domain consistency of all-different in each house, and locked candidates",
            HIDDEN | LOCKED | BOUNDS | MATCHINGS,
        ),
        Level(
            "failed-literals",
            "failed literals over the extended encoding: shaving with unit propagation",
            HIDDEN | LOCKED,
            HIDDEN,
        ),
        Level(
            "shaving",
            "singleton domain consistency: shaving with all-different in each house",
            HIDDEN | LOCKED | BOUNDS | MATCHINGS,
            HIDDEN | BOUNDS | MATCHINGS,
        ),
    )
}
"""The levels by name, weakest first as far as they can be compared: bounds see no hidden singles,
and locked candidates no sets; failed literals see all that is locked, but not all sets."""


def _domains(state: State) -> NDArray[np.uint32]:
    """The open digits of each cell of a state, as the only row of a table."""
    layout = state.layout
    digits = open_candidates(state).astype(np.uint32)
    return (digits << np.arange(layout.size, dtype=np.uint32)[:, None]).sum(
        axis=0, dtype=np.uint32, keepdims=True
    )


def _settle(level: Level, state: State) -> tuple[Outcome, State]:
    """What a level makes of a state, and what it leaves."""
    expect_state(state)
    layout, room = state.layout, new_room(state.layout)
    outcomes = np.zeros((1, 1), np.int8)
    settle_many(room, _domains(state), np.array([(level.parts, level.assumed, 0)]), outcomes)
    outcome = OUTCOMES[int(outcomes[0, 0])]
    if outcome is Outcome.DEAD:
        return outcome, State(layout, 0)
    row = room.rows[0, : layout.cells]
    digits = row >> np.arange(layout.size, dtype=np.uint32)[:, None] & 1
    raw = np.packbits(digits.astype(np.uint8), bitorder="little")
    placed = np.packbits(row >= SETTLED, bitorder="little")
    return outcome, State(
        layout,
        int.from_bytes(raw.tobytes(), "little"),
        int.from_bytes(placed.tobytes(), "little"),
        state.givens,
    )


def level_of_consistency(name: str) -> Level:
    """The level of a name.

    Raises
    ------
    ValueError : there is none of that name.
    """
    if name not in CONSISTENCIES:
        known = ", ".join(CONSISTENCIES)
        raise ValueError(f"no level of consistency is called {name!r}; there are {known}")
    return CONSISTENCIES[name]


def consistent(state: State, level: str) -> State:
    """What a level of consistency leaves of a state; nothing open where it is contradictory.

    Raises
    ------
    ValueError : there is no level of that name.

    >>> from gridcrux.grids.text import read_puzzle
    >>> state = read_puzzle("12.. .... .... ....")
    >>> consistent(state, "extended-units").marks["r2c3"]
    [1, 2, 3, 4]
    >>> consistent(state, "all-different").marks["r2c3"]
    [1, 2]
    """
    return level_of_consistency(level)(state)


def solves(state: State, level: str) -> Outcome:
    """What a level of consistency makes of a state.

    Raises
    ------
    ValueError : there is no level of that name.
    """
    return level_of_consistency(level).outcome(state)


def weakest_level(state: State) -> str | None:
    """The first level, in the order of `CONSISTENCIES`, that solves a state; None if none does."""
    for name, level in CONSISTENCIES.items():
        if level.outcome(state) is Outcome.SOLVED:
            return name
    return None
