"""Levels of consistency for many puzzles at once."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from gridcrux.grids.layout import Layout, usual
from gridcrux.proofs.consistency.filters import new_room
from gridcrux.proofs.consistency.levels import (
    CONSISTENCIES,
    OUTCOMES,
    Outcome,
    level_of_consistency,
)
from gridcrux.proofs.consistency.shaving import settle_many

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = {
    **{name: f"dead, open or solved by {level.meaning}" for name, level in CONSISTENCIES.items()},
    "weakest": "the first of the levels that solves the puzzle; missing if none does",
}
"""What the columns of `levels_of` mean."""


def statuses(
    puzzles: NDArray[np.int8], layout: Layout | None = None, levels: Iterable[str] = CONSISTENCIES
) -> NDArray[np.int8]:
    """How puzzles end on levels of consistency: (N, L), each a key of `OUTCOMES`.

    Parameters
    ----------
    puzzles : (N, n*n) digits row by row, 0 for a blank.
    levels : names; what one level decides is not asked of those that see all that it sees.

    Raises
    ------
    ValueError : wrong number of cells, a digit outside 0..n, or there is no level of a name.
    """
    digits = np.asarray(puzzles)
    if digits.ndim != 2:
        raise ValueError(f"puzzles have {digits.ndim} dimensions, expected 2: puzzles and cells")
    if layout is None:
        layout = usual(round(digits.shape[1] ** 0.5))
    if digits.shape[1] != layout.cells:
        raise ValueError(f"{digits.shape[1]} cells, expected {layout.cells} ({layout.name})")
    if digits.size and not 0 <= digits.min() <= digits.max() <= layout.size:
        raise ValueError(f"a digit is outside 0..{layout.size}")
    asked = [level_of_consistency(name) for name in levels]
    table = np.zeros((len(asked), 3), np.int64)
    for place, level in enumerate(asked):
        weaker = (k for k in range(place) if asked[k].sees_no_more_than(level))
        table[place] = level.parts, level.assumed, sum(1 << k for k in weaker)
    outcomes = np.zeros((len(digits), len(asked)), np.int8)
    whole = np.uint32((1 << layout.size) - 1)
    given = np.uint32(1) << np.maximum(digits, 1).astype(np.uint32) - np.uint32(1)
    settle_many(new_room(layout), np.where(digits, given, whole), table, outcomes)
    return outcomes


def levels_of(puzzles: NDArray[np.int8], layout: Layout | None = None) -> pd.DataFrame:
    """How each of many puzzles ends on every level of consistency; see `COLUMNS`.

    Raises
    ------
    ValueError : see `statuses`.
    """
    import pandas as pd

    found = statuses(puzzles, layout)
    words = np.array([OUTCOMES[status].value for status in sorted(OUTCOMES)], object)
    table = pd.DataFrame(words[found], columns=list(CONSISTENCIES))
    solved = table == Outcome.SOLVED.value
    table["weakest"] = solved.idxmax(axis=1).where(solved.any(axis=1))
    return table
