"""Certificates of a whole route: a SAT solver checks every step, each by what its premises say."""

from __future__ import annotations

from gridcrux.logic.route import Route
from gridcrux.logic.wording import listing
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


class Unsound(ValueError):
    """A step of a route does not follow from its premises.

    Attributes
    ----------
    certificate : what came of checking it; `failures` has what does not follow.
    """

    def __init__(self, step: int, certificate: Certificate) -> None:
        self.certificate = certificate
        deduction = certificate.deduction
        super().__init__(
            f"step {step} ({deduction.technique}) does not follow: by "
            f"{listing(deduction.premise_names)} and what it relies on, "
            f"{listing(certificate.failure_names)} may be true"
        )


def refuse_unsound(route: Route) -> Route:
    """The same route, if every step of it holds: for techniques of which one is not sure.

    Raises
    ------
    Unsound : a step does not follow from its premises; of several the first is named.
    """
    for number, certificate in enumerate(certified(route), start=1):
        if not certificate.holds:
            raise Unsound(number, certificate)
    return route
