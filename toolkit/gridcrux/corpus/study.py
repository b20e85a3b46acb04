"""Study many puzzles: one row each, as a DataFrame or as Parquet files beside their rejects.

Puzzles stream through: batches are read, measured by as many threads as there are cores (the
compiled code holds no lock), and written in the order of the source, so memory does not grow
with the corpus and the result does not depend on the number of workers.
"""

from __future__ import annotations

import csv
import json
import os
import time
from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from importlib.metadata import version
from itertools import groupby
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from tqdm import tqdm

from gridcrux.corpus.columns import columns_of, steps_column
from gridcrux.corpus.measure import (
    AFTER_SINGLES,
    BACKBONE,
    ESSENTIAL_STEPS,
    HARD,
    IDLE_STEPS,
    MISSING,
    NODES,
    REPLACEABLE_STEPS,
    SOLUTIONS,
    STATUS,
    STEPS,
    WIDEST,
    Measures,
    measure,
)
from gridcrux.corpus.needs import Needs, needs_frame
from gridcrux.grids.layout import SYMBOLS, Layout, usual
from gridcrux.grids.lines import Reject
from gridcrux.grids.sources import open_source
from gridcrux.grids.state import State
from gridcrux.grids.stream import read_batches
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.records import STATUS_NAMES
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.repertoires import FIRST_FAMILY

BATCH = 1024
"""Puzzles measured in one call."""

SLOW_BATCH = 16
"""The same where their needs are measured, so that the progress bar moves on."""

PART = 64 * BATCH
"""Rows of a Parquet part; an interrupted run keeps all parts and what it has beside them."""

SOLUTION_LIMIT = 2
"""Solutions counted when nothing else is asked: enough to tell one from several."""


def study(
    puzzles: Iterable[str | State | Sequence[int]],
    *,
    layout: Layout | None = None,
    repertoire: Repertoire = FIRST_FAMILY,
    limit: int = SOLUTION_LIMIT,
    needs: Needs | None = None,
    workers: int | None = None,
    progress: bool = False,
) -> pd.DataFrame:
    """Measure puzzles that are in memory; one row each, in their order.

    Parameters
    ----------
    puzzles : as text, as states (of which the givens are taken), or as digits with 0 for a blank.
    layout : None to tell it from the number of cells.
    repertoire : what the human solver knows.
    limit : solutions counted at most.
    needs : also find out what puzzles need at least, which takes some tenths of a second for one.
    workers : threads; None for one a core.
    progress : show a progress bar on standard error.

    Returns
    -------
    DataFrame with the columns of `columns.columns_of(repertoire, needs is not None)`.

    Raises
    ------
    PuzzleError : a text is no puzzle.
    ValueError : givens contradict each other, or do not fit the layout.
    """
    states = [_as_state(puzzle, layout, f"puzzle {i + 1}") for i, puzzle in enumerate(puzzles)]
    tasks = []
    number, batch = 1, SLOW_BATCH if needs else BATCH
    for each, group in groupby(states, key=lambda state: state.layout):
        same = list(group)
        for start in range(0, len(same), batch):
            part = same[start : start + batch]
            lines = list(range(number, number + len(part)))
            number += len(part)
            digits = np.array([state.puzzle for state in part], np.int8)
            tasks.append(_Task("memory", [str(line) for line in lines], lines, digits, each, []))
    frames = []
    with tqdm(total=len(states), unit="puzzle", disable=_quiet(progress)) as bar:
        for _, frame in _measured(iter(tasks), repertoire, limit, needs, workers):
            frames.append(frame)
            bar.update(len(frame))
    if not frames:
        none = np.zeros((0, 81), np.int8)
        nothing = _Task("memory", [], [], none, usual(9), [])
        return _measure_task(nothing, repertoire, limit, needs)
    return pd.concat(frames, ignore_index=True)


@dataclass(frozen=True)
class StudyRun:
    """What a run over files left behind.

    Attributes
    ----------
    puzzles, rejected : rows written to the table, and lines set aside.
    table : folder of Parquet parts; ``pandas.read_parquet(run.table)`` reads them all.
    rejects : CSV file with source, line, column, reason and text of the lines set aside.
    interrupted : whether it was stopped before the end.
    seconds : wall time.
    """

    puzzles: int
    rejected: int
    table: Path
    rejects: Path
    interrupted: bool
    seconds: float

    def frame(self, columns: Sequence[str] | None = None) -> pd.DataFrame:
        """The table, or some of its columns, which saves memory where there are many rows."""
        return pd.read_parquet(self.table, columns=None if columns is None else list(columns))


class StudyExists(ValueError):
    """The folder holds a study that was asked for in another way."""


