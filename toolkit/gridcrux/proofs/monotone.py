"""Pairs of technique sets, one a part of the other, of which the smaller gets farther.

They are rare, but there are some: a pattern counts as one only while each of its parts has what
the shape asks for, so a technique can spoil a pattern of another by taking a candidate from it.
What follows from the pattern still follows; but nobody in the larger set may be there to see it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.closures import Closures
from gridcrux.proofs.sufficient import Names, flags, named
from gridcrux.proofs.trust import certifying
from gridcrux.proofs.uniqueness import require_unique


@dataclass(frozen=True)
class Loss:
    """A set of techniques that gets somewhere where a larger one does not.

    Attributes
    ----------
    smaller, larger : names in the order of the repertoire.
    reaches : whether the smaller set reaches the goal, and the larger does not.
    open : mask of what the smaller set excludes and the larger one leaves.
    """

    smaller: Names
    larger: Names
    reaches: bool
    open: int


@certifying()
def monotone_exceptions(
    state: State, repertoire: Repertoire, pairs: int, seed: int, always: Iterable[str] = ()
) -> list[Loss]:
    """Of random pairs of technique sets, one a part of the other, those where less gets farther.

    Each technique is in the smaller set with a probability drawn for the pair, and each other one
    is in the larger set with another.

    Raises
    ------
    NotUnique, Unsound : as for `technique_sets`.
    """
    require_unique(state, repertoire)
    closures, common = Closures(state, repertoire), flags(repertoire, always)
    random = np.random.default_rng(seed)
    size = (pairs, len(repertoire))
    smaller = (random.random(size) < random.random((pairs, 1))) | common
    larger = smaller | (random.random(size) < random.random((pairs, 1)))
    ends = [closures.ends(sets).tolist() for sets in (smaller, larger)]
    reached = [closures.reach(sets) for sets in (smaller, larger)]
    found = []
    for pair, (few, many) in enumerate(zip(*ends, strict=True)):
        left = closures.open_of(many) & ~closures.open_of(few)
        lost = bool(reached[0][pair] and not reached[1][pair])
        if lost or (left and not reached[1][pair]):
            names = [named(repertoire.names, sets[pair][None])[0] for sets in (smaller, larger)]
            found.append(Loss(names[0], names[1], lost, left))
    return found
