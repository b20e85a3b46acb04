"""Sets of few rules that meet every gap, with gaps found as they are needed; compiled.

Depth-first search over the rules of a gap that is not met yet, the smallest first; a rule that
was tried is not tried again beside it (Reiter, "A theory of diagnosis from first principles",
Artificial Intelligence 32, 1987), so no set comes up twice.  A branch ends where gaps without a
common rule, of which each needs a rule of its own, are more than may still be taken.  Where all
known gaps are met, a choice is looked for that agrees with the denial and satisfies all rules
taken: there is none, and they explain the claim; or its gap is one more to be met.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.proofs.explain.choices import FOUND, NONE, SPENT, draw, enlarge, fit, gap_of
from gridcrux.proofs.explain.ground import Ground
from gridcrux.techniques.compiled.board import bit
from gridcrux.techniques.compiled.tables import Ints

HASTE, PATIENCE = 40, 400
"""Moves of the local search without a larger choice: while sets are searched, and where gaps are
collected beforehand, as the smaller a gap, the more it says."""

TRIED = 3000
"""Candidates that may be tried for one more gap apart from those just found."""

TRUE, EXCLUDED, FALSE = 0, 1, 2
"""Rows of a denial: the candidates that are then true, those in conflict with them, and those
that are then false."""


@inner
def _choose(
    ground: Ground, denial: Ints, must: Ints, chosen: Ints, budget: int, random: Ints
) -> int:
    """Write a choice that agrees with a denial and satisfies the rules in `must`; see `fit`."""
    allowed = np.empty(chosen.shape[0], np.int64)
    for w in range(chosen.shape[0]):
        chosen[w] = denial[TRUE, w]
        allowed[w] = ~(denial[EXCLUDED, w] | denial[FALSE, w])
    return fit(ground, must, allowed, chosen, budget, random)


@inner
def _gaps_beside(
    ground: Ground,
    denials: Ints,
    taken: Ints,
    patience: int,
    choices: Ints,
    gaps: Ints,
    count: int,
    random: Ints,
) -> int:
    """Find gaps that do not meet the rules `taken`, for each denial without a common rule.

    How many gaps are known then: as many as before if and only if the rules explain the claim.
    """
    must = np.empty(taken.shape[0], np.int64)
    for denial in range(denials.shape[0]):
        for v in range(must.shape[0]):
            must[v] = taken[v]
        budget = 1 << 40
        while count < gaps.shape[0]:
            chosen, gap = choices[count], gaps[count]
            if _choose(ground, denials[denial], must, chosen, budget, random) != FOUND:
                break
            _grow(ground, denials[denial], must, patience, chosen, gap, random)
            count += 1
            empty = True
            for v in range(must.shape[0]):
                must[v] |= gap[v]
                empty = empty and gap[v] == 0
            if empty:
                break
            budget = TRIED
    return count


@inner
def _grow(
    ground: Ground,
    denial: Ints,
    must: Ints,
    patience: int,
    chosen: Ints,
    gap: Ints,
    random: Ints,
) -> None:
    """Enlarge a choice that agrees with a denial, and write its gap."""
    enlarge(ground, must, denial[TRUE], denial[FALSE], chosen, patience, random)
    gap_of(ground, chosen, gap)


@njit(cache=True)
def gaps_beside(
    ground: Ground,
    denials: Ints,
    taken: Ints,
    rounds: int,
    choices: Ints,
    gaps: Ints,
    count: int,
    random: Ints,
) -> int:
    """Find gaps that do not meet the rules `taken`, several times; how many are known then.

    As many as before if and only if the rules explain the claim.  Parameters as for `search`.
    """
    for _ in range(rounds):
        before = count
        count = _gaps_beside(ground, denials, taken, PATIENCE, choices, gaps, count, random)
        if count == before:
            break
    return count


@njit(cache=True)
def gaps_at_random(
    ground: Ground,
    denials: Ints,
    rounds: int,
    most: int,
    patience: int,
    choices: Ints,
    gaps: Ints,
    count: int,
    random: Ints,
) -> int:
    """Find gaps beside up to `most` random rules, in each of some rounds; how many then.

    Parameters as for `search`.
    """
    must = np.zeros(ground.touches.shape[1], np.int64)
    for i in range(rounds):
        if count == gaps.shape[0]:
            break
        denial = denials[i % denials.shape[0]]
        for v in range(must.shape[0]):
            must[v] = 0
        for _ in range(draw(random, most + 1)):
            rule = draw(random, ground.members.shape[0])
            must[rule >> 6] |= bit(rule)
        if _choose(ground, denial, must, choices[count], TRIED, random) == FOUND:
            _grow(ground, denial, must, patience, choices[count], gaps[count], random)
            count += 1
    return count


@njit(cache=True)
def explains(ground: Ground, denials: Ints, taken: Ints, random: Ints) -> bool:
    """Whether no choice that agrees with a denial satisfies the rules `taken`."""
    chosen = np.empty(ground.members.shape[1], np.int64)
    for denial in range(denials.shape[0]):
        if _choose(ground, denials[denial], taken, chosen, 1 << 40, random) != NONE:
            return False
    return True


@njit(cache=True)
def excluded_by(ground: Ground, taken: Ints, closed: Ints, random: Ints) -> NDArray[np.bool_]:
    """(C,) flags of the candidates that cannot be true while the rules `taken` hold.

    Parameters
    ----------
    taken : (v,) rules.
    closed : (w,) candidates that are closed, and not flagged.
    """
    words, count = ground.members.shape[1], ground.conflicts.shape[0]
    flags = np.zeros(count, np.bool_)
    denial, chosen = np.zeros((3, words), np.int64), np.empty(words, np.int64)
    denial[FALSE] = closed
    for candidate in range(count):
        if closed[candidate >> 6] & bit(candidate):
            continue
        denial[TRUE] = 0
        denial[TRUE, candidate >> 6] = bit(candidate)
        denial[EXCLUDED] = ground.conflicts[candidate]
        flags[candidate] = _choose(ground, denial, taken, chosen, 1 << 40, random) == NONE
    return flags


@njit(cache=True)
def search(
    ground: Ground,
    denials: Ints,
    most: int,
    choices: Ints,
    gaps: Ints,
    count: int,
    random: Ints,
    budget: int,
    explanations: Ints,
) -> tuple[int, int, int, int]:
    """Look for explanations of at most `most` rules.

    Parameters
    ----------
    denials : (D, 3, w) all ways in which the claims can fail; each has to be refuted.
    choices, gaps : (room, w) and (room, v) what is known, the small gaps first; more is written
        behind `count`.
    budget : most sets tried.
    explanations : (E, v) room for what is found; with as many the search ends.

    Returns
    -------
    FOUND if the room is full, NONE if there are no others, SPENT if the budget or the room for
    gaps ended it; how many explanations were found; how many gaps are known; sets tried.
    """
    rule_words, room = ground.touches.shape[1], gaps.shape[0]
    taken = np.zeros((most + 1, rule_words), np.int64)
    barred = np.zeros((most + 1, rule_words), np.int64)
    order = np.empty((most + 1, ground.members.shape[0]), np.int32)
    ordered, tried_here = np.zeros(most + 1, np.int64), np.zeros(most + 1, np.int64)
    waiting, waits = np.empty((most + 1, room), np.int32), np.zeros(most + 1, np.int64)
    score = np.empty(ground.members.shape[0], np.int64)
    must = np.empty(rule_words, np.int64)
    for i in range(count):
        waiting[0, i] = i
    waits[0] = count
    depth, fresh, found, sets = 0, True, 0, 0
    while depth >= 0:
        if fresh:
            if sets == budget:
                return SPENT, found, count, sets
            sets += 1
            if waits[depth] == 0:
                more = _gaps_beside(
                    ground, denials, taken[depth], HASTE, choices, gaps, count, random
                )
                if more == count and count < room:
                    for v in range(rule_words):
                        explanations[found, v] = taken[depth, v]
                    found += 1
                    if found == explanations.shape[0]:
                        return FOUND, found, count, sets
                    depth -= 1
                    fresh = False
                    continue
                for d in range(depth + 1):
                    for i in range(count, more):
                        waiting[d, waits[d] + i - count] = i
                    waits[d] += more - count
                count = more
                if count == room:
                    return SPENT, found, count, sets
            gap = _next_gap(gaps, waiting[depth], waits[depth], barred[depth], most - depth, must)
            if gap < 0:
                depth -= 1
                fresh = False
                continue
            least = waits[depth] if depth == most - 1 else 1
            for v in range(rule_words):
                must[v] = gaps[gap, v] & ~barred[depth, v]
            ordered[depth] = _by_merit(
                gaps, waiting[depth], waits[depth], must, least, order[depth], score
            )
            tried_here[depth] = 0
        if tried_here[depth] == ordered[depth]:
            depth -= 1
            fresh = False
            continue
        rule = order[depth, tried_here[depth]]
        tried_here[depth] += 1
        for v in range(rule_words):
            taken[depth + 1, v] = taken[depth, v]
            barred[depth + 1, v] = barred[depth, v]
        barred[depth, rule >> 6] |= bit(rule)
        taken[depth + 1, rule >> 6] |= bit(rule)
        left = 0
        for i in range(waits[depth]):
            gap = waiting[depth, i]
            if not gaps[gap, rule >> 6] & bit(rule):
                waiting[depth + 1, left] = gap
                left += 1
        waits[depth + 1] = left
        depth += 1
        fresh = True
    return NONE, found, count, sets


@inner
def _next_gap(gaps: Ints, waiting: Ints, waits: int, barred: Ints, left: int, used: Ints) -> int:
    """The smallest gap that waits to be met, or -1 if they need more than the `left` rules.

    `used` is room to work in.
    """
    best, fewest = -1, 1 << 30
    for i in range(waits):
        size = 0
        for v in range(barred.shape[0]):
            size += popcount(gaps[waiting[i], v] & ~barred[v])
        if size < fewest:
            best, fewest = waiting[i], size
    if fewest == 0 or left == 0:
        return -1
    for v in range(barred.shape[0]):
        used[v] = gaps[best, v]
    apart = 1
    for i in range(waits):
        common = np.int64(0)
        for v in range(barred.shape[0]):
            common |= gaps[waiting[i], v] & used[v] & ~barred[v]
        if common == 0:
            apart += 1
            if apart > left:
                return -1
            for v in range(barred.shape[0]):
                used[v] |= gaps[waiting[i], v]
    return best


@inner
def _by_merit(
    gaps: Ints, waiting: Ints, waits: int, gap: Ints, least: int, order: Ints, score: Ints
) -> int:
    """Order the rules of a gap by how many waiting gaps they meet; how many meet `least`."""
    count = 0
    for v in range(gap.shape[0]):
        left = gap[v]
        while left:
            rule = (v << 6) + lowest(left)
            left &= left - 1
            met = 0
            for i in range(waits):
                met += gaps[waiting[i], v] >> (rule & 63) & 1
            if met < least:
                continue
            place = count
            while place > 0 and score[place - 1] < met:
                score[place], order[place] = score[place - 1], order[place - 1]
                place -= 1
            score[place], order[place] = met, rule
            count += 1
    return count