def study_files(
    sources: Sequence[str],
    out: str | os.PathLike[str],
    *,
    layout: Layout | None = None,
    repertoire: Repertoire = FIRST_FAMILY,
    limit: int = SOLUTION_LIMIT,
    needs: Needs | None = None,
    workers: int | None = None,
    progress: bool = True,
) -> StudyRun:
    """Measure the puzzles of files into a folder; lines that are no puzzle are set aside.

    The folder receives `table/` (Parquet parts), `rejects.csv` and `manifest.json`, which says
    how the table was made and what its columns mean.  On Ctrl-C the rows so far are kept.

    Parameters
    ----------
    sources : paths, packed or not; '-' for the standard input.
    out : folder, made if missing.  A study in it is replaced if it was asked for in the same
        words, as it would come out the same.

    Raises
    ------
    StudyExists : the folder holds a study of something else.
    PuzzleError : a source is missing or empty.
    """
    began = time.monotonic()
    folder = Path(out)
    manifest = {
        "sources": list(sources),
        "layout": layout.name if layout else None,
        "repertoire": list(repertoire.names),
        "limit": limit,
        "policy": "easiest technique first, lowest rule first",
        "versions": {name: version(name) for name in ("gridcrux", "numpy", "numba", "pandas")},
        "needs": None if needs is None else needs.as_dict(),
        "columns": columns_of(repertoire, needs is not None),
    }
    openings = [(source, open_source(source)) for source in sources]
    writer = _Writer(folder, manifest)
    interrupted = False
    total = _lines_ahead(sources)
    try:
        with (
            writer,
            tqdm(total=total, unit="line", disable=_quiet(progress), smoothing=0.05) as bar,
        ):
            for source, stream in openings:
                bar.set_description(Path(source).name if source != "-" else "standard input")
                done = bar.n
                with stream:
                    tasks = _tasks(source, stream, layout, SLOW_BATCH if needs else BATCH)
                    for task, frame in _measured(tasks, repertoire, limit, needs, workers):
                        writer.add(frame, task.rejects)
                        reached = max([*task.lines[-1:], *(r.line for r in task.rejects[-1:])])
                        bar.update(max(0, done + reached - bar.n))
            bar.update(max(0, (total or bar.n) - bar.n))
    except KeyboardInterrupt:
        interrupted = True
    finally:
        for _, stream in openings:
            stream.close()
    return StudyRun(
        writer.rows,
        writer.rejected,
        writer.table,
        writer.rejects,
        interrupted,
        time.monotonic() - began,
    )


def _quiet(progress: bool) -> bool | None:
    """What tqdm takes for it: no bar where none is asked for, or where it would fill a file."""
    return None if progress else True


@dataclass(frozen=True)
class _Task:
    """Puzzles of one layout, and the lines set aside before them."""

    source: str
    ids: list[str]
    lines: list[int]
    digits: NDArray[np.int8]
    layout: Layout
    rejects: list[Reject]


def _as_state(puzzle: str | State | Sequence[int], layout: Layout | None, name: str) -> State:
    if isinstance(puzzle, State):
        return puzzle
    if isinstance(puzzle, str):
        return read_puzzle(puzzle, layout, name)
    return State.from_digits(puzzle, layout)


def _tasks(source: str, stream: Any, layout: Layout | None, puzzles: int) -> Iterator[_Task]:
    for batch in read_batches(stream, source, layout, puzzles):
        each = layout or usual(round(batch.digits.shape[1] ** 0.5) or 9)
        yield _Task(
            source,
            [entry.id for entry in batch.entries],
            [entry.number for entry in batch.entries],
            batch.digits,
            each,
            batch.rejects,
        )


def _measured(
    tasks: Iterator[_Task],
    repertoire: Repertoire,
    limit: int,
    needs: Needs | None,
    workers: int | None,
) -> Iterator[tuple[_Task, pd.DataFrame]]:
    """Measure tasks side by side and give them back in their order, a few at a time."""
    threads = workers or len(os.sched_getaffinity(0))
    waiting: deque[tuple[_Task, Future[pd.DataFrame]]] = deque()
    with ThreadPoolExecutor(threads) as pool:
        try:
            for task in tasks:
                future = pool.submit(_measure_task, task, repertoire, limit, needs)
                waiting.append((task, future))
                if len(waiting) > 2 * threads:
                    first, done = waiting.popleft()
                    yield first, done.result()
            while waiting:
                first, done = waiting.popleft()
                yield first, done.result()
        finally:
            for _, future in waiting:
                future.cancel()


def _measure_task(
    task: _Task, repertoire: Repertoire, limit: int, needs: Needs | None
) -> pd.DataFrame:
    """The rows of a task, with the columns of `columns_of` in that order."""
    measures = measure(task.digits, task.layout, repertoire, limit)
    frame = _frame(task, measures, repertoire)
    if needs is None:
        return frame
    number = measures.numbers[:, SOLUTIONS]
    # Where one solution was looked for only, nobody knows whether there are more.
    one = np.where(measures.complete, number, 0)
    more = needs_frame(task.digits, task.layout, repertoire, one, needs)
    return pd.concat([frame, more], axis=1)[list(columns_of(repertoire, needs=True))]


