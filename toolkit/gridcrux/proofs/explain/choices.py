"""Choices of candidates of which no two conflict, and the gaps they leave; compiled.

A *choice* is a set of open candidates of which no two conflict; its *gap* is the set of live
rules that hold none of them.  Where a choice agrees with the denial of a claim, every explanation
of the claim has a rule of its gap: else the choice would satisfy all its premises.  The larger
the choice, the smaller its gap and the more it says.
"""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.inner import inner
from gridcrux.proofs.explain.ground import Ground
from gridcrux.techniques.compiled.board import bit
from gridcrux.techniques.compiled.tables import Ints

FOUND, NONE, SPENT = 1, 0, -1
"""What came of a search: something; nothing, as there is nothing; nothing as yet."""


@inner
def draw(random: Ints, below: int) -> int:
    """A number from 0 to `below` - 1.

    `random` holds the state of an xorshift generator (Marsaglia, "Xorshift RNGs", Journal of
    Statistical Software 8, 2003).
    """
    x = np.uint64(random[0])
    x ^= x << np.uint64(13)
    x ^= x >> np.uint64(7)
    x ^= x << np.uint64(17)
    random[0] = np.int64(x)
    return np.int64((x >> np.uint64(33)) % np.uint64(below))  # type: ignore[return-value]


@inner
def fit(ground: Ground, must: Ints, allowed: Ints, chosen: Ints, budget: int, random: Ints) -> int:
    """Extend a choice, within what is allowed, so that it has a candidate of all rules in `must`.

    Depth-first search over the rule with the fewest candidates left.

    Parameters
    ----------
    must : (v,) rules, as words.
    allowed : (w,) candidates that may be chosen; what `chosen` conflicts with is not among them.
    chosen : (w,) the choice so far; on FOUND, and on nothing else, the extended one.
    budget : most candidates tried.
    """
    words, rule_words = ground.members.shape[1], must.shape[0]
    deepest = 2
    for v in range(rule_words):
        deepest += popcount(must[v])
    open_ = np.empty((deepest, words), np.int64)
    taken = np.empty((deepest, words), np.int64)
    untried = np.empty((deepest, words), np.int64)
    for w in range(words):
        open_[0, w] = allowed[w]
        taken[0, w] = chosen[w]
    depth, fresh = 0, True
    while True:
        if fresh:
            rule = _scarcest(ground, must, open_[depth], taken[depth])
            if rule < 0:
                for w in range(words):
                    chosen[w] = taken[depth, w]
                return FOUND
            for w in range(words):
                untried[depth, w] = ground.members[rule, w] & open_[depth, w]
        candidate = _pick(untried[depth], random)
        if candidate < 0:
            depth -= 1
            fresh = False
            if depth < 0:
                return NONE
            continue
        if budget == 0:
            return SPENT
        budget -= 1
        untried[depth, candidate >> 6] &= ~bit(candidate)
        for w in range(words):
            open_[depth + 1, w] = open_[depth, w] & ~ground.conflicts[candidate, w]
            taken[depth + 1, w] = taken[depth, w]
        taken[depth + 1, candidate >> 6] |= bit(candidate)
        depth += 1
        fresh = True


@inner
def _scarcest(ground: Ground, must: Ints, open_: Ints, taken: Ints) -> int:
    """The rule in `must` without a taken candidate that has the fewest open ones, or -1."""
    best, fewest = -1, 1 << 30
    for v in range(must.shape[0]):
        left = must[v]
        while left:
            rule = (v << 6) + lowest(left)
            left &= left - 1
            has = np.int64(0)
            count = 0
            for w in range(open_.shape[0]):
                has |= ground.members[rule, w] & taken[w]
                count += popcount(ground.members[rule, w] & open_[w])
            if has == 0 and count < fewest:
                best, fewest = rule, count
                if count == 0:
                    return best
    return best


@inner
def _pick(mask: Ints, random: Ints) -> int:
    """A candidate of a mask at random, or -1."""
    count = 0
    for w in range(mask.shape[0]):
        count += popcount(mask[w])
    if count == 0:
        return -1
    skip = draw(random, count)
    for w in range(mask.shape[0]):
        left = mask[w]
        here = popcount(left)
        if skip < here:
            for _ in range(skip):
                left &= left - 1
            return (w << 6) + lowest(left)
        skip -= here
    return -1


