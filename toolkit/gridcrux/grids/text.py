"""Puzzles as text: how they are read and written.

Symbols.  The digits 1 to n are the first n of `layout.SYMBOLS`, letters in either case; '.',
'0' and '_' are blanks.  Names of cells and candidates are decimal (`names`).  Where no layout
is given, the number of cells tells which is meant (`layout.usual`).

Forms.  Lines that are empty, start with '#', or are made of '|', '-', '+', '=' alone hold no
cells.  The rest is the first of these that fits:

candidates
    n*n tokens with spaces or '|' between them, on any number of lines: the digits open in
    each cell, or '!' where there is none.  A token of one digit is written where the digit's
    rivals are gone.  A sign before it settles that: '=' a given, '+' written since, '?' not
    written.  Where every token is one symbol or blank, it is a grid instead.
line
    n*n symbols, then nothing, or a space or one of , ; : | # and any text.
grid
    n lines of n symbols, or n*n on one line in groups of equal length; spaces, ',' and '|'
    between the symbols are dropped.

No puzzle can be read in two ways.  A line of n*n symbols is no token of candidates: n*n is
more than n, so that it has a blank or some digit twice.  If a grid of n*n cells were N*N
tokens of candidates too, with some token longer than one symbol, N would be less than n, and
a row would be n digits from 1 to N, one of them twice.

A stream (`iter_puzzles`, `read_batches`) mixes lines and grids; if its first line names a
column `puzzle`, it is a table with ',' between the fields and one record a line.  A grid ends
at an empty line or a comment; and without a layout a line of 16 is a 4x4 puzzle, never a row
of a 16x16 one.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import isqrt
from typing import NamedTuple

from gridcrux.grids.layout import LARGEST, SYMBOLS, USUAL, Layout, usual
from gridcrux.grids.lines import Entry, Reject, is_empty, is_rule, joined
from gridcrux.grids.names import (
    Claim,
    NotationError,
    parse_candidate,
    parse_cell,
    parse_claim,
)
from gridcrux.grids.sources import PuzzleError, no_puzzle, open_source
from gridcrux.grids.state import State
from gridcrux.grids.stream import Batch, iter_puzzles, read_batches
from gridcrux.grids.symbols import digits_in_words, misprint, table

__all__ = [
    "Batch",
    "Claim",
    "Entry",
    "NotationError",
    "PuzzleError",
    "Reject",
    "format_line",
    "format_marks",
    "iter_puzzles",
    "open_source",
    "parse_candidate",
    "parse_cell",
    "parse_claim",
    "read_batches",
    "read_puzzle",
]

_TOKEN = re.compile(r"[^\s|]+")
_RULED = b"-"
_NONE = "!"
_GIVEN, _WRITTEN, _OPEN = "=+?"


class _Token(NamedTuple):
    line: int
    column: int
    text: str


def read_puzzle(text: str, layout: Layout | None = None, source: str = "argument") -> State:
    """The state in a text that holds one puzzle, in any of the forms above.

    Parameters
    ----------
    layout : None to tell it from the number of cells.
    source : how messages name the text.

    Raises
    ------
    PuzzleError : the text is no puzzle, or more than one, or its givens contradict each other.

    >>> print(read_puzzle("4..1 .1.. ..1. 1..2"))
    4 . . 1
    . 1 . .
    . . 1 .
    1 . . 2
    >>> read_puzzle('''4 23 23 1   23 1 4 23   2 4 1 3   1 3 23 2''').marks["r1c2"]
    [2, 3]
    """
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    raw = [line.encode("utf-8", "replace") for line in lines]
    # In a stream an empty line ends a grid; here it does not, so a rule takes its place.
    raw = [_RULED if is_empty(line) or is_rule(line) else line for line in raw]
    filled = len(raw) - raw.count(_RULED)
    if not filled:
        raise no_puzzle(source)
    tokens = [
        _Token(number, found.start() + 1, found[0])
        for number, line in enumerate(lines, 1)
        if raw[number - 1] != _RULED
        for found in _TOKEN.finditer(line)
    ]
    if all(len(token.text) == 1 and token.text != _NONE for token in tokens):
        if len(tokens) in ([layout.cells] if layout else [n * n for n in USUAL]):
            return _read_symbols(tokens, layout, source)
        return _read_givens(raw, layout, source)
    try:
        return _read_candidates(tokens, layout, source)
    except PuzzleError as error:
        fault = error
    try:
        return _read_givens(raw, layout, source)
    except PuzzleError as error:
        # Many short tokens were meant as candidates: their fault is the one to tell.
        short = max(len(token.text) for token in tokens) <= LARGEST + 1
        raise (fault if short and len(tokens) > 2 * filled else error) from None


def _read_symbols(tokens: list[_Token], layout: Layout | None, source: str) -> State:
    """A state from n*n tokens of one symbol."""
    for token in tokens:
        if not token.text.isascii():
            reason = misprint(token.text.encode("utf-8", "replace"), isqrt(len(tokens)))
            raise PuzzleError(source, token.line, token.column, reason)
    line = " ".join(token.text for token in tokens)
    try:
        return _read_givens([line.encode()], layout, source)
    except PuzzleError as error:
        token = tokens[(error.column or 1) // 2]
        raise PuzzleError(source, token.line, token.column, error.message) from None


def _read_candidates(tokens: list[_Token], layout: Layout | None, source: str) -> State:
    """A state from n*n tokens."""
    if layout is None:
        n = min(USUAL, key=lambda size: abs(size * size - len(tokens)))
        wanted = f"{n * n} for {n}x{n}"
    else:
        n = layout.size
        wanted = f"{n * n} for layout {layout.name}"
    if len(tokens) != n * n:
        last = tokens[min(len(tokens), n * n + 1) - 1]
        reason = f"{len(tokens)} cells of candidates; expected {wanted}"
        raise PuzzleError(source, last.line, last.column, reason)
    marks = [_digits(token, n, source) for token in tokens]
    state = State.from_marks(marks, layout or usual(n))
    signed = {sign: 0 for sign in (_GIVEN, _WRITTEN, _OPEN)}
    for cell, token in enumerate(tokens):
        sign = token.text[0]
        if sign in signed:
            if sign != _OPEN and not state.placed >> cell & 1:
                name = state.layout.cell_name(cell)
                reason = f"{name} is written, but rivals of its digit are open; expected none"
                raise PuzzleError(source, token.line, token.column, reason)
            signed[sign] |= 1 << cell
    return State(state.layout, state.open, state.placed & ~signed[_OPEN], signed[_GIVEN])


def _digits(token: _Token, n: int, source: str) -> list[int]:
    """The digits of one token."""
    text = token.text
    if text == _NONE:
        return []
    signed = text[0] in (_GIVEN, _WRITTEN, _OPEN)
    symbols = text[signed:].encode("utf-8", "replace")
    digits = list(symbols.translate(table(n)))
    good = all(1 <= digit <= n for digit in digits) and len(set(digits)) == len(digits)
    if not good or not digits or (signed and len(digits) > 1):
        reason = (
            f"{text[: LARGEST + 2]!r} is no cell of candidates; expected distinct digits "
            f"{digits_in_words(n)}, one digit after '=', '+' or '?', or '!' for none"
        )
        raise PuzzleError(source, token.line, token.column, reason)
    return digits


def _read_givens(lines: list[bytes], layout: Layout | None, source: str) -> State:
    """A state from a line or a grid."""
    rows = [len(joined(line)) for line in lines if line != _RULED]
    if layout is None and rows == [16] * 16:
        layout = usual(16)
    items = iter_puzzles(lines, source, layout)
    entry = next(items)
    if isinstance(entry, Reject):
        raise PuzzleError(source, entry.line, entry.column, entry.reason)
    for more in items:
        line = more.line if isinstance(more, Reject) else more.number
        reason = f"text behind the puzzle that starts in line {entry.number}; expected one puzzle"
        raise PuzzleError(source, line, 1, reason)
    return State.from_digits(entry.digits, layout or usual(isqrt(len(entry.digits))))


def format_line(digits: Sequence[int]) -> str:
    """Digits row by row as one line, '.' for a blank.

    >>> format_line([4, 0, 0, 1])
    '4..1'
    """
    return "".join(SYMBOLS[digit - 1] if digit else "." for digit in digits)


def format_marks(state: State) -> str:
    """A state as n lines of candidates; `read_puzzle` with its layout gives it back, equal.

    >>> print(format_marks(read_puzzle("4..1 .1.. ..1. 1..2")))
    =4 23 23 =1
    23 =1 234 34
    23 234 =1 34
    =1 34 34 =2
    """
    layout = state.layout
    rows = []
    for first in range(0, layout.cells, layout.size):
        cells = range(first, first + layout.size)
        rows.append(" ".join(_token(state, cell) for cell in cells))
    return "\n".join(rows)


def _token(state: State, cell: int) -> str:
    digits = state.digits_of(cell)
    if not digits:
        return _NONE
    sign = ""
    if len(digits) == 1:
        is_given, is_placed = state.givens >> cell & 1, state.placed >> cell & 1
        sign = _GIVEN if is_given else _WRITTEN if is_placed else _OPEN
    return sign + format_line(digits)
