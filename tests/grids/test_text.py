"""A puzzle is read from any usual way to write it down, and written so that it comes back equal."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gridcrux.grids.layout import NINE, SYMBOLS, boxes, latin, named, regions, usual
from gridcrux.grids.sources import PuzzleError
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import format_line, format_marks, read_puzzle

# Encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
ROWS = [PUZZLE[at : at + 9] for at in range(0, 81, 9)]
STATE = State.from_digits([int(symbol) for symbol in PUZZLE])
FOUR = "4..1.1....1.1..2"


def fault(text, layout=None):
    """Line, column and message of the error."""
    with pytest.raises(PuzzleError) as caught:
        read_puzzle(text, layout, "a.txt")
    error = caught.value
    assert error.source == "a.txt"
    assert str(error).startswith("a.txt")
    return error.line, error.column, error.message


@pytest.mark.parametrize("layout", [None, NINE])
@pytest.mark.parametrize("blank", ["0", ".", "_"])
@pytest.mark.parametrize(
    "rows",
    [
        "".join(ROWS),
        "".join(ROWS) + "\n",
        "".join(ROWS) + " 7.2 any text, \u00e9",
        "".join(ROWS) + ",any,text",
        "\ufeff# a comment\r\n\r\n" + "".join(ROWS) + "\r\n",
        "\n".join(ROWS),
        "\r".join(ROWS),
        "\n\n".join(ROWS),
        "\n".join(" ".join(row) for row in ROWS),
        "\n".join(",".join(row) for row in ROWS),
        "\n---+---+---\n".join("|".join([row[:3], row[3:6], row[6:]]) for row in ROWS),
        "+===+\n"
        + "\n".join(f"| {row[:3]} | {row[3:6]} | {row[6:]} |" for row in ROWS)
        + "\n+===+",
        " ".join(ROWS),
        " ".join(PUZZLE),
    ],
)
def test_forms_of_one_puzzle(rows, blank, layout):
    text = rows.replace("0", blank)
    state = read_puzzle(text, layout)
    assert state == STATE
    assert state.layout == NINE
    assert format_line(state.puzzle) == PUZZLE.replace("0", ".")


@pytest.mark.parametrize("n", [4, 6, 8, 9, 10, 12, 16, 25])
@pytest.mark.parametrize("case", [str.upper, str.lower])
def test_sizes_with_their_symbols(n, case):
    """The first row holds every symbol; beyond 9 those are letters in either case."""
    symbols = case(SYMBOLS[:n])
    lines = [symbols, *["." * n] * (n - 1)]
    expected = State.from_digits([*range(1, n + 1), *[0] * (n * n - n)], usual(n))
    for text in ("".join(lines), "\n".join(lines), "\n".join(" ".join(row) for row in lines)):
        assert read_puzzle(text) == expected
        assert read_puzzle(text, usual(n)) == expected


def test_a_layout_decides_what_conflicts():
    assert read_puzzle(FOUR, boxes(2, 2)) == read_puzzle(FOUR)
    assert read_puzzle("1...\n.1..\n....\n....", latin(4)).line == "1....1.........."
    assert "both 1 in box 1" in fault("1...\n.1..\n....\n....")[2]
    assert read_puzzle("." * 25, latin(5)) == State.empty(latin(5))


def test_candidates_may_stand_in_any_arrangement():
    """The tokens are what is open; separators and line ends say nothing."""
    state = read_puzzle("4 23 23 1   23 1 4 23   2 4 1 3   1 3 23 2")
    assert state.marks["r1c2"] == [2, 3]
    assert state.open.bit_count() == 6 + 6 + 4 + 5
    same = "4 32 | 23 1\n----+----\n23 1 | 4 23\n# half\n\n2 4 1 3\n1 3 23 2"
    assert read_puzzle(same) == state
    assert read_puzzle("\ufeff" + same) == state


def test_signs_say_what_is_written():
    """r1c1 is a given, r2c2 written, and r1c4 open though its rivals are gone."""
    state = read_puzzle("=4 23 23 ?1  23 +1 4 23  2 4 ! 3  1 3 23 2")
    assert state.givens == 1
    assert state.placed & 1
    assert state.placed >> 5 & 1
    assert not state.placed >> 3 & 1
    assert state.digits_of(3) == [1]
    assert state.digits_of(10) == []
    assert state.broken_rule == 10


@pytest.mark.parametrize("text", ["", "\n\n", "# a comment", "\ufeff", "---\n===\n| |"])
def test_nothing_to_read(text):
    assert fault(text)[:2] == (None, None)
    assert fault(text)[2].startswith("no puzzle in it; expected a puzzle of 16, 36, ")


@pytest.mark.parametrize("layout", [None, NINE])
@pytest.mark.parametrize(
    ("text", "line", "column", "what"),
    [
        (PUZZLE[:80], 1, 81, "80 characters; expected 81 for "),
        (PUZZLE + "1", 1, 82, "82 characters; expected 81 for "),
        ("# one\n\n" + PUZZLE[:80], 3, 81, "80 characters; expected 81 for "),
        (PUZZLE[:11] + "x" + PUZZLE[12:], 1, 12, "'x' is not a digit; expected 1-9, or "),
        (PUZZLE[:11] + "A" + PUZZLE[12:], 1, 12, "'A' is not a digit; expected 1-9, or "),
        ("\n".join([*ROWS[:4], "4a", *ROWS[5:]]), 5, 2, "'a' is not a digit"),
        ("\n".join([*ROWS[:4], ROWS[4][:8], *ROWS[5:]]), 5, 1, "row 5 of the grid has 8 cells"),
        ("\n".join(ROWS[:8]), 1, 1, "the grid ends after 8 rows of 9 cells; expected 9 rows"),
        ("5" + PUZZLE[1:2] + "5" + PUZZLE[3:], 1, 3, "givens r1c1 and r1c3 are both 5 in row 1"),
        ("\n".join([*ROWS[:8], "500080079"]), 9, 1, "givens r1c1 and r9c1 are both 5 in column 1"),
        ("\n".join(["1 " * 9, *["0 " * 9] * 8]), 1, 3, "givens r1c1 and r1c2 are both 1 in row 1"),
        (PUZZLE + "\n" + PUZZLE, 2, 1, "text behind the puzzle that starts in line 1"),
        (PUZZLE + "\n\nhello", 3, 1, "text behind the puzzle that starts in line 1"),
    ],
)
def test_faults_are_told_with_their_place(text, line, column, what, layout):
    found = fault(text, layout)
    assert found[:2] == (line, column)
    assert found[2].startswith(what)


@pytest.mark.parametrize("layout", [None, boxes(2, 2)])
@pytest.mark.parametrize(
    ("text", "column", "what"),
    [
        ("=4 23 23 =1 23 =1 4 23 2 4 1 3 1 3 23", 36, "15 cells of candidates; expected 16 for "),
        ("4 23 23 1 23 1 4 23 2 4 1 3 1 3 23 2 1", 38, "17 cells of candidates; expected 16 for "),
        ("4 25 23 1 23 1 4 23 2 4 1 3 1 3 23 2", 3, "'25' is no cell of candidates; expected "),
        ("4 22 23 1 23 1 4 23 2 4 1 3 1 3 23 2", 3, "'22' is no cell of candidates"),
        ("4 =23 23 1 23 1 4 23 2 4 1 3 1 3 23 2", 3, "'=23' is no cell of candidates"),
        ("4 ?! 23 1 23 1 4 23 2 4 1 3 1 3 23 2", 3, "'?!' is no cell of candidates"),
        ("=4 =4 23 1 23 1 4 23 2 4 1 3 1 3 23 2", 1, "r1c1 is written, but rivals of its digit"),
    ],
)
def test_faults_of_candidates_are_told_with_their_place(text, column, what, layout):
    found = fault(text, layout)
    assert found[:2] == (1, column)
    assert found[2].startswith(what)


def test_messages_name_the_source():
    with pytest.raises(PuzzleError, match=r"^argument, line 1, column 81: 80 characters"):
        read_puzzle(PUZZLE[:80])


def test_a_surrogate_is_a_fault_and_no_crash():
    assert fault(PUZZLE[:4] + "\udcff" + PUZZLE[5:])[:2] == (1, 5)


@given(st.text(st.sampled_from("01234.xA|,=!?+- \n\r#\ufeff\u00e9"), max_size=60))
@settings(max_examples=200, deadline=None)
def test_any_text_is_a_state_or_an_error_with_a_place(text):
    lines = text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    state, error = None, None
    try:
        state = read_puzzle(text)
    except PuzzleError as raised:
        error = raised
    if state is not None:
        assert read_puzzle(format_marks(state), state.layout) == state
    elif error.line is not None:
        assert 1 <= error.line <= len(lines)
        assert 1 <= error.column <= len(lines[error.line - 1]) + 1


LAYOUTS = [boxes(2, 2), boxes(2, 3), NINE, NINE.with_diagonals(), boxes(3, 4), latin(1), latin(5)]


@st.composite
def states(draw):
    """Any state that keeps the promise of `State.placed`, solvable or not."""
    layout = draw(st.sampled_from(LAYOUTS))
    rng = draw(st.randoms(use_true_random=False))
    share = draw(st.sampled_from([0.0, 0.2, 0.6, 0.9]))
    state = State.empty(layout)
    state = state.without(sum(1 << k for k in bits(layout.full) if rng.random() < share))
    for _ in range(draw(st.integers(0, layout.cells))):
        free = [k for k in bits(state.open) if not state.placed >> k % layout.cells & 1]
        if free:
            state = state.with_placed(rng.choice(free))
    givens = sum(1 << cell for cell in bits(state.placed) if rng.random() < 0.5)
    return State(layout, state.open, state.placed, givens)


@given(states())
@settings(max_examples=60, deadline=None)
def test_marks_come_back_equal(state):
    text = format_marks(state)
    assert len(text.split("\n")) == state.layout.size
    assert read_puzzle(text, state.layout) == state


@given(st.sampled_from([4, 9, 16]), st.randoms(use_true_random=False))
@settings(max_examples=25, deadline=None)
def test_lines_come_back_equal(n, rng):
    layout = usual(n)
    state = State.empty(layout)
    for _ in range(rng.randrange(2 * n)):
        state = state.with_placed(rng.choice(list(bits(state.open))))
    line = format_line(state.grid)
    assert len(line) == n * n
    assert read_puzzle(line, layout).grid == state.grid


JAGGED_9 = regions(
    "112222333 111222333 411122333 441556666 444555666 474555566 477889999 777888999 777888899",
    "jagged-9",
)
EVERY_LAYOUT = [
    *map(named, ["2x2", "2x3", "2x4", "3x3", "3x4", "4x4", "5x5", "latin-5", "3x3-diagonals"]),
    latin(1),
    regions(["1112", "1222", "3334", "3444"]),
    JAGGED_9,
]


@st.composite
def puzzles(draw):
    """A state of givens only; few, many, or as many as fit one after the other."""
    layout = draw(st.sampled_from(EVERY_LAYOUT))
    digits = [0] * layout.cells
    for cell in draw(st.permutations(range(layout.cells)))[: draw(st.integers(0, layout.cells))]:
        digit = draw(st.integers(1, layout.size))
        if all(digits[peer] != digit for peer in layout.peers[cell]):
            digits[cell] = digit
    return State.from_digits(digits, layout)


@settings(max_examples=40, deadline=None)
@given(puzzles(), st.data())
def test_a_puzzle_in_any_form_is_read_back(state, data):
    n, line = state.layout.size, state.line
    blank = data.draw(st.sampled_from(".0_"))
    line = line.replace(".", blank)
    line = data.draw(st.sampled_from([line, line.lower()]))
    rows = [line[at : at + n] for at in range(0, n * n, n)]
    rule = data.draw(st.sampled_from(["", "---", "# comment", "+--+--+", " "]))
    forms = [
        line,
        f"  {line} and text",
        f"{line};7.2",
        "\n".join(rows),
        "\r\n".join([rule, *rows[: n // 2], rule, *rows[n // 2 :], rule]),
        "\n".join(" ".join(row) for row in rows),
        "\n".join("| " + " | ".join(row) + " |" for row in rows),
        " ".join(line),
        "\n".join(line),
        "\ufeff" + "\r".join(rows),
    ]
    for form in forms:
        assert read_puzzle(form, state.layout) == state


@settings(max_examples=40, deadline=None)
@given(states())
def test_candidates_without_signs_are_marks(state):
    layout = state.layout
    marks = [state.digits_of(cell) for cell in range(layout.cells)]
    tokens = ["".join(SYMBOLS[d - 1] for d in digits) or "!" for digits in marks]
    if any(len(token) > 1 or token == "!" for token in tokens):
        assert read_puzzle(" ".join(tokens), layout) == State.from_marks(marks, layout)
        lower = "\n".join(tokens).lower()
        assert read_puzzle(lower, layout) == State.from_marks(marks, layout)


def test_candidates_of_one_symbol_each_are_givens():
    state = read_puzzle(" ".join(PUZZLE))
    assert state == STATE
    assert state.givens
    solved = "1 2 3 4  3 4 1 2  2 1 4 3  4 3 2 1"
    assert read_puzzle(solved).givens == 2**16 - 1
    assert read_puzzle(solved.replace("1", "+1", 1)).givens == 0


@pytest.mark.parametrize("n", [4, 16])
def test_rows_of_sixteen_are_told_from_a_line_by_their_number(n):
    text = "\n".join(["." * 16] * 16) if n == 16 else "." * 16
    assert read_puzzle(text).layout is boxes({4: 2, 16: 4}[n], {4: 2, 16: 4}[n])


def test_forms_that_could_be_taken_for_each_other():
    """The cases of the argument in the docstring of the module."""
    # A line of 81 and fifteen words are 16 tokens; a 4x4 state has as many.
    words = " ".join(str(number) for number in range(1, 16))
    assert read_puzzle(f"{PUZZLE} {words}") == STATE
    # An 8x8 grid in halves has 16 tokens too, of digits up to 4.
    halves = ["1234 5678", "1234 ....", *["4321 ...."] * 6]
    with pytest.raises(PuzzleError, match="r1c1 and r2c1 are both 1 in column 1"):
        read_puzzle("\n".join(halves))
    eight = "1234 5678\n" + ".... ....\n" * 7
    assert read_puzzle(eight).layout is boxes(2, 4)
    # So is a line with a misprint, whose fault is the one to tell.
    assert fault(f"{PUZZLE[:80]}x {words}")[1:] == fault(f"{PUZZLE[:80]}x")[1:]
    # An all-open cell of 16x16 is 16 symbols, as is a 4x4 puzzle.
    everything = " ".join([SYMBOLS[:16]] * 256)
    assert read_puzzle(everything) == State.empty(boxes(4, 4))
    # A single line is a table's header nowhere here, but a table of one record is fine.
    assert read_puzzle(f"id,puzzle\na,{PUZZLE}") == STATE


@pytest.mark.parametrize("blank", list(".0_"))
def test_decimal_numbers_are_not_mistaken_for_candidates(blank):
    """A 16x16 grid in decimal: '12' would be the candidates 1 and 2, but for the blanks."""
    cells = ["12", *[blank] * 255]
    with pytest.raises(PuzzleError, match="no cell of candidates; expected distinct digits"):
        read_puzzle(" ".join(cells), boxes(4, 4))


@pytest.mark.parametrize(
    ("text", "line", "column", "what"),
    [
        ("\n".join(PUZZLE[:80] + "x"), 81, 1, "'x' is not a digit"),
        (" ".join(PUZZLE[:3] + "\u00e9" + PUZZLE[4:]), 1, 7, "'\u00e9' is not a digit"),
        ("5\n5\n" + "\n".join(PUZZLE[2:]), 2, 1, "givens r1c1 and r1c2 are both 5 in row 1"),
        (" ".join(PUZZLE[:80]), 1, 160, "80 characters; expected 81 for 9x9"),
    ],
)
def test_symbols_one_by_one_are_told_by_their_own_place(text, line, column, what):
    found = fault(text)
    assert found[:2] == (line, column)
    assert found[2].startswith(what)


@settings(max_examples=60, deadline=None)
@given(puzzles(), st.data())
def test_a_state_in_any_layout_comes_back_equal(state, data):
    """Givens and lost candidates, also all of a cell, in any arrangement of the tokens."""
    lost = data.draw(st.integers(0, state.layout.full))
    for cell in bits(state.placed):
        lost &= ~state.layout.rules[cell].mask
    state = state.without(lost)
    text = format_marks(state)
    assert read_puzzle(text, state.layout) == state
    assert read_puzzle(" ".join(text.split()), state.layout) == state
    assert read_puzzle(text.replace(" ", " |\n"), state.layout) == state
