"""What it costs engines to find out that a puzzle has one solution."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.columns import KERNEL, effort_column
from gridcrux.encodings.cp import MODELS
from gridcrux.engines import get_engine
from gridcrux.engines.protocol import Engine
from gridcrux.grids.layout import Layout, usual
from gridcrux.grids.state import State

FIRST = ("nodes", "conflicts", "branches", "decisions")
"""What tells most of an engine's effort: the first of these that it counts."""


class EnginesDisagree(RuntimeError):
    """An engine has counted solutions of a puzzle otherwise than the kernel."""


@lru_cache(maxsize=64)
def measures_of(name: str) -> tuple[str, ...]:
    """The names of what an engine counts of its own work.

    Raises
    ------
    ValueError : there is no engine of that name.
    """
    counted = get_engine(name).count(State.empty(usual(4)), 1).effort
    # How often a solver is called depends on the number of solutions alone.
    return tuple(measure for measure in counted if measure != "calls")


def names_of(engines: Sequence[str]) -> tuple[str, ...]:
    """The names that engines call themselves, each once, whatever they are asked for by.

    Raises
    ------
    ValueError : there is no engine of a name, or it counts nothing of its work.
    """
    names = tuple(dict.fromkeys(get_engine(name).name for name in engines))
    for name in names:
        if not measures_of(name):
            raise ValueError(f"the engine {name} counts nothing of its work")
    return names


def remembers(name: str) -> bool:
    """Whether the effort of an engine depends on what it was asked before."""
    from gridcrux.engines.plain import SOLVERS

    solver = name.partition("/")[0]
    return solver == "sat" or (solver in SOLVERS and not name.endswith("/fresh"))


def manner_of(name: str) -> tuple[str, str]:
    """The encoding or model that an engine is given, and how it is used; "" where there is none.

    >>> manner_of("cadical195/fresh"), manner_of("cp"), manner_of("kernel")
    (('extended', 'fresh'), ('booleans', ''), ('', ''))
    """
    from gridcrux.engines.plain import SOLVERS, USES, USUAL_ENCODING, USUAL_USE

    solver, *rest = name.split("/")
    if solver in SOLVERS:
        use = rest.pop() if rest and rest[-1] in USES else USUAL_USE
        return (rest[0] if rest else USUAL_ENCODING), use
    if solver == "cp":
        return (rest[0] if rest else next(iter(MODELS))), ""
    return (USUAL_ENCODING if solver == "sat" else ""), ""


def packages_of(engines: Sequence[str]) -> tuple[str, ...]:
    """The packages, beside this one, that do the work of engines."""
    from gridcrux.engines.plain import SOLVERS

    solvers = {name.partition("/")[0] for name in engines}
    named = {"ortools": {"cp"}, "python-sat": {"sat", *SOLVERS}, "xcover": {"cover"}}
    return tuple(package for package, those in named.items() if solvers & those)


def main_column(name: str) -> str:
    """The column that tells most of an engine's effort."""
    counted = measures_of(name)
    return effort_column(name, next((each for each in FIRST if each in counted), counted[0]))


def effort_columns(engines: Sequence[str]) -> dict[str, str]:
    """The columns that tell what engines do, by name, with what each of them counts."""
    return {
        effort_column(name, measure): f"{measure} of the engine {name} for showing that there is "
        "one solution; missing if the time for it was up"
        for name in engines
        if name != KERNEL
        for measure in measures_of(name)
    }


def efforts_frame(
    puzzles: NDArray[np.int8],
    layout: Layout,
    wanted: NDArray[np.bool_],
    engines: Sequence[str],
    seconds: float | None,
) -> pd.DataFrame:
    """(N, columns) the effort of engines for each puzzle that the kernel has shown to be unique.

    An engine that learns from one puzzle for the next is made anew for each, so that a row does
    not depend on its neighbours.  What the kernel does stands in a study's column `nodes`.

    Parameters
    ----------
    puzzles : (N, n*n) givens, 0 for a blank.
    wanted : (N,) which have exactly one solution; rows of the others are missing.
    seconds : time for one engine and puzzle, after which its columns are missing.

    Raises
    ------
    EnginesDisagree : an engine finds no solution, or several.
    """
    rows: list[dict[str, Any]] = [{} for _ in puzzles]
    states = {
        int(i): State.from_digits(puzzles[i].tolist(), layout) for i in np.flatnonzero(wanted)
    }
    for name in engines:
        if name == KERNEL:
            continue
        engine, anew = get_engine(name), remembers(name)
        for i, state in states.items():
            rows[i] |= _effort(get_engine(name) if anew else engine, name, state, seconds)
    return pd.DataFrame(rows, columns=list(effort_columns(engines))).astype("Int64")


def _effort(engine: Engine, name: str, state: State, seconds: float | None) -> dict[str, int]:
    count = engine.count(state, 2, seconds)
    if count.value > 1 or (count.complete and count.value != 1):
        raise EnginesDisagree(
            f"{name} finds {count.value} solutions where the kernel finds one, of "
            f"{''.join(str(digit or '.') for digit in state.puzzle)}"
        )
    if not count.complete:
        return {}
    return {effort_column(name, measure): count.effort[measure] for measure in measures_of(name)}
