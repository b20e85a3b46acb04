"""A stream gives every puzzle and every reject with its line, whatever stands between them."""

from __future__ import annotations

import gzip
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

from gridcrux.grids.layout import NINE, SYMBOLS, boxes, latin, named, regions
from gridcrux.grids.lines import Entry, LineReader, Reject
from gridcrux.grids.sources import PuzzleError, open_source
from gridcrux.grids.state import ContradictoryGivens, State
from gridcrux.grids.stream import iter_puzzles, read_batches

# Encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
ROWS = [PUZZLE[at : at + 9] for at in range(0, 81, 9)]
DIGITS = bytes(int(symbol) for symbol in PUZZLE)
FOUR = "4..1.1....1.1..2"
TWICE = "55" + PUZZLE[2:]
JAGGED = regions(["1112", "1222", "3334", "3444"], "jagged")
LAYOUTS = [
    *map(named, ["2x2", "2x3", "2x4", "3x3", "3x4", "4x4", "5x5", "latin-5", "3x3-diagonals"]),
    JAGGED,
]


def read(lines, layout=None):
    """Line numbers of the puzzles, and (line, column, reason) of the rejects."""
    items = list(iter_puzzles(lines, "a", layout))
    return (
        [item.number for item in items if isinstance(item, Entry)],
        [tuple(item[1:4]) for item in items if not isinstance(item, Entry)],
    )


def test_comments_blank_lines_and_text_behind():
    text = f"# first\n\n{PUZZLE}\n   \n  # second\n{PUZZLE.replace('0', '.')} hard, 7.5\n---\n"
    items = list(iter_puzzles(io.BytesIO(text.encode()), "a"))
    assert items == [Entry(3, "3", DIGITS, ""), Entry(6, "6", DIGITS, "hard, 7.5")]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("last", [True, False])
def test_line_ends_and_byte_order_mark(end, mark, last):
    text = mark + end.join([PUZZLE, "", *ROWS, "junk", FOUR]) + end * last
    found, [(line, column, _)] = read(io.BytesIO(text.encode()))
    assert found == [1, 3, 13]
    assert (line, column) == (12, 1)


def test_a_packed_file_is_read_like_a_plain_one(tmp_path):
    text = f"{PUZZLE} x\njunk\n{FOUR}\n".encode()
    plain, packed = tmp_path / "a.txt", tmp_path / "a.txt.gz"
    plain.write_bytes(text)
    packed.write_bytes(gzip.compress(text))
    results = []
    for path in (plain, packed):
        with open_source(path) as stream:
            results.append(list(iter_puzzles(stream, "a")))
    assert results[0] == results[1]
    assert len(results[0]) == 3


def test_a_damaged_file_gives_its_puzzles_first(tmp_path):
    """What could be unpacked counts; then it is said that the rest is missing."""
    path = tmp_path / "a.gz"
    many = b"".join(PUZZLE.encode() + b" %d\n" % number for number in range(40_000))
    path.write_bytes(gzip.compress(many)[:-2000])
    found: list[Entry] = []
    with open_source(path) as stream, pytest.raises(PuzzleError) as caught:
        found.extend(iter_puzzles(stream, "a"))
    assert str(caught.value).startswith("a: cannot be read to its end (")
    assert str(caught.value).endswith("; expected an undamaged file")
    assert len(found) > 10_000
    for number, item in enumerate(found, 1):
        assert item == Entry(number, str(number), DIGITS, str(number - 1))


def test_a_table_names_its_column():
    text = f"level,Puzzle,id,note\n3,{PUZZLE},k1,x\n4,{PUZZLE[:80]},k2,y\n\n5,{FOUR}\n"
    one, wrong, two = iter_puzzles(text.splitlines(), "a")
    assert one == Entry(2, "k1", DIGITS, "3,x")
    assert (wrong.line, wrong.column) == (3, 83)
    assert (two.number, two.id, two.rest) == (5, "5", "5")
    assert read([f"{PUZZLE}", "id,puzzle"])[1][0][0] == 2


