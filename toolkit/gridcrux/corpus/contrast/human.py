"""What a puzzle asks of a person who knows a repertoire: measures of routes, each with its time."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.columns import HUMAN
from gridcrux.engines.limits import Deadline
from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.moves import ALL, Walk
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

    The latter is `proofs.hard.profile.CruxProfile.least`, which has no limit of time and
    looks behind every move.  Where the time is up it is missing.
    """
    walk = Walk.above(way.start, way.repertoire, above, keep=ALL)
    hard = np.isin(way.records.techniques, walk.hard.order)
    found = {"total_width": int(way.records.widths[hard].sum())}
    if not hard.any():
        return found
    # From here on time is kept, so what has to be compiled is compiled before.
    walk.prepare()
    deadline, least = Deadline(seconds), None
    for counts, state in zip(hard.tolist(), way.states(), strict=False):
        if not counts:
            continue
        if deadline.passed:
            return found
        here = len(walk.moves(walk.close(walk.left_of(state)), to_end=True))
        least = here if least is None else min(least, here)
        if least == 1:
            # The step that the route takes is always one.
            break
    assert least is not None
    return found | {"crux_open": least}
