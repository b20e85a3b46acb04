"""Stepping through a puzzle in a notebook, with a question to any state on the way.

The controls are those of ipywidgets, which is loaded when it is needed.
"""

from __future__ import annotations

from importlib.util import find_spec
from typing import TYPE_CHECKING

from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.essential import Crux, crux
from gridcrux.techniques.repertoires import DEFAULT

if TYPE_CHECKING:
    from gridcrux.figures.widget.stepper import StepThrough

SECONDS = 2.0
"""Time for each part of an answer when nothing else is said."""


def step_through(
    what: State | Route | Crux,
    repertoire: Repertoire = DEFAULT,
    *,
    seconds: float = SECONDS,
) -> StepThrough:
    """The board before each step with the step drawn over it, for JupyterLab and its kin.

    Parameters
    ----------
    what : a route; or a route with its statuses, which are told too; or a state, which is solved
        and judged first.
    repertoire : the techniques that solve a state.
    seconds : limit for each part of the answer to a claim: whether the state has one solution,
        the verdict, its certificate, the explanation and the certificate of that.

    Raises
    ------
    ModuleNotFoundError : ipywidgets is not installed; the message says how to get it.
    TypeError : it is none of these.
    NotUnique : the repertoire assumes that the puzzle has exactly one solution, and it has not.
    """
    if find_spec("ipywidgets") is None:
        raise ModuleNotFoundError(
            "ipywidgets is not installed: pip install 'gridcrux[notebook]', then restart Jupyter",
            name="ipywidgets",
        )
    if not isinstance(what, State | Route | Crux):
        raise TypeError(
            f"{type(what).__name__} cannot be stepped through; expected a state (as `read_puzzle` "
            "returns it), a route, or a route with its statuses (`crux`)"
        )
    from gridcrux.figures.widget.stepper import StepThrough

    if isinstance(what, State):
        what = crux(what, repertoire)
    if isinstance(what, Crux):
        return StepThrough(what.route, what.statuses, seconds)
    return StepThrough(what, (), seconds)
