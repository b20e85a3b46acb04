"""What a line of a stream is: a puzzle, a row of one, a record of a table, nothing, or wrong.

This is the careful way, one line at a time; `stream` takes lines that are plainly a puzzle
past it.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Sequence
from math import inf
from typing import NamedTuple

from gridcrux.grids.layout import USUAL, Layout, usual
from gridcrux.grids.sources import LONGEST, SOME_PUZZLE
from gridcrux.grids.symbols import BAD, GAPS, RULE, SPACE, first_bad, misprint, table

FIELD_ENDS = SPACE + b"\n,;:|#"
"""What may end a puzzle that stands first in a line."""

_FIELD = re.compile(rb"[^" + re.escape(FIELD_ENDS) + rb"]*")
_GAPS_TO_SPACES = bytes.maketrans(GAPS, b" " * len(GAPS))
_SHOWN = 120


class Entry(NamedTuple):
    """A puzzle of a stream.

    Attributes
    ----------
    number : line in which it starts, from 1.
    id : its text in the column `id` of a table, else the line number.
    digits : n*n bytes row by row, 0 for a blank; no house holds a digit twice.
    rest : text behind the puzzle, or the other columns of a table.
    weight : how much it counts in its sample, from the column `weight` of a table, else 1.
    group : puzzles of one group depend on each other; the column `group`, empty if there is none.
    """

    number: int
    id: str
    digits: bytes
    rest: str
    weight: float = 1.0
    group: str = ""


class Reject(NamedTuple):
    """A line or a grid of a stream that is no puzzle.

    Attributes
    ----------
    source : name of the file, or what else the text came from.
    line, column : where the trouble is, in characters, from 1.
    reason : what is wrong and what was expected.
    text : the line, or the field of a table, cut to 120 bytes.
    """

    source: str
    line: int
    column: int
    reason: str
    text: str

    def __str__(self) -> str:
        return f"{self.source}, line {self.line}, column {self.column}: {self.reason}"


class Piece(NamedTuple):
    """Text with cells in it: its line, the characters before it, and the text."""

    line: int
    before: int
    text: bytes


class Found(NamedTuple):
    """An entry whose givens are still to be compared, and where its cells stand."""

    entry: Entry
    pieces: Sequence[Piece]


class _Columns(NamedTuple):
    """Where the columns of a table stand that mean something here; -1 for one it has not."""

    puzzle: int
    id: int
    weight: int
    group: int


class _Shape(NamedTuple):
    """The size of a line that is as long as a puzzle, the length of its first field, its cells."""

    size: int | None
    field: int
    cells: bytes

    def digits(self) -> bytes | None:
        """The digits of a line that is as long as a puzzle and has no misprint."""
        if self.size is None:
            return None
        digits = self.cells.translate(table(self.size))
        return None if BAD in digits else digits


def place(pieces: Sequence[Piece], cell: int) -> tuple[Piece, int]:
    """The piece that holds a cell, and the position of its symbol there."""
    for piece in pieces:
        cells = len(joined(piece.text))
        if cell < cells:
            at = cell
            while len(joined(piece.text[: at + 1])) <= cell:
                at += 1
            return piece, at
        cell -= cells
    raise IndexError("the pieces have fewer cells")


def rest_of(text: bytes) -> str:
    """The text behind a puzzle, without the separator that starts it."""
    text = text.strip(SPACE)
    if text[:1] in (b",", b";", b":", b"|"):
        text = text[1:].strip(SPACE)
    return text.decode("utf-8", "replace")


def is_empty(line: bytes) -> bool:
    """Whether a line is blank or a comment."""
    bare = line.strip(SPACE)
    return not bare or bare.startswith(b"#")


def is_rule(line: bytes) -> bool:
    """Whether a line only separates rows."""
    return not line.strip(RULE)


def _positive(text: str) -> float | None:
    """The number that a text stands for, if it is finite and above 0."""
    try:
        number = float(text)
    except ValueError:
        return None
    return number if 0 < number < inf else None


def joined(text: bytes) -> bytes:
    """The cells of a row without what stands between them."""
    return text.translate(None, GAPS)


def _is_even(text: bytes) -> bool:
    """Whether the cells stand in groups of equal length."""
    return len({len(group) for group in text.translate(_GAPS_TO_SPACES).split()}) == 1


class LineReader:
    """Reads lines one by one; `found` and `rejects` collect what comes of them.

    Rows of a grid wait in `grid` until the grid is complete, or ended by anything but a row.
    Once a grid has started, each further line counts as its next row, right or wrong, so that
    a grid with a fault is one reject.
    """

    def __init__(self, source: str, layout: Layout | None) -> None:
        sizes = list(USUAL) if layout is None else [layout.size]
        self.source = source
        self.layout = layout
        self.layouts = {n: layout or usual(n) for n in sizes}
        self.size_of = {n * n: n for n in sizes}
        self.largest = max(sizes)
        self.near = {n * n + more: n for n in sizes for more in range(-(n // 2), n // 2 + 1)}
        self.row_sizes = set(sizes) - set(self.size_of)
        self.no_puzzle = f"no puzzle; expected {self._wanted()}"
        self.columns: _Columns | None = None
        self.grid: list[Piece] = []
        self.found: list[Found] = []
        self.rejects: list[Reject] = []

    def header(self, line: bytes) -> bool:
        """Whether a line names the columns of a table; lines are read as its records then."""
        if len(line) <= LONGEST and b"puzzle" in line.lower():
            fields = next(csv.reader([line.decode("utf-8", "replace")]))
            names = [name.strip().lower() for name in fields]
            if "puzzle" in names:
                places = [names.index(n) if n in names else -1 for n in _Columns._fields]
                self.columns = _Columns(*places)
        return self.columns is not None

    def read(self, number: int, line: bytes) -> None:
        """Reads a line without its line feed."""
        bare = line.strip(SPACE)
        if len(line) > LONGEST and not bare.startswith(b"#"):
            self.end_grid()
            reason = f"the line has more than {LONGEST:,} bytes; expected {self._wanted()}"
            self.reject(number, 1, reason, line)
        elif is_empty(bare):
            self.end_grid()
        elif self.columns is not None:
            self._record(number, line, self.columns)
        elif bare.strip(RULE):
            self._cells(Piece(number, line.find(bare), bare))

    def end_grid(self) -> None:
        """Turns the rows that wait into a puzzle, or into a reject for their first fault."""
        if not self.grid:
            return
        rows, n = self.grid, len(joined(self.grid[0].text))
        self.grid = []
        digits = b""
        for k, row in enumerate(rows, 1):
            at = first_bad(row.text, n)
            cells = joined(row.text).translate(table(n))
            if at >= 0:
                reason = misprint(row.text[at : at + 4], n)
                return self.reject(row.line, row.before + at + 1, reason, row.text)
            if len(cells) != n:
                reason = f"row {k} of the grid has {len(cells)} cells; expected {n}"
                return self.reject(row.line, row.before + 1, reason, row.text)
            digits += cells
        if len(rows) < n:
            reason = f"the grid ends after {len(rows)} rows of {n} cells; expected {n} rows"
            return self.reject(rows[0].line, rows[0].before + 1, reason, rows[0].text)
        number = rows[0].line
        self.found.append(Found(Entry(number, str(number), digits, ""), rows))

    def reject(self, number: int, column: int, reason: str, text: bytes) -> None:
        """Adds a reject; it shows the start of the text."""
        shown = text[:_SHOWN].decode("utf-8", "replace")
        self.rejects.append(Reject(self.source, number, column, reason, shown))

    def _cells(self, piece: Piece) -> None:
        """Reads a line that is not a record of a table."""
        shape = self._shape(piece.text)
        digits = shape.digits()
        if digits is not None:
            self.end_grid()
            rest = rest_of(piece.text[shape.field :]) if shape.field == len(digits) else ""
            entry = Entry(piece.line, str(piece.line), digits, rest)
            self.found.append(Found(entry, (piece,)))
        elif self.grid or self._is_row(shape.cells):
            self.grid.append(piece)
            if len(self.grid) == len(joined(self.grid[0].text)):
                self.end_grid()
        else:
            self._reject_cells(piece, shape)

    def _is_row(self, cells: bytes) -> bool:
        return len(cells) in self.row_sizes and BAD not in cells.translate(table(len(cells)))

    def _shape(self, text: bytes) -> _Shape:
        """How long a line is: as its first field, or spread out in groups of equal length."""
        found = _FIELD.match(text)
        field = found[0] if found else b""
        n = self.size_of.get(len(field))
        if n is not None and BAD not in field.translate(table(n)):
            return _Shape(n, len(field), field)
        cells = text.translate(None, GAPS)
        n = self.size_of.get(len(cells))
        return _Shape(n if n is not None and _is_even(text) else None, len(field), cells)

    def _record(self, number: int, line: bytes, columns: _Columns) -> None:
        """A record of a table."""
        text = line.decode("utf-8", "replace")
        try:
            fields = next(csv.reader([text]))
        except csv.Error as error:
            reason = f"{error}; expected fields with ',' between them"
            return self.reject(number, 1, reason, line)
        if len(fields) <= columns.puzzle:
            reason = f"{len(fields)} fields; expected the puzzle in field {columns.puzzle + 1}"
            return self.reject(number, len(text) + 1, reason, line)
        said = [fields[k].strip() if 0 <= k < len(fields) else "" for k in columns]
        puzzle, ident, weight, group = said
        piece = Piece(number, max(text.find(puzzle), 0), puzzle.encode())
        shape = self._shape(piece.text)
        digits = shape.digits()
        if digits is None:
            return self._reject_cells(piece, shape)
        counts = _positive(weight) if columns.weight >= 0 else 1.0
        if counts is None:
            at = max(text.find(weight), 0) + 1
            reason = f"weight {weight!r}; expected a number above 0"
            return self.reject(number, at, reason, line)
        rest = ",".join(each for k, each in enumerate(fields) if k not in columns)
        entry = Entry(number, ident or str(number), digits, rest, counts, group)
        self.found.append(Found(entry, (piece,)))

    def _wanted(self, n: int | None = None) -> str:
        if self.layout is not None:
            n = self.layout.size
            return f"{n * n} for layout {self.layout.name}, in one line or row by row"
        return SOME_PUZZLE if n is None else f"{n * n} for {n}x{n}"

    def reject_field(self, piece: Piece, field: int) -> None:
        """Rejects a line that has a byte that is no symbol among the first `field`."""
        n = self._meant(field)
        if n is None:
            self.reject(piece.line, piece.before + 1, self.no_puzzle, piece.text)
        else:
            self._reject_misprint(piece, first_bad(piece.text[:field], n), n)

    def _reject_misprint(self, piece: Piece, at: int, n: int) -> None:
        reason = misprint(piece.text[at : at + 4], n)
        if n == 4 and self.layout is None:
            reason += "; a line of 16 is 4x4 where no layout is given"
        self.reject(piece.line, piece.before + at + 1, reason, piece.text)

    def _reject_cells(self, piece: Piece, shape: _Shape) -> None:
        """Says why a line is neither a puzzle nor a row of one."""
        text, field = piece.text, shape.field
        if BAD in text[:field].translate(table(self.largest)):
            return self.reject_field(piece, field)
        count, end = (len(shape.cells), len(text)) if _is_even(text) else (field, field)
        n = self._meant(count)
        if n is None:
            return self.reject(piece.line, piece.before + 1, self.no_puzzle, text)
        at = first_bad(text[:end], n)
        if at >= 0:
            return self._reject_misprint(piece, at, n)
        if end == field and count > n * n:
            end = n * n
        reason = f"{count} characters; expected {self._wanted(n)}"
        self.reject(piece.line, piece.before + end + 1, reason, text)

    def _meant(self, field: int) -> int | None:
        """The size of the puzzle that a field of a certain length was meant to be."""
        return self.near.get(field) if self.layout is None else self.layout.size
