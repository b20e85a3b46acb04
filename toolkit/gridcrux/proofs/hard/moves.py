"""Hard steps as moves between the states in which nothing easy is left.

What is easy is free: after every hard step all easy ones are taken.  A state is then known by
what is *left*: the open candidates and the cells without a digit.  Of two states the one in
which less is left is the better one, as every deduction stays true there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Timer

import numpy as np

from gridcrux.engines.limits import Deadline
from gridcrux.grids.arrays import from_words, to_words, word_count
from gridcrux.grids.state import State, bits
from gridcrux.logic.records import REMOVES, new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.hard.offers import FULLEST, find_moves
from gridcrux.techniques.compiled.board import (
    FACTS,
    GIVENS,
    STOPPED,
    forbid,
    load_left,
    read_left,
)
from gridcrux.techniques.compiled.driver import apply, run
from gridcrux.techniques.compiled.families import Plan, plan_of
from gridcrux.techniques.compiled.tables import Ints, tables
from gridcrux.techniques.policies import NOTHING
from gridcrux.techniques.repertoires import level_named
from gridcrux.techniques.solve import board_of

ROOM = 1024
"""Hard deductions in one state for which there is room at first."""


def split(repertoire: Repertoire, level: str) -> tuple[Repertoire, Repertoire]:
    """What a repertoire has of a level, which is easy, and what goes beyond it, which is hard.

    Raises
    ------
    UnknownLevel : there is no level of that name.
    """
    known = level_named(level).names
    easy = tuple(name for name in repertoire.names if name in known)
    return repertoire.only(*easy), repertoire.without(*easy)


@dataclass(frozen=True)
class Moves:
    """The moves from a state.

    Attributes
    ----------
    left : what is left after each move, and all that is easy then.
    records : (M, columns) the deduction of each move.
    solving : place of a move that solves the puzzle, with which the list ends; or None.
    """

    left: list[int]
    records: Ints
    solving: int | None

    def __len__(self) -> int:
        return len(self.left)


@dataclass
class Walk:
    """The states that hard steps lead through, under one repertoire.

    Attributes
    ----------
    state : where the puzzle starts.
    easy, hard : the techniques that are free, and those that count; each in its order.
    forbidden : mask of candidates that only placements may exclude.
    keep : which deductions count as moves: `FULLEST`, `NARROWEST` or `ALL`.
    start : what is left once all that is easy is done.
    """

    state: State
    easy: Repertoire
    hard: Repertoire
    forbidden: int = 0
    keep: int = FULLEST
    start: int = field(init=False)

    def __post_init__(self) -> None:
        layout = self.state.layout
        self.index, self.words = tables(layout), word_count(layout)
        self._easy, self._hard = plan_of(self.easy), plan_of(self.hard)
        self._board, self._one = board_of(self.state), new_records(1, layout)
        self._given = self._board[GIVENS].copy()
        for candidate in bits(self.forbidden):
            forbid(self.index, self._board, candidate)
        self._work = self._board.copy()
        self._left = np.empty(self.words + -(-layout.cells // 64), np.int64)
        self._room = self._new_room(ROOM)
        self._known: dict[int, Moves] = {}
        self.start = self._closed()

    def prepare(self) -> None:
        """Compile what is needed now if it never was on this machine, before time is kept."""
        nothing = self._hard._replace(order=self._hard.order[:0])
        self.load(self.start)
        self._find(nothing, False)

    @contextmanager
    def until(self, deadline: Deadline) -> Iterator[None]:
        """Work within which moves that are not found by a deadline raise `TimeoutError`.

        Listing the contradictions of one state may take seconds, and compiled code is waited for.
        """
        alarm = None
        if not deadline.never:
            alarm = Timer(deadline.remaining, self._stop, [1])
            alarm.daemon = True
            alarm.start()
        try:
            yield
        finally:
            if alarm is not None:
                alarm.cancel()
                alarm.join()
            self._stop(0)

    def _stop(self, stopped: int) -> None:
        self._board[FACTS, STOPPED] = stopped

    def _closed(self) -> int:
        """What is left on the board after all that is easy."""
        run(self.index, self._board, self._easy, NOTHING, -1, self._one)
        read_left(self.index, self._board, self._left)
        return from_words(self._left.view(np.uint64))

    def solved(self, left: int) -> bool:
        """Whether every cell has its digit."""
        return left >> 64 * self.words == 0

    def open(self, left: int) -> int:
        """Mask of the open candidates."""
        return left & ((1 << self.state.layout.candidates) - 1)

    @classmethod
    def above(
        cls,
        state: State,
        repertoire: Repertoire,
        level: str,
        forbidden: int = 0,
        keep: int = FULLEST,
    ) -> Walk:
        """The walk in which what goes beyond a level is hard.

        Raises
        ------
        UnknownLevel : there is no level of that name.
        """
        easy, hard = split(repertoire, level)
        return cls(state, easy, hard, forbidden, keep)

    def state_of(self, left: int) -> State:
        """The state in which that is left."""
        layout = self.state.layout
        written = ~(left >> 64 * self.words) & ((1 << layout.cells) - 1)
        return State(layout, self.open(left), written, self.state.givens)

    def left_of(self, state: State) -> int:
        """What is left in a state, as it is."""
        blank = ~state.placed & ((1 << state.layout.cells) - 1)
        return blank << 64 * self.words | state.open

    def load(self, left: int) -> None:
        """Put a state on the board."""
        words = to_words(left, len(self._left)).view(np.int64)
        load_left(self.index, self._board, words, self._given)

    def close(self, left: int) -> int:
        """What is left after all that is easy."""
        self.load(left)
        return self._closed()

    def after(self, left: int, record: Ints) -> int:
        """What is left after a recorded deduction and all that is easy then."""
        self.load(left)
        apply(self.index, self._board, record[None], 0)
        return self._closed()

    def replayed(self, known: Iterable[Ints]) -> list[Ints] | None:
        """The hard steps of a way that exclude something new in their turn; None if it is none."""
        left, steps = self.start, list[Ints]()
        for record in known:
            if not self.solved(left) and self.news(left, record):
                left = self.after(left, record)
                steps.append(record)
        return steps if self.solved(left) else None

    def news(self, left: int, record: Ints) -> int:
        """Mask of the open candidates that a recorded deduction excludes."""
        return from_words(record[REMOVES : REMOVES + self.words].view(np.uint64)) & left

    def moves(self, left: int, *, to_end: bool = False) -> Moves:
        """The moves from a state in which nothing easy is left; worked out once.

        Parameters
        ----------
        to_end : list all moves, also behind the first that solves the puzzle.

        Raises
        ------
        TimeoutError : the time is up (`until`).
        """
        known = self._known.get(left)
        if known is None or (to_end and known.solving is not None):
            known = self._moves(left, to_end)
            if not to_end:
                self._known[left] = known
        return known

    def _moves(self, left: int, to_end: bool) -> Moves:
        """The moves from a state, worked out."""
        self.load(left)
        while (found := self._find(self._hard, to_end))[0] == -1:
            self._room = self._new_room(2 * len(self._room[0]))
        count, solving = found
        if count < 0:
            raise TimeoutError
        records, kept, after = self._room
        return Moves(
            [from_words(row) for row in after[:count].view(np.uint64)],
            records[kept[:count]],
            None if solving < 0 else solving,
        )

    def _find(self, hard: Plan, to_end: bool) -> tuple[int, int]:
        """What `find_moves` says of the board."""
        found: tuple[int, int] = find_moves(
            self.index,
            self._board,
            hard,
            self._easy,
            self.keep,
            to_end,
            *self._room,
            self._work,
            self._one,
        )
        return found

    def _new_room(self, rows: int) -> tuple[Ints, Ints, Ints]:
        """Room for records, for the places of those that count, and for what they leave."""
        return (
            new_records(rows, self.state.layout),
            np.empty(rows, np.int64),
            np.empty((rows, len(self._left)), np.int64),
        )


def best_of(lefts: Iterable[int]) -> list[int]:
    """Of some states those that are beaten by none: no other has less left; fewest left first."""
    kept: list[int] = []
    for left in sorted(set(lefts), key=lambda each: (each.bit_count(), each)):
        if not any(other & ~left == 0 for other in kept):
            kept.append(left)
    return kept
