"""A line is a puzzle, a row, a record, nothing, or wrong for a reason that is told."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.lines import LineReader, Piece, place, rest_of
from gridcrux.grids.symbols import GAPS

# Encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
ROWS = [PUZZLE[at : at + 9] for at in range(0, 81, 9)]
BLANK = "or '.', '0', '_' for a blank"
SIZES = "a puzzle of 16, 36, 64, 81, 100, 144, 256, 625 cells in one line, or row by row"


def read(text, layout=None):
    """Found puzzles as (line, digits, rest) and rejects as (line, column, reason)."""
    reader = LineReader("a", layout)
    for number, line in enumerate(text.split("\n"), 1):
        reader.read(number, line.encode("utf-8", "surrogateescape"))
    reader.end_grid()
    return (
        [(f.entry.number, "".join(map(str, f.entry.digits)), f.entry.rest) for f in reader.found],
        [(r.line, r.column, r.reason) for r in reader.rejects],
    )


@pytest.mark.parametrize("layout", [None, NINE])
@pytest.mark.parametrize(
    "text",
    [
        PUZZLE,
        PUZZLE.replace("0", "."),
        PUZZLE.replace("0", "_"),
        f"  {PUZZLE}\t",
        "\n".join(ROWS),
        "\n".join(" ".join(row) for row in ROWS),
        "\n".join("|".join([row[:3], row[3:6], row[6:]]) for row in ROWS),
        "\n".join(",".join(row) for row in ROWS),
        "\n".join([*ROWS[:3], "---+---+---", *ROWS[3:6], "- - - + = = =", *ROWS[6:]]),
        "+---+---+---+\n" + "\n".join(f"| {row[:3]} | {row[3:6]} | {row[6:]} |" for row in ROWS),
        " ".join(PUZZLE),
        ",".join(PUZZLE),
        " ".join(ROWS),
        " | ".join(PUZZLE[at : at + 3] for at in range(0, 81, 3)),
    ],
)
def test_forms_of_one_puzzle(text, layout):
    found, rejects = read(text, layout)
    assert [(digits, rest) for _, digits, rest in found] == [(PUZZLE, "")]
    assert rejects == []


@pytest.mark.parametrize(
    ("behind", "rest"),
    [(" hard", "hard"), ("\t 7.5, x", "7.5, x"), (",7.5,x", "7.5,x"), ("; x", "x"), (":x", "x"),
     ("|x", "x"), ("#x", "#x"), (" # x", "# x"), (",,x", ",x"), (" é", "é"), (" \udcff", "\ufffd"),
     (" \x00", "\x00"), (",", ""), (" " + PUZZLE, PUZZLE), (" " + "1 " * 15, ("1 " * 15).strip())],
)  # fmt: skip
@pytest.mark.parametrize("before", ["", " "])
def test_text_behind_a_puzzle(before, behind, rest):
    assert read(before + PUZZLE + behind) == ([(1, PUZZLE, rest)], [])


@pytest.mark.parametrize(
    "text", ["", "   ", "# a comment", "  #", "---", "+--+--+", " | | ", "==="]
)
def test_lines_that_say_nothing(text):
    assert read(text) == ([], [])


@pytest.mark.parametrize("layout", [None, NINE])
@pytest.mark.parametrize(
    ("text", "column", "what"),
    [
        (PUZZLE[:11] + "x" + PUZZLE[12:], 12, "'x' is not a digit; expected 1-9, " + BLANK),
        ("  " + PUZZLE[:11] + "x" + PUZZLE[12:], 14, "'x' is not a digit; expected 1-9, " + BLANK),
        (PUZZLE[:80] + "A", 81, "'A' is not a digit; expected 1-9, " + BLANK),
        ("é" + PUZZLE[1:], 1, "'é' is not a digit"),
        (PUZZLE[:4] + "\udcff" + PUZZLE[5:], 5, "byte 0xff is not a digit"),
        (PUZZLE[:4] + "\x00" + PUZZLE[5:], 5, "'\\x00' is not a digit"),
        (PUZZLE[:4] + '"' + PUZZLE[5:], 5, "'\"' is not a digit"),
        (PUZZLE[:80], 81, "80 characters; expected 81 for "),
        (PUZZLE + "0", 82, "82 characters; expected 81 for "),
        (PUZZLE[:80] + " 5", 81, "80 characters; expected 81 for "),
        (PUZZLE[:80] + ",7.5", 81, "80 characters; expected 81 for "),
        (PUZZLE[:40] + "x" + PUZZLE[42:], 41, "'x' is not a digit"),
        (" ".join(PUZZLE[:5] + "x" + PUZZLE[6:]), 11, "'x' is not a digit"),
        (",".join([*ROWS[:8], "00008007x"]), 89, "'x' is not a digit"),
    ],
)
def test_a_line_with_a_fault(text, column, what, layout):
    found, [(line, at, reason)] = read(text, layout)
    assert found == []
    assert (line, at) == (1, column)
    assert reason.startswith(what)


@pytest.mark.parametrize("text", ["lorem ipsum", "Grid 01", "puzzle", "7", "1234567", "x" * 999])
def test_a_line_that_is_like_no_puzzle(text):
    assert read(text) == ([], [(1, 1, f"no puzzle; expected {SIZES}")])
    found, [(_, _, reason)] = read(text, NINE)
    assert found == []
    assert "expected 1-9" in reason or reason.endswith(
        "expected 81 for layout 3x3, in one line or row by row"
    )


def test_a_line_of_sixteen_is_four_by_four_unless_a_layout_says_otherwise():
    assert read("4..11...........") == ([(1, "4001100000000000", "")], [])
    assert read("4 . . 1 " * 4)[0] == [(1, "4001" * 4, "")]
    found, [(_, column, reason)] = read("4..15...........")
    assert (found, column) == ([], 5)
    assert reason.endswith("; a line of 16 is 4x4 where no layout is given")
    found, rejects = read("\n".join(["123456789ABCDEFG", *["." * 16] * 15]), boxes(4, 4))
    assert ([line for line, _, _ in found], rejects) == ([1], [])


def test_a_line_may_be_of_groups_that_are_as_long_as_a_smaller_puzzle():
    """An 8x8 puzzle in four groups of 16, and a 6x6 puzzle in two groups of 18."""
    eight = "12345678" + "." * 56
    assert len(read(" ".join(eight[at : at + 16] for at in range(0, 64, 16)))[0][0][1]) == 64
    six = "123456" + "." * 30
    assert len(read(f"{six[:18]} {six[18:]}")[0][0][1]) == 36


@pytest.mark.parametrize("n", [1, 2, 3, 5, 7])
def test_sizes_without_a_usual_layout_need_one(n):
    layout = latin(n)
    text = "." * (n * n - 1) + "1"
    assert len(read(text, layout)[0]) == 1
    if n > 1:
        rows = "\n".join([*["." * n] * (n - 1), "." * (n - 1) + "1"])
        assert read(rows, layout) == ([(1, "0" * (n * n - 1) + "1", "")], [])


def test_grids_and_lines_mix():
    text = "\n".join([PUZZLE, *ROWS, PUZZLE + " x", "", *ROWS, *ROWS, "# end", PUZZLE])
    found, rejects = read(text)
    assert [line for line, _, _ in found] == [1, 2, 11, 13, 22, 32]
    assert {digits for _, digits, _ in found} == {PUZZLE}
    assert rejects == []


@pytest.mark.parametrize(
    ("rows", "rejects"),
    [
        (ROWS[:8], [(1, 1, "the grid ends after 8 rows of 9 cells; expected 9 rows")]),
        ([*ROWS[:8], "", ROWS[8]],
         [(1, 1, "the grid ends after 8 rows of 9 cells; expected 9 rows"),
          (10, 1, "the grid ends after 1 rows of 9 cells; expected 9 rows")]),
        ([*ROWS[:2], PUZZLE], [(1, 1, "the grid ends after 2 rows of 9 cells; expected 9 rows")]),
        ([*ROWS[:4], ROWS[4][:8], *ROWS[5:]],
         [(5, 1, "row 5 of the grid has 8 cells; expected 9")]),
        ([*ROWS[:4], ROWS[4] + "0", *ROWS[5:]],
         [(5, 1, "row 5 of the grid has 10 cells; expected 9")]),
        ([*ROWS[:4], " 4 0 x", *ROWS[5:]],
         [(5, 6, f"'x' is not a digit; expected 1-9, {BLANK}")]),
        ([*ROWS[:8], "Grid 02"], [(9, 1, f"'G' is not a digit; expected 1-9, {BLANK}")]),
        (["Grid 02", *ROWS], [(1, 1, f"no puzzle; expected {SIZES}")]),
        (["", *ROWS, ROWS[0]],
         [(11, 1, "the grid ends after 1 rows of 9 cells; expected 9 rows")]),
    ],
)  # fmt: skip
def test_a_grid_with_a_fault_is_one_reject(rows, rejects):
    assert read("\n".join(rows))[1] == rejects


def test_a_line_too_long_is_not_looked_at():
    text = PUZZLE + " " + "x" * 65_454
    assert len(text) == 65_536
    assert read(text)[1] == []
    found, rejects = read("\n".join([ROWS[0], text + "x", PUZZLE]))
    assert found == [(3, PUZZLE, "")]
    assert rejects == [
        (1, 1, "the grid ends after 1 rows of 9 cells; expected 9 rows"),
        (2, 1, f"the line has more than 65,536 bytes; expected {SIZES}"),
    ]


def test_a_long_line_of_blanks_may_hide_a_puzzle_but_a_long_comment_does_not():
    assert len(read(" " * 65_537)[1]) == len(read("-" * 65_537)[1]) == 1
    assert read("#" + " " * 65_537) == ([], [])


def table(header, *records):
    reader = LineReader("a", None)
    assert reader.header(header.encode())
    for number, record in enumerate(records, 2):
        reader.read(number, record.encode())
    return (
        [(f.entry.id, f.entry.rest) for f in reader.found],
        [(r.line, r.column, r.reason) for r in reader.rejects],
    )


def test_records_of_a_table():
    found, rejects = table(
        "id,Puzzle , note,level",
        f"a7,{PUZZLE},easy,1",
        f" , {PUZZLE} ,,2",
        f'"b,""8""",{PUZZLE},"one, two",3',
        f'"c","{PUZZLE}"',
        "",
        "# comment",
        f"d,{','.join(['x' * 10, 'y'])}",
    )
    assert found == [("a7", "easy,1"), ("3", ",2"), ('b,"8"', "one, two,3"), ("c", "")]
    assert rejects == [(8, 3, f"no puzzle; expected {SIZES}")]


