"""All that is asked of a puzzle beside the statuses: what it needs at least."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from gridcrux.grids.rich import facts
from gridcrux.logic.route import Route
from gridcrux.proofs.hard.fewest import ABOVE, SECONDS, FewestSteps, fewest_hard_steps
from gridcrux.proofs.hard.profile import CruxProfile, crux_profile
from gridcrux.proofs.hard.widths import LeastWidth, least_total_width, least_widest_step
from gridcrux.proofs.sufficient import TechniqueSets, placements, technique_sets
from gridcrux.proofs.trust import refuse_unsound_own

Progress = Callable[[str], None]


@dataclass(frozen=True, eq=False)
class Demand:
    """What a puzzle needs at least, and where a route of it is narrow.

    Attributes
    ----------
    fewest, total, widest : of hard steps (`fewest_hard_steps`, `least_total_width` and
        `least_widest_step`).
    sets : the sets of techniques that suffice beside placements, and those that block.
    profile : what was open before each hard step of the route.
    """

    fewest: FewestSteps
    total: LeastWidth
    widest: int | None
    sets: TechniqueSets
    profile: CruxProfile

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "fewest_hard_steps": self.fewest.upper,
            "fewest_hard_steps_at_least": self.fewest.lower,
            "least_total_width": self.total.upper,
            "least_total_width_at_least": self.total.lower,
            "least_widest_step": self.widest,
            "minimal_sufficient": len(self.sets.sufficient),
            "minimal_blocking": len(self.sets.blocking),
            "minimal_sets_complete": self.sets.complete,
            "crux_open": self.profile.least,
            "crux_steps": len(self.profile.crux),
        }

    def as_dict(self) -> dict[str, Any]:
        """The answers as JSON can hold them."""
        sets = self.sets.as_dict()
        return {
            "fewest_hard_steps": self.fewest.as_dict(),
            "least_total_width": self.total.as_dict(),
            "least_widest_step": self.widest,
            "minimal_sufficient": sets["minimal_sufficient"],
            "minimal_blocking": sets["minimal_blocking"],
            "minimal_sets_always": sets["always"],
            "minimal_sets_complete": sets["complete"],
            "crux": list(self.profile.crux),
            "moments": [vars(moment) for moment in self.profile.moments],
        }

    def _repr_html_(self) -> str:
        parts = (self.fewest, self.total, self.sets, self.profile)
        return facts(self.row()) + "".join(part._repr_html_() for part in parts)


def demand(
    route: Route,
    above: str = ABOVE,
    *,
    seconds: float | None = SECONDS,
    progress: Progress | None = None,
) -> Demand:
    """What the puzzle of a route needs at least, each question with its own time.

    Parameters
    ----------
    above : the level that counts as easy.
    seconds : limit for each of the three searches, after which bounds are told.
    progress : told now and then how far they are.

    Raises
    ------
    NotUnique : the repertoire assumes that the puzzle has exactly one solution, and it has not.
    Unsound : a technique that a user wrote finds what does not follow.
    UnknownLevel : there is no level of that name.
    """
    refuse_unsound_own(route)
    show = progress or (lambda text: None)
    state, repertoire = route.start, route.repertoire

    def steps(lower: int, upper: int | None) -> None:
        show(f"fewest hard steps: {lower} to {'?' if upper is None else upper}")

    def sets(sufficient: int, blocking: int) -> None:
        show(f"technique sets: {sufficient} suffice, {blocking} block")

    fewest = fewest_hard_steps(state, repertoire, above, seconds=seconds, progress=steps)
    show("least widths")
    total = least_total_width(state, repertoire, above, known=[fewest], seconds=seconds)
    widest = least_widest_step(state, repertoire)
    minimal = technique_sets(
        state, repertoire, always=placements(repertoire), seconds=seconds, progress=sets
    )
    show("the narrow places")
    return Demand(fewest, total, widest, minimal, crux_profile(route, above))
