"""Many puzzles from one source, a few thousand lines at a time, in flat memory.

Lines that plainly start with a puzzle are read all at once, and all givens are compared at
once; the other lines go one by one through `lines.LineReader`.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from itertools import groupby
from math import inf, isqrt
from operator import itemgetter
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.grids.layout import LARGEST, Layout
from gridcrux.grids.lines import (
    FIELD_ENDS,
    Entry,
    LineReader,
    Piece,
    Reject,
    is_empty,
    is_rule,
    place,
    rest_of,
)
from gridcrux.grids.sources import LONGEST, Lines, blocks, no_puzzle
from gridcrux.grids.state import ContradictoryGivens
from gridcrux.grids.symbols import BAD, RULE, table

_BIT = np.array([0, *(1 << digit for digit in range(LARGEST))], np.uint32)
_IS_FIELD_END = np.isin(np.arange(256), list(FIELD_ENDS))
_IS_RULE = np.isin(np.arange(256), list(RULE))

Indices = NDArray[np.intp]
Digits = NDArray[np.int8]


class Batch(NamedTuple):
    """Puzzles of one size that stand near each other in a source.

    Attributes
    ----------
    entries : k puzzles in the order of the source.
    digits : (k, n*n) the same digits as an array, 0 for a blank.
    rejects : what was rejected since the batch before, in order; all lie before the next one.
    """

    entries: list[Entry]
    digits: Digits
    rejects: list[Reject]


def read_batches(
    lines: Lines, source: str, layout: Layout | None = None, batch: int = 4096
) -> Iterator[Batch]:
    """The puzzles and rejects of a source, at most `batch` lines at a time.

    Parameters
    ----------
    lines : a file opened to read bytes, or lines; the forms are those of `text`.
    source : how messages name it.
    layout : None to tell the size of each puzzle from its number of cells.

    Raises
    ------
    PuzzleError : there is nothing in the source, or it cannot be read to its end.
    """
    reader = _Reader(source, layout)
    empty = True
    for block in blocks(lines, source):
        ends = np.flatnonzero(np.frombuffer(block, np.uint8) == ord("\n")).tolist()
        start = 0
        for last in [*ends[batch - 1 : -1 : batch], ends[-1]]:
            for each in reader.read(block[start : last + 1]):
                empty = False
                yield each
            start = last + 1
    for each in reader.finish():
        empty = False
        yield each
    if empty:
        raise no_puzzle(source)


def iter_puzzles(
    lines: Lines, source: str, layout: Layout | None = None
) -> Iterator[Entry | Reject]:
    """The puzzles and rejects of a source one by one, in its order; see `read_batches`.

    >>> for item in iter_puzzles(["4..1.1....1.1..2 easy", "4..1.1....1.1..2."], "example"):
    ...     print(item.rest if isinstance(item, Entry) else item)
    easy
    example, line 2, column 17: 17 characters; expected 16 for 4x4
    """
    for entries, _, rejects in read_batches(lines, source, layout):
        if entries and rejects:
            both: list[Entry | Reject] = [*entries, *rejects]
            yield from sorted(both, key=_line)
        else:
            yield from entries
            yield from rejects


def _line(item: Entry | Reject) -> int:
    return item.number if isinstance(item, Entry) else item.line


class _Fields(NamedTuple):
    """The lines that start with a puzzle, with its digits, by size; and lines that hold no cells.

    Of the latter, which have a byte in their first field that is no symbol, the length of the
    field is given.
    """

    plain: list[tuple[Indices, Digits]]
    junk: tuple[Indices, Indices]


class _Reader:
    """Turns lines into batches; keeps the number of lines so far and a grid not yet complete."""

    def __init__(self, source: str, layout: Layout | None) -> None:
        self.careful = LineReader(source, layout)
        self.layouts = self.careful.layouts
        self.houses = {
            n: np.array([house.cells for house in each.houses], np.intp)
            for n, each in self.layouts.items()
        }
        self.cells = layout.cells if layout else 0
        self.clash = lru_cache(maxsize=1 << 14)(self._clash)
        self.first = 1
        self.started = False

    def read(self, data: bytes) -> Iterator[Batch]:
        """The batches in whole lines, each ended by a line feed."""
        lines = data.split(b"\n")[:-1]
        begin = self._begin(lines)
        left = np.arange(len(lines)) >= begin
        junk: dict[int, int] = {}
        entries: list[Entry] = []
        if self.careful.columns is None:
            plain, junk = self._survey(data)
            for which, digits in plain:
                left[which] = False
                entries += _entries(lines, self.first, which, digits)
        before = begin - 1
        for i in np.flatnonzero(left).tolist():
            if i != before + 1:
                self.careful.end_grid()
            if i in junk and not self.careful.grid:
                self.careful.reject_field(Piece(self.first + i, 0, lines[i]), junk[i])
            else:
                self.careful.read(self.first + i, lines[i])
            before = i
        if before != len(lines) - 1:
            self.careful.end_grid()
        yield from self._batches(entries, lines)
        self.first += len(lines)

    def finish(self) -> Iterator[Batch]:
        """What is left when no more lines come."""
        self.careful.end_grid()
        yield from self._batches([], [])

    def _begin(self, lines: list[bytes]) -> int:
        """How many lines to skip: those before the first that says something, and a header."""
        for i, line in enumerate(lines):
            if self.started:
                return i
            self.started = len(line) > LONGEST or not (is_empty(line) or is_rule(line))
            if self.started and not self.careful.header(line):
                return i
        return len(lines)

    def _survey(self, data: bytes) -> tuple[list[tuple[Indices, Digits]], dict[int, int]]:
        """What can be told of lines from their first fields alone, for all lines at once.

        First the lines that start with a puzzle and its digits, by size; then the lines with
        a byte that is no symbol in the first field, and the length of that field.
        """
        text = np.frombuffer(data, np.uint8)
        symbols = np.frombuffer(data.translate(table(self.careful.largest)), np.uint8)
        ends = np.flatnonzero(text == ord("\n"))
        starts = np.concatenate(([0], ends[:-1] + 1))
        lengths = _next(_IS_FIELD_END[text], starts) - starts
        good = _next(symbols == BAD, starts) - starts
        usual = (ends - starts <= LONGEST) & ~_IS_RULE[text[starts]]
        plain = []
        for n in self.layouts:
            which = np.flatnonzero((good == lengths) & (lengths == n * n) & usual)
            if len(which):
                cells = np.lib.stride_tricks.sliding_window_view(symbols, n * n)[starts[which]]
                small = cells.max(axis=1) <= n
                plain.append((which[small], cells[small].view(np.int8)))
        junk = np.flatnonzero((good < lengths) & usual)
        return plain, dict(zip(junk.tolist(), lengths[junk].tolist(), strict=True))

    def _batches(self, entries: list[Entry], lines: list[bytes]) -> Iterator[Batch]:
        """All that was found since the last call, split where the size changes."""
        found, self.careful.found = self.careful.found, []
        pieces = {each.entry.number: each.pieces for each in found}
        entries += [each.entry for each in found]
        entries.sort(key=itemgetter(0))
        batches = []
        for _, run in groupby(entries, key=lambda entry: len(entry.digits)):
            same = list(run)
            digits = np.frombuffer(bytearray().join(entry.digits for entry in same), np.int8)
            digits = digits.reshape(len(same), -1)
            n = isqrt(digits.shape[1])
            bad, pairs = _clashes(digits, self.houses[n])
            for j, (first, second) in zip(bad.tolist(), pairs.tolist(), strict=True):
                number = same[j].number
                own = pieces.get(number) or [Piece(number, 0, lines[number - self.first])]
                piece, at = place(own, second)
                reason = self.clash(n, first, second, same[j].digits[second])
                self.careful.reject(piece.line, piece.before + at + 1, reason, piece.text)
            if len(bad):
                good = np.setdiff1d(np.arange(len(same)), bad)
                same, digits = [same[j] for j in good.tolist()], digits[good]
            if same:
                batches.append((same, digits))
        rejects = sorted(self.careful.rejects, key=itemgetter(1))
        self.careful.rejects = []
        if rejects and not batches:
            yield Batch([], np.zeros((0, self.cells), np.int8), rejects)
        starts = [same[0].number for same, _ in batches]
        for (same, digits), end in zip(batches, [*starts, inf][1:], strict=True):
            early = [reject for reject in rejects if reject.line < end]
            rejects = rejects[len(early) :]
            yield Batch(same, digits, early)

    def _clash(self, n: int, first: int, second: int, digit: int) -> str:
        return str(ContradictoryGivens(self.layouts[n], first, second, digit - 1))


def _clashes(digits: Digits, houses: Indices) -> tuple[Indices, Indices]:
    """The rows of (k, n*n) digits that hold one twice in a house, and two such cells of each.

    The cells are the first two of the first house that has a digit twice.
    """
    bits = _BIT[digits.T]
    seen = np.zeros((len(houses), len(digits)), np.uint32)
    twice = np.zeros_like(seen)
    for cells in houses.T:
        here = bits[cells]
        twice |= seen & here
        seen |= here
    bad = np.flatnonzero(twice.any(axis=0))
    rows = np.arange(len(bad))
    house = (twice[:, bad] > 0).argmax(axis=0)
    repeated = twice[house, bad]
    members = houses[house]
    same = bits[members, bad[:, None]] == (repeated & (~repeated + 1))[:, None]
    first = same.argmax(axis=1)
    same[rows, first] = False
    pair = np.stack((members[rows, first], members[rows, same.argmax(axis=1)]), axis=1)
    return bad, np.sort(pair, axis=1)


def _next(marked: NDArray[np.bool_], starts: Indices) -> Indices:
    """For each start the first marked position from there on."""
    where = np.flatnonzero(marked)
    return where[np.searchsorted(where, starts)]


def _entries(lines: list[bytes], first: int, which: Indices, digits: Digits) -> list[Entry]:
    """The entries of lines that start with a puzzle."""
    cells, raw = digits.shape[1], digits.tobytes()
    pieces = [raw[at : at + cells] for at in range(0, len(raw), cells)]
    texts = [lines[i] for i in which.tolist()]
    rests = [rest_of(text[cells:]) if len(text) > cells else "" for text in texts]
    numbers = (which + first).tolist()
    return list(map(Entry, numbers, map(str, numbers), pieces, rests))
