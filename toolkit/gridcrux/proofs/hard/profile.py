"""Where a route narrows: how many hard deductions are open before each of its hard steps.

The crux of a puzzle are the states in which the fewest are open.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

import numpy as np

from gridcrux.engines.limits import Deadline
from gridcrux.grids.state import State, bits
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.hard.fewest import ABOVE
from gridcrux.proofs.hard.moves import Walk
from gridcrux.proofs.hard.offers import ALL
from gridcrux.proofs.trust import certifying, refuse_unsound_own

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = {
    "step": "number of the step in the route, from 1",
    "technique": "technique of the step",
    "hard": "whether the step is above the level that counts as easy",
    "left": "candidates open in cells without a digit, before the step",
    "open": "before a hard step: hard deductions with different conclusions, once nothing easy is "
    "left; missing for easy steps",
    "leading": "how many of these make something easy possible",
    "solving": "how many of these solve the puzzle with what is easy then",
    "narrow": "whether no hard step of the route has fewer open before it",
}
"""Meaning of the columns of `CruxProfile.table`."""


@dataclass(frozen=True)
class Moment:
    """What is open before a hard step.

    Attributes
    ----------
    step : number of the step in the route, from 1.
    open : hard deductions with different conclusions, once nothing easy is left.
    leading : how many of these make something easy possible.
    solving : how many of these solve the puzzle with what is easy then.
    """

    step: int
    open: int
    leading: int
    solving: int


@dataclass(frozen=True, eq=False)
class CruxProfile:
    """How wide a route is at each of its hard steps.

    Attributes
    ----------
    route : the route.
    above : the level that counts as easy.
    moments : one for each hard step, or for the first ones if the time was up.
    stopped_by : None, or "seconds" if there are more hard steps.
    """

    route: Route
    above: str
    moments: tuple[Moment, ...]
    stopped_by: str | None = None

    @property
    def least(self) -> int | None:
        """The fewest hard deductions open before a hard step; None if there is none, or not known.

        The step that the route takes is always open, so one is the least there can be.
        """
        least = min((moment.open for moment in self.moments), default=None)
        return least if self.stopped_by is None or least == 1 else None

    @property
    def crux(self) -> tuple[int, ...]:
        """Numbers of the hard steps before which the fewest are open."""
        return tuple(moment.step for moment in self.moments if moment.open == self.least)

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "hard_steps": len(self.moments) if self.stopped_by is None else None,
            "crux_open": self.least,
            "crux_steps": len(self.crux),
            "above": self.above,
        }

    def as_dict(self) -> dict[str, Any]:
        """The hard steps and the narrow ones as JSON can hold them."""
        return {
            "crux": list(self.crux),
            "above": self.above,
            "moments": [vars(moment) for moment in self.moments],
        }

    def table(self) -> pd.DataFrame:
        """(steps, columns) a row for each step of the route; `COLUMNS` says what they mean."""
        # Loading pandas takes longer than most answers.
        import pandas as pd

        moments = {moment.step: moment for moment in self.moments}
        rows = []
        steps = zip(self.route.steps, self.route.states(), strict=False)
        for number, (step, state) in enumerate(steps, 1):
            written = sum(1 for _ in bits(state.placed))
            moment = moments.get(number)
            rows.append(
                {
                    "step": number,
                    "technique": step.technique,
                    "hard": moment is not None,
                    "left": state.open.bit_count() - written,
                    "open": None if moment is None else moment.open,
                    "leading": None if moment is None else moment.leading,
                    "solving": None if moment is None else moment.solving,
                    "narrow": number in self.crux,
                }
            )
        whole = {name: "Int64" for name in ("open", "leading", "solving")}
        return pd.DataFrame(rows, columns=list(COLUMNS)).astype(whole)

    def _repr_html_(self) -> str:
        lines = "".join(
            f"<li value={moment.step}>{escape(self.route.steps[moment.step - 1].technique)}: "
            f"{moment.open} open, {moment.leading} lead on"
            f"{' <b>(narrow)</b>' if moment.step in self.crux else ''}</li>"
            for moment in self.moments
        )
        return f"<p>Hard steps (above {escape(self.above)})</p><ol>{lines}</ol>"


@certifying()
def crux_profile(
    route: Route,
    above: str = ABOVE,
    *,
    offered: Repertoire | None = None,
    seconds: float | None = None,
) -> CruxProfile:
    """How many hard deductions are open before each hard step of a route.

    They are counted where nothing easy is left, whether or not the route has taken all that is
    easy before; two deductions that exclude the same count once.

    Parameters
    ----------
    above : the level that counts as easy.
    offered : techniques whose deductions count, those of the route if None; hard steps by others
        are left out.
    seconds : limit, after which the hard steps so far are returned.

    Raises
    ------
    Unsound : a technique that a user wrote finds what does not follow.
    UnknownLevel : there is no level of that name.
    """
    refuse_unsound_own(route)
    walk = Walk.above(route.start, offered or route.repertoire, above, keep=ALL)
    hard = np.flatnonzero(np.isin(route.records.techniques, walk.hard.order)).tolist()
    states, moments, stopped = list(route.states()), list[Moment](), None
    if hard:
        walk.prepare()
    deadline = Deadline(seconds)
    try:
        with walk.until(deadline):
            for step in hard:
                if deadline.passed:
                    raise TimeoutError
                moments.append(_moment(walk, states[step], step + 1))
    except TimeoutError:
        stopped = "seconds"
    return CruxProfile(route, above, tuple(moments), stopped)


def _moment(walk: Walk, state: State, number: int) -> Moment:
    """What is open before a hard step."""
    left = walk.close(walk.left_of(state))
    moves = walk.moves(left, to_end=True)
    leading = sum(
        after != left & ~walk.news(left, record)
        for after, record in zip(moves.left, moves.records, strict=True)
    )
    solving = sum(walk.solved(after) for after in moves.left)
    return Moment(number, len(moves), leading, solving)
