"""Techniques that a user wrote are certified before anything is judged by what they find.

What certifies, and a solver with it, is loaded only where there is such a technique.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.route import Route
from gridcrux.techniques.checking import checking


@contextmanager
def certifying() -> Iterator[None]:
    """Within, or in a function that it decorates, own techniques find only what follows.

    Raises
    ------
    Unsound : what one finds does not follow from its premises (`proofs.certified`).
    """
    with checking(_refuse):
        yield


def refuse_unsound_own(route: Route) -> Route:
    """The same route, if those of its steps hold that are of techniques that a user wrote.

    Raises
    ------
    Unsound : one does not (`proofs.certified`).
    """
    own = [technique.name for technique in route.repertoire if technique.family == "own"]
    if own:
        from gridcrux.proofs.certified import refuse_unsound

        refuse_unsound(route, own)
    return route


def _refuse(state: State, deduction: Deduction, assumes_unique: bool) -> None:
    from gridcrux.proofs.certified import refuse

    refuse(state, deduction, assumes_unique)
