"""A source of puzzles is a file, packed or not, the standard input, or lines in memory.

Whatever it is, it comes out as blocks of whole lines of bounded length, in bounded memory.
"""

from __future__ import annotations

import bz2
import gzip
import lzma
import os
import sys
import zlib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, BinaryIO

from gridcrux.grids.layout import USUAL

SOME_PUZZLE = f"a puzzle of {', '.join(str(n * n) for n in USUAL)} cells in one line, or row by row"
"""What is expected where the size is not known."""

LONGEST = 1 << 16
"""The most bytes of a line; of a longer one only the start is kept."""

_BLOCK = 1 << 18
_MARK = b"\xef\xbb\xbf"
_CUT = LONGEST + len(_MARK) + 1
_UNPACK: dict[str, Callable[..., Any]] = {".gz": gzip.open, ".bz2": bz2.open, ".xz": lzma.open}
_DAMAGE = (OSError, EOFError, zlib.error, lzma.LZMAError, UnicodeDecodeError)

Lines = Iterable[bytes | str] | BinaryIO


class PuzzleError(ValueError):
    """A source, or a place in it, that holds no puzzle.

    Attributes
    ----------
    source : name of the file, or what else the text came from.
    line, column : from 1; None where the whole source is meant.
    message : what is wrong and what was expected.
    """

    def __init__(self, source: str, line: int | None, column: int | None, message: str) -> None:
        super().__init__(source, line, column, message)
        self.source, self.line, self.column, self.message = source, line, column, message

    def __str__(self) -> str:
        line = "" if self.line is None else f", line {self.line}"
        column = "" if self.column is None else f", column {self.column}"
        return f"{self.source}{line}{column}: {self.message}"


def no_puzzle(source: str) -> PuzzleError:
    """The error for a source without anything to read."""
    return PuzzleError(source, None, None, f"no puzzle in it; expected {SOME_PUZZLE}")


def open_source(path: str | os.PathLike[str]) -> BinaryIO:
    """A file opened to read bytes, unpacked if it ends in .gz, .bz2 or .xz; '-' is the input.

    Raises
    ------
    PuzzleError : the file cannot be opened or unpacked, or is empty.
    """
    name = os.fspath(path)
    if name == "-":
        return sys.stdin.buffer
    try:
        stream = _UNPACK.get(Path(name).suffix.lower(), open)(name, "rb")
        empty = not stream.peek(1)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise PuzzleError(name, None, None, f"{reason}; expected a readable file") from error
    except _DAMAGE as error:
        raise _damaged(name, error) from error
    if empty:
        stream.close()
        raise no_puzzle(name)
    opened: BinaryIO = stream
    return opened


def _damaged(source: str, error: BaseException) -> PuzzleError:
    return PuzzleError(
        source, None, None, f"cannot be read to its end ({error}); expected an undamaged file"
    )


def blocks(lines: Lines, source: str) -> Iterator[bytes]:
    """Blocks of whole lines, each ended by one line feed, without a byte order mark.

    A carriage return ends a line, as does a line feed or both.  Of a line of more than
    `LONGEST` bytes the rest may be missing, but never all beyond that length.

    Raises
    ------
    PuzzleError : the source cannot be read to its end.
    """
    kept, skipping, started = b"", False, False
    for chunk in _line_feeds(_chunks(lines, source)):
        if skipping:
            end = chunk.find(b"\n")
            if end < 0:
                continue
            chunk, skipping = chunk[end + 1 :], False
        data = kept + chunk
        end = data.rfind(b"\n") + 1
        ready, kept = data[:end], data[end:]
        if len(kept) >= _CUT:
            ready, kept, skipping = ready + kept[:_CUT] + b"\n", b"", True
        if ready:
            yield ready if started else ready.removeprefix(_MARK)
            started = True
    last = kept if started else kept.removeprefix(_MARK)
    if last:
        yield last + b"\n"


def _line_feeds(chunks: Iterable[bytes]) -> Iterator[bytes]:
    held = b""
    for chunk in chunks:
        chunk = held + chunk
        held = b"\r" if chunk.endswith(b"\r") else b""
        chunk = chunk.removesuffix(b"\r")
        if b"\r" in chunk:
            chunk = chunk.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        yield chunk
    yield held.replace(b"\r", b"\n")


def _chunks(lines: Lines, source: str) -> Iterator[bytes]:
    """The bytes of a source in pieces of any length."""
    if isinstance(lines, str | bytes):
        lines = [lines]
    read = getattr(lines, "read1", getattr(lines, "read", None))
    if read is not None:
        try:
            while chunk := read(_BLOCK):
                yield _encoded(chunk)
        except _DAMAGE as error:
            raise _damaged(source, error) from error
        return
    gathered: list[bytes] = []
    size = 0
    for line in lines:
        raw = _encoded(line)
        gathered.append(raw if raw.endswith((b"\n", b"\r")) else raw + b"\n")
        size += len(raw) + 1
        if size > _BLOCK:
            yield b"".join(gathered)
            gathered, size = [], 0
    yield b"".join(gathered)


def _encoded(text: bytes | str) -> bytes:
    return text.encode("utf-8", "replace") if isinstance(text, str) else text
