"""What follows from an assumption by singles, with the premises that each thing follows from.

A *world* is the state under one assumption more.  World 0 is the board; each world is a copy
of the one before it, with a candidate assumed.  A rule with one candidate left there makes it
true, which excludes what it conflicts with.  A rule with none left is *broken*.

Every exclusion has a row of premises: the rule that made true what excluded it, with the rows
of all that this rule had lost.  So the row of a broken rule is the whole argument against the
assumption.  Rules with few premises go first, hence a person follows as little as possible,
and a world is left as soon as it cannot beat a given bound.
"""

from __future__ import annotations

from typing import cast

import numpy as np

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.techniques.compiled.board import bit
from gridcrux.techniques.compiled.tables import POSITION, RULE, Ints, Tables


def _wide(number: int) -> int:
    """A constant to hand on: a literal would have what it is handed to compiled once more."""
    return cast(int, np.int64(number))


NEVER = _wide(1 << 20)
"""More premises than anything has."""

NO_START, SINGLES, NESTED = map(_wide, (-1, 0, 1))
"""For `follows`: by a contradiction; by singles alone, or by contradictions within too."""

_OUTER, _NONE, _FALSE, _TRUE = map(_wide, (1, 0, 0, 1))

WORLDS = 3
"""The board and two assumptions, one within the other."""

PLACES_LEFT, ALIVE = 0, WORLDS
"""Blocks of rows of a room, a row for each world: (R,) open positions of each rule that takes
part; (W,) candidates that are not excluded."""

SOURCE, PENDING, COUNTS = 2 * WORLDS, 2 * WORLDS + 1, 2 * WORLDS + 2
"""(K,) the row of premises by which an excluded candidate is false; (R,) rules that wait to
make a candidate true; (R,) how many premises each rule has."""

ALLOWED, RESULT, KEPT = (_wide(2 * WORLDS + i) for i in (3, 4, 5))
"""(P,) the rules that take part; the premises of what was shown last; room for a copy."""

TRIED, CURSOR, GOING = 2 * WORLDS + 6, 2 * WORLDS + 7, 2 * WORLDS + 8
"""(WORLDS,) what is assumed in each world; what was last assumed within it; whether it has lost
anything since the last time round."""

TOUCHED, FACTS = 2 * WORLDS + 9, 2 * WORLDS + 10
"""(W,) the candidates of the rules that take part; what follows."""

BEST = 0
"""Column of `FACTS`: fewest premises of a broken rule."""


@inner
def new_room(tables: Tables) -> Ints:
    """Room for worlds, for R rules, K candidates, W words of these and P of those."""
    return np.zeros((FACTS + 1, tables.conflicts.shape[0] + 64), np.int64)


@inner
def new_rows(tables: Tables) -> Ints:
    """Rows of premises, P words each: of rule r in row r, of nothing in row R, of the best
    broken rule in row R + 1, of refuted candidate c in row R + 2 + c."""
    rules = tables.rules.shape[0]
    return np.zeros((rules + tables.conflicts.shape[0] + 2, (rules + 63) >> 6), np.int64)


@inner
def begin_worlds(tables: Tables, room: Ints, rows: Ints, absent: Ints) -> None:
    """Make world 0: everything but `absent` is open, and the allowed rules take part."""
    nothing = tables.rules.shape[0]
    for word in range(absent.shape[0]):
        room[ALIVE, word] = ~absent[word]
        room[TOUCHED, word] = 0
    for wide in range(rows.shape[1]):
        rules = room[ALLOWED, wide]
        while rules:
            rule = (wide << 6) + lowest(rules)
            rules &= rules - 1
            for word in range(absent.shape[0]):
                room[TOUCHED, word] |= tables.rules[rule, word]
            mask = 0
            for position in range(tables.size):
                candidate = tables.candidates[rule, position]
                room[SOURCE, candidate] = nothing
                if room[ALIVE, candidate >> 6] & bit(candidate):
                    mask |= 1 << position
            room[PLACES_LEFT, rule] = mask


