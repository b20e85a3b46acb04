"""What a puzzle needs at least, for the rows of a study that asks for it."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.columns import NEEDS
from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.proofs.hard.widths import least_total_width, least_widest_step
from gridcrux.proofs.sufficient import placements, technique_sets
from gridcrux.techniques.solve import route


@dataclass(frozen=True)
class Needs:
    """How the needs of puzzles are to be measured.

    Attributes
    ----------
    above : the level that counts as easy; what else the repertoire has is hard.
    seconds : time for each of the three searches in a puzzle, after which only bounds are told.
    """

    above: str = "singles"
    seconds: float = 2.0

    def as_dict(self) -> dict[str, Any]:
        """The settings as the manifest of a study has them."""
        return asdict(self)


def needs_frame(
    puzzles: NDArray[np.int8],
    layout: Layout,
    repertoire: Repertoire,
    solutions: NDArray[np.int64],
    needs: Needs,
) -> pd.DataFrame:
    """(N, columns) the columns `columns.NEEDS` of N puzzles.

    Parameters
    ----------
    puzzles : (N, n*n) givens, 0 for a blank.
    solutions : (N,) solutions found of each, of which two were looked for at least.
    """
    rows = [
        _row(State.from_digits(digits.tolist(), layout), repertoire, needs) if number == 1 else {}
        for digits, number in zip(puzzles, solutions, strict=True)
    ]
    frame = pd.DataFrame(rows, columns=list(NEEDS))
    whole = [name for name in NEEDS if name != "minimal_sets_complete"]
    return frame.astype(dict.fromkeys(whole, "Int64") | {"minimal_sets_complete": "boolean"})


def _row(state: State, repertoire: Repertoire, needs: Needs) -> dict[str, Any]:
    """What one puzzle needs."""
    above, seconds = needs.above, needs.seconds
    fewest = fewest_hard_steps(state, repertoire, above, seconds=seconds)
    total = least_total_width(state, repertoire, above, seconds=seconds)
    sets = technique_sets(state, repertoire, always=placements(repertoire), seconds=seconds)
    profile = crux_profile(route(state, repertoire, unique=True), above)
    return {
        "fewest_hard_steps": fewest.upper,
        "fewest_hard_steps_at_least": fewest.lower,
        "least_total_width": total.upper,
        "least_total_width_at_least": total.lower,
        "least_widest_step": least_widest_step(state, repertoire),
        "minimal_sufficient": len(sets.sufficient),
        "minimal_blocking": len(sets.blocking),
        "minimal_sets_complete": sets.complete,
        "crux_open": profile.least,
        "crux_steps": len(profile.crux),
    }
