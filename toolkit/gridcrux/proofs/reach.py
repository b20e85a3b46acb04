"""Which named techniques establish a claim: in a state, and along a route."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gridcrux.grids.names import Claim
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.trust import certifying
from gridcrux.techniques.solve import available


def establishes(step: Deduction, claims: Sequence[Claim]) -> bool:
    """Whether a deduction shows all of some claims.

    That a candidate is true is shown only by writing it; that it is false, also by writing a
    rival, as this is among the things that are then excluded.
    """
    return all(
        step.places == claim.candidate if claim.holds else step.eliminates >> claim.candidate & 1
        for claim in claims
    )


@certifying()
def reaching(state: State, claims: Sequence[Claim], repertoire: Repertoire) -> list[Deduction]:
    """All deductions of a repertoire in a state that show some claims, the narrowest first.

    Those of one width stay in the order of the repertoire.  Whether arguments from uniqueness
    may be used is for the caller to say, by the repertoire.

    Raises
    ------
    Unsound : a technique that a user wrote finds what does not follow.
    """
    found = [step for step in available(state, repertoire) if establishes(step, claims)]
    return sorted(found, key=lambda step: step.width)


def stand(state: State, claims: Sequence[Claim]) -> bool:
    """Whether claims stand on the paper already: candidates closed, digits written."""
    layout = state.layout
    return all(
        state.is_open(claim.candidate) and not state.open & layout.conflicts[claim.candidate]
        if claim.holds
        else not state.is_open(claim.candidate)
        for claim in claims
    )


def earliest(route: Route, claims: Sequence[Claim]) -> Iterator[tuple[int, Deduction]]:
    """For each technique of a route's repertoire, where along it some claims are first in reach.

    Yields
    ------
    The step before which the technique can be used, 1 for the first, and its narrowest deduction;
    in the order of the steps.  Techniques that never can be used do not come.  The search ends
    where the route has established the claims.
    """
    rest = route.repertoire
    for number, state in enumerate(route.states(), 1):
        if stand(state, claims) or not len(rest):
            return
        seen = set()
        for step in reaching(state, claims, rest):
            if step.technique not in seen:
                seen.add(step.technique)
                yield number, step
        rest = rest.without(*seen)
