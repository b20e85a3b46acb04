"""A bare premise set as a deduction, under the name of the technique whose shape it has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gridcrux.grids.names import Claim
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.techniques.recognise import names, recognise
from gridcrux.techniques.repertoires import EVERYTHING


def can_have_shape(claims: Sequence[Claim]) -> bool:
    """Whether there are techniques for what is claimed: exclusions, or one digit to be written."""
    return len(claims) == 1 or not any(claim.holds for claim in claims)


def known_names(step: Deduction, state: State) -> tuple[str, ...]:
    """The techniques whose shape a bare deduction has, the most special first."""
    return tuple(name for name in names(step, state) if name in EVERYTHING.names)


def known_name(step: Deduction, state: State) -> str | None:
    """The most special technique whose shape a bare deduction has, or None."""
    name = recognise(step, state)
    return name if name in EVERYTHING.names else None


def named(step: Deduction, name: str | None) -> Deduction:
    """A deduction under the name of a technique, which then puts it into words; None for none."""
    if name is None:
        return step
    return replace(step, technique=name, theorem=EVERYTHING[name])
