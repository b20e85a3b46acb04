"""The way round: whether a puzzle can be solved without what its author has in mind.

Techniques can be ruled out, and eliminations: their candidates may then be excluded by writing a
digit beside them only.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

from gridcrux.engines import get_engine
from gridcrux.grids.names import Claim, parse_claim
from gridcrux.grids.state import State, expect_state
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.wording import listing
from gridcrux.proofs.counts import count
from gridcrux.proofs.hard.fewest import ABOVE, SECONDS, FewestSteps, fewest_hard_steps
from gridcrux.proofs.hard.layers import Progress
from gridcrux.proofs.hard.moves import Walk
from gridcrux.proofs.trust import certifying
from gridcrux.techniques.repertoires import DEFAULT

_CELL = re.compile(r"r\d", re.IGNORECASE)


class NothingToAvoid(ValueError):
    """What is to be avoided is nothing that the techniques could do in this puzzle."""


@dataclass(frozen=True, eq=False)
class WayRound:
    """What becomes of a puzzle when techniques and eliminations are ruled out.

    Attributes
    ----------
    start : the puzzle.
    techniques : names of the techniques ruled out, in the order of the repertoire.
    eliminations : the candidates that only placements may exclude.
    usual : the fewest hard steps when nothing is ruled out.
    round : the fewest hard steps without what is ruled out, with the shortest way.
    end : what the remaining techniques make of the puzzle.
    """

    start: State
    techniques: tuple[str, ...]
    eliminations: tuple[Claim, ...]
    usual: FewestSteps
    round: FewestSteps
    end: State = field(repr=False)

    @property
    def avoidable(self) -> bool:
        """Whether the puzzle can be solved without what is ruled out."""
        return self.round.solved

    @property
    def longer(self) -> int | None:
        """How many more hard steps the shortest way round takes; None if not known exactly."""
        if not (self.usual.exact and self.round.exact):
            return None
        if self.usual.upper is None or self.round.upper is None:
            return None
        return self.round.upper - self.usual.upper

    @property
    def names(self) -> tuple[str, ...]:
        """What is ruled out, as text."""
        return (*self.techniques, *map(str, self.eliminations))

    @property
    def sentence(self) -> str:
        """The answer as an English sentence."""
        what = listing(self.names)
        if not self.usual.solved:
            return "The techniques do not solve the puzzle, with or without what is ruled out."
        if not self.avoidable:
            left = sum(1 for digits in self.end.marks.values() if digits)
            return f"The puzzle cannot be solved without {what}: {left} cells stay without a digit."
        if self.longer is None:
            return f"The puzzle can be solved without {what}, with {self.round}."
        if self.longer == 0:
            return f"The puzzle can be solved without {what}, in no more hard steps: {self.round}."
        more = f"{self.longer} hard step{'' if self.longer == 1 else 's'} more"
        return f"The puzzle can be solved without {what}, with {more}: {self.round}."

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "ruled_out": ", ".join(self.names),
            "avoidable": self.avoidable,
            "usual": self.usual.upper,
            "round": self.round.upper,
            "longer": self.longer,
        }

    def as_dict(self) -> dict[str, Any]:
        """The answer as JSON can hold it."""
        return {
            "ruled_out": list(self.names),
            "avoidable": self.avoidable,
            "fewest_hard_steps": self.round.as_dict(),
            "usual_fewest_hard_steps": {"upper": self.usual.upper, "lower": self.usual.lower},
            "open": self.end.marks,
        }

    def __str__(self) -> str:
        return self.sentence

    def _repr_html_(self) -> str:
        way = self.round._repr_html_() if self.avoidable else self.end._repr_svg_()
        return f"<p>{escape(self.sentence)}</p>{way}"


@certifying()
def way_round(
    state: State,
    avoid: str | Sequence[str | Claim],
    repertoire: Repertoire = DEFAULT,
    above: str = ABOVE,
    *,
    usual: FewestSteps | None = None,
    seconds: float | None = SECONDS,
    progress: Progress | None = None,
) -> WayRound:
    """Whether a puzzle can be solved without some techniques and eliminations, and how shortly.

    Parameters
    ----------
    avoid : names of techniques, and eliminations like ``"r4c5!=7"``.
    above : the level of which all is easy, in counting hard steps.
    usual : the fewest hard steps when nothing is ruled out, if they were counted already.
    seconds : limit for each of the two counts.

    Raises
    ------
    UnknownTechnique : a name is neither a technique of the repertoire nor a claim.
    NothingToAvoid : a claim is no elimination, or its candidate is not open.
    NotUnique : the repertoire assumes that the puzzle has exactly one solution, and it has not.
    Unsound : a technique that a user wrote finds what does not follow.
    UnknownLevel : there is no level of that name.
    """
    expect_state(state)
    avoid = [avoid] if isinstance(avoid, str) else avoid
    claims = tuple(_elimination(state, each) for each in avoid if _is_claim(each))
    dropped = {repertoire[str(each)].name for each in avoid if not _is_claim(each)}
    forbidden = 0
    for claim in claims:
        forbidden |= 1 << claim.candidate
    rest = repertoire.without(*dropped)
    if usual is None:
        usual = fewest_hard_steps(state, repertoire, above, seconds=seconds, progress=progress)
    found = fewest_hard_steps(
        state, rest, above, forbidden=forbidden, seconds=seconds, progress=progress
    )
    everything = Walk(state, rest, Repertoire(()), forbidden)
    techniques = tuple(name for name in repertoire.names if name in dropped)
    return WayRound(state, techniques, claims, usual, found, everything.state_of(everything.start))


def _is_claim(text: str | Claim) -> bool:
    return isinstance(text, Claim) or "=" in text or _CELL.match(text) is not None


def _elimination(state: State, text: str | Claim) -> Claim:
    """The claim that a text means, if it is an elimination that can be avoided in a state."""
    claim = text if isinstance(text, Claim) else parse_claim(state.layout, text)
    if claim.holds:
        raise NothingToAvoid(
            f"{claim} is no elimination; name one like {str(claim).replace('=', '!=')}"
        )
    if not state.is_open(claim.candidate):
        raise NothingToAvoid(f"{claim}: the candidate is excluded by the givens already")
    number = count(state, 2, seconds=SECONDS)
    if number.value == 1 and number.complete:
        solution = next(get_engine("kernel").solutions(state))
        cells = state.layout.cells
        if solution[claim.candidate % cells] == claim.candidate // cells + 1:
            raise NothingToAvoid(f"{claim} is false: the solution has that digit there")
    return claim
