"""What a study asks of puzzles, and the rows that answer it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.columns import columns_of, steps_column
from gridcrux.corpus.rows import lines_of
from gridcrux.corpus.study.measure import (
    AFTER_SINGLES,
    BACKBONE,
    ESSENTIAL_STEPS,
    HARD,
    IDLE_STEPS,
    LEVEL,
    MISSING,
    NODES,
    REPLACEABLE_STEPS,
    SOLUTIONS,
    STATUS,
    STEPS,
    WIDEST,
    Measures,
    levels_within,
    measure,
)
from gridcrux.corpus.study.needs import Needs, needs_frame, widths_frame
from gridcrux.grids.layout import Layout
from gridcrux.grids.rich import facts
from gridcrux.logic.records import STATUS_NAMES
from gridcrux.logic.repertoire import UNLIMITED, Repertoire
from gridcrux.proofs.trust import certifying
from gridcrux.techniques.repertoires import FIRST_FAMILY

SOLUTION_LIMIT = 2
"""Solutions counted when nothing else is asked: enough to tell one from several."""

SECONDS = 60.0
"""Time for one puzzle when nothing else is asked."""


class Further(Protocol):
    """More columns for the rows of a study, made by whoever asks for them.

    Other processes measure them, so it can be pickled, and it is a value.
    """

    @property
    def columns(self) -> dict[str, str]:
        """The columns with their meanings, in the order of the table.

        Those of every study may be among them, with more to say of them.
        """

    @property
    def packages(self) -> Sequence[str]:
        """The packages that make them, of which the versions matter."""

    def as_dict(self) -> dict[str, Any]:
        """The settings as JSON can hold them."""

    def frame(
        self, task: Task, solutions: NDArray[np.int64], repertoire: Repertoire
    ) -> pd.DataFrame:
        """The new columns for the puzzles of a task, of which so many solutions were found."""


@dataclass(frozen=True)
class Asked:
    """What is to be measured of each puzzle.

    Attributes
    ----------
    repertoire : what the human solver knows.
    limit : solutions counted at most.
    seconds : time for one puzzle, None for as long as it takes; what is not known then is missing
        and the row says so.  The searches behind `needs` have a time of their own.
    needs : also find out what puzzles need at least, which takes some tenths of a second for one.
    widths : also find out their bottleneck widths, which takes some hundredths of a second.
    further : more columns, measured beside these.
    """

    repertoire: Repertoire = FIRST_FAMILY
    limit: int = SOLUTION_LIMIT
    seconds: float | None = SECONDS
    needs: Needs | None = None
    widths: bool = False
    further: Further | None = None

    @property
    def columns(self) -> dict[str, str]:
        """The columns of the rows, with their meanings."""
        columns = columns_of(self.repertoire, self.needs is not None, self.widths)
        return columns if self.further is None else columns | self.further.columns

    @property
    def slow(self) -> bool:
        """Whether a puzzle takes much longer than it does for the usual columns."""
        return self.needs is not None or self.widths or self.further is not None

    def as_dict(self) -> dict[str, Any]:
        """The settings as JSON can hold them."""
        return {
            "repertoire": list(self.repertoire.names),
            "widest": None if self.repertoire.limit == UNLIMITED else self.repertoire.limit,
            "limit": self.limit,
            "seconds": self.seconds,
            "needs": None if self.needs is None else self.needs.as_dict(),
            "widths": self.widths,
            "further": None if self.further is None else self.further.as_dict(),
        }

    def _repr_html_(self) -> str:
        return facts(self.as_dict())


class Task(NamedTuple):
    """N puzzles of one layout that are measured in one call.

    Attributes
    ----------
    source : where they come from.
    ids, lines, weights, groups : what the source says of each.
    digits : (N, n*n) givens, 0 for a blank.
    """

    source: str
    ids: list[str]
    lines: list[int]
    weights: list[float]
    groups: list[str]
    digits: NDArray[np.int8]
    layout: Layout

    def __str__(self) -> str:
        if not self.lines:
            return f"no lines of {self.source}"
        return f"lines {self.lines[0]} to {self.lines[-1]} of {self.source}"


@certifying()
def rows_of(task: Task, asked: Asked) -> pd.DataFrame:
    """The rows of a task, with the columns of `asked.columns` in that order.

    Raises
    ------
    Unsound : a technique that a user wrote finds what does not follow.
    """
    found = measure(task.digits, task.layout, asked.repertoire, asked.limit, asked.seconds)
    frames = [_frame(task, found, asked.repertoire)]
    # Where one solution was looked for only, nobody knows whether there are more.
    number = np.where(found.complete & ~found.stopped, found.numbers[:, SOLUTIONS], 0)
    if asked.needs is not None:
        frames.append(needs_frame(task.digits, task.layout, asked.repertoire, number, asked.needs))
    if asked.widths:
        frames.append(widths_frame(task.digits, task.layout, number, asked.seconds))
    if asked.further is not None:
        frames.append(asked.further.frame(task, number, asked.repertoire))
    return pd.concat(frames, axis=1)[list(asked.columns)]


def _frame(task: Task, found: Measures, repertoire: Repertoire) -> pd.DataFrame:
    """The rows of a task with the columns that every study has."""
    numbers = found.numbers
    levels = np.array([*levels_within(repertoire), None], object)
    status = np.array([*STATUS_NAMES, None], object)[numbers[:, STATUS]]
    names = np.array(repertoire.names)
    routed = numbers[:, STEPS] != MISSING
    # The end of a contradiction is not judged: nothing is essential to it.
    judged = routed & ~(found.stopped & (numbers[:, IDLE_STEPS] == MISSING))
    data: dict[str, Any] = {
        "id": _texts(task.ids),
        "source": _texts([task.source] * len(task.ids)),
        "line": np.array(task.lines, np.int64),
        "weight": np.array(task.weights, np.float64),
        "group": _texts([group or None for group in task.groups]),
        "layout": _texts([task.layout.name] * len(task.ids)),
        "puzzle": _texts(lines_of(task.digits)),
        "givens": np.count_nonzero(task.digits, axis=1),
        "solutions": numbers[:, SOLUTIONS],
        "solutions_complete": found.complete,
        "nodes": numbers[:, NODES],
        "backbone": _whole(numbers[:, BACKBONE]),
        "open_after_singles": _whole(numbers[:, AFTER_SINGLES]),
        "level": _texts(levels[numbers[:, LEVEL]]),
        "status": _texts(status),
        # Where the time was up nobody knows; without a solution there is nothing to solve.
        "solved": pd.arrays.BooleanArray(status == STATUS_NAMES[0], found.stopped & ~routed),
        "steps": _whole(numbers[:, STEPS]),
        "hard_steps": _whole(numbers[:, HARD]),
        "widest_step": _whole(numbers[:, WIDEST]),
        "essential_steps": _whole(numbers[:, ESSENTIAL_STEPS]),
        "replaceable_steps": _whole(numbers[:, REPLACEABLE_STEPS]),
        "idle_steps": _whole(numbers[:, IDLE_STEPS]),
        "essential_techniques": _texts(
            [
                ", ".join(names[flags]) if known else None
                for flags, known in zip(found.essential, judged, strict=True)
            ]
        ),
        "stopped_by": _texts(["seconds" if stopped else None for stopped in found.stopped]),
    }
    for column, technique in enumerate(repertoire):
        data[steps_column(technique)] = _whole(np.where(routed, found.steps[:, column], MISSING))
    return pd.DataFrame(data, columns=list(columns_of(repertoire)))


def _texts(values: Any) -> Any:
    """Texts that may be missing."""
    return pd.array(values, dtype="str")


def _whole(values: NDArray[Any]) -> Any:
    """Whole numbers that may be missing."""
    return pd.arrays.IntegerArray(values.astype(np.int64), values == MISSING)
