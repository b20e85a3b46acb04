"""How strong a standard propagation a puzzle needs, as a number that orders puzzles."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.engines.kernel.status import SOLVED
from gridcrux.grids.layout import Layout
from gridcrux.proofs.consistency.many import statuses

LADDER = ("extended-units", "locked", "all-different-locked", "failed-literals", "shaving")
"""The levels of `proofs.consistency.CONSISTENCIES` that are asked, one after the other.

They go from singles by locked candidates and subsets to failed literals, as in Simonis, "Sudoku as
a constraint problem", 2005 (from memory), and Lynce & Ouaknine, "Sudoku as a SAT problem", ISAIM
2006.  Each excludes what the ones before it do, but that failed literals do not see all sets."""


def consistency(puzzles: NDArray[np.int8], layout: Layout, wanted: NDArray[np.bool_]) -> pd.Series:
    """(N,) the place in `LADDER`, from 1, of the first level that solves each puzzle.

    One beyond the last if none does; missing where it is not `wanted`.
    """
    solved = statuses(puzzles, layout, LADDER) == SOLVED
    place = np.where(solved.any(axis=1), solved.argmax(axis=1), len(LADDER)) + 1
    return pd.Series(pd.arrays.IntegerArray(place.astype(np.int64), ~wanted))
