"""The rows of a study, in memory or in Parquet parts, a batch of some columns at a time."""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Iterator, Sequence
from difflib import get_close_matches
from math import isqrt
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.dataset as arrow
from numpy.typing import NDArray

from gridcrux.corpus.columns import NEEDS, WIDTHS, steps_column
from gridcrux.corpus.sample import SYMMETRIES, symmetric_cells
from gridcrux.grids.layout import SYMBOLS, USUAL, Layout, latin, named, usual
from gridcrux.grids.symbols import table
from gridcrux.logic.wording import listing
from gridcrux.techniques.repertoires import LEVELS

BATCH = 1 << 16
"""Rows looked at in one go."""

Digits = NDArray[np.int8]
Study = pd.DataFrame | str | os.PathLike[str]


class NoStudy(ValueError):
    """A folder that holds no study, or a table that is none."""


class UnknownColumn(ValueError):
    """A name that is no column of the table.

    The message gives the nearest names, or says which study would have the column.
    """

    def __init__(self, name: str, columns: Iterable[str]) -> None:
        columns = list(columns)
        close = get_close_matches(name, columns, 3, 0.6)
        nearest = get_close_matches(name, dict.fromkeys([*columns, *_COMES_WITH]), 1, 0.6)
        if nearest and nearest[0] not in columns:
            hint = f"{nearest[0]} comes with 'gridcrux study {_COMES_WITH[nearest[0]]}'"
        elif close:
            hint = f"did you mean {listing(close, 'or')}?"
        else:
            plain = [each for each in columns if not each.startswith("steps_")]
            hint = f"there are {', '.join(plain)}"
            hint += "" if len(plain) == len(columns) else " and steps_<technique>"
        super().__init__(f"no column {name!r} in this study; {hint}")


_COMES_WITH = (
    dict.fromkeys(NEEDS, "--needs")
    | dict.fromkeys(WIDTHS, "--widths")
    | {
        steps_column(technique): f"--level {level}"
        for level, techniques in reversed(LEVELS.items())
        for technique in techniques
    }
)
"""For columns that not every study has, the option that adds them: for steps the first level
with the technique."""


class Rows:
    """The rows of a study.

    Attributes
    ----------
    schema : names and types of the columns.
    manifest : what the folder says of how it was made; empty for a table in memory.

    Raises
    ------
    NoStudy : there is no table, or no column `puzzle` in it.
    """

    def __init__(self, study: Study) -> None:
        self.manifest: dict[str, Any] = {}
        if isinstance(study, pd.DataFrame):
            try:
                self._rows = arrow.dataset(pa.Table.from_pandas(study, preserve_index=False))
            except pa.ArrowException as error:
                raise NoStudy(f"no table of plain columns: {error}") from error
        else:
            self._rows = arrow.dataset(part_files(study), format="parquet")
            manifest = Path(study) / "manifest.json"
            if manifest.exists():
                self.manifest = json.loads(manifest.read_text(encoding="utf-8"))
        self.schema = self._rows.schema
        if "puzzle" not in self.schema.names:
            found = ", ".join(self.schema.names) or "none"
            raise NoStudy(f"no study of puzzles: expected a column 'puzzle', found {found}")

    def __len__(self) -> int:
        return int(self._rows.count_rows())

    def checked(self, *columns: str) -> tuple[str, ...]:
        """These columns, which must be there.

        Raises
        ------
        UnknownColumn : one is not.
        """
        for name in columns:
            if name not in self.schema.names:
                raise UnknownColumn(name, self.schema.names)
        return columns

    def having(self, *columns: str) -> list[str]:
        """Those of these columns that there are, in the order of the table."""
        return [name for name in self.schema.names if name in columns]

    def layouts(self) -> list[str]:
        """The names of all layouts, as far as a column tells them."""
        names: dict[str, None] = {}
        for batch in self.batches(self.having("layout")):
            names |= dict.fromkeys(
                batch.column(0).unique().to_pylist() if batch.num_columns else ()
            )
        return list(names)

    def batches(self, columns: Sequence[str]) -> Iterator[pa.RecordBatch]:
        """Some columns of all rows, in their order."""
        yield from self._rows.to_batches(columns=list(columns), batch_size=BATCH)

    def frame(self, columns: Sequence[str]) -> pd.DataFrame:
        """Some columns of all rows, as pandas has them."""
        table = self._rows.to_table(columns=list(columns))
        if "source" in columns:
            place = table.column_names.index("source")
            # Few different names, many rows.
            table = table.set_column(place, "source", table["source"].dictionary_encode())
        frame: pd.DataFrame = table.to_pandas()
        return frame

    def take(self, numbers: NDArray[np.int64], columns: Sequence[str] | None = None) -> pa.Table:
        """The rows with these numbers, in this order."""
        wanted = None if columns is None else list(columns)
        return self._rows.take(pa.array(numbers, pa.int64()), columns=wanted)


