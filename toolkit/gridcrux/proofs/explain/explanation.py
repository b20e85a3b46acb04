"""An explanation: premises from which a claim follows, and how few could be enough."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from typing import Any

from gridcrux.grids.names import Claim
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction, bare
from gridcrux.logic.wording import listing
from gridcrux.proofs.story import Story, tell
from gridcrux.proofs.story.shape import can_have_shape, known_name, named


class NotForced(ValueError):
    """A claim that does not follow: `solution` holds its contrary, n*n digits from 1."""

    def __init__(self, claims: Sequence[Claim], solution: tuple[int, ...]) -> None:
        super().__init__(
            f"{listing(claims)} does not follow: there is a solution in which it fails; "
            "ask prove() for the verdict first"
        )
        self.solution = solution


@dataclass(frozen=True)
class Explanation:
    """Premises that force some claims together, and a lower bound to their number.

    Attributes
    ----------
    state : where the claims are made; what it has closed is seen for free.
    claims : what is claimed.
    premises : rule numbers, ascending: the fewest that were found.
    lower : no explanation has fewer premises.
    start : "marks" if the state is that of the question, "givens" if it is the puzzle's start.
    stopped_by : None if no explanation is smaller, else "seconds".
    """

    state: State = field(repr=False)
    claims: tuple[Claim, ...]
    premises: tuple[int, ...]
    lower: int
    start: str = "marks"
    stopped_by: str | None = None

    @property
    def size(self) -> int:
        """The number of premises."""
        return len(self.premises)

    @property
    def exact(self) -> bool:
        """Whether there is no smaller explanation."""
        return self.size == self.lower

    @property
    def premise_names(self) -> tuple[str, ...]:
        """The premises in words: ``("cell r4c5", "7 in row 3")``."""
        return tuple(self.state.layout.rules[rule].name for rule in self.premises)

    @cached_property
    def technique(self) -> str | None:
        """The most special technique whose shape the premises have, or None."""
        return known_name(self._bare, self.state) if can_have_shape(self.claims) else None

    @cached_property
    def deduction(self) -> Deduction:
        """The same as a deduction, to be drawn, certified or put into words."""
        return named(self._bare, self.technique)

    @cached_property
    def story(self) -> Story:
        """The explanation as an argument that one can follow."""
        return tell(self.state, self.claims, self.premises)

    @cached_property
    def _bare(self) -> Deduction:
        return bare(self.state, self.claims, self.premises)

    @property
    def bounds(self) -> str:
        """Its size in words: ``"6"``, or ``"between 6 and 9"``."""
        return str(self.size) if self.exact else f"between {self.lower} and {self.size}"

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "claims": " ".join(map(str, self.claims)),
            "size": self.size,
            "lower_bound": self.lower,
            "exact": self.exact,
            "from": self.start,
            "premises": "; ".join(self.premise_names),
            "technique": self.technique,
        }

    def as_dict(self) -> dict[str, Any]:
        """The explanation as JSON can hold it."""
        return {
            "premises": list(self.premise_names),
            "size": self.size,
            "lower_bound": self.lower,
            "from": self.start,
            "technique": self.technique,
        }

    def __str__(self) -> str:
        what = f"{listing(self.claims)}: {self.bounds} premise{'' if self.size == 1 else 's'}"
        return f"{what}: {', '.join(self.premise_names)}" if self.premises else what

    def _repr_html_(self) -> str:
        from gridcrux.figures.svg import board_svg

        return f"<p>{escape(str(self))}</p>{board_svg(self.state, self.deduction)}"
