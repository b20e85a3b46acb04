"""Certificates of a whole route: a SAT solver checks every step, each by what its premises say.

A technique that a user wrote (`techniques.own`) is not known to be sound.  Whatever judges by
what it finds runs within `trust.certifying`, where each of its deductions is checked before it is
used.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from functools import lru_cache
from typing import Any

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.route import Route
from gridcrux.logic.wording import listing
from gridcrux.proofs.certify import Certificate, certify, counterexample
from gridcrux.proofs.certify_unique import certify_unique

SHOWN = 3
"""Candidates that do not follow which a message names."""

SHOWN_PREMISES = SHOWN_TRUE = 6
"""Premises that a message names, and candidates of a counterexample."""

REMEMBERED = 4096
"""Deductions of which it is remembered whether they hold, as searches meet them again."""


def certified(route: Route) -> tuple[Certificate, ...]:
    """The strict certificate of each step, and of an argument from uniqueness that by exchange.

    With `Route.flaw` None and all certificates holding, the route is a proof: what a step relies
    on is absent in its turn, and nothing else is needed for what it says.
    """
    techniques = route.repertoire
    return tuple(
        _certificate(state, step, techniques[step.technique].assumes_unique)
        for state, step in zip(route.states(), route.steps, strict=False)
    )


def _certificate(state: State, deduction: Deduction, assumes_unique: bool) -> Certificate:
    return certify_unique(deduction, state) if assumes_unique else certify(deduction)


class Unsound(ValueError):
    """A deduction does not follow from its premises.

    Attributes
    ----------
    certificate : what came of checking it; `failures` has what does not follow.
    state : where it was found.
    step : its number in the route, from 1; None if it is of no route.
    counterexample : candidates that can be true together while its premises hold, though it says
        that one of them is false; none for an argument from uniqueness.
    """

    def __init__(self, certificate: Certificate, state: State, step: int | None = None) -> None:
        self.certificate, self.state, self.step = certificate, state, step
        # What is closed is no reason to doubt anybody while there is something open.
        doubted = sorted(certificate.failures, key=lambda each: not state.is_open(each))
        deduction, strict = certificate.deduction, certificate.reading != "unique"
        self.counterexample = counterexample(deduction, doubted[0]) if strict else ()
        name = deduction.technique
        which = f"a deduction of {name}" if step is None else f"step {step} ({name})"
        super().__init__(
            f"{which} does not follow: by {_few(deduction.premise_names, SHOWN_PREMISES)}, "
            f"{_missing(deduction, state, doubted)}; {self._example(deduction.layout)}; "
            f"the state is {state.line}"
        )

    def _example(self, layout: Layout) -> str:
        if self.certificate.reading == "unique":
            return "the premises can be met with it and leave nothing to exchange"
        if not self.counterexample:
            return "no premise has it left alone"
        true = _few(map(layout.candidate_name, self.counterexample), SHOWN_TRUE)
        return f"these premises hold with {true}"

    def __reduce__(self) -> Any:
        return type(self), (self.certificate, self.state, self.step)


def _missing(deduction: Deduction, state: State, doubted: Sequence[int]) -> str:
    """What is claimed and does not follow: that a candidate is true, or that some are false."""
    layout = deduction.layout
    open_ = [each for each in doubted if state.is_open(each)]
    names = _few(map(layout.candidate_name, open_ or doubted), SHOWN)
    written = next(
        (c for c in range(layout.candidates) if layout.conflicts[c] == deduction.removes),
        deduction.places,
    )
    if written is not None and [*doubted] != [written]:
        return f"{layout.candidate_name(written)} need not be true, as {names} may be"
    return f"{names} need not be {'false' if written is None else 'true'}"


def _few(names: Iterable[str], shown: int) -> str:
    """The first few names, and how many more there are."""
    first, rest = (all_ := list(names))[:shown], all_[shown:]
    return listing([*first, f"{len(rest)} more"] if rest else first)


def refuse_unsound(route: Route, only: Collection[str] | None = None) -> Route:
    """The same route, if every step of it holds: for techniques of which one is not sure.

    Parameters
    ----------
    only : names of the techniques of which the steps are checked; all, if not given.

    Raises
    ------
    Unsound : a step does not follow from its premises; of several the first is named.
    """
    techniques, states = route.repertoire, route.states()
    for number, (state, step) in enumerate(zip(states, route.steps, strict=False), start=1):
        if only is None or step.technique in only:
            found = _certificate(state, step, techniques[step.technique].assumes_unique)
            if not found.holds:
                raise Unsound(found, state, number)
    return route


@lru_cache(maxsize=REMEMBERED)
def _by_itself(deduction: Deduction) -> Certificate:
    """The strict certificate, which no state has a part in."""
    return certify(deduction)


def refuse(state: State, deduction: Deduction, assumes_unique: bool) -> None:
    """Raise `Unsound` if a deduction of an own technique does not hold."""
    found = certify_unique(deduction, state) if assumes_unique else _by_itself(deduction)
    if not found.holds:
        raise Unsound(found, state)
