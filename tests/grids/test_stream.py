"""A stream gives the same puzzles and rejects however it is cut, in order and in flat memory."""

from __future__ import annotations

import io
import os
import random
import tracemalloc
from itertools import count
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gridcrux.grids.layout import NINE, boxes, latin, named, regions
from gridcrux.grids.lines import Entry, Reject
from gridcrux.grids.sources import PuzzleError, open_source
from gridcrux.grids.state import ContradictoryGivens, State
from gridcrux.grids.stream import iter_puzzles, read_batches

# Encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
DIGITS = bytes(map(int, PUZZLE))
ROWS = [PUZZLE[at : at + 9] for at in range(0, 81, 9)]
JAGGED = regions(["1112", "1222", "3334", "3444"], "jagged")
LAYOUTS = [
    *map(named, ["2x2", "2x3", "2x4", "3x3", "3x4", "4x4", "5x5", "latin-5", "3x3-diagonals"]),
    JAGGED,
]
SYMBOLS = ".123456789ABCDEFGHIJKLMNOP"

# Lines of every kind, so that a few of them make most situations.
KINDS = [
    PUZZLE, PUZZLE + ",x", " " + PUZZLE, PUZZLE[:80], PUZZLE + "1", "55" + PUZZLE[2:],
    PUZZLE.replace("7", "x"), *ROWS[:3], ROWS[0] + "x", "1 2 3 | . . . | . . .", "---+---", "",
    "# comment", "lorem ipsum", "4..1.1....1.1..2", "4..1", "4.41", "11" + "." * 34, "." * 36,
    "\x00", "é" * 81, "\udcff", "," + PUZZLE, "." * 256, "G" + "." * 255,
]  # fmt: skip


def flat(batches):
    """Items of batches in the order of their lines, and the batches checked on the way."""
    last = 0
    for entries, digits, rejects in batches:
        assert digits.dtype == np.int8
        assert digits.shape[0] == len(entries)
        assert [entry.digits for entry in entries] == [row.tobytes() for row in digits]
        assert entries or rejects
        numbers = [entry.number for entry in entries]
        lines = [reject.line for reject in rejects]
        assert numbers == sorted(numbers)
        assert lines == sorted(lines)
        assert min(numbers + lines) > last
        last = max(numbers + lines)
        yield from entries
        yield from rejects


def outcome(batches):
    items = list(flat(batches))
    return (
        [item for item in items if isinstance(item, Entry)],
        [item for item in items if isinstance(item, Reject)],
    )


class Pieces:
    """A file whose reads give pieces of given lengths, over and over."""

    def __init__(self, data, lengths):
        self.data, self.lengths, self.turn = io.BytesIO(data), lengths, 0

    def read1(self, size):
        self.turn += 1
        return self.data.read(min(size, self.lengths[self.turn % len(self.lengths)]))


def test_a_stream_of_many_kinds():
    text = "\n".join(["# head", PUZZLE + " easy", "", *ROWS, "lorem", PUZZLE[:80], PUZZLE])
    items = list(iter_puzzles(io.BytesIO(text.encode()), "many.txt"))
    assert items[:2] == [Entry(2, "2", DIGITS, "easy"), Entry(4, "4", DIGITS, "")]
    assert [str(item).partition(":")[0] for item in items[2:4]] == [
        "many.txt, line 13, column 1",
        "many.txt, line 14, column 81",
    ]
    assert items[3].reason == "80 characters; expected 81 for 9x9"
    assert items[3].text == PUZZLE[:80]
    assert items[4] == Entry(15, "15", DIGITS, "")
    assert len(items) == 5


def test_the_sizes_of_a_stream_may_differ_but_not_within_a_batch():
    lines = ["." * n * n for n in (4, 4, 6, 9, 9, 4, 16, 25, 8, 10, 12)]
    batches = list(read_batches([*lines[:3], "x", *lines[3:], "x"], "a"))
    assert [batch.digits.shape for batch in batches] == [
        (2, 16), (1, 36), (2, 81), (1, 16), (1, 256), (1, 625), (1, 64), (1, 100), (1, 144)
    ]  # fmt: skip
    assert [[reject.line for reject in batch.rejects] for batch in batches] == [
        [], [4], [], [], [], [], [], [], [13]
    ]  # fmt: skip


