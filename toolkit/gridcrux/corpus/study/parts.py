"""A source cut into parts: the same puzzles in the same parts, however the source is read."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from itertools import groupby
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.corpus.study.tasks import Task
from gridcrux.grids.layout import NINE, Layout, usual
from gridcrux.grids.lines import Entry, Reject
from gridcrux.grids.sources import Lines
from gridcrux.grids.stream import read_batches


class Part(NamedTuple):
    """Puzzles of a source that are written into one file, and the lines set aside among them.

    Attributes
    ----------
    tasks : the puzzles, one call's worth each; at least one task, which may be empty.
    fingerprint : tells parts with other content apart.
    line : how far the source has been read.
    """

    tasks: list[Task]
    rejects: list[Reject]
    fingerprint: str
    line: int

    @property
    def puzzles(self) -> int:
        return sum(len(task.ids) for task in self.tasks)


def parts_of(
    lines: Lines, source: str, layout: Layout | None, size: int, batch: int
) -> Iterator[Part]:
    """Cut a source into parts.

    Parameters
    ----------
    lines : what to read; see `stream.read_batches`.
    size : puzzles of a part.
    batch : puzzles of a task at most.

    Raises
    ------
    PuzzleError : there is nothing in the source, or it cannot be read to its end.
    """
    entries: list[Entry] = []
    rejects: list[Reject] = []
    for found in read_batches(lines, source, layout):
        entries += found.entries
        rejects += found.rejects
        # One more puzzle than a part has tells where the next one starts.
        while len(entries) > size:
            end = entries[size].number
            yield _part(source, layout, entries[:size], [r for r in rejects if r.line < end], batch)
            entries = entries[size:]
            rejects = [reject for reject in rejects if reject.line >= end]
    yield _part(source, layout, entries, rejects, batch)


def _part(
    source: str, layout: Layout | None, entries: list[Entry], rejects: list[Reject], batch: int
) -> Part:
    name = layout.name if layout else ""
    digest = hashlib.sha256(repr((source, name, entries, rejects)).encode())
    tasks = []
    for cells, group in groupby(entries, key=lambda entry: len(entry.digits)):
        same = list(group)
        each = layout or usual(round(cells**0.5))
        tasks += [_task(source, same[at : at + batch], each) for at in range(0, len(same), batch)]
    last = max([0, *(entry.number for entry in entries[-1:]), *(r.line for r in rejects[-1:])])
    tasks = tasks or [_task(source, [], layout or NINE)]
    return Part(tasks, rejects, digest.hexdigest(), last)


def _task(source: str, entries: list[Entry], layout: Layout) -> Task:
    return Task(
        source,
        [entry.id for entry in entries],
        [entry.number for entry in entries],
        [entry.weight for entry in entries],
        [entry.group for entry in entries],
        _digits_of([entry.digits for entry in entries], layout),
        layout,
    )


def _digits_of(puzzles: list[bytes], layout: Layout) -> NDArray[np.int8]:
    """(N, n*n) puzzles given as a byte for each cell."""
    return np.frombuffer(bytearray().join(puzzles), np.int8).reshape(-1, layout.cells)
