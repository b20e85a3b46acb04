"""What a puzzle asks of a person who knows a repertoire: measures of routes, each with its time."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.columns import HUMAN
from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.moves import split
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.techniques.solve import route


def human_frame(
    puzzles: NDArray[np.int8],
    layout: Layout,
    wanted: NDArray[np.bool_],
    repertoire: Repertoire,
    above: str,
    seconds: float | None,
) -> pd.DataFrame:
    """(N, columns) the columns `columns.HUMAN` of N puzzles.

    Parameters
    ----------
    puzzles : (N, n*n) givens, 0 for a blank.
    wanted : (N,) which have exactly one solution; rows of the others are missing.
    above : the level that counts as easy.
    seconds : time for each of the two searches in a puzzle.
    """
    rows: list[dict[str, Any]] = [{} for _ in puzzles]
    for i in np.flatnonzero(wanted).tolist():
        state = State.from_digits(puzzles[i].tolist(), layout)
        way = route(state, repertoire, unique=True)
        if way.solved:
            fewest = fewest_hard_steps(state, repertoire, above, seconds=seconds)
            rows[i] = {
                "fewest_hard_steps": fewest.upper if fewest.exact else None,
                "fewest_hard_steps_at_least": fewest.lower,
                "fewest_hard_steps_at_most": fewest.upper,
                **_along(way, above, seconds),
            }
    return pd.DataFrame(rows, columns=list(HUMAN)).astype("Int64")


def _along(way: Route, above: str, seconds: float | None) -> dict[str, int]:
    """Width of the hard steps together, and how few deductions are open before one of them.

    The latter is missing where there is no hard step, and where the time is up.
    """
    _, hard = split(way.repertoire, above)
    width = int(way.records.widths[np.isin(way.records.techniques, hard.order)].sum())
    least = crux_profile(way, above, seconds=seconds).least if width else None
    return {"total_width": width, **({} if least is None else {"crux_open": least})}