def test_a_batch_of_rejects_alone_has_no_digits():
    (batch,) = read_batches(["x", "y"], "a", NINE)
    assert (batch.entries, batch.digits.shape, len(batch.rejects)) == ([], (0, 81), 2)
    (batch,) = read_batches(["x", "y"], "a")
    assert batch.digits.shape == (0, 0)


@pytest.mark.parametrize("lines", [1, 7, 64])
def test_a_batch_is_of_that_many_lines_at_most(lines):
    batches = list(read_batches([PUZZLE, "x"] * 100, "a", batch=lines))
    assert max(len(batch.entries) + len(batch.rejects) for batch in batches) == lines
    assert sum(len(batch.entries) for batch in batches) == 100
    assert sum(len(batch.rejects) for batch in batches) == 100


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.sampled_from(KINDS), max_size=30),
    st.sampled_from([None, NINE, boxes(2, 2), boxes(4, 4)]),
    st.lists(st.integers(1, 200), min_size=1, max_size=4),
    st.integers(1, 9),
)
def test_the_outcome_does_not_depend_on_pieces_and_batches(kinds, layout, lengths, batch):
    data = "\n".join(kinds).encode("utf-8", "surrogateescape")
    try:
        expected = outcome(read_batches(data, "a", layout))
    except PuzzleError:
        expected = None
    if expected is None:
        assert all(not kind.strip("-+") or kind.startswith("#") for kind in kinds)
        return
    assert expected == outcome(read_batches(Pieces(data, lengths), "a", layout, batch))
    items = list(iter_puzzles(Pieces(data, lengths), "a", layout))
    assert [item for item in items if isinstance(item, Entry)] == expected[0]
    assert [item for item in items if isinstance(item, Reject)] == expected[1]


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.sampled_from([kind for kind in KINDS if kind]), min_size=1, max_size=20),
    st.sampled_from([None, NINE, boxes(4, 4)]),
)
def test_lines_read_at_once_and_one_by_one_come_out_alike(kinds, layout):
    """A space before a line changes nothing but columns, and sends it the careful way."""
    try:
        entries, rejects = outcome(read_batches(kinds, "a", layout))
    except PuzzleError:
        return
    spaced = outcome(read_batches([" " + kind for kind in kinds], "a", layout))
    assert spaced[0] == entries
    for reject, other in zip(rejects, spaced[1], strict=True):
        assert (other.line, other.reason) == (reject.line, reject.reason)
        assert other.column == reject.column + 1
        assert other.text == reject.text.lstrip(" ")


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=400) | st.text(".123456789 |,\n#-x", max_size=400).map(str.encode))
def test_junk_is_rejected_where_it_stands(data):
    lines = data.removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    texts = [line.decode("utf-8", "replace") for line in lines.split(b"\n")]
    try:
        items = list(iter_puzzles(io.BytesIO(data), "junk", NINE))
    except PuzzleError:
        items = []
    for item in items:
        if isinstance(item, Reject):
            assert 1 <= item.line <= len(texts)
            assert 1 <= item.column <= len(texts[item.line - 1]) + 1
            assert "expected" in item.reason
            assert "\n" not in str(item)
            assert len(item.text) <= 120
            assert item.text in texts[item.line - 1]


@st.composite
def puzzles(draw):
    """A layout and digits that do not contradict each other."""
    layout = draw(st.sampled_from(LAYOUTS))
    digits = [0] * layout.cells
    cells = draw(st.lists(st.integers(0, layout.cells - 1), max_size=2 * layout.size, unique=True))
    for cell in cells:
        digit = draw(st.integers(1, layout.size))
        if all(digits[peer] != digit for peer in layout.peers[cell]):
            digits[cell] = digit
    return layout, bytes(digits)


def text_of(digits):
    return "".join(SYMBOLS[digit] for digit in digits)