def part_files(folder: str | os.PathLike[str]) -> list[str]:
    """The Parquet parts of a study, in their order.

    Raises
    ------
    NoStudy : there are none.
    """
    root = Path(folder)
    # Names with a dot before them are parts that are not done.
    parts = sorted((root / "table").glob("[!.]*.parquet")) or sorted(root.glob("[!.]*.parquet"))
    if not parts:
        what = "there is no such folder" if not root.exists() else "no study in it"
        raise NoStudy(f"{root}: {what}; expected a folder made by 'gridcrux study'")
    return [str(part) for part in parts]


def by_layout(rows: pa.RecordBatch | pa.Table) -> Iterator[tuple[str, NDArray[np.intp], Digits]]:
    """The puzzles of some rows by layout: its name, which rows, and their givens.

    Without a column `layout` the number of cells tells it.

    Raises
    ------
    NoStudy : a puzzle is no line of symbols.
    """
    puzzles = rows.column("puzzle").to_pandas()
    if "layout" in rows.schema.names:
        names = rows.column("layout").to_pandas()
    else:
        names = puzzles.str.len().map(
            lambda cells: usual(isqrt(cells)).name if isqrt(cells) in USUAL else f"{cells} cells"
        )
    for name in names.unique().tolist():
        which = np.flatnonzero((names == name).to_numpy())
        yield str(name), which, _digits(puzzles.iloc[which].tolist())


def _digits(lines: list[str]) -> Digits:
    """(N, cells) the givens of puzzles of one layout, 0 for a blank."""
    cells = len(lines[0])
    n = isqrt(cells)
    wrong = f"no study of puzzles: {lines[0][:100]!r} is no line of n*n symbols"
    if n * n != cells or not n or any(len(line) != cells for line in lines):
        raise NoStudy(wrong)
    digits = np.frombuffer("".join(lines).encode().translate(table(n)), np.uint8)
    if digits.size != cells * len(lines) or digits.max() > n:
        raise NoStudy(wrong)
    return digits.view(np.int8).reshape(len(lines), cells)


def lines_of(digits: Digits) -> list[str]:
    """Each row of digits as one line, '.' for a blank."""
    symbols = np.frombuffer(b"." + SYMBOLS.encode(), np.uint8)[digits]
    return [row.tobytes().decode() for row in symbols]


def records_of(table: pd.DataFrame) -> list[dict[str, Any]]:
    """The rows of a table as JSON can hold them; what is missing is null."""
    rows: list[dict[str, Any]] = json.loads(table.to_json(orient="records", double_precision=15))
    return rows


def layout_of(name: str) -> Layout | None:
    """The layout of that name, None for one that only its maker knows."""
    try:
        return named(name)
    except ValueError:
        return None


def symmetries_of(digits: Digits) -> dict[str, NDArray[np.bool_]]:
    """For each symmetry but none, whether the patterns of givens of N puzzles have it, (N,)."""
    given = digits > 0
    square = latin(isqrt(digits.shape[1]))
    return {
        name: np.all(
            [(given[:, image] == given).all(axis=1) for image in symmetric_cells(square, name).T],
            axis=0,
        )
        for name in SYMMETRIES[1:]
    }