@inner
def enlarge(
    ground: Ground,
    must: Ints,
    fixed: Ints,
    barred: Ints,
    chosen: Ints,
    patience: int,
    random: Ints,
) -> None:
    """Enlarge a choice by local search; it keeps a candidate of every rule in `must`.

    A candidate with one rival in the choice takes its place, and what has no rival any more
    joins; where that leads nowhere, one with two rivals does.  What left may not come back for
    some moves.  A simple form of the search of Andrade, Resende and Werneck, "Fast local search
    for the maximum independent set problem", Journal of Heuristics 18 (2012).

    Parameters
    ----------
    must : (v,) rules.
    fixed, barred : (w,) candidates that stay in, and that stay out.
    chosen : (w,) the choice; becomes the largest one met.
    patience : moves without a larger choice after which it ends.
    """
    words, count = chosen.shape[0], ground.conflicts.shape[0]
    rivals = np.zeros(count, np.int64)
    back_at = np.zeros(count, np.int64)
    current = np.zeros(words, np.int64)
    for candidate in range(count):
        if chosen[candidate >> 6] & bit(candidate):
            _join(ground, candidate, current, rivals)
        if barred[candidate >> 6] & bit(candidate):
            rivals[candidate] += 1 << 20
    size = _fill(ground, current, rivals, draw(random, max(count, 1)))
    best = -1
    moves = last = 0
    while True:
        if size > best:
            best, last = size, moves
            for w in range(words):
                chosen[w] = current[w]
        if moves - last >= patience:
            return
        moves += 1
        start = draw(random, max(count, 1))
        mover = _mover(ground, must, fixed, current, rivals, back_at, moves, 1, start)
        if mover < 0:
            mover = _mover(ground, must, fixed, current, rivals, back_at, moves, 2, start)
            if mover < 0:
                return
        for w in range(words):
            left = ground.conflicts[mover, w] & current[w]
            while left:
                rival = (w << 6) + lowest(left)
                left &= left - 1
                back_at[rival] = moves + 4 + draw(random, 6)
                _leave(ground, rival, current, rivals)
        _join(ground, mover, current, rivals)
        size = _fill(ground, current, rivals, 0)


@inner
def _join(ground: Ground, candidate: int, current: Ints, rivals: Ints) -> None:
    current[candidate >> 6] |= bit(candidate)
    for j in range(ground.neighbours.shape[1]):
        other = ground.neighbours[candidate, j]
        if other < 0:
            break
        rivals[other] += 1


@inner
def _leave(ground: Ground, candidate: int, current: Ints, rivals: Ints) -> None:
    current[candidate >> 6] &= ~bit(candidate)
    for j in range(ground.neighbours.shape[1]):
        other = ground.neighbours[candidate, j]
        if other < 0:
            break
        rivals[other] -= 1


@inner
def _fill(ground: Ground, current: Ints, rivals: Ints, start: int) -> int:
    """Let everything join that has no rival; the size of the choice then."""
    count = rivals.shape[0]
    for i in range(count):
        candidate = start + i
        if candidate >= count:
            candidate -= count
        if rivals[candidate] == 0 and not current[candidate >> 6] & bit(candidate):
            _join(ground, candidate, current, rivals)
    size = 0
    for w in range(current.shape[0]):
        size += popcount(current[w])
    return size


@inner
def _mover(
    ground: Ground,
    must: Ints,
    fixed: Ints,
    current: Ints,
    rivals: Ints,
    back_at: Ints,
    moves: int,
    wanted: int,
    start: int,
) -> int:
    """The first candidate from `start` on with so many rivals that may take their place, or -1."""
    count = rivals.shape[0]
    for i in range(count):
        candidate = start + i
        if candidate >= count:
            candidate -= count
        if rivals[candidate] != wanted or back_at[candidate] > moves:
            continue
        fits = True
        for w in range(current.shape[0]):
            left = ground.conflicts[candidate, w] & current[w]
            fits = fits and left & fixed[w] == 0
            while left:
                rival = (w << 6) + lowest(left)
                left &= left - 1
                for v in range(must.shape[0]):
                    lost = ground.touches[rival, v] & ~ground.touches[candidate, v]
                    fits = fits and lost & must[v] == 0
        if fits:
            return candidate
    return -1


@inner
def gap_of(ground: Ground, chosen: Ints, gap: Ints) -> None:
    """Write the rules that have no chosen candidate."""
    for v in range(gap.shape[0]):
        gap[v] = 0
    for rule in range(ground.members.shape[0]):
        has = np.int64(0)
        for w in range(chosen.shape[0]):
            has |= ground.members[rule, w] & chosen[w]
        if has == 0:
            gap[rule >> 6] |= bit(rule)