def test_rejects_never_stop_the_stream():
    """Each kind of fault, between two puzzles."""
    faults = [
        (PUZZLE[:80], 81, "80 characters"),
        (PUZZLE + "1", 82, "82 characters"),
        (PUZZLE[:9] + "x" + PUZZLE[10:], 10, "'x' is not a digit"),
        ("lorem ipsum", 1, "no puzzle"),
        (TWICE, 2, "givens r1c1 and r1c2 are both 5 in row 1"),
        (b"\xff\xfe" + PUZZLE[2:].encode(), 1, "byte 0xff is not a digit"),
        (b"\xc3\x28", 1, "no puzzle"),
        ("\x00" * 81, 1, "'\\x00' is not a digit"),
        ("x" * 70_000, 1, "the line has more than 65,536 bytes"),
        ("1234567", 1, "no puzzle"),
    ]
    lines = [PUZZLE]
    for text, _, _ in faults:
        lines += [text, PUZZLE]
    found, rejects = read(lines)
    assert found == list(range(1, len(lines) + 1, 2))
    assert len(rejects) == len(faults)
    for number, ((_, column, what), reject) in enumerate(zip(faults, rejects, strict=True)):
        assert reject[:2] == (2 * number + 2, column)
        assert reject[2].startswith(what)


def test_invalid_bytes_behind_a_puzzle_are_replaced():
    (item,) = iter_puzzles([PUZZLE.encode() + b" \xff x"], "a")
    assert item == Entry(1, "1", DIGITS, "\ufffd x")


def test_contradictory_rows_are_told_where_they_stand():
    found, rejects = read(["#", *ROWS[:8], "5 0 0 0 8 0 0 7 9", PUZZLE])
    assert found == [11]
    assert rejects == [
        (10, 1, "givens r1c1 and r9c1 are both 5 in column 1; expected each digit once in a house")
    ]


class Junk:
    """One line of a given length between two puzzles, made while it is read."""

    def __init__(self, length):
        self.start, self.length = f"{PUZZLE}\n".encode(), length
        self.end = f"\n{PUZZLE}\n".encode()

    def read(self, size):
        if self.start:
            given, self.start = self.start, b""
        elif self.length > 0:
            given = b"7" * min(size, self.length)
            self.length -= len(given)
        else:
            given, self.end = self.end, b""
        return given


def test_a_huge_line_takes_little_memory():
    tracemalloc.start()
    found, rejects = read(Junk(40_000_000))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert found == [1, 3]
    assert [reject[:2] for reject in rejects] == [(2, 1)]
    assert peak < 20_000_000


def test_a_long_stream_is_read_in_flat_memory():
    """100,000 lines of 400 bytes, 40 MB, never held at once."""
    tracemalloc.start()
    number = 0
    lines = (PUZZLE + " x" * 160 for _ in range(100_000))
    for entries, digits, rejects in read_batches(lines, "a"):
        assert not rejects
        number += len(entries)
        assert digits.shape == (len(entries), 81)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert number == 100_000
    assert peak < 20_000_000


@pytest.mark.parametrize("lines", [[], [""], ["# only", "", "---"], io.BytesIO(b"")])
def test_nothing_in_it(lines):
    with pytest.raises(PuzzleError, match=r"^a: no puzzle in it; expected a puzzle of 16, 36"):
        list(iter_puzzles(lines, "a"))


@pytest.mark.parametrize("batch", [1, 2, 3, 1000])
def test_batches_hold_one_size_each_and_all_in_order(batch):
    lines = [PUZZLE, PUZZLE, FOUR, "junk", FOUR, *ROWS, PUZZLE[:80], PUZZLE]
    number = 0
    numbers, rejects = [], []
    for entries, digits, bad in read_batches(lines, "a", batch=batch):
        assert digits.dtype == np.int8
        assert [bytes(row) for row in digits] == [entry.digits for entry in entries]
        assert all(reject.line > number for reject in bad)
        assert all(line < entries[0].number for line in rejects if entries)
        number = max([number, *(entry.number for entry in entries)])
        numbers += [entry.number for entry in entries]
        rejects += [reject.line for reject in bad]
    assert numbers == [1, 2, 3, 5, 6, 16]
    assert rejects == [4, 15]


def test_a_layout_is_the_only_size():
    found, rejects = read([FOUR, PUZZLE, "0" * 81, FOUR], boxes(2, 2))
    assert found == [1, 4]
    assert [reject[:2] for reject in rejects] == [(2, 1), (3, 17)]
    assert rejects[0][2].startswith("'5' is not a digit; expected 1-4")
    assert rejects[1][2].startswith("81 characters; expected 16 for layout 2x2")
    assert read([PUZZLE], NINE) == ([1], [])


