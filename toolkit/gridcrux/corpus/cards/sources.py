"""Where the puzzles of a data card come from, and what stands beside them."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.corpus.columns import COLUMNS
from gridcrux.corpus.rows import Digits, Rows, by_layout, part_files
from gridcrux.corpus.statements import made_as_stated
from gridcrux.grids.layout import Layout, usual
from gridcrux.grids.sources import PuzzleError, open_source
from gridcrux.grids.stream import read_batches

SHOWN_REJECTS = 3
"""Rejected lines that a card shows."""

SOURCE_COLUMNS = {
    "id": "name of the puzzle",
    "puzzle": "givens row by row, '.' for a blank",
    "givens": "number of givens",
    "symmetry": "symmetry that the pattern of givens was made with",
    "index": "number of the puzzle in the sample of its seed",
    "solution": "digits of the solution row by row",
    "weight": "how much the puzzle counts in its sample",
    "group": "puzzles of one group depend on each other",
    "layout": "name of the layout",
}
"""Meaning of columns that files of puzzles often have."""


class Some(NamedTuple):
    """Puzzles of one layout."""

    layout: str
    digits: Digits
    weights: NDArray[np.float64]


class PuzzleFile:
    """A file of puzzles, and what stands beside it."""

    def __init__(self, path: Path, layout: Layout | None) -> None:
        self.path = path
        self.layout = layout
        self.files = [path]
        self.rejects = 0
        self.some_rejects: list[str] = []
        if str(path) == "-":
            raise PuzzleError("-", None, None, "a card is made of a file; expected its name")
        with open_source(path) as stream:
            names = _head(stream.readline(1 << 16))
        self.made = made_as_stated(path)
        stated = self.made.get("columns")
        stated = stated if isinstance(stated, dict) else {}
        self.columns = {name: str(stated.get(name, SOURCE_COLUMNS.get(name, ""))) for name in names}

    def batches(self) -> Iterator[Some]:
        with open_source(self.path) as stream:
            for batch in read_batches(stream, str(self.path), self.layout):
                self.rejects += len(batch.rejects)
                room = SHOWN_REJECTS - len(self.some_rejects)
                for reject in batch.rejects[:room]:
                    place = f"line {reject.line}, column {reject.column}"
                    self.some_rejects.append(f"{place}: {reject.reason}")
                if len(batch.digits):
                    each = self.layout or usual(round(batch.digits.shape[1] ** 0.5))
                    weights = np.array([entry.weight for entry in batch.entries])
                    yield Some(each.name, batch.digits, weights)


class StudyTable:
    """The folder of a study."""

    def __init__(self, folder: Path) -> None:
        self.rows = Rows(folder)
        self.files = [Path(part) for part in part_files(folder)]
        said = self.rows.manifest
        known = said.get("columns", {})
        self.columns = {n: known.get(n, COLUMNS.get(n, "")) for n in self.rows.schema.names}
        self.made = {"method": "gridcrux study"} if said else {}
        self.made |= {name: value for name, value in said.items() if name != "columns"}
        self.rejects = 0
        self.some_rejects: list[str] = []
        aside = folder / "rejects.csv"
        if aside.exists():
            with aside.open(newline="", encoding="utf-8") as stream:
                for row in csv.DictReader(stream):
                    self.rejects += 1
                    if self.rejects <= SHOWN_REJECTS:
                        place = f"{row['source']}, line {row['line']}, column {row['column']}"
                        self.some_rejects.append(f"{place}: {row['reason']}")

    def batches(self) -> Iterator[Some]:
        columns = self.rows.having("layout", "puzzle", "weight")
        for batch in self.rows.batches(columns):
            weights = np.ones(batch.num_rows)
            if "weight" in columns:
                weights = np.nan_to_num(np.asarray(batch.column("weight"), np.float64))
            for name, which, digits in by_layout(batch):
                yield Some(name, digits, weights[which])


def _head(line: bytes) -> list[str]:
    """The names of the columns of a table, none for another file."""
    names = next(csv.reader([line.decode("utf-8-sig", "replace").strip("\r\n")]), [])
    names = [name.strip() for name in names]
    return names if "puzzle" in (name.lower() for name in names) else []
