"""A way around what is banned: of the steps already known first, of new ones where it must be.

Whether a route could do without a step, an elimination or a technique is asked of the state
before it, up to which the route stays as it is.  The steps behind it are carried out again,
each as soon as what it relies on is absent.  That is a matter of a few word operations a step,
and mostly the end of it: all that the ban took away comes about otherwise, and so the rest of
the route stands.  Only else is a new deduction looked for, and then the steps are tried again.
What was found for one question is kept for the others.  So "replaceable" comes with a way.
"""

from __future__ import annotations

from numba import njit

from gridcrux.grids.arrays import Words
from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.logic.records import PLACES, REMOVES, TECHNIQUE
from gridcrux.proofs.desk import (
    BANNED,
    BATCH,
    OPEN,
    ORDER,
    WAITING,
    WRITTEN,
    Desk,
    can_write,
    has_news,
    is_at_goal,
    is_restored,
    misses_more,
    rewind,
    singles_of,
    stands,
)
from gridcrux.techniques.compiled import board as boards
from gridcrux.techniques.compiled.board import bit, exclude, forbid, leaves_no_more
from gridcrux.techniques.compiled.driver import apply, find, run, time_is_up
from gridcrux.techniques.compiled.families import Plan
from gridcrux.techniques.compiled.tables import Ints, Tables


@inner
def replay(
    index: Tables,
    desk: Desk,
    known: int,
    kinds: int,
    technique: int,
    barred: int,
    wanted: int,
    count: int,
) -> int:
    """Carry out what is known and waiting, again and again, until nothing more stands.

    It ends early where what was banned has come about.

    Parameters
    ----------
    known : how many deductions there are.
    kinds : of placements (`singles_of`).
    technique, barred, wanted : as in `find_way`.
    count : how many deductions have been carried out; returned with those added.
    """
    state, records, notes = desk.state, desk.records, desk.notes
    words = index.rules.shape[1]
    changed = True
    while changed:
        changed = False
        for row in range(known):
            if not notes[WAITING, row]:
                continue
            candidate = records[row, PLACES]
            if candidate >= 0:
                open_ = state[OPEN, candidate >> 6] & bit(candidate) != 0
                if not open_ or state[WRITTEN, candidate % index.cells]:
                    notes[WAITING, row] = 0
                    continue
                if not can_write(index, state, kinds, barred, candidate):
                    continue
                state[WRITTEN, candidate % index.cells] = 1
                for word in range(words):
                    state[OPEN, word] &= ~records[row, REMOVES + word]
            else:
                if records[row, TECHNIQUE] == technique or not has_news(index, desk, row):
                    notes[WAITING, row] = 0
                    continue
                if not stands(index, desk, row):
                    continue
                for word in range(words):
                    state[OPEN, word] &= ~records[row, REMOVES + word] | state[BANNED, word]
            notes[WAITING, row] = 0
            notes[ORDER, count] = row
            count += 1
            changed = True
            if candidate >= 0 and is_restored(index, desk, wanted):
                return count
    return count


@inner
def carry_out(index: Tables, desk: Desk, row: int) -> None:
    """Carry out a deduction on the board, but for what is forbidden there."""
    board = desk.board
    if desk.records[row, PLACES] >= 0:
        apply(index, board, desk.records, row)
        return
    board[boards.FACTS, boards.CLOCK] += 1
    for word in range(index.rules.shape[1]):
        left = desk.records[row, REMOVES + word] & board[boards.OPEN, word]
        left &= ~board[boards.FORBIDDEN, word]
        while left:
            exclude(index, board, (word << 6) + lowest(left))
            left &= left - 1


@inner
def find_more(
    index: Tables, desk: Desk, plan: Plan, technique: int, barred: int, known: int
) -> int:
    """Deductions of the first technique of a plan that has any, from row `known` on."""
    for place in range(plan.order.shape[0]):
        if plan.order[place] != technique:
            found = find(
                index, desk.board, plan, plan.order[place], barred, desk.records, known, BATCH
            )
            if found:
                return found
        if time_is_up(plan):
            return 0
    return 0


@inner
def find_way(
    index: Tables,
    desk: Desk,
    plan: Plan,
    step: int,
    known: int,
    technique: int,
    barred: int,
    wanted: int,
) -> tuple[bool, int]:
    """Whether the goal can be reached under a ban, beside how many deductions are known then.

    Parameters
    ----------
    step : where the route first does what is banned.
    known : how many deductions there are in `desk.records`, those of the route first.
    technique : one that is banned, or -1.
    barred : a rule that placements may not have as their premise, or -1.
    wanted : the candidate that this rule was used to write, or -1.
    Candidates that only placements may exclude are in `desk.state`.
    """
    state, board = desk.state, desk.board
    words, cells = index.rules.shape[1], index.cells
    kinds = singles_of(plan.order, technique)
    rewind(index, desk, step, known)
    done, loaded = 0, False
    count = replay(index, desk, known, kinds, technique, barred, wanted, step)
    while not is_restored(index, desk, wanted) and not is_at_goal(index, desk):
        if not loaded:
            loaded = True
            board[:] = desk.start
            for word in range(words):
                # What is open at the goal nobody can exclude, so nobody need look for it.
                left = state[BANNED, word] | desk.goal[boards.OPEN, word]
                while left:
                    forbid(index, board, (word << 6) + lowest(left))
                    left &= left - 1
        while done < count:
            carry_out(index, desk, desk.notes[ORDER, done])
            done += 1
        known = min(known, desk.records.shape[0] - BATCH)
        found = 0
        if misses_more(index, desk):
            found = find_more(index, desk, plan, technique, barred, known)
        if not found:
            return False, known
        for row in range(known, known + found):
            candidate = desk.records[row, PLACES]
            if candidate < 0 or not board[boards.WRITTEN, candidate % cells]:
                carry_out(index, desk, row)
            desk.notes[WAITING, row] = 0
        known += found
        for word in range(words):
            state[OPEN, word] = board[boards.OPEN, word]
        for cell in range(cells):
            state[WRITTEN, cell] = board[boards.WRITTEN, cell]
        count = replay(index, desk, known, kinds, technique, barred, wanted, count)
    return True, known


@njit(cache=True)
def reaches(
    index: Tables,
    board: Ints,
    start: Ints,
    plan: Plan,
    forbidden: Words,
    barred: int,
    goal: Ints,
    room: Ints,
) -> bool:
    """Whether the closure of the board `start`, worked out on `board`, gets as far as `goal`.

    It does if it leaves no more candidates open and writes as many digits.
    """
    board[:] = start
    run(index, board, plan, forbidden, barred, room)
    return leaves_no_more(index, board, goal)
