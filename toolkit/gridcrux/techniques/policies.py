"""Policies: which of the deductions on offer a route takes next.

A policy walks a loaded board to its end and writes down the steps.  `POLICIES` has them all by
name.  Each is a function of the state and the repertoire alone: ties go to the technique that
is earlier in the repertoire, then to the deduction that its finder writes first (its number).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches

import numpy as np

from gridcrux.grids.arrays import Words, from_words, word_count
from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits
from gridcrux.logic.records import (
    CONTRADICTION,
    PLACES,
    REMOVES,
    SOLVED,
    STUCK,
    Records,
    new_records,
)
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.technique import Technique
from gridcrux.techniques.compiled.board import BLANKS, BROKEN, FACTS, OPEN
from gridcrux.techniques.compiled.driver import apply, find, run
from gridcrux.techniques.compiled.families import Plan, plan_of, plans_of
from gridcrux.techniques.compiled.tables import Ints, Tables, tables

NOTHING: Words = np.empty(0, np.uint64)
"""No forbidden candidates, for `driver.run`."""

ROOM = 256
"""Deductions of one technique for which there is room at first."""

Policy = Callable[[Layout, Ints, Repertoire], tuple[Ints, int]]
"""Takes a loaded board, which it leaves in the final state, and a repertoire; returns the
steps as records and `records.SOLVED`, `STUCK` or `CONTRADICTION`."""


class UnknownPolicy(ValueError):
    """A name that is not in `POLICIES`."""

    def __init__(self, name: str, known: Iterable[str]) -> None:
        known = list(known)
        close = get_close_matches(name.lower(), known, 2, 0.5)
        hint = f"did you mean {' or '.join(close)}?" if close else f"known: {', '.join(known)}"
        super().__init__(f"no policy {name!r}; {hint}")


@dataclass
class Moment:
    """What can be asked of a board between two steps.

    Attributes
    ----------
    plan : the repertoire, prepared for the driver.
    changed : mask of the cells that the last step wrote in or took candidates from.
    """

    layout: Layout
    board: Ints
    repertoire: Repertoire
    index: Tables
    plan: Plan
    changed: int = 0

    @classmethod
    def of(cls, layout: Layout, board: Ints, repertoire: Repertoire) -> Moment:
        return cls(layout, board, repertoire, tables(layout), plan_of(repertoire))

    @property
    def open(self) -> int:
        """Mask of the open candidates."""
        return from_words(self.board[OPEN, : word_count(self.layout)].view(np.uint64))

    @property
    def ending(self) -> int | None:
        """`records.CONTRADICTION` or `SOLVED` if nothing is left to do, else None."""
        if self.board[FACTS, BROKEN] >= 0:
            return CONTRADICTION
        return SOLVED if self.board[BLANKS, len(self.layout.houses)] == 0 else None

    def first(self, technique: Technique, widest: int | None = None) -> Ints | None:
        """The first deduction of a technique, perhaps of at most `widest` premises."""
        plan = self.plan if widest is None else self.plan._replace(widest=widest)
        room = new_records(1, self.layout)
        found = find(self.index, self.board, plan, technique.number, -1, room, 0, 1)
        return room[0] if found else None

    def all(self, technique: Technique) -> Ints:
        """(N, columns) every deduction of a technique, in the order in which it finds them."""
        capacity = ROOM
        while True:
            room = new_records(capacity, self.layout)
            number = technique.number
            count = find(self.index, self.board, self.plan, number, -1, room, 0, capacity)
            if count < capacity:
                return room[:count]
            capacity *= 4

    def apply(self, record: Ints) -> None:
        """Carry out a deduction and note which cells it changes."""
        self.changed = self.cells(self.removes(record) & self.open)
        if record[PLACES] >= 0:
            self.changed |= 1 << int(record[PLACES]) % self.layout.cells
        apply(self.index, self.board, record[None], 0)

    def removes(self, record: Ints) -> int:
        """Mask of what a record excludes, open or not."""
        return from_words(record[REMOVES : REMOVES + word_count(self.layout)].view(np.uint64))

    def premises(self, record: Ints) -> Iterator[int]:
        """The rules that a record has as its premises."""
        return bits(from_words(record[REMOVES + 2 * word_count(self.layout) :].view(np.uint64)))

    def width(self, record: Ints) -> int:
        """How many premises a record has."""
        return int(Records(record[None], word_count(self.layout)).widths[0])

    def cells(self, candidates: int) -> int:
        """Mask of the cells of a mask of candidates."""
        found, whole = 0, (1 << self.layout.cells) - 1
        while candidates:
            found |= candidates & whole
            candidates >>= self.layout.cells
        return found


def step_by_step(choose: Callable[[Moment], Ints | None]) -> Policy:
    """The policy that takes what `choose` picks, until it finds nothing."""

    def walk(layout: Layout, board: Ints, repertoire: Repertoire) -> tuple[Ints, int]:
        moment = Moment.of(layout, board, repertoire)
        steps = []
        while (ending := moment.ending) is None and (record := choose(moment)) is not None:
            moment.apply(record)
            steps.append(record.copy())
        table = np.array(steps, np.int64).reshape(len(steps), new_records(0, layout).shape[1])
        return table, STUCK if ending is None else ending

    walk.__doc__ = choose.__doc__
    return walk


def easiest(layout: Layout, board: Ints, repertoire: Repertoire) -> tuple[Ints, int]:
    """Always the first technique of the repertoire that finds something, in compiled code."""
    # Two rows more than there can be steps, as a single row would be overwritten.
    room = new_records(layout.candidates + 2, layout)
    steps, ending = 0, STUCK
    for plan in plans_of(repertoire):
        more, ending = run(tables(layout), board, plan, NOTHING, -1, room[steps:])
        steps += more
        if ending != STUCK:
            break
    return room[:steps].copy(), ending


def narrowest(moment: Moment) -> Ints | None:
    """A deduction with the fewest premises; of these, one of the first technique that has one.

    All techniques are tried with one premise, then with two, and so on.
    """
    techniques = moment.repertoire.techniques
    fixed = max((t.width for t in techniques if not t.any_length), default=1)
    widest, width = moment.repertoire.limit, 1
    while width <= widest:
        for technique in techniques:
            # A technique of one width has either been tried already or is too wide.
            if technique.width == width or (technique.any_length and technique.width < width):
                record = moment.first(technique, width)
                if record is not None:
                    return record
        width += 1
        if width == fixed + 1:
            # Only techniques of any length are left: how wide is what they have, if anything?
            longest = (moment.first(t) for t in techniques if t.any_length)
            widths = [moment.width(record) for record in longest if record is not None]
            widest = min(widths, default=0)
    return None


def nearest(moment: Moment) -> Ints | None:
    """Of the easiest technique that has something, the deduction nearest to the last change.

    A deduction touches the cells of the open candidates of its premises and, unless it writes
    a digit, those in which it excludes something.  The last step changed the cell it wrote in
    and those in which it excluded something.  Nearest is a deduction that touches a changed
    cell, then one that touches a cell in a house with a changed one; then the least distance
    between a touched and a changed cell, as the crow flies; then the number.
    """
    for technique in moment.repertoire:
        records = moment.all(technique)
        if len(records):
            return min(records, key=lambda record: _distance(moment, record))
    return None


def _distance(moment: Moment, record: Ints) -> tuple[int, int]:
    """How far a deduction is from the last change: the kind of distance, then its square."""
    layout = moment.layout
    rules = (layout.rules[rule].mask for rule in moment.premises(record))
    candidates = moment.removes(record) if record[PLACES] < 0 else 0
    for mask in rules:
        candidates |= mask
    touched = moment.cells(candidates & moment.open)
    if not moment.changed or touched & moment.changed:
        return 0, 0
    changed = list(bits(moment.changed))
    pairs = [(cell, other) for cell in bits(touched) for other in changed]
    apart = not any(other in layout.peers[cell] for cell, other in pairs)
    n = layout.size
    return 1 + apart, min(
        (cell // n - other // n) ** 2 + (cell % n - other % n) ** 2 for cell, other in pairs
    )


def lookahead(depth: int) -> Callable[[Moment], Ints | None]:
    """Choose the deduction after which least is left, looking `depth` deductions ahead.

    Raises
    ------
    ValueError : the depth is below 1.
    """
    if depth < 1:
        raise ValueError(f"depth {depth}: expected 1 or more")

    def fewest(moment: Moment) -> Ints | None:
        """The deduction after which the fewest candidates are open once all singles are written.

        Digits that can be written are written first, as these steps are free.  Deductions
        that exclude the same count as one.  Ties go to the fewest premises, then to the
        earlier technique, then to the number.  This is greedy: the route is often short, but
        nothing says that no shorter one exists.
        """
        for technique in moment.repertoire:
            if technique.family == "single":
                record = moment.first(technique)
                if record is not None:
                    return record
        return min(_offers(moment), key=lambda record: _left(moment, record, depth), default=None)

    return fewest


def _offers(moment: Moment) -> list[Ints]:
    """Deductions that exclude different things, in the order of width, technique and number."""
    records = [r for t in moment.repertoire if t.family != "single" for r in moment.all(t)]
    records.sort(key=moment.width)
    open_ = moment.open
    found: dict[int, Ints] = {}
    for record in records:
        found.setdefault(moment.removes(record) & open_, record)
    return list(found.values())


def _left(moment: Moment, record: Ints, depth: int) -> tuple[int, ...]:
    """How many candidates are open after `depth` deductions and all singles, this one first.

    Then, to tell equals apart, the same for one deduction less, and so on.  A contradiction
    leaves none: it ends the route.
    """
    singles = [t.number for t in moment.repertoire if t.family == "single"]
    board = moment.board.copy()
    apply(moment.index, board, record[None], 0)
    plan = moment.plan._replace(order=np.array(singles, np.int64))
    run(moment.index, board, plan, NOTHING, -1, new_records(1, moment.layout))
    after = Moment(moment.layout, board, moment.repertoire, moment.index, moment.plan)
    left = 0 if after.ending == CONTRADICTION else after.open.bit_count()
    if depth == 1:
        return (left,)
    offers = _offers(after) if after.ending is None else []
    further = (_left(after, offer, depth - 1) for offer in offers)
    return (*min(further, default=(left,) * (depth - 1)), left)


POLICIES: dict[str, Policy] = {
    "easiest": easiest,
    "narrowest": step_by_step(narrowest),
    "nearest": step_by_step(nearest),
    "fewest": step_by_step(lookahead(1)),
    "fewest-2": step_by_step(lookahead(2)),
}
"""Every policy by its name."""


def policy_named(name: str) -> Policy:
    """The policy of that name.

    Raises
    ------
    UnknownPolicy : there is none.
    """
    if name not in POLICIES:
        raise UnknownPolicy(name, POLICIES)
    return POLICIES[name]
