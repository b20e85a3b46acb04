"""Selections from a repertoire made larger or smaller while they reach the goal, or do not."""

from __future__ import annotations

import numpy as np
from numba import njit

from gridcrux.proofs.closures import (
    FULL,
    NONE,
    REACHED,
    UNKNOWN,
    Closures,
    Flags,
    Graph,
    walk,
)


@njit(cache=True)
def has_part(selected: Flags, sets: Flags) -> bool:
    """Whether all of one of (K, T) sets is selected."""
    for i in range(len(sets)):
        inside = True
        for place in range(len(selected)):
            if sets[i, place] and not selected[place]:
                inside = False
                break
        if inside:
            return True
    return False


@njit(cache=True)
def widen(graph: Graph, selected: Flags, enough: Flags, anew: bool) -> int:
    """Select more while the goal is not reached; the closure of what is selected then, or `FULL`.

    `selected` does not reach it, but each of the (K, T) sets `enough` does.  What finds nothing
    where it gets stuck joins at once; what finds something is tried by going on from there, and
    joins if that gets stuck too.  So every place is looked at once, and no closure starts anew.
    But what one gets to by going on is not always the closure, unless it starts `anew`.
    """
    stuck = walk(graph, 0, selected)
    for place in range(len(selected)):
        if stuck == FULL:
            return FULL
        if not selected[place]:
            selected[place] = True
            if has_part(selected, enough):
                selected[place] = False
                continue
            end = walk(graph, 0 if anew else stuck, selected)
            if end != FULL and graph.kinds[end] == REACHED:
                selected[place] = False
            else:
                stuck = end
    return stuck if stuck == FULL else walk(graph, 0, selected)


@njit(cache=True)
def widen_safely(graph: Graph, selected: Flags, enough: Flags) -> Flags | None:
    """`selected` with more, such that its closure does not reach the goal (`widen`), or None."""
    for anew in (False, True):
        wide = selected.copy()
        end = widen(graph, wide, enough, anew)
        if end == FULL:
            return None
        if graph.kinds[end] != REACHED:
            break
    return wide


@njit(cache=True)
def reaches_minimally(graph: Graph, selected: Flags, members: Flags) -> int:
    """Whether a selection reaches the goal, but not without any one of some members.

    Returns `NONE` if so, `UNKNOWN` if it does not reach the goal, the place of a member that it
    reaches the goal without, or `FULL`.
    """
    end = walk(graph, 0, selected)
    if end == FULL or graph.kinds[end] != REACHED:
        return FULL if end == FULL else UNKNOWN
    for place in np.flatnonzero(members):
        selected[place] = False
        end = walk(graph, 0, selected)
        selected[place] = True
        if end == FULL or graph.kinds[end] == REACHED:
            return FULL if end == FULL else int(place)
    return NONE


@njit(cache=True)
def narrow(graph: Graph, members: Flags, always: Flags) -> bool:
    """Leave out members while the goal is reached; False if there is no room."""
    while True:
        why = reaches_minimally(graph, members | always, members)
        if why < 0:
            return why != FULL
        members[why] = False


@njit(cache=True)
def first_surprise(graph: Graph, sets: Flags, always: Flags) -> tuple[int, int]:
    """How many of some sets, with `always`, reach the goal minimally, and why the next does not."""
    for i in range(len(sets)):
        why = reaches_minimally(graph, sets[i] | always, sets[i])
        if why != NONE:
            return i, why
    return len(sets), NONE


@njit(cache=True)
def minimal_meeting(sets: Flags, also: Flags) -> Flags:
    """The minimal sets that meet some sets and one more, given those that meet the former.

    Parameters
    ----------
    sets : (K, T) flags, the minimal sets that meet all the others.
    also : (T,) flags, the set to be met as well.
    """
    meets = np.array([(row & also).any() for row in sets])
    kept, others = sets[meets], sets[~meets]
    found = np.empty((len(kept) + len(others) * also.sum(), sets.shape[1]), np.bool_)
    found[: len(kept)] = kept
    count = len(kept)
    for member in np.flatnonzero(also):
        # With this member a set is not minimal if one that is kept has it and else only what
        # the set has.
        rivals = kept[kept[:, member]]
        for i in range(len(others)):
            found[count] = others[i]
            found[count, member] = True
            count += not has_part(found[count], rivals)
    return found[:count]


class Selections(Closures):
    """Closures of selections, with the selections that reach the goal or just do not."""

    def widened(self, selected: Flags, enough: Flags) -> Flags:
        """A selection that does not reach the goal, and more while it does not nor has `enough`."""
        while (wide := widen_safely(self.graph, selected, enough)) is None:
            self.make_room()
        return wide

    def narrowed(self, members: Flags, always: Flags) -> Flags:
        """A set that reaches the goal with `always`, less what can go one after the other."""
        while not narrow(self.graph, few := members.copy(), always):
            self.make_room()
        return few

    def first_surprise(self, sets: Flags, always: Flags) -> tuple[int, int]:
        """How many of (K, T) sets, with `always`, reach the goal, and not without a member.

        Then why the next does not: `UNKNOWN` if it does not reach the goal, or the place of a
        member that it reaches the goal without.
        """
        while (found := first_surprise(self.graph, sets, always))[1] == FULL:
            self.make_room()
        return found
