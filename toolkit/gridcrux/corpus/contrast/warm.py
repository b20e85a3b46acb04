"""Load or compile in this process whatever measuring takes, before time is kept."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from gridcrux.corpus.contrast.efforts import efforts_frame
from gridcrux.corpus.contrast.human import human_frame
from gridcrux.corpus.study.needs import widths_frame
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, usual
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS

PUZZLE = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."
"""It takes some hard steps and some wide ones, so nothing that the searches call is left out."""


@lru_cache(maxsize=64)
def warm_up(engines: tuple[str, ...]) -> None:
    """Measure a puzzle with all the time in the world, once in a process, and forget it.

    Otherwise the first puzzles that a process measures would spend their time on its start.

    Parameters
    ----------
    engines : names of the engines that will be asked.
    """
    digits, one = np.array([read_puzzle(PUZZLE).puzzle], np.int8), np.ones(1, np.int64)
    wanted = one.astype(bool)
    human_frame(digits, NINE, wanted, LEVELS["chains"], "singles", None)
    widths_frame(digits, NINE, one, None)
    # Widest steps are looked for by CP-SAT, and this puzzle has none so wide.
    get_engine("cp").count(State.empty(usual(4)), 1)
    efforts_frame(digits, NINE, wanted, engines, None)
