"""What else a state offers: every deduction, grouped by what falls."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import Any

from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.wording import listing
from gridcrux.techniques.repertoires import DEFAULT
from gridcrux.techniques.solve import available, refuse_uniqueness


@dataclass(frozen=True, repr=False)
class Alternative:
    """Deductions that come to the same: they write one digit, or exclude the same candidates.

    Attributes
    ----------
    places : the candidate that they write, or None.
    eliminates : mask of the open candidates that they exclude.
    deductions : all of them, by width, then in the order of the repertoire; at least one.
    including : deductions of other groups that exclude all this and more, in the same order.
        A digit is written by its own group only.
    """

    places: int | None
    eliminates: int
    deductions: tuple[Deduction, ...]
    including: tuple[Deduction, ...] = ()

    def __iter__(self) -> Iterator[Deduction]:
        return iter(self.deductions)

    def __len__(self) -> int:
        return len(self.deductions)

    @property
    def falls(self) -> str:
        """What the deductions establish: ``"r1c2=3"``, or ``"not r1c2=4 and r1c2=5"``."""
        first = self.deductions[0]
        return first.placement_name or f"not {listing(first.elimination_names)}"

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "falls": self.falls,
            "techniques": ", ".join(dict.fromkeys(step.technique for step in self)),
            "width": self.deductions[0].width,
            "deductions": len(self),
            "including": len(self.including),
        }

    def as_dict(self) -> dict[str, Any]:
        """The group as JSON can hold it, every name in full."""
        first = self.deductions[0]
        return {
            "places": first.placement_name,
            "eliminates": list(first.elimination_names),
            "deductions": [step.as_dict() for step in self],
            "including": [step.as_dict() for step in self.including],
        }

    def __str__(self) -> str:
        lines = [f"{self.falls}:"]
        lines += [f"  {step.technique}: {step.sentence}" for step in self]
        lines += [f"  (also by {step.technique}: {step.sentence})" for step in self.including]
        return "\n".join(lines)

    def __repr__(self) -> str:
        row = self.row()
        also = f", {len(self.including)} including it" if self.including else ""
        return f"Alternative({self.falls}: {len(self)} by {row['techniques']}{also})"

    def _repr_html_(self) -> str:
        def items(steps: tuple[Deduction, ...]) -> str:
            return "".join(
                f"<li><b>{escape(step.technique)}</b> (width {step.width}): "
                f"{escape(step.sentence)}</li>"
                for step in steps
            )

        more = f"<p>These exclude it too:</p><ul>{items(self.including)}</ul>"
        return (
            f"<p>{escape(self.falls)}</p><ul>{items(self.deductions)}</ul>"
            f"{more if self.including else ''}"
        )


def alternatives(
    state: State, repertoire: Repertoire = DEFAULT, *, unique: bool = False
) -> list[Alternative]:
    """All that a repertoire offers in a state, a group for each thing that can be concluded.

    The groups come in the order of their first deductions: by width, then in the order of the
    repertoire.  What is found under two names, with the same premises and the same conclusion,
    is listed under the name that comes first (`solve.available`).

    Raises
    ------
    AssumesUnique : the repertoire assumes one solution, and `unique` does not promise it.

    >>> from gridcrux.techniques.repertoires import FIRST_FAMILY
    >>> state = State.from_digits([0, 0, 0, 0] + [2, 3, 0, 0] + [0] * 8)
    >>> for group in alternatives(state, FIRST_FAMILY.only("pointing", "claiming")):
    ...     print(group)
    not r1c3=1 and r1c4=1:
      pointing: 1 in box 1 has places only in row 1, so no other cell of row 1 is 1.
      claiming: 1 in row 2 has places only in box 2, so no other cell of box 2 is 1.
    not r1c3=4 and r1c4=4:
      pointing: 4 in box 1 has places only in row 1, so no other cell of row 1 is 4.
      claiming: 4 in row 2 has places only in box 2, so no other cell of box 2 is 4.
    """
    refuse_uniqueness(repertoire, unique)
    # Sorting is stable: deductions of one width stay in the order of the repertoire.
    offered = sorted(available(state, repertoire), key=lambda step: step.width)
    groups: dict[tuple[int | None, int], list[Deduction]] = {}
    for step in offered:
        groups.setdefault((step.places, step.eliminates), []).append(step)
    return [
        Alternative(
            places,
            eliminates,
            tuple(steps),
            tuple(more for more in offered if places is None and _includes(more, steps[0])),
        )
        for (places, eliminates), steps in groups.items()
    ]


def _includes(more: Deduction, step: Deduction) -> bool:
    """Whether a deduction of another group excludes all that this one does."""
    same = more.places is None and more.eliminates == step.eliminates
    return not same and step.eliminates & ~more.eliminates == 0