@inner
def copy_words(from_: Ints, row: int, to: Ints, other: int) -> None:
    """Copy the premises in one row to another."""
    for wide in range(to.shape[1] if to.shape[1] < from_.shape[1] else from_.shape[1]):
        to[other, wide] = from_[row, wide]


@inner
def gather(tables: Tables, room: Ints, rows: Ints, world: int, rule: int) -> int:
    """Note the premises by which a rule has lost what it has lost; how many they are."""
    for wide in range(rows.shape[1]):
        rows[rule, wide] = 0
    rows[rule, rule >> 6] = bit(rule)
    for position in range(tables.size):
        candidate = tables.candidates[rule, position]
        if not room[ALIVE + world, candidate >> 6] & bit(candidate):
            source = room[SOURCE, candidate]
            for wide in range(rows.shape[1]):
                rows[rule, wide] |= rows[source, wide]
    count = 0
    for wide in range(rows.shape[1]):
        count += popcount(rows[rule, wide])
    return count


@inner
def drop(
    tables: Tables, room: Ints, rows: Ints, world: int, candidate: int, source: int, waiting: int
) -> int:
    """Exclude a candidate for the reason in row `source`; how many rules are pending then."""
    room[ALIVE + world, candidate >> 6] &= ~bit(candidate)
    room[SOURCE, candidate] = source
    links = tables.links
    for j in range(links.shape[1]):
        rule = np.int64(links[candidate, j, RULE])
        if rule < 0:
            break
        if not room[ALLOWED, rule >> 6] & bit(rule):
            continue
        mask = room[PLACES_LEFT + world, rule] & ~bit(links[candidate, j, POSITION])
        room[PLACES_LEFT + world, rule] = mask
        if mask & (mask - 1):
            continue
        count = gather(tables, room, rows, world, rule)
        room[COUNTS, rule] = count
        if mask:
            room[PENDING, waiting] = rule
            waiting += 1
        elif count < room[FACTS, BEST]:
            room[FACTS, BEST] = count
            best = tables.rules.shape[0] + 1
            for wide in range(rows.shape[1]):
                rows[best, wide] = rows[rule, wide]
    return waiting


@inner
def settle(
    tables: Tables,
    room: Ints,
    rows: Ints,
    world: int,
    candidate: int,
    true: int,
    source: int,
    bound: int,
) -> None:
    """Take a candidate for true or false and follow singles, those with few premises first.

    The premises of the best broken rule are left in its row and counted in `BEST`.  What needs
    `bound` premises or more is not followed.
    """
    room[FACTS, BEST] = bound
    waiting = _NONE
    if not true:
        waiting = drop(tables, room, rows, world, candidate, source, waiting)
    while True:
        if true:
            for word in range(tables.rules.shape[1]):
                left = tables.conflicts[candidate, word] & room[ALIVE + world, word]
                while left:
                    rival = (word << 6) + lowest(left)
                    left &= left - 1
                    waiting = drop(tables, room, rows, world, rival, source, waiting)
        true = _FALSE
        while not true:
            if waiting == 0:
                return
            chosen = 0
            for place in range(1, waiting):
                if room[COUNTS, room[PENDING, place]] < room[COUNTS, room[PENDING, chosen]]:
                    chosen = place
            source = room[PENDING, chosen]
            waiting -= 1
            room[PENDING, chosen] = room[PENDING, waiting]
            if room[PLACES_LEFT + world, source]:
                if room[COUNTS, source] + 1 >= room[FACTS, BEST]:
                    return
                candidate = int(
                    tables.candidates[source, lowest(room[PLACES_LEFT + world, source])]
                )
                true = _TRUE


@inner
def open_world(tables: Tables, room: Ints, rows: Ints, world: int) -> None:
    """Copy a world to the one within it."""
    for rule in range(tables.rules.shape[0]):
        room[PLACES_LEFT + world, rule] = room[PLACES_LEFT + world - 1, rule]
    for word in range(tables.rules.shape[1]):
        room[ALIVE + world, word] = room[ALIVE + world - 1, word]
    room[CURSOR, world] = -1
    room[GOING, world] = 0