def _frame(task: _Task, found: Measures, repertoire: Repertoire) -> pd.DataFrame:
    """The rows of a task without its needs."""
    count = len(task.ids)
    numbers = found.numbers
    judged = numbers[:, STATUS] != MISSING
    status = np.array([*STATUS_NAMES, None], object)[numbers[:, STATUS]]
    names = np.array(repertoire.names)
    data: dict[str, Any] = {
        "id": pd.array(task.ids, dtype="str"),
        "source": pd.array([task.source] * count, dtype="str"),
        "line": np.array(task.lines, np.int64),
        "layout": pd.array([task.layout.name] * count, dtype="str"),
        "puzzle": pd.array(_lines(task.digits), dtype="str"),
        "givens": np.count_nonzero(task.digits, axis=1),
        "solutions": numbers[:, SOLUTIONS],
        "solutions_complete": found.complete,
        "nodes": numbers[:, NODES],
        "backbone": _whole(numbers[:, BACKBONE]),
        "open_after_singles": _whole(numbers[:, AFTER_SINGLES]),
        "status": pd.array(status, dtype="str"),
        "solved": status == STATUS_NAMES[0],
        "steps": _whole(numbers[:, STEPS]),
        "hard_steps": _whole(numbers[:, HARD]),
        "widest_step": _whole(numbers[:, WIDEST]),
        "essential_steps": _whole(numbers[:, ESSENTIAL_STEPS]),
        "replaceable_steps": _whole(numbers[:, REPLACEABLE_STEPS]),
        "idle_steps": _whole(numbers[:, IDLE_STEPS]),
        "essential_techniques": pd.array(
            [
                ", ".join(names[flags]) if known else None
                for flags, known in zip(found.essential, judged, strict=True)
            ],
            dtype="str",
        ),
    }
    for column, technique in enumerate(repertoire):
        data[steps_column(technique)] = _whole(np.where(judged, found.steps[:, column], MISSING))
    return pd.DataFrame(data, columns=list(columns_of(repertoire)))


def _whole(values: NDArray[Any]) -> Any:
    """Whole numbers that may be missing."""
    return pd.arrays.IntegerArray(values.astype(np.int64), values == MISSING)


def _lines(digits: NDArray[np.int8]) -> list[str]:
    """Each row of digits as one line, '.' for a blank."""
    symbols = np.frombuffer(b"." + SYMBOLS.encode(), np.uint8)[digits]
    return [row.tobytes().decode() for row in symbols]


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


class _Writer:
    """Writes rows to Parquet parts and rejects to CSV as they come; closing writes the rest."""

    def __init__(self, folder: Path, manifest: dict[str, Any]) -> None:
        self.folder = folder
        self.table = folder / "table"
        self.rejects = folder / "rejects.csv"
        self.manifest = manifest
        self.rows = self.rejected = self.parts = 0
        self.waiting: list[pd.DataFrame] = []
        self._claim()

    def _claim(self) -> None:
        """Make the folder, or clear it of the same study done before."""
        note = self.folder / "manifest.json"
        if note.exists():
            asked = ("sources", "layout", "repertoire", "limit", "needs")
            before = json.loads(note.read_text())
            if any(before.get(name) != self.manifest[name] for name in asked):
                raise StudyExists(
                    f"{self.folder} holds a study of {', '.join(before.get('sources', []))} with "
                    "other settings; give another folder, or remove this one"
                )
        elif self.table.exists() and any(self.table.iterdir()):
            raise StudyExists(f"{self.table} is not empty; give another folder, or remove it")
        self.table.mkdir(parents=True, exist_ok=True)
        for part in self.table.glob("part-*.parquet"):
            part.unlink()
        note.write_text(json.dumps(self.manifest, indent=2) + "\n")

    def __enter__(self) -> _Writer:
        self.stream = open(self.rejects, "w", newline="", encoding="utf-8")
        self.csv = csv.writer(self.stream)
        self.csv.writerow(Reject._fields)
        return self

    def __exit__(self, *error: object) -> None:
        self._write()
        self.stream.close()

    def add(self, frame: pd.DataFrame, rejects: list[Reject]) -> None:
        self.rejected += len(rejects)
        self.csv.writerows(rejects)
        self.waiting.append(frame)
        if sum(map(len, self.waiting)) >= PART:
            self._write()

    def _write(self) -> None:
        frame = pd.concat(self.waiting) if self.waiting else None
        self.waiting = []
        if frame is None or (frame.empty and self.parts):
            return
        target = self.table / f"part-{self.parts:05d}.parquet"
        frame.to_parquet(target, index=False)
        self.parts += 1
        self.rows += len(frame)
