"""Any source comes out as whole lines of bounded length; what cannot be read says why."""

from __future__ import annotations

import bz2
import gzip
import io
import lzma
import pickle
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gridcrux.grids.sources import LONGEST, PuzzleError, blocks, open_source

TEXT = b"one\ntwo\n"


class Dribble:
    """A source that gives its bytes in pieces of given lengths, over and over."""

    def __init__(self, data, lengths):
        self.data, self.lengths, self.turn = data, lengths, 0

    def read1(self, size):
        length = min(self.lengths[self.turn % len(self.lengths)], size)
        self.turn += 1
        piece, self.data = self.data[:length], self.data[length:]
        return piece


def lines_of(source, name="a"):
    return b"".join(blocks(source, name)).split(b"\n")[:-1]


@pytest.mark.parametrize("pack", [None, gzip, bz2, lzma])
def test_files_are_opened_and_unpacked_by_their_ending(tmp_path, pack):
    suffix = {None: ".txt", gzip: ".gz", bz2: ".bz2", lzma: ".XZ"}[pack]
    path = tmp_path / f"puzzles{suffix}"
    path.write_bytes(TEXT if pack is None else pack.compress(TEXT))
    with open_source(path) as stream:
        assert lines_of(stream) == [b"one", b"two"]
    with open_source(str(path)) as stream:
        assert stream.read() == TEXT


def test_a_dash_is_the_standard_input(monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(TEXT)))
    assert lines_of(open_source("-")) == [b"one", b"two"]


def test_a_missing_file_and_a_folder_say_so(tmp_path):
    path = str(tmp_path / "none.txt")
    with pytest.raises(PuzzleError) as caught:
        open_source(path)
    assert str(caught.value) == f"{path}: No such file or directory; expected a readable file"
    with pytest.raises(PuzzleError, match="Is a directory; expected a readable file"):
        open_source(tmp_path)
    with pytest.raises(PuzzleError, match="expected a readable file"):
        open_source("nul\0byte")


@pytest.mark.parametrize("pack", [None, gzip, bz2, lzma])
def test_an_empty_file_says_so(tmp_path, pack):
    suffix = {None: ".txt", gzip: ".gz", bz2: ".bz2", lzma: ".xz"}[pack]
    path = tmp_path / f"empty{suffix}"
    path.write_bytes(b"" if pack is None else pack.compress(b""))
    with pytest.raises(PuzzleError) as caught:
        open_source(path)
    assert str(caught.value) == (
        f"{path}: no puzzle in it; expected a puzzle of 16, 36, 64, 81, 100, 144, 256, 625 "
        "cells in one line, or row by row"
    )


@pytest.mark.parametrize("suffix", [".gz", ".bz2", ".xz"])
def test_a_file_that_is_not_packed_as_its_ending_says(tmp_path, suffix):
    path = tmp_path / f"odd{suffix}"
    path.write_bytes(b"53..7....\n" * 9)
    with pytest.raises(PuzzleError, match="expected") as caught:
        open_source(path)
    assert str(caught.value).startswith(f"{path}: ")


@pytest.mark.parametrize("pack", [gzip, bz2, lzma])
def test_a_packed_file_cut_short_gives_its_lines_and_then_an_error(tmp_path, pack):
    suffix = {gzip: ".gz", bz2: ".bz2", lzma: ".xz"}[pack]
    path = tmp_path / f"cut{suffix}"
    fast = {"preset": 0} if pack is lzma else {}
    whole = pack.compress(b"".join(b"%d\n" % n**3 for n in range(200_000)), **fast)
    path.write_bytes(whole[: -len(whole) // 3])
    found = []
    with open_source(path) as stream, pytest.raises(PuzzleError) as caught:
        found.extend(block.count(b"\n") for block in blocks(stream, "cut"))
    assert sum(found) > 1_000
    assert str(caught.value).startswith("cut: cannot be read to its end (")


@pytest.mark.parametrize(
    "data",
    [
        b"a\nb\n\nc\n",
        b"a\r\nb\r\n\r\nc\r\n",
        b"a\rb\r\rc",
        b"a\nb\r\r\nc",
        b"\xef\xbb\xbfa\nb\n\nc",
    ],
)
def test_ends_of_lines_and_the_byte_order_mark(data):
    expected = [b"a", b"b", b"", b"c"]
    assert lines_of(io.BytesIO(data)) == expected
    for length in range(1, 5):
        assert lines_of(Dribble(data, [length])) == expected


@pytest.mark.parametrize(
    "lines",
    [["a", "b", "", "c"], [b"a\n", "b\r\n", b"\r", "c"], "a\nb\n\nc", b"a\nb\n\nc\n",
     ("a\nb", "\nc"), io.StringIO("a\nb\n\nc\n")],
)  # fmt: skip
def test_lines_in_memory_may_be_text_or_bytes_with_or_without_ends(lines):
    assert lines_of(lines) == [b"a", b"b", b"", b"c"]


def test_text_that_no_encoding_holds_is_replaced():
    assert lines_of(["a\udc80", "é"]) == [b"a?", "é".encode()]


@given(st.binary(max_size=300), st.lists(st.integers(1, 40), min_size=1, max_size=5))
def test_lines_do_not_depend_on_the_pieces_they_come_in(data, lengths):
    expected = data.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    expected = expected if expected.endswith(b"\n") or not expected else expected + b"\n"
    assert b"".join(blocks(Dribble(data, lengths), "a")) == expected
    assert all(block.endswith(b"\n") for block in blocks(Dribble(data, lengths), "a"))


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("piece", [1000, LONGEST, LONGEST + 1, 1 << 20])
@pytest.mark.parametrize("length", [LONGEST - 1, LONGEST, LONGEST + 1, LONGEST + 2, 5 * LONGEST])
def test_a_long_line_keeps_its_length_or_its_excess(length, piece, mark):
    data = mark + b"x" * length + b"\nshort\n"
    first, second = lines_of(Dribble(data, [piece]))
    assert second == b"short"
    assert (len(first) > LONGEST) == (length > LONGEST)
    assert len(first) <= length


def test_lines_come_as_soon_as_they_are_there():
    source = Dribble(b"one\ntwo\nthree", [4])
    stream = blocks(source, "a")
    assert next(stream) == b"one\n"
    assert source.turn == 1


def test_an_error_names_source_line_and_column():
    error = PuzzleError("puzzles.txt", 3, 12, "odd; expected even")
    assert str(error) == "puzzles.txt, line 3, column 12: odd; expected even"
    assert str(PuzzleError("puzzles.txt", None, None, "odd")) == "puzzles.txt: odd"
    copy = pickle.loads(pickle.dumps(error))
    assert (copy.source, copy.line, copy.column, copy.message) == error.args