@inner
def assume(tables: Tables, room: Ints, rows: Ints, candidate: int, bound: int) -> None:
    """Assume a candidate in world 1, and follow singles there."""
    open_world(tables, room, rows, _OUTER)
    settle(tables, room, rows, _OUTER, candidate, _TRUE, np.int64(tables.rules.shape[0]), bound)


@inner
def is_undecided(tables: Tables, room: Ints, rows: Ints, world: int, candidate: int) -> bool:
    """Whether a rule that takes part has this candidate left and others too."""
    links = tables.links
    for j in range(links.shape[1]):
        rule = np.int64(links[candidate, j, RULE])
        if rule < 0:
            break
        if room[ALLOWED, rule >> 6] & bit(rule):
            mask = room[PLACES_LEFT + world, rule]
            if mask & (mask - 1):
                return True
    return False


@inner
def next_undecided(tables: Tables, room: Ints, rows: Ints, world: int, cursor: int) -> int:
    """The lowest candidate above `cursor` that is undecided in a world, or -1."""
    for word in range((cursor + 1) >> 6, tables.rules.shape[1]):
        left = room[ALIVE + world, word] & room[TOUCHED, word]
        if word << 6 <= cursor:
            left &= ~(bit(cursor + 1) - 1)
        while left:
            candidate = (word << 6) + lowest(left)
            left &= left - 1
            if is_undecided(tables, room, rows, world, candidate):
                return candidate
    return -1


@inner
def refute(tables: Tables, room: Ints, rows: Ints, candidate: int, levels: int, bound: int) -> int:
    """How many premises refute a candidate; `bound` if fewer than that do not.

    Where singles stall, other candidates are refuted in the same way, `levels` deep, until a
    rule is broken or nothing more falls.  The premises are left in the row of the best one.
    """
    best = tables.rules.shape[0] + 1
    world, true, source = _OUTER, _TRUE, best - 1
    room[TRIED, 1] = candidate
    while True:
        # In a world within another, what needs a premise less is of use at most.
        most = bound + 1 - world
        if true:
            open_world(tables, room, rows, world)
        settle(tables, room, rows, world, room[TRIED, world + 1 - true], true, source, most)
        broken = room[FACTS, BEST] < most
        while not broken:
            tried = -1
            if world <= levels:
                tried = next_undecided(tables, room, rows, world, room[CURSOR, world])
                if tried < 0 and room[GOING, world]:
                    room[GOING, world] = 0
                    tried = next_undecided(tables, room, rows, world, np.int64(-1))
            if tried >= 0:
                room[CURSOR, world] = tried
                world += 1
                room[TRIED, world] = tried
                break
            if world == 1:
                return bound
            world -= 1
        true, source = _TRUE, best - 1
        if broken:
            if world == 1:
                return int(room[FACTS, BEST])
            world -= 1
            room[GOING, world] = 1
            true, source = _FALSE, best + 1 + room[TRIED, world + 1]
            copy_words(rows, best, rows, source)


@inner
def follows(
    tables: Tables, room: Ints, rows: Ints, absent: Ints, start: int, candidate: int, levels: int
) -> bool:
    """Whether the allowed rules, without what is absent, exclude a candidate; `result` says how.

    By a contradiction (`start` is -1), or because all that `start` has left excludes it.
    """
    begin_worlds(tables, room, rows, absent)
    if start < 0:
        if refute(tables, room, rows, candidate, levels, NEVER) == NEVER:
            return False
        for wide in range(rows.shape[1]):
            room[RESULT, wide] = rows[tables.rules.shape[0] + 1, wide]
        return True
    for wide in range(rows.shape[1]):
        room[RESULT, wide] = 0
    room[RESULT, start >> 6] = bit(start)
    left = room[PLACES_LEFT, start]
    while left:
        branch = np.int64(tables.candidates[start, lowest(left)])
        left &= left - 1
        assume(tables, room, rows, branch, NEVER)
        if branch == candidate or room[ALIVE + 1, candidate >> 6] & bit(candidate):
            return False
        for wide in range(rows.shape[1]):
            room[RESULT, wide] |= rows[room[SOURCE, candidate], wide]
    return True
