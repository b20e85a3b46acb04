"""All that one premise or two exclude in a state, exactly; compiled.

A candidate is false by one premise if it conflicts with all that the premise has left.  It is
false by two if, with it true, whichever candidate of the first premise is true, the second has
none left.  So for each candidate and each of its companions the rules that both together leave
without a candidate are found once; a pair of premises is a rule and another that is among these
for all candidates that the first has left.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.grids.state import State
from gridcrux.proofs.explain.ground import Ground, ground_of

Premises = NDArray[np.int32]


def narrow(state: State, most: int = 2) -> dict[int, tuple[int, ...]]:
    """The open candidates that one premise, or one or two, exclude, with the fewest premises.

    Parameters
    ----------
    most : 1 or 2.

    Returns
    -------
    For each candidate, ascending, the premises; of several sets the one with the lowest rules.

    Raises
    ------
    ValueError : `most` is not 1 or 2.
    """
    if most not in (1, 2):
        raise ValueError(f"most is {most}; expected 1 or 2 premises")
    ground = ground_of(state)
    found = _narrow(ground, most)
    rules = ground.rules.tolist()
    return {
        candidate: tuple(rules[rule] for rule in premises if rule >= 0)
        for candidate, premises in zip(ground.candidates.tolist(), found.tolist(), strict=True)
        if premises[0] >= 0
    }


@inner
def _left(ground: Ground, left: NDArray[np.uint32], whole: NDArray[np.uint32]) -> None:
    """Fill in what each rule has left with a candidate true: (C, R) masks of its positions."""
    count, rules = ground.conflicts.shape[0], ground.members.shape[0]
    place = np.zeros(rules, np.int64)
    spot = np.zeros(ground.homes.shape, np.uint32)
    for candidate in range(count):
        for j in range(ground.homes.shape[1]):
            rule = ground.homes[candidate, j]
            if rule < 0:
                break
            spot[candidate, j] = np.uint32(1) << np.uint32(place[rule])
            whole[rule] |= spot[candidate, j]
            place[rule] += 1
    for candidate in range(count):
        for rule in range(rules):
            left[candidate, rule] = whole[rule]
        for k in range(ground.neighbours.shape[1]):
            other = ground.neighbours[candidate, k]
            if other < 0:
                break
            for j in range(ground.homes.shape[1]):
                rule = ground.homes[other, j]
                if rule < 0:
                    break
                left[candidate, rule] &= ~spot[other, j]


@njit(cache=True)
def _narrow(ground: Ground, most: int) -> Premises:
    """(C, 2) the premises that exclude each candidate, -1 where there are none."""
    count, rules = ground.conflicts.shape[0], ground.members.shape[0]
    found = np.full((count, 2), -1, np.int32)
    left = np.empty((count, rules), np.uint32)
    whole = np.zeros(rules, np.uint32)
    _left(ground, left, whole)
    for candidate in range(count):
        for rule in range(rules):
            if left[candidate, rule] == 0:
                found[candidate, 0] = rule
                break
    if most == 1:
        return found
    dead = np.empty((count, rules), np.uint8)
    known = np.empty(count, np.bool_)
    both = np.empty(rules, np.uint8)
    for candidate in range(count):
        if found[candidate, 0] >= 0:
            continue
        known[:] = False
        mine = left[candidate]
        for first in range(rules):
            if _shared(ground, left, mine, candidate, first, dead, known, both):
                for second in range(rules):
                    if both[second]:
                        found[candidate, 0] = min(first, second)
                        found[candidate, 1] = max(first, second)
                        break
                break
    return found


@inner
def _shared(
    ground: Ground,
    left: NDArray[np.uint32],
    mine: NDArray[np.uint32],
    candidate: int,
    first: int,
    dead: NDArray[np.uint8],
    known: NDArray[np.bool_],
    both: NDArray[np.uint8],
) -> bool:
    """Flag in `both` the rules without a candidate whichever of the first rule's is true.

    `dead` holds, for the companions that are `known`, the rules without a candidate.
    """
    rules = both.shape[0]
    some = np.uint8(1)
    both[:] = some
    for w in range(ground.members.shape[1]):
        members = ground.members[first, w] & ~ground.conflicts[candidate, w]
        while members:
            other = (w << 6) + lowest(members)
            members &= members - 1
            if not known[other]:
                known[other] = True
                theirs, gone = left[other], dead[other]
                for rule in range(rules):
                    gone[rule] = np.uint8(mine[rule] & theirs[rule] == 0)
            gone = dead[other]
            some = np.uint8(0)
            for rule in range(rules):
                both[rule] &= gone[rule]
                some |= both[rule]
            if some == 0:
                return False
    return True