LINES = st.sampled_from(
    [
        PUZZLE, PUZZLE + " x", " " + PUZZLE, PUZZLE + ",7", TWICE, *ROWS[:3], " ".join(ROWS[3]),
        FOUR, "4..1", ".1..", "..1.", "1..2", "4 . . 1", "", "#", "---", "junk", "x" * 81, "1" * 16,
        PUZZLE[:80], PUZZLE[:80] + "A", "\u00e9", "0" * 81, "0" * 256, "|" + PUZZLE, "5,7", ",",
    ]
)  # fmt: skip


@given(st.lists(LINES, min_size=1, max_size=30), st.integers(1, 7))
@settings(max_examples=200, deadline=None)
def test_all_at_once_is_the_same_as_line_by_line(lines, batch):
    """The careful reader alone finds the same, but for givens that contradict each other."""
    reader = LineReader("a", None)
    for number, line in enumerate(lines, 1):
        reader.read(number, line.encode())
    reader.end_grid()
    numbers, rejects, clashes = [], [], []
    try:
        for entries, _, bad in read_batches(lines, "a", batch=batch):
            numbers += entries
            for reject in bad:
                (clashes if reject.reason.startswith("givens ") else rejects).append(reject)
    except PuzzleError:
        assert not reader.found
        assert not reader.rejects
    assert rejects == reader.rejects
    plain = [found.entry for found in reader.found]
    assert [entry for entry in plain if entry in numbers] == numbers
    assert len(plain) == len(numbers) + len(clashes)
    for entry in numbers:
        rows = np.frombuffer(entry.digits, np.int8)
        size = round(len(rows) ** 0.5)
        for row in rows.reshape(size, size):
            assert len(set(row[row > 0])) == (row > 0).sum()


def outcome(batches):
    """The entries and the rejects of batches."""
    found = list(batches)
    return (
        [entry for batch in found for entry in batch.entries],
        [reject for batch in found for reject in batch.rejects],
    )


class Pieces:
    """A file whose reads give pieces of given lengths, over and over."""

    def __init__(self, data, lengths):
        self.data, self.lengths, self.turn = io.BytesIO(data), lengths, 0

    def read1(self, size):
        self.turn += 1
        return self.data.read(min(size, self.lengths[self.turn % len(self.lengths)]))


@given(
    st.lists(LINES, max_size=30),
    st.sampled_from([None, NINE, boxes(2, 2), boxes(4, 4)]),
    st.lists(st.integers(1, 200), min_size=1, max_size=4),
    st.integers(1, 9),
)
@settings(max_examples=100, deadline=None)
def test_the_outcome_does_not_depend_on_pieces_and_batches(lines, layout, lengths, batch):
    data = "\n".join(lines).encode()
    try:
        expected = outcome(read_batches(data, "a", layout))
    except PuzzleError:
        assert all(line in ("", "#", "---") for line in lines)
        return
    assert expected == outcome(read_batches(Pieces(data, lengths), "a", layout, batch))
    items = list(iter_puzzles(Pieces(data, lengths), "a", layout))
    assert [item for item in items if isinstance(item, Entry)] == expected[0]
    assert [item for item in items if isinstance(item, Reject)] == expected[1]


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
    return "".join(("." + SYMBOLS)[digit] for digit in digits)


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


def test_puzzles_come_as_soon_as_they_are_there():
    source = Pieces((PUZZLE + "\n").encode() * 3, [82])
    stream = iter_puzzles(source, "a")
    for turn in (1, 2, 3):
        assert next(stream).number == turn
        assert source.turn == turn


def test_the_sizes_of_a_stream_may_differ_but_not_within_a_batch():
    lines = ["." * n * n for n in (4, 4, 6, 9, 9, 4, 16, 25, 8, 10, 12)]
    batches = list(read_batches([*lines[:3], "x", *lines[3:], "x"], "a"))
    assert [batch.digits.shape for batch in batches] == [
        (2, 16), (1, 36), (2, 81), (1, 16), (1, 256), (1, 625), (1, 64), (1, 100), (1, 144)
    ]  # fmt: skip
    assert [[reject.line for reject in batch.rejects] for batch in batches] == [
        [], [4], [], [], [], [], [], [], [13]
    ]  # fmt: skip


@pytest.mark.parametrize("line", ["lorem ipsum " * 6, "5" * 81])
def test_a_stream_of_rejects_is_read_in_flat_memory(line):
    peaks = []
    for number in (8_000, 24_000):
        tracemalloc.start()
        rejects = sum(len(bad) for _, _, bad in read_batches((line for _ in range(number)), "a"))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
        assert rejects == number
    assert peaks[1] < 1.2 * peaks[0] + 200_000


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
