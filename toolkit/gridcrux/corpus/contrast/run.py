"""Contrast many puzzles: a study with more columns, and what its table says.

The rows are those of a study, so files, parts, processes and going on after an interruption are
those of `corpus.study.run`.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from gridcrux.corpus.contrast.efforts import names_of
from gridcrux.corpus.contrast.measures import (
    DIRECTIONS,
    ENGINES,
    SECONDS,
    Contrast,
    known_measures,
    machine_columns,
)
from gridcrux.corpus.files import moved
from gridcrux.corpus.statistics.correlation import CORRELATION_COLUMNS as OF_PAIRS
from gridcrux.corpus.statistics.correlation import LEAST, rank_correlations
from gridcrux.corpus.study import StudyRun, study, study_files
from gridcrux.grids.layout import Layout
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.wording import listing
from gridcrux.techniques.repertoires import LEVELS, level_named

LEVEL = "chains"
"""What is known unless it is told: nearly all puzzles are solved, in some milliseconds."""

NAMES = ("id", "source", "line", "weight", "group", "layout", "puzzle")
"""Columns that say which puzzle a row is about."""

STATE = ("solutions", "solutions_complete", "level", "solved", "status", "stopped_by")
"""Columns that say what its measures mean."""

CORRELATION_COLUMNS = OF_PAIRS | {
    "missing": "why there is no correlation, or no interval of it; '' if there is"
}
"""Meaning of the columns of `contrast_correlations`."""


@dataclass(frozen=True)
class ContrastRun:
    """What came of a run over files.

    Attributes
    ----------
    study : the run that made the rows.
    asked : what was measured beside the columns of a study.
    csv, parquet : the files with a row a puzzle.
    """

    study: StudyRun
    asked: Contrast
    csv: Path
    parquet: Path

    def frame(self) -> pd.DataFrame:
        """The rows, as they are in the files."""
        return pd.read_parquet(self.parquet)

    def _repr_html_(self) -> str:
        files = {"csv": self.csv, "parquet": self.parquet}
        return facts({**vars(self.study), **self.asked.as_dict(), **files})


def contrast(
    puzzles: Iterable[str | State | Sequence[int]],
    *,
    engines: Sequence[str] = ENGINES,
    repertoire: Repertoire = LEVELS[LEVEL],
    above: str = "singles",
    seconds: float | None = SECONDS,
    **settings: Any,
) -> pd.DataFrame:
    """Measure puzzles that are in memory; one row each, in their order.

    Parameters
    ----------
    puzzles : see `corpus.study.study`.
    engines : names of engines that are to show that a puzzle has one solution.
    repertoire : what the person knows.
    above : the level of which all techniques count as easy.
    seconds : time for each search in a puzzle, a person's or a machine's.
    settings : `layout`, `workers` and `progress`, passed on to `corpus.study.study`.

    Returns
    -------
    DataFrame with the columns `table_columns` of this contrast; `corpus.columns.COLUMNS` and
    `Contrast.columns` explain them.  Measures are missing where they mean nothing
    (`measures.known_measures`).

    Raises
    ------
    ValueError : there is no such engine or level; or as `study` raises it.
    EnginesDisagree : an engine does not find the one solution that there is.
    """
    asked = _asked(engines, above, seconds)
    rows = study(puzzles, repertoire=repertoire, further=asked, **settings)
    return _of_what_is_known(rows[table_columns(asked)], asked)


def contrast_files(
    sources: Sequence[str],
    out: str | Path,
    *,
    engines: Sequence[str] = ENGINES,
    repertoire: Repertoire = LEVELS[LEVEL],
    above: str = "singles",
    seconds: float | None = SECONDS,
    layout: Layout | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    progress: bool = True,
) -> ContrastRun:
    """Measure the puzzles of files into a folder: `contrast.csv` and `contrast.parquet`.

    Beside them stands the study that the rows are taken from, with all its columns, also where
    they mean nothing for a contrast and are blank in these files.  However a run ends, the same
    call goes on from there; the two files are written when it ends by itself or on Ctrl-C, then
    with the rows so far.

    Parameters
    ----------
    sources, out, layout, workers, scheduler, progress : see `corpus.study.study_files`.
    engines, repertoire, above, seconds : see `contrast`.

    Raises
    ------
    ValueError, StudyExists, PuzzleError, WorkersLost : see `corpus.study.study_files`.
    EnginesDisagree : an engine does not find the one solution that there is.
    """
    asked = _asked(engines, above, seconds)
    run = study_files(
        sources,
        out,
        layout=layout,
        repertoire=repertoire,
        further=asked,
        workers=workers,
        scheduler=scheduler,
        progress=progress,
    )
    csv, parquet = (Path(out) / f"contrast.{kind}" for kind in ("csv", "parquet"))
    if run.puzzles:
        table = _of_what_is_known(run.frame(table_columns(asked)), asked)
        with moved(parquet) as target:
            table.to_parquet(target, index=False)
        with moved(csv) as target:
            table.to_csv(target, index=False)
    return ContrastRun(run, asked, csv, parquet)


def contrast_correlations(
    table: pd.DataFrame,
    engines: Sequence[str] = ENGINES,
    human: Iterable[str] = DIRECTIONS,
    **settings: Any,
) -> pd.DataFrame:
    """The rank correlation of each measure for a person with each for a machine.

    Measures that are the same in all puzzles have no ranks; their correlations are missing.

    Parameters
    ----------
    table : rows of a contrast with these engines.
    settings : `weights`, `groups`, `confidence`, `resamples` and `seed`, passed on to
        `corpus.statistics.correlation.rank_correlations`.

    Returns
    -------
    DataFrame with the columns `CORRELATION_COLUMNS`, a row a pair.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : the table has no rows.
    """
    people, machines = list(human), machine_columns(engines)
    known = known_measures(table, [*people, *machines])
    beside = table[[name for name in ("weight", "group") if name in table]]
    found = rank_correlations(pd.concat([known, beside], axis=1), people, machines, **settings)
    return found.assign(missing=[_why_missing(row) for row in found.to_dict("records")])


def _why_missing(row: dict[Hashable, Any]) -> str:
    """Why there is no correlation, or no interval; "" if there are both."""
    if row["puzzles"] < LEAST:
        several = f"{row['puzzles']} puzzle{'s' * (row['puzzles'] > 1)} only"
        return f"known of {several if row['puzzles'] else 'no puzzle'}"
    same = [row[side] for side in ("first", "second") if row[f"{side}_values"] == 1]
    if same:
        return f"{listing(same, 'and')} the same in all of these puzzles"
    return "" if row["low"] == row["low"] else "no interval: too few puzzles differ"


def _of_what_is_known(table: pd.DataFrame, asked: Contrast) -> pd.DataFrame:
    """The rows with measures blanked where they mean nothing, as the correlations leave them out.

    Whole numbers stay whole.
    """
    if table.empty:
        return table
    measures = [*DIRECTIONS, *machine_columns(asked.engines)]
    known = known_measures(table, measures)
    blanked = {}
    for name in measures:
        column = table[name]
        whole = column.astype("Int64") if pd.api.types.is_integer_dtype(column) else column
        blanked[name] = whole.where(known[name].notna())
    return table.assign(**blanked)


def table_columns(asked: Contrast) -> list[str]:
    """The columns of a contrast: which puzzle, what is known of it, a person's, a machine's."""
    more = [name for name in asked.columns if name not in DIRECTIONS]
    people = list(DIRECTIONS)
    machines = machine_columns(asked.engines)
    bounds = [name for name in more if name not in machines]
    return [*NAMES, *STATE, *people, *bounds, *machines]


def _asked(engines: Sequence[str], above: str, seconds: float | None) -> Contrast:
    level_named(above)
    names = names_of(engines)
    if not names:
        raise ValueError("no engine is named; expected at least one")
    return Contrast(names, above, seconds)
