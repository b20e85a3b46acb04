"""Which puzzles were used before: lists of them, and keys that are equal for puzzles alike."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from gridcrux.corpus.files import moved
from gridcrux.corpus.rows import Digits, layout_of
from gridcrux.grids.canonical import canonical_batch, shape_of
from gridcrux.grids.layout import USUAL, Layout
from gridcrux.grids.sources import PuzzleError, no_puzzle, open_source
from gridcrux.grids.stream import read_batches

HEAD = ("id", "puzzle", "layout")
"""Columns of a new list."""

_PACKED = (".gz", ".bz2", ".xz")


class Alike:
    """Gives puzzles keys: equal if a symmetry of the layout and of the digits maps one to another.

    Attributes
    ----------
    exactly : names of layouts met whose symmetries are not known; there only the same is alike.
    """

    def __init__(self) -> None:
        self.exactly: set[str] = set()

    def keys(self, name: str, digits: Digits) -> list[bytes]:
        """A key for each of N puzzles of a layout."""
        layout, forms = layout_of(name), digits
        if layout is not None and has_symmetries(layout):
            forms, _ = canonical_batch(digits, layout)
        else:
            self.exactly.add(name)
        return [name.encode() + form.tobytes() for form in forms]


def has_symmetries(layout: Layout) -> bool:
    """Whether puzzles of a layout can be compared up to its symmetries."""
    try:
        shape_of(layout)
    except ValueError:
        return False
    return True


class Used:
    """The puzzles of some lists.

    Attributes
    ----------
    number : puzzles read.
    notes : what the lists had beside puzzles, in a sentence each.
    """

    def __init__(self) -> None:
        self.number = 0
        self.notes: list[str] = []
        self._by_size: dict[int, list[Digits]] = {}

    def read(self, path: str, layouts: Iterable[Layout]) -> None:
        """Add the puzzles of a file; what the number of cells does not tell is in `layouts`.

        Raises
        ------
        PuzzleError : the file is missing or damaged.
        """
        rejected: set[int] | None = None
        readings = [None, *(each for each in layouts if each.size not in USUAL)]
        for layout in readings:
            lines = set()
            try:
                with open_source(path) as stream:
                    for batch in read_batches(stream, path, layout):
                        lines |= {reject.line for reject in batch.rejects}
                        if len(batch.digits):
                            self.number += len(batch.digits)
                            known = self._by_size.setdefault(batch.digits.shape[1], [])
                            known.append(batch.digits)
            except PuzzleError as error:
                if str(error) != str(no_puzzle(path)):
                    raise
                self.notes.append(f"{path}: no puzzle in it")
                return
            rejected = lines if rejected is None else rejected & lines
        if rejected:
            some = "1 line is" if len(rejected) == 1 else f"{len(rejected):,} lines are"
            self.notes.append(f"{path}: {some} no puzzle")

    def keys(self, name: str, cells: int, alike: Alike) -> set[bytes]:
        """The keys of these puzzles as puzzles of a layout."""
        found: set[bytes] = set()
        for digits in self._by_size.get(cells, ()):
            found.update(alike.keys(name, digits))
        return found


def append_used(path: str | os.PathLike[str], rows: Sequence[Mapping[str, Any]]) -> None:
    """Add puzzles to the end of a list, all or none of them; a list that is missing is made.

    A table gets the columns that it has and the rows tell; other lists get a line a puzzle.

    Parameters
    ----------
    rows : of each the `puzzle` as a line, and what else is known (`id`, `layout`, ...).

    Raises
    ------
    PuzzleError : the list is packed, or is no file.
    OSError : it cannot be written.
    """
    target = Path(path).resolve()
    if target.suffix.lower() in _PACKED:
        raise PuzzleError(str(path), None, None, "cannot add to a packed file; unpack it first")
    if target.exists() and not target.is_file():
        raise PuzzleError(str(path), None, None, "this is no file; expected a list of puzzles")
    before = target.read_bytes() if target.exists() else b""
    end = "\r\n" if b"\r\n" in before else "\n"
    text = io.StringIO()
    writer = csv.writer(text, lineterminator=end)
    names = _head(before)
    if not before.strip():
        writer.writerow(HEAD)
        names = list(HEAD)
    elif not before.endswith((b"\n", b"\r")):
        text.write(end)
    for row in rows:
        if names is None:
            text.write(f"{row['puzzle']} {row.get('id', '')}".rstrip() + end)
        else:
            writer.writerow([row.get(name, "") for name in names])
    with moved(target) as beside:
        beside.write_bytes(before + text.getvalue().encode())


def _head(content: bytes) -> list[str] | None:
    """The names of the columns of a table, None for a list that is no table."""
    for line in content.decode("utf-8-sig", "replace").splitlines():
        if line.strip() and not line.lstrip().startswith("#"):
            names = [name.strip().lower() for name in next(csv.reader([line]))]
            return names if "puzzle" in names else None
    return None
