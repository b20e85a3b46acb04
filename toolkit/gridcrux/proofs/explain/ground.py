"""What of a state an explanation can be about: its live candidates and rules, numbered anew."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.arrays import state_words, to_words, word_count
from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.state import State
from gridcrux.techniques.compiled.board import bit
from gridcrux.techniques.compiled.tables import RULE, Ints, Tables, tables


class Ground(NamedTuple):
    """What of a state an explanation can be about: C live candidates, R live rules.

    A candidate is live if it is open and conflicts with another open one; a rule is live if no
    open candidate that conflicts with nothing satisfies it.  Both are numbered anew, ascending.

    Attributes
    ----------
    candidates, rules : (C,) and (R,) their numbers in the layout.
    conflicts : (C, w) the candidates that conflict with a candidate, as words.
    neighbours : (C, d) the same as numbers, -1 behind the last.
    touches : (C, v) the rules that a candidate is in, as words.
    homes : (C, m) the same as numbers, -1 behind the last.
    members : (R, w) the candidates of a rule, as words.
    """

    candidates: NDArray[np.int32]
    rules: NDArray[np.int32]
    conflicts: Ints
    neighbours: NDArray[np.int32]
    touches: Ints
    homes: NDArray[np.int32]
    members: Ints


def ground_of(state: State, keep: int = 0) -> Ground:
    """The ground of a state; open candidates of the mask `keep` count as live in any case."""
    kept = to_words(keep, word_count(state.layout)).view(np.int64)
    return _ground(tables(state.layout), state_words(state).view(np.int64), kept)


@njit(cache=True)
def _ground(index: Tables, open_: Ints, keep: Ints) -> Ground:
    words = open_.shape[0]
    total, all_rules = index.conflicts.shape[0], index.rules.shape[0]
    number = np.full(total, -1, np.int32)
    satisfied = np.zeros(all_rules, np.bool_)
    count, deepest = 0, 0
    for candidate in range(total):
        if not open_[candidate >> 6] & bit(candidate):
            continue
        rivals = 0
        for w in range(words):
            rivals += popcount(index.conflicts[candidate, w] & open_[w])
        deepest = max(deepest, rivals)
        if rivals or keep[candidate >> 6] & bit(candidate):
            number[candidate] = count
            count += 1
        else:
            for j in range(index.links.shape[1]):
                if index.links[candidate, j, RULE] < 0:
                    break
                satisfied[index.links[candidate, j, RULE]] = True
    rule_number = np.full(all_rules, -1, np.int32)
    rule_count = 0
    for rule in range(all_rules):
        if not satisfied[rule]:
            rule_number[rule] = rule_count
            rule_count += 1
    w_new, v_new = max(1, (count + 63) >> 6), max(1, (rule_count + 63) >> 6)
    made = Ground(
        np.empty(count, np.int32),
        np.empty(rule_count, np.int32),
        np.zeros((count, w_new), np.int64),
        np.full((count, deepest + 1), -1, np.int32),
        np.zeros((count, v_new), np.int64),
        np.full((count, index.links.shape[1] + 1), -1, np.int32),
        np.zeros((rule_count, w_new), np.int64),
    )
    for rule in range(all_rules):
        if rule_number[rule] >= 0:
            made.rules[rule_number[rule]] = rule
    for candidate in range(total):
        new = number[candidate]
        if new < 0:
            continue
        made.candidates[new] = candidate
        have = 0
        for w in range(words):
            left = index.conflicts[candidate, w] & open_[w]
            while left:
                other = number[(w << 6) + lowest(left)]
                left &= left - 1
                made.conflicts[new, other >> 6] |= bit(other)
                made.neighbours[new, have] = other
                have += 1
        for j in range(index.links.shape[1]):
            if index.links[candidate, j, RULE] < 0:
                break
            rule = rule_number[index.links[candidate, j, RULE]]
            made.touches[new, rule >> 6] |= bit(rule)
            made.homes[new, j] = rule
            made.members[rule, new >> 6] |= bit(new)
    return made
