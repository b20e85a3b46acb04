"""Certificates of a whole route: a SAT solver checks every step, each by what its premises say."""

from __future__ import annotations

from gridcrux.logic.route import Route
from gridcrux.proofs.certify import Certificate, certify
from gridcrux.proofs.certify_unique import certify_unique


def certified(route: Route) -> tuple[Certificate, ...]:
    """The strict certificate of each step, and of an argument from uniqueness that by exchange.

    With `Route.flaw` None and all certificates holding, the route is a proof: what a step relies
    on is absent in its turn, and nothing else is needed for what it says.
    """
    techniques = route.repertoire
    return tuple(
        certify_unique(step, state) if techniques[step.technique].assumes_unique else certify(step)
        for state, step in zip(route.states(), route.steps, strict=False)
    )
