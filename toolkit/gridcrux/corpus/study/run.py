"""Study many puzzles: one row each, as a DataFrame or as Parquet files beside their rejects.

Puzzles stream through: parts are read, measured by processes on this machine or on a cluster,
and written in the order of the sources, so memory does not grow with the corpus, the result does
not depend on who measured what, and a run that was ended goes on where it was.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from tqdm import tqdm

from gridcrux.corpus.statements import made_as_stated
from gridcrux.corpus.study.folder import StudyFolder
from gridcrux.corpus.study.needs import Needs
from gridcrux.corpus.study.parts import Part, parts_of
from gridcrux.corpus.study.tasks import SECONDS, SOLUTION_LIMIT, Asked, Further, Task, rows_of
from gridcrux.corpus.workers import cores, in_order, workers_at
from gridcrux.grids.layout import Layout, usual
from gridcrux.grids.rich import facts
from gridcrux.grids.sources import open_source
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.repertoires import FIRST_FAMILY

BATCH, SLOW_BATCH = 1024, 8
"""Puzzles measured in one call; and where that takes long, so that the progress bar moves on."""

PART, SLOW_PART = 16 * BATCH, 16 * SLOW_BATCH
"""Rows of a Parquet part: what is lost of the work when a run is killed."""

SMALL, SMALL_AND_SLOW = 4096, 8
"""Puzzles that are measured in this process, as it would take longer to start others."""

POLICY = "easiest technique first, lowest rule first"


def study(
    puzzles: Iterable[str | State | Sequence[int]],
    *,
    layout: Layout | None = None,
    repertoire: Repertoire = FIRST_FAMILY,
    limit: int = SOLUTION_LIMIT,
    seconds: float | None = SECONDS,
    needs: Needs | None = None,
    widths: bool = False,
    further: Further | None = None,
    workers: int | None = None,
    progress: bool = False,
) -> pd.DataFrame:
    """Measure puzzles that are in memory; one row each, in their order.

    Parameters
    ----------
    puzzles : as text, as states (of which the givens are taken), or as digits with 0 for a blank.
    layout : None to tell it from the number of cells.
    repertoire, limit, seconds, needs, widths, further : what is measured; see
        `tasks.Asked`.
    workers : processes; None for one a core, or none but this one where that takes less time.
    progress : show a progress bar on standard error.

    Returns
    -------
    DataFrame with the columns of `columns.columns_of(repertoire, needs is not None, widths)`, and
    those of `further`.

    Raises
    ------
    PuzzleError : a text is no puzzle.
    ValueError : givens contradict each other, or do not fit the layout.
    WorkersLost : the processes died again and again.
    """
    asked = Asked(repertoire, limit, seconds, needs, widths, further)
    states = [_as_state(puzzle, layout, f"puzzle {i + 1}") for i, puzzle in enumerate(puzzles)]
    tasks = list(_tasks_of(states, SLOW_BATCH if asked.slow else BATCH))
    count = _how_many(workers, len(states), asked.slow)
    frames = []
    with (
        tqdm(total=len(states), unit="puzzle", disable=_quiet(progress)) as bar,
        workers_at(None, min(count, max(1, len(tasks)))) as pool,
    ):
        for _, frame in in_order(partial(rows_of, asked=asked), ((None, t) for t in tasks), pool):
            frames.append(frame)
            bar.update(len(frame))
    if not frames:
        return rows_of(Task("memory", [], [], [], [], np.zeros((0, 81), np.int8), usual(9)), asked)
    return pd.concat(frames, ignore_index=True)


def _tasks_of(states: list[State], batch: int) -> Iterator[Task]:
    number = 1
    for layout, group in groupby(states, key=lambda state: state.layout):
        same = list(group)
        for start in range(0, len(same), batch):
            part = same[start : start + batch]
            lines = list(range(number, number + len(part)))
            number += len(part)
            digits = np.array([state.puzzle for state in part], np.int8)
            ones, none = [1.0] * len(part), [""] * len(part)
            yield Task("memory", [str(line) for line in lines], lines, ones, none, digits, layout)


@dataclass(frozen=True)
class StudyRun:
    """What a run over files left behind.

    Attributes
    ----------
    puzzles, rejected : rows in the table, and lines set aside.
    resumed : how many of these rows an earlier run had left.
    table : folder of Parquet parts; ``pandas.read_parquet(run.table)`` reads them all.
    rejects : CSV file with source, line, column, reason and text of the lines set aside.
    interrupted : whether it was stopped before the end.
    seconds : wall time.
    """

    puzzles: int
    rejected: int
    resumed: int
    table: Path
    rejects: Path
    interrupted: bool
    seconds: float

    def frame(self, columns: Sequence[str] | None = None) -> pd.DataFrame:
        """The table, or some of its columns, which saves memory where there are many rows."""
        return pd.read_parquet(self.table, columns=None if columns is None else list(columns))

    def _repr_html_(self) -> str:
        return facts(vars(self))


def study_files(
    sources: Sequence[str],
    out: str | os.PathLike[str],
    *,
    layout: Layout | None = None,
    repertoire: Repertoire = FIRST_FAMILY,
    limit: int = SOLUTION_LIMIT,
    seconds: float | None = SECONDS,
    needs: Needs | None = None,
    widths: bool = False,
    further: Further | None = None,
    workers: int | None = None,
    scheduler: str | None = None,
    progress: bool = True,
) -> StudyRun:
    """Measure the puzzles of files into a folder; lines that are no puzzle are set aside.

    The folder receives `table/` (Parquet parts), `rejects.csv` and `manifest.json`, which says
    how the table was made and what its columns mean.  On Ctrl-C the rows so far are kept; however
    a run ends, the same call goes on with the parts that are not there yet.

    Parameters
    ----------
    sources : paths, packed or not; '-' for the standard input.
    out : folder, made if missing.
    repertoire, limit, seconds, needs, widths, further : what is measured; see
        `tasks.Asked`.
    workers : processes; None for one a core, or none but this one where that takes less time.
    scheduler : address of a Dask scheduler, whose workers measure instead.

    Raises
    ------
    StudyExists : the folder holds a study of something else.
    PuzzleError : a source is missing or empty.
    ValueError : a source is named twice.
    WorkersLost : the processes died again and again, or the cluster cannot be used.
    """
    began = time.monotonic()
    asked = Asked(repertoire, limit, seconds, needs, widths, further)
    total = _lines_ahead(sources)
    interrupted = finished = False
    _check_sources(sources)
    with ExitStack() as stack:
        count = _how_many(workers, total, asked.slow)
        more = not set(repertoire.names) <= set(FIRST_FAMILY.names)
        if count > 1 and scheduler is None and (asked.slow or more):
            # What is compiled here once, beyond what any study needs, other processes find ready.
            compile_for(asked)
        pool = stack.enter_context(workers_at(scheduler, count))
        folder = StudyFolder(Path(out), _manifest(sources, layout, asked))
        quiet = _quiet(progress)
        bar = stack.enter_context(tqdm(total=total, unit="line", disable=quiet, smoothing=0.05))
        run = _Run(asked, layout, folder, bar)
        try:
            work = partial(rows_of, asked=asked)
            for numbered, frame in in_order(work, run.tasks(sources), pool):
                run.take(numbered, frame)
            bar.update(max(0, (total or bar.n) - bar.n))
            finished = True
        except KeyboardInterrupt:
            interrupted = True
        finally:
            run.leave()
            folder.close(run.found if finished else None, run.parts)
    return StudyRun(
        run.rows,
        run.rejected,
        run.resumed,
        folder.table,
        folder.rejects,
        interrupted,
        time.monotonic() - began,
    )


def _check_sources(sources: Sequence[str]) -> None:
    """Make sure that files can be read before anything is begun.

    Raises
    ------
    PuzzleError : one is missing or empty.
    ValueError : one is named twice.
    """
    for source in sources:
        if sources.count(source) > 1:
            raise ValueError(f"{source} is named twice; its puzzles would count twice")
        if source != "-":
            open_source(source).close()


def compile_for(asked: Asked) -> None:
    """Compile what a study needs, or load it, by measuring a tiny puzzle."""
    digits = np.array([[1, 2, 3, 4, 3, 4, 1, 2, 2, 1, 4, 3, 0, 0, 0, 0]], np.int8)
    rows_of(Task("memory", ["1"], [1], [1.0], [""], digits, usual(4)), asked)


def _manifest(sources: Sequence[str], layout: Layout | None, asked: Asked) -> dict[str, Any]:
    """How a study is made and what its columns mean, as JSON can hold it."""
    packages = ["gridcrux", "numpy", "numba", "pandas", "pyarrow"]
    if asked.further is not None:
        packages += asked.further.packages
    return {
        "sources": list(sources),
        "made": {source: made for source in sources if (made := made_as_stated(Path(source)))},
        "layout": layout.name if layout else None,
        **asked.as_dict(),
        "policy": POLICY,
        "versions": {name: version(name) for name in packages},
        "columns": asked.columns,
    }


class _Numbered(NamedTuple):
    """A part, its number among those of all sources, and the lines read before its source."""

    number: int
    part: Part
    before: int


class _Run:
    """What a run over files knows of its progress.

    Attributes
    ----------
    rows, rejected, resumed, parts : counts so far; `resumed` rows were there before.
    found : puzzles and rejects of each source that has been read to its end.
    """

    def __init__(self, asked: Asked, layout: Layout | None, folder: StudyFolder, bar: Any) -> None:
        self.layout, self.folder, self.bar = layout, folder, bar
        self.size, self.batch = (SLOW_PART, SLOW_BATCH) if asked.slow else (PART, BATCH)
        self.rows = self.rejected = self.resumed = self.parts = 0
        self.found: list[dict[str, Any]] = []
        self._begun: _Numbered | None = None
        self._frames: list[pd.DataFrame] = []

    def tasks(self, sources: Sequence[str]) -> Iterator[tuple[_Numbered, Task]]:
        """The tasks of all parts that the folder has not got yet."""
        before = 0
        for source in sources:
            self.bar.set_description(Path(source).name if source != "-" else "standard input")
            found: dict[str, Any] = {"source": source, "puzzles": 0, "rejected": 0}
            line = 0
            with open_source(source) as stream:
                for part in parts_of(stream, source, self.layout, self.size, self.batch):
                    numbered = _Numbered(self.parts, part, before)
                    line = part.line
                    self.parts += 1
                    found["puzzles"] += part.puzzles
                    found["rejected"] += len(part.rejects)
                    if self.folder.has(numbered.number, part):
                        self.rows += part.puzzles
                        self.resumed += part.puzzles
                        self.rejected += len(part.rejects)
                        self._show(before + line)
                    else:
                        yield from ((numbered, task) for task in part.tasks)
            self.found.append(found)
            before += line

    def take(self, numbered: _Numbered, frame: pd.DataFrame) -> None:
        """Take the rows of a task; write its part if they are the last."""
        self._begun = numbered
        self._frames.append(frame)
        if len(self._frames) == len(numbered.part.tasks):
            self._write(whole=True)
            self.rejected += len(numbered.part.rejects)
            self._show(numbered.before + numbered.part.line)
        elif len(frame):
            self._show(numbered.before + int(frame["line"].iloc[-1]))

    def leave(self) -> None:
        """Write what there is of a part that will not be completed now."""
        if self._frames:
            self._write(whole=False)

    def _write(self, whole: bool) -> None:
        assert self._begun is not None
        frame = pd.concat(self._frames, ignore_index=True)
        self.folder.add(self._begun.number, self._begun.part, frame, whole)
        self.rows += len(frame)
        self._frames = []

    def _show(self, line: int) -> None:
        self.bar.update(max(0, line - self.bar.n))


def _how_many(workers: int | None, puzzles: int | None, slow: bool) -> int:
    """Processes to be used where so many are asked for; one a core, if None and worth it."""
    if workers is not None:
        return workers
    small = puzzles is not None and puzzles <= (SMALL_AND_SLOW if slow else SMALL)
    return 1 if small else cores()


def _quiet(progress: bool) -> bool | None:
    """What tqdm takes for it: no bar where none is asked for, or where it would fill a file."""
    return None if progress else True


def _as_state(puzzle: str | State | Sequence[int], layout: Layout | None, name: str) -> State:
    if isinstance(puzzle, State):
        return puzzle
    if isinstance(puzzle, str):
        return read_puzzle(puzzle, layout, name)
    return State.from_digits(puzzle, layout)


def _lines_ahead(sources: Sequence[str]) -> int | None:
    """Lines in all sources, so that a progress bar can tell the time left; None if unknown."""
    total = 0
    for source in sources:
        if source == "-" or Path(source).suffix in (".gz", ".bz2", ".xz"):
            return None
        with open(source, "rb") as stream:
            while chunk := stream.read(1 << 20):
                total += chunk.count(b"\n")
    return total