@settings(max_examples=60, deadline=None)
@given(puzzles(), st.sampled_from(["line", "rows", "lower", "spaced", "groups"]))
def test_every_layout_is_read_back(puzzle, form):
    layout, digits = puzzle
    n, text = layout.size, text_of(digits)
    rows = [text[at : at + n] for at in range(0, n * n, n)]
    lines = {
        "line": [text],
        "lower": [text.lower()],
        "rows": rows,
        "spaced": [" | ".join(row) for row in rows],
        "groups": [" ".join(rows)],
    }[form]
    assert list(iter_puzzles(lines, "a", layout)) == [Entry(1, "1", digits, "")]


@settings(max_examples=80, deadline=None)
@given(puzzles(), st.data())
def test_contradictions_are_those_of_the_givens(puzzle, data):
    """The comparison of many givens at once agrees with the peers of each cell."""
    layout, digits = puzzle
    changed = bytearray(digits)
    changed[data.draw(st.integers(0, layout.cells - 1))] = data.draw(st.integers(1, layout.size))
    (item,) = iter_puzzles([text_of(changed)], "a", layout)
    try:
        State.from_digits(changed, layout)
    except ContradictoryGivens:
        assert isinstance(item, Reject)
        second = item.column - 1
        (first,) = [
            cell
            for cell in layout.peers[second]
            if f"givens {layout.cell_name(cell)} and {layout.cell_name(second)} are both "
            f"{changed[second]} in " in item.reason
        ]
        assert first < second
        assert changed[first] == changed[second]
    else:
        assert item == Entry(1, "1", bytes(changed), "")


