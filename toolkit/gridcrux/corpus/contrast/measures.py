"""What a contrast measures, for a person and for machines, and which way each measure points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.columns import CONTRAST, IN_CONTRAST, KERNEL, effort_column
from gridcrux.corpus.contrast.consistency import consistency
from gridcrux.corpus.contrast.efforts import (
    effort_columns,
    efforts_frame,
    manner_of,
    measures_of,
    packages_of,
)
from gridcrux.corpus.contrast.human import human_frame
from gridcrux.corpus.contrast.ratings import ratings
from gridcrux.corpus.contrast.warm import warm_up
from gridcrux.corpus.statistics.features import numbers, require
from gridcrux.corpus.study.needs import widths_frame
from gridcrux.corpus.study.tasks import Task
from gridcrux.grids.rich import facts
from gridcrux.logic.repertoire import Repertoire

ENGINES = ("cadical195/fresh", "cadical195/minimal/fresh", KERNEL, "cp")
"""Engines asked when no others are named: a solver that starts anew with each puzzle, with what
unit propagation sees in both halves of the rules and in one; and two that are no such solvers.
(Of `cover` nothing is known that differs from puzzle to puzzle.)"""

SECONDS = 0.1
"""Time for each search in a puzzle when nothing else is asked: 10,000 puzzles in minutes.

It is time by the clock, so on a machine that has other work to do, more is unknown."""

DIRECTIONS = {
    "steps": 1,
    "hard_steps": 1,
    "fewest_hard_steps": 1,
    "widest_step": 1,
    "total_width": 1,
    "bottleneck_width": 1,
    "crux_open": -1,
    "givens": -1,
    "refutation_sum": 1,
    "stalls": 1,
    "single_rounds": 1,
    "open_singles": -1,
    "consistency": 1,
}
"""The measures for a person: 1 if more is harder, -1 if less is."""

OF_ROUTES = ("steps", "hard_steps", "widest_step", "total_width", "crux_open")
"""Measures that say nothing where the route gets stuck."""

KNOWN_COLUMNS = {
    "measure": "column",
    "side": "human or machine",
    "harder": "'more' if more of it is harder, 'fewer' if less is",
    "engine": "the engine whose effort it is; '' for a person, as the next two",
    "encoding": "how the rules are put to that engine; '' if it needs none",
    "use": "'fresh' if the solver is made for each state, else 'incremental' if it could stand "
    "for several (here it, too, is made anew for each puzzle); '' for what is no such solver",
    "puzzles": "puzzles of which it is known",
    "values": "different values among them; few mean many ties",
}
"""Meaning of the columns of `known_table`."""

CAUTIONS = (
    "no times of people were measured: human measures are properties of routes that a program "
    "finds with its repertoire, in its order, and of ratings taken from the literature",
    "efforts of machines are those of these programs in these versions; a correlation says nothing "
    "of causes, and holds for puzzles made like these",
    "what was not found in time, or has no meaning because the repertoire gets stuck, is missing; "
    "that befalls hard puzzles more than easy ones, and what was found in time depends on the "
    "speed of the machine and on what else it had to do",
)
"""What a contrast cannot say."""


@dataclass(frozen=True)
class Contrast:
    """What is measured of each puzzle beside the columns of a study (`study.tasks.Further`).

    Attributes
    ----------
    engines : names of engines, as they call themselves (`efforts.names_of`).
    above : the level that counts as easy; what else the repertoire has is hard.
    seconds : time for each search in a puzzle, a person's or a machine's; None for as long as it
        takes.  What is not known then is missing.
    """

    engines: tuple[str, ...] = ENGINES
    above: str = "singles"
    seconds: float | None = SECONDS

    @property
    def columns(self) -> dict[str, str]:
        return IN_CONTRAST | CONTRAST | effort_columns(self.engines)

    @property
    def packages(self) -> tuple[str, ...]:
        # Bottleneck widths are looked for by OR-tools, whatever the engines.
        return tuple(sorted({"ortools", *packages_of(self.engines)}))

    def as_dict(self) -> dict[str, Any]:
        return {"engines": list(self.engines), "above": self.above, "seconds": self.seconds}

    def frame(
        self, task: Task, solutions: NDArray[np.int64], repertoire: Repertoire
    ) -> pd.DataFrame:
        digits, layout, one = task.digits, task.layout, solutions == 1
        if self.seconds is not None:
            warm_up(self.engines)
        frames = [
            human_frame(digits, layout, one, repertoire, self.above, self.seconds),
            widths_frame(digits, layout, solutions, self.seconds),
            ratings(digits, layout, one),
            consistency(digits, layout, one).to_frame("consistency"),
            efforts_frame(digits, layout, one, self.engines, self.seconds),
        ]
        return pd.concat(frames, axis=1)[[name for name in self.columns if name not in IN_CONTRAST]]

    def _repr_html_(self) -> str:
        return facts(self.as_dict())


def machine_columns(engines: Sequence[str]) -> list[str]:
    """The measures for machines, by engine."""
    return [effort_column(name, each) for name in engines for each in measures_of(name)]


def known_measures(table: pd.DataFrame, columns: Sequence[str]) -> pd.DataFrame:
    """Measures as numbers where they are known and mean something, NaN elsewhere.

    Puzzles without exactly one solution have none; routes that get stuck have no measures of
    routes.

    Parameters
    ----------
    table : rows of a contrast.
    columns : measures for people or machines.

    Raises
    ------
    UnknownColumn : a column is missing.
    """
    require(table, "solutions", "solutions_complete", "solved", *columns)
    found = numbers(table, columns)
    one = (table["solutions"].eq(1) & table["solutions_complete"].astype("boolean")).fillna(False)
    solved = table["solved"].astype("boolean").fillna(False)
    for name in columns:
        known = one & solved if name in OF_ROUTES else one
        found[name] = found[name].where(known.astype(bool))
    return found


def known_table(table: pd.DataFrame, engines: Sequence[str]) -> pd.DataFrame:
    """Of how many puzzles each measure is known, with how many different values.

    Parameters
    ----------
    table : rows of a contrast with these engines.

    Returns
    -------
    DataFrame with the columns `KNOWN_COLUMNS`, a row a measure.
    """
    values = known_measures(table, [*DIRECTIONS, *machine_columns(engines)])
    persons = [("human", "more" if way > 0 else "fewer", "", "", "") for way in DIRECTIONS.values()]
    machines = [
        ("machine", "more", name, *manner_of(name)) for name in engines for _ in measures_of(name)
    ]
    rows = [
        (column, *facts, values[column].count(), values[column].nunique())
        for column, facts in zip(values.columns, [*persons, *machines], strict=True)
    ]
    return pd.DataFrame(rows, columns=list(KNOWN_COLUMNS))
