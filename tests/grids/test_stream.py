"""A stream gives every puzzle and every reject with its line, whatever stands between them."""

from __future__ import annotations

import gzip
import io
import tracemalloc

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.lines import Entry, LineReader
from gridcrux.grids.sources import PuzzleError, open_source
from gridcrux.grids.stream import iter_puzzles, read_batches

# Encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
ROWS = [PUZZLE[at : at + 9] for at in range(0, 81, 9)]
DIGITS = bytes(int(symbol) for symbol in PUZZLE)
FOUR = "4..1.1....1.1..2"
TWICE = "55" + PUZZLE[2:]


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