@pytest.mark.parametrize(
    ("changes", "column", "reason"),
    [
        ({4: 5}, 5, "givens r1c1 and r1c5 are both 5 in row 1; expected each digit once"),
        ({80: 3, 8: 3}, 9, "givens r1c2 and r1c9 are both 3 in row 1"),
        ({80: 5}, 81, "givens r8c9 and r9c9 are both 5 in column 9"),
        ({20: 5}, 21, "givens r1c1 and r3c3 are both 5 in box 1"),
    ],
)  # fmt: skip
def test_contradictory_givens_are_named(changes, column, reason):
    digits = list(DIGITS)
    for cell, digit in changes.items():
        digits[cell] = digit
    text = text_of(digits)
    (line,) = iter_puzzles([text], "a")
    assert (line.line, line.column) == (1, column)
    assert line.reason.startswith(reason)
    rows = [" ".join(text[at : at + 9]) for at in range(0, 81, 9)]
    (grid,) = iter_puzzles(["---", *rows], "a")
    assert (grid.line, grid.column) == (2 + (column - 1) // 9, 1 + 2 * ((column - 1) % 9))
    assert grid.reason == line.reason
    (record,) = iter_puzzles(["id,puzzle", f"é1,{text}"], "a")
    assert (record.line, record.column, record.reason) == (2, column + 3, line.reason)


def test_the_givens_of_the_whole_grid_may_only_clash_on_a_diagonal():
    text = "4" + "." * 79 + "4"
    assert isinstance(next(iter_puzzles([text], "a")), Entry)
    (reject,) = iter_puzzles([text], "a", named("3x3-diagonals"))
    assert "r1c1 and r9c9 are both 4 in diagonal 1" in reject.reason
    assert isinstance(next(iter_puzzles(["1.." + "." * 12 + "1"], "a", latin(4))), Entry)
    (reject,) = iter_puzzles(["1" + "." * 3 + "1" + "." * 11], "a", JAGGED)
    assert "r1c1 and r2c1 are both 1 in column 1" in reject.reason
    (reject,) = iter_puzzles([".1.." + "1..." + "." * 8], "a", JAGGED)
    assert "r1c2 and r2c1 are both 1 in region 1" in reject.reason


@pytest.mark.parametrize("head", ["", "\ufeff", "# our own\n\n", "\ufeff---\n"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_a_table_with_a_header(head, end):
    text = head + f"level,id,puzzle\n1,a,{PUZZLE}\n\n2,b,x\n3,,{PUZZLE}\n"
    data = text.replace("\n", end).encode()
    first = head.count("\n") + 2
    items = list(iter_puzzles(io.BytesIO(data), "a"))
    assert items[0] == Entry(first, "a", DIGITS, "1")
    assert (items[1].line, items[1].column) == (first + 2, 5)
    assert items[2] == Entry(first + 3, str(first + 3), DIGITS, "3")
    assert len(items) == 3


def test_a_header_is_looked_for_in_the_first_line_that_says_something():
    items = list(iter_puzzles([PUZZLE, "id,puzzle", f"a,{PUZZLE}"], "a"))
    assert [type(item) for item in items] == [Entry, Reject, Reject]
    with pytest.raises(PuzzleError, match="a: no puzzle in it"):
        list(iter_puzzles(["id,puzzle"], "a"))


def test_a_puzzle_in_the_first_column_of_a_table_is_a_record_too():
    lines = ["puzzle,level,id", f"{PUZZLE},3,a"]
    assert list(iter_puzzles(lines, "a")) == [Entry(2, "a", DIGITS, "3")]


@pytest.mark.parametrize("data", [b"", b"\n\n", b"\xef\xbb\xbf", b"# only\n---\n", b"\r\n \t"])
def test_a_source_without_anything_says_so(data):
    with pytest.raises(PuzzleError) as caught:
        list(iter_puzzles(io.BytesIO(data), "none.txt"))
    assert str(caught.value) == (
        "none.txt: no puzzle in it; expected a puzzle of 16, 36, 64, 81, 100, 144, 256, 625 "
        "cells in one line, or row by row"
    )


def test_puzzles_come_as_soon_as_they_are_there():
    source = Pieces((PUZZLE + "\n").encode() * 3, [82])
    stream = iter_puzzles(source, "a")
    for turn in (1, 2, 3):
        assert next(stream).number == turn
        assert source.turn == turn


class Endless:
    """A file of a given length that repeats a text and is never in memory as a whole."""

    def __init__(self, text, length):
        self.text, self.left = text, length
        self.block = text * (1 + (1 << 20) // len(text))

    def read1(self, size):
        size = min(size, self.left)
        self.left -= size
        return self.block[:size]


def peak_of(text, length):
    tracemalloc.start()
    try:
        number = sum(1 for _ in iter_puzzles(Endless(text, length), "a"))
        return number, tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("text", [b"x", b"\x00", b"1", b" ", b"\xff", b"1 "])
def test_a_hundred_megabytes_in_one_line_are_one_reject_in_little_memory(text):
    number, peak = peak_of(text, 100_000_000)
    assert number == 1
    assert peak < 12_000_000


@pytest.mark.parametrize("text", [b"lorem ipsum\n", PUZZLE.encode() + b"\n", b"5" * 81 + b"\n"])
def test_memory_does_not_grow_with_the_source(text):
    _, small = peak_of(text, 600_000)
    _, large = peak_of(text, 1_800_000)
    assert large < 1.2 * small + 200_000


def test_the_open_collections_are_read_whole():
    folder = os.environ.get("GRIDCRUX_CORPORA")
    if not folder:
        pytest.skip("GRIDCRUX_CORPORA is not set")
    # Numbers of lines: README of the folder.
    expected = {"clues17-first25000.txt": 25_000, "top95.txt": 95, "hardest11.txt": 11}
    for name, lines in {**expected, "easy50.txt": 50}.items():
        with open_source(Path(folder) / name) as stream:
            batches = list(read_batches(stream, name))
        assert sum(len(batch.entries) for batch in batches) == lines
        assert not any(batch.rejects for batch in batches)
    with open_source(Path(folder) / "clues17-first25000.txt") as stream:
        for entries, digits, _ in read_batches(stream, "clues17"):
            assert (np.count_nonzero(digits, axis=1) == 17).all()
            assert State.from_digits(digits[0]) == State.from_digits(entries[0].digits)


def test_a_stream_of_random_lines_agrees_with_reading_each_alone():
    random_ = random.Random(7)
    lines = ["".join(random_.choices("." * 30 + "123456789x", k=81)) for _ in range(2000)]
    alone = [next(iter_puzzles([line], "a", NINE)) for line in lines]
    together = list(iter_puzzles(lines, "a", NINE))
    assert {type(item) for item in together} == {Entry, Reject}
    for number, one, other in zip(count(1), alone, together, strict=False):
        if isinstance(one, Entry):
            assert other == one._replace(number=number, id=str(number))
        else:
            assert other == one._replace(line=number)
    assert len(together) == len(lines)
