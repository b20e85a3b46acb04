"""The steps of a route that its solution needs: a backward slice over records.

Proof checkers trim proofs in the same way: from the goal backward, a step is kept when
something that is kept rests on it (Wetzler, Heule and Hunt, "DRAT-trim", SAT 2014).  Here the
goals are the placements, and what a step rests on are the absences in its `relies`.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.bitwise import lowest

Ints = NDArray[np.int64]

NEVER = 1 << 30
"""Step at which nothing that is kept relies on an absence."""


@njit(cache=True)
def needed(
    removes: Ints,
    relies: Ints,
    places: Ints,
    open_words: Ints,
    goal: Ints | None = None,
) -> NDArray[np.bool_]:
    """Which steps of a route to keep so that every kept step stays valid in its turn.

    Parameters
    ----------
    removes, relies : (S, W) words, as signed ints: what each of the S steps excludes, and
        which absences it needs.
    places : (S,) the candidate that a step writes, or -1.
    open_words : (W,) candidates open at the start.
    goal : (W,) candidates that may be open at the end, where a route is no solution but is
        judged by what it leaves; None to ask for the placements only.

    Returns
    -------
    (S,) flags.  Placements are all kept.  Another step is kept only if a later kept step
    relies on an absence that no kept step before that one and no earlier step supplies.  The
    result is minimal: no further step can be dropped alone.  The others are idle.
    """
    steps, words = removes.shape
    kept = np.ones(steps, np.bool_)
    first_supply = np.full(words * 64, steps, np.int32)
    first_demand = np.full(words * 64, NEVER, np.int32)
    if goal is not None:
        for word in range(words):
            left = open_words[word] & ~goal[word]
            while left:
                first_demand[word * 64 + lowest(left)] = steps
                left &= left - 1
    for step in range(steps - 1, -1, -1):
        for word in range(words):
            left = removes[step, word] & open_words[word]
            while left:
                first_supply[word * 64 + lowest(left)] = step
                left &= left - 1
    for step in range(steps - 1, -1, -1):
        if places[step] < 0 and not _supplies(step, removes, kept, first_supply, first_demand):
            kept[step] = False
            continue
        for word in range(words):
            left = relies[step, word] & open_words[word]
            while left:
                first_demand[word * 64 + lowest(left)] = step
                left &= left - 1
    return kept


@njit(cache=True)
def _supplies(
    step: int,
    removes: Ints,
    kept: NDArray[np.bool_],
    first_supply: NDArray[np.int32],
    first_demand: NDArray[np.int32],
) -> bool:
    """Whether a kept step relies on an absence that no other step supplies in time.

    Steps before this one are undecided and count as kept; dropping them is for them to answer.
    """
    words = removes.shape[1]
    for word in range(words):
        left = removes[step, word]
        while left:
            candidate = word * 64 + lowest(left)
            left &= left - 1
            demand = first_demand[candidate]
            if demand == NEVER or first_supply[candidate] != step:
                continue
            for other in range(step + 1, demand):
                if kept[other] and removes[other, word] >> (candidate & 63) & 1:
                    break
            else:
                return True
    return False
