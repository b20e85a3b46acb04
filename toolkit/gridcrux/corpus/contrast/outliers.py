"""Puzzles that are harder for a person than for the machine, and the reverse."""

from __future__ import annotations

import numpy as np
import pandas as pd

from gridcrux.corpus.contrast.measures import DIRECTIONS, known_measures
from gridcrux.corpus.statistics.correlation import ranks
from gridcrux.corpus.statistics.weighting import Weighting

PERSON = "harder for a person than for the machine"
MACHINE = "harder for the machine than for a person"
"""Kinds of outliers."""

APART = 0.2
"""How far ranks are apart at least of what is told as an outlier, when nothing else is asked."""

RESIDUAL_COLUMNS = {
    "id": "identifier of the puzzle",
    "source": "file that it came from",
    "line": "line of the source",
    "puzzle": "givens row by row",
    "human": "value of the human measure",
    "machine": "value of the machine measure",
    "human_rank": "share of puzzles, by weight, that are easier for a person, ties by half",
    "machine_rank": "the same for the machine",
    "residual": "human_rank - machine_rank",
    "apart": f"'{PERSON}' or '{MACHINE}', if the ranks are so far apart as was asked and the "
    "measure of the harder side is not the least that occurs; else ''",
    "outlier": "the same, if it is among the farthest, of which a number was asked for; else ''",
}
"""Meaning of the columns of `rank_residuals`."""


def rank_residuals(
    table: pd.DataFrame,
    human: str,
    machine: str,
    *,
    top: int = 5,
    apart: float = APART,
    weights: str | None = "weight",
) -> pd.DataFrame:
    """How far the ranks of each puzzle are apart, and which puzzles are outliers.

    Both ranks have the same spread, so the main axis of their cloud is the diagonal as soon as
    they are correlated at all, and the distance from it is the residual.  (Residuals of a
    regression would, where the correlation is weak, find whatever is hard, not what is harder for
    one than for the other.)

    Many puzzles may have the least value there is, say no conflicts; the middle of their ranks is
    then high, but what costs least is hard for nobody.  So these are no outliers on that side.

    Parameters
    ----------
    table : rows of a contrast.
    human, machine : columns; a human one of `measures.DIRECTIONS`, which says what harder is.  Of
        any other, more is harder.
    top : outliers of each kind.  Of equal ones the harder comes first, then the order of the table.
    apart : how far the ranks of an outlier are apart at least, from 0 to 1.

    Returns
    -------
    DataFrame with the columns of `RESIDUAL_COLUMNS`: a row for each puzzle of which both measures
    are known, with the index of the table.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : no puzzle has both measures.
    """
    both = known_measures(table, [human, machine])
    known = both.notna().all(axis=1).to_numpy()
    if not known.any():
        raise ValueError(f"of no puzzle both {human} and {machine} are known")
    rows, both = table[known], both[known]
    weight = Weighting.of(rows, weights, None, 0).weight
    human_rank, machine_rank = (
        ranks(DIRECTIONS.get(name, 1) * both[name].to_numpy(), weight) for name in (human, machine)
    )
    # Rounding must not make a difference between equal residuals.
    residual = np.round(human_rank - machine_rank, 12)
    far, outlier = (np.full(len(rows), "", object) for _ in range(2))
    for kind, sign, rank in ((PERSON, 1, human_rank), (MACHINE, -1, machine_rank)):
        beyond = (sign * residual >= apart) & (sign * residual > 0) & (rank > rank.min())
        far[beyond] = kind
        order = np.lexsort((np.arange(len(rows)), -rank, -sign * residual))
        outlier[order[beyond[order]][:top]] = kind
    columns = [
        *(rows[name].to_numpy() for name in ("id", "source", "line", "puzzle")),
        both[human].to_numpy(), both[machine].to_numpy(), human_rank, machine_rank, residual,
        far, outlier,
    ]  # fmt: skip
    return pd.DataFrame(dict(zip(RESIDUAL_COLUMNS, columns, strict=True)), index=rows.index)
