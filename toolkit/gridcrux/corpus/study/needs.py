"""The slow columns of a study that asks for them: what a puzzle needs at least."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.columns import NEEDS, WIDTHS
from gridcrux.grids.layout import Layout
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.explain.bottleneck import bottleneck
from gridcrux.proofs.hard.demand import demand
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

    def _repr_html_(self) -> str:
        return facts(self.as_dict())


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
    rows: list[dict[str, Any]] = []
    for digits, number in zip(puzzles, solutions, strict=True):
        rows.append({})
        if number == 1:
            way = route(State.from_digits(digits.tolist(), layout), repertoire, unique=True)
            rows[-1] = demand(way, needs.above, seconds=needs.seconds).row()
    frame = pd.DataFrame(rows, columns=list(NEEDS))
    whole = [name for name in NEEDS if name != "minimal_sets_complete"]
    return frame.astype(dict.fromkeys(whole, "Int64") | {"minimal_sets_complete": "boolean"})


def widths_frame(
    puzzles: NDArray[np.int8],
    layout: Layout,
    solutions: NDArray[np.int64],
    seconds: float | None,
) -> pd.DataFrame:
    """(N, columns) the columns `columns.WIDTHS` of N puzzles.

    Parameters
    ----------
    puzzles, solutions : as for `needs_frame`.
    seconds : time for one puzzle, after which only a bound is told.
    """
    rows: list[dict[str, Any]] = []
    for digits, number in zip(puzzles, solutions, strict=True):
        rows.append({})
        if number == 1:
            way = bottleneck(State.from_digits(digits.tolist(), layout), seconds)
            rows[-1] = {"bottleneck_width": way.width, "bottleneck_at_least": way.lower}
    return pd.DataFrame(rows, columns=list(WIDTHS)).astype("Int64")