def test_a_table_may_lack_ids_or_other_columns():
    assert table("puzzle", PUZZLE) == ([("2", "")], [])
    assert table("level,puzzle", f"3,{PUZZLE}") == ([("2", "3")], [])
    assert table("puzzle,id", PUZZLE) == ([("2", "")], [])


@pytest.mark.parametrize("header", ["id,puzzles", PUZZLE, "puzzle;id", "# puzzle", '"puzzle'])
def test_a_header_names_a_column_puzzle(header):
    reader = LineReader("a", None)
    assert reader.header(header.encode()) == (header == '"puzzle')


@pytest.mark.parametrize(
    ("record", "column", "reason"),
    [
        (f"é,{PUZZLE[:11]}x{PUZZLE[12:]},3", 14, f"'x' is not a digit; expected 1-9, {BLANK}"),
        (f"a,{PUZZLE[:80]},3", 83, "80 characters; expected 81 for 9x9"),
        ("a", 2, "1 fields; expected the puzzle in field 2"),
        ("a,", 1, f"no puzzle; expected {SIZES}"),
    ],
)
def test_a_record_with_a_fault(record, column, reason):
    found, rejects = table("id,puzzle,level", record)
    assert found == []
    assert rejects == [(2, column, reason)]


@given(st.lists(st.text("1.|, \t", max_size=12).map(str.encode), min_size=1, max_size=4))
def test_a_cell_is_found_where_it_stands(texts):
    pieces = [Piece(number, 0, text) for number, text in enumerate(texts)]
    stands = [
        (piece, at) for piece in pieces for at, byte in enumerate(piece.text) if byte not in GAPS
    ]
    for cell, expected in enumerate(stands):
        assert place(pieces, cell) == expected
    with pytest.raises(IndexError):
        place(pieces, len(stands))


def test_the_rest_loses_one_separator():
    assert [rest_of(text) for text in (b"", b" a ", b", a", b",, a")] == ["", "a", "a", ", a"]
