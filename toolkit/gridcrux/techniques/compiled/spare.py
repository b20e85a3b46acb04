"""Whether a refutation of a candidate needs each of its premises."""

from __future__ import annotations

import numpy as np

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.techniques.compiled.board import MASKS, bit
from gridcrux.techniques.compiled.tables import Ints, Tables


@inner
def stands_without(tables: Tables, board: Ints, rules: Ints, spared: int, candidate: int) -> bool:
    """Whether a candidate can be true beside one of each rule but the rule number `spared`.

    No two of these candidates may be in conflict; so this is exact.
    """
    size = len(rules)
    left, chosen = np.empty(size, np.int64), np.empty(size, np.int64)
    depth = 0
    left[0] = board[MASKS, rules[0]]
    while depth >= 0:
        if left[depth] == 0:
            depth -= 1
            continue
        place = tables.candidates[rules[depth], lowest(left[depth])]
        left[depth] &= left[depth] - 1
        if depth == spared:
            # Nothing is wanted of this rule, and there is nothing else to choose for it.
            left[depth] = 0
            place = candidate
        else:
            clash = tables.conflicts[candidate, place >> 6] & bit(place)
            for i in range(depth):
                clash |= tables.conflicts[chosen[i], place >> 6] & bit(place)
            if clash:
                continue
        chosen[depth] = place
        depth += 1
        if depth == size:
            return True
        left[depth] = board[MASKS, rules[depth]]
    return False


@inner
def needs_all(tables: Tables, board: Ints, rules: Ints, candidate: int) -> bool:
    """Whether no rule can be spared when the rules refute a candidate."""
    for spared in range(len(rules)):
        if not stands_without(tables, board, rules, spared, candidate):
            return False
    return True
