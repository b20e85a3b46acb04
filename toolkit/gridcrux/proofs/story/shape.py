"""A bare premise set as a deduction, under the name of the technique whose shape it has."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from gridcrux.grids.names import Claim
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.techniques.recognise import names, recognise
from gridcrux.techniques.repertoires import EVERYTHING

UNNAMED = "explanation"
"""What a deduction is called that has the shape of no technique."""


def bare(state: State, claims: Sequence[Claim], premises: Sequence[int]) -> Deduction:
    """The deduction of some claims from some premises, without a name.

    It writes a digit if that is all that is claimed.
    """
    layout, every, removes = state.layout, 0, 0
    for rule in premises:
        every |= layout.rules[rule].mask
    for claim in claims:
        removes |= layout.conflicts[claim.candidate] if claim.holds else 1 << claim.candidate
    alone = len(claims) == 1 and claims[0].holds
    return Deduction(
        layout=layout,
        technique=UNNAMED,
        width=len(premises),
        premises=tuple(premises),
        removes=removes,
        relies=every & ~state.open,
        eliminates=removes & state.open,
        places=claims[0].candidate if alone else None,
        roles={"base": every & state.open, "cover": removes, "absent": every & ~state.open},
    )


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
