"""Statuses of the techniques, steps and eliminations of a route, in one compiled call."""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.logic.records import PLACES, REMOVES, SOLVED, TECHNIQUE
from gridcrux.logic.slicing import needed
from gridcrux.proofs.desk import BANNED, Desk
from gridcrux.proofs.replay import find_way, reaches
from gridcrux.techniques.compiled.board import OPEN, bit
from gridcrux.techniques.compiled.families import Plan
from gridcrux.techniques.compiled.shapes import (
    CHAIN,
    FAMILY,
    FISH,
    GROUPED_CHAIN,
    HIDDEN_SINGLE,
    NAKED,
    NAKED_SINGLE,
    OWN,
    SET_CHAIN,
    SIZES,
)
from gridcrux.techniques.compiled.tables import Ints, Tables

UNUSED, IDLE, REPLACEABLE, ESSENTIAL = -1, 0, 1, 2
"""Statuses, and what stands where there is none."""


@inner
def search_order(order: Ints) -> Ints:
    """The techniques of a plan as they are tried here: soon to try, or finding much, first.

    That is the first family, then the chains that include most of the others, then the rest.
    """
    ranks = np.empty(order.shape[0], np.int64)
    for place in range(order.shape[0]):
        technique = order[place]
        general = technique == CHAIN or technique == GROUPED_CHAIN or technique == SET_CHAIN
        ranks[place] = 0 if technique < FAMILY else 1 if general else 2
    sorted_ = np.empty_like(order)
    found = 0
    for rank in range(3):
        for place in range(order.shape[0]):
            if ranks[place] == rank:
                sorted_[found] = order[place]
                found += 1
    return sorted_


@inner
def is_whole(order: Ints) -> bool:
    """Whether a plan has both singles, and no set or fish without those that are smaller.

    Then its closure does not depend on the order of its techniques, unless one is a user's
    own, of which nothing is known.
    """
    has = np.zeros(FAMILY, np.bool_)
    for technique in order:
        if technique >= OWN:
            return False
        if technique < FAMILY:
            has[technique] = True
    both = 0
    for technique in range(FAMILY):
        shape, size = technique // SIZES, technique % SIZES
        if has[technique] and NAKED <= shape <= FISH and size > 2 and not has[technique - 1]:
            return False
        if has[technique] and (shape == HIDDEN_SINGLE or shape == NAKED_SINGLE):
            both += 1
    return both == 2


@inner
def is_needed(
    desk: Desk, kept: NDArray[np.bool_], ending: int, words: int, step: int, candidate: int
) -> bool:
    """Whether a step is kept, and what is kept relies on its closing this candidate, if not -1.

    It does not if a later step closes it before any relies on that, or if none does, nor the
    goal, where that is no solution but what the route left.
    """
    if candidate < 0 or not kept[step]:
        return kept[step]
    word = candidate >> 6
    for later in range(step + 1, kept.shape[0]):
        if kept[later]:
            if desk.records[later, REMOVES + words + word] & bit(candidate):
                return True
            if desk.records[later, REMOVES + word] & bit(candidate):
                return False
    return ending != SOLVED and not desk.goal[OPEN, word] & bit(candidate)


@inner
def eliminated(desk: Desk, words: int, step: int) -> Ints:
    """(W,) what a step of the route excludes that is open till then."""
    found = np.empty(words, np.int64)
    for word in range(words):
        found[word] = desk.start[OPEN, word] & desk.records[step, REMOVES + word]
        for before in range(step):
            found[word] &= ~desk.records[before, REMOVES + word]
    return found


@inner
def premise_of(records: Ints, step: int, words: int) -> int:
    """The one premise of a placement."""
    column = REMOVES + 2 * words
    while not records[step, column]:
        column += 1
    return ((column - REMOVES - 2 * words) << 6) + lowest(records[step, column])


@inner
def first_use(records: Ints, steps: int, technique: int) -> int:
    """The first step of a route by a technique, or the number of steps."""
    step = 0
    while step < steps and records[step, TECHNIQUE] != technique:
        step += 1
    return step


@njit(cache=True)
def judge_route(
    index: Tables,
    desk: Desk,
    plan: Plan,
    steps: int,
    ending: int,
    by_technique: Ints,
    by_step: Ints,
    by_elimination: Ints,
) -> None:
    """The status of each technique and step of a route, and of each elimination if wanted.

    Parameters
    ----------
    desk : with the start and the goal, and the route in its first records.
    plan : the repertoire of the route.
    steps, ending : how long the route is; `records.SOLVED` or `STUCK`.
    by_technique : (T,) statuses of the techniques in the order of the plan; `UNUSED` for some.
    by_step : (S,) statuses of the steps.
    by_elimination : (S, K) statuses of what a step that writes nothing excludes, `UNUSED` for
        all other candidates; or (0, 0), if they are not wanted.
    """
    records, state = desk.records, desk.state
    words, techniques = index.rules.shape[1], plan.order.shape[0]
    goal = desk.goal[OPEN, :words]
    kept = needed(
        records[:steps, REMOVES : REMOVES + words],
        records[:steps, REMOVES + words : REMOVES + 2 * words],
        records[:steps, PLACES],
        desk.start[OPEN, :words],
        goal if ending != SOLVED else ~np.zeros_like(goal),
    )
    search = Plan(search_order(plan.order), plan.widest, plan.finders, plan.clock)
    by_technique[:] = by_elimination[:] = UNUSED
    whole = is_whole(plan.order)
    known = steps
    for case in range(techniques + steps):
        step = case - techniques
        technique, barred, wanted = -1, -1, -1
        state[BANNED, :words] = 0
        excluded = state[BANNED, :words]
        if step < 0:
            technique = plan.order[case]
            step = first_use(records, steps, technique)
            if step == steps:
                continue
        elif records[step, PLACES] >= 0:
            wanted = records[step, PLACES]
            barred = premise_of(records, step, words)
        else:
            excluded = eliminated(desk, words, step)
            state[BANNED, :words] = excluded
        singly = technique < 0 and wanted < 0
        # The whole, then each of the eliminations: one call serves all, as it is compiled anew.
        for alone in range(-1, by_elimination.shape[1] if singly else 0):
            if alone >= 0 and not excluded[alone >> 6] & bit(alone):
                continue
            status = ESSENTIAL
            if technique < 0 and not is_needed(desk, kept, ending, words, step, alone):
                status = IDLE
            elif alone >= 0 and by_step[step] == REPLACEABLE:
                status = REPLACEABLE
            else:
                if alone >= 0:
                    state[BANNED, :words] = 0
                    state[BANNED, alone >> 6] = bit(alone)
                reached, known = find_way(
                    index, desk, search, step, known, technique, barred, wanted
                )
                if not reached and (technique >= 0 or not whole):
                    # The order may matter: it is stuck only if it is in the plan's order, too.
                    rest = plan.order[plan.order != technique]
                    reached = reaches(
                        index,
                        desk.board,
                        desk.start,
                        Plan(rest, plan.widest, plan.finders, plan.clock),
                        state[BANNED, :words].copy().view(np.uint64),
                        barred,
                        desk.goal,
                        records[known : known + 1],
                    )
                if reached:
                    status = REPLACEABLE
            if alone >= 0:
                by_elimination[step, alone] = status
            elif technique >= 0:
                by_technique[case] = status
            else:
                by_step[step] = status
