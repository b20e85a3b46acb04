"""One puzzle in any form is read as it is written, and what is written is read back equal."""

from __future__ import annotations

import pickle

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gridcrux.grids import text as module
from gridcrux.grids.layout import NINE, SYMBOLS, boxes, latin, named, regions
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import (
    PuzzleError,
    format_line,
    format_marks,
    iter_puzzles,
    read_puzzle,
)

# Encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
START = State.from_digits(list(map(int, PUZZLE)))
ROWS = [PUZZLE[at : at + 9] for at in range(0, 81, 9)]
JAGGED = regions(["1112", "1222", "3334", "3444"], "jagged")
JAGGED_9 = regions(
    "112222333 111222333 411122333 441556666 444555666 474555566 477889999 777888999 777888899",
    "jagged-9",
)
LAYOUTS = [
    *map(named, ["2x2", "2x3", "2x4", "3x3", "3x4", "4x4", "5x5", "latin-5", "3x3-diagonals"]),
    latin(1),
    JAGGED,
    JAGGED_9,
]


@st.composite
def puzzles(draw):
    """A state of givens only; few, many, or as many as fit one after the other."""
    layout = draw(st.sampled_from(LAYOUTS))
    digits = [0] * layout.cells
    for cell in draw(st.permutations(range(layout.cells)))[: draw(st.integers(0, layout.cells))]:
        digit = draw(st.integers(1, layout.size))
        if all(digits[peer] != digit for peer in layout.peers[cell]):
            digits[cell] = digit
    return State.from_digits(digits, layout)


@st.composite
def states(draw):
    """A state after givens, digits written since, and candidates lost, even all of a cell."""
    state = draw(puzzles())
    layout = state.layout
    for _ in range(draw(st.integers(0, 5))):
        free = [c for c in bits(state.open) if not state.placed >> c % layout.cells & 1]
        if free:
            state = state.with_placed(draw(st.sampled_from(free)))
    lost = draw(st.integers(0, layout.full)) if draw(st.booleans()) else 0
    for cell in bits(state.placed):
        lost &= ~layout.rules[cell].mask
    return state.without(lost)


def rows_of(line, n):
    return [line[at : at + n] for at in range(0, n * n, n)]


@settings(max_examples=80, deadline=None)
@given(puzzles(), st.data())
def test_a_puzzle_in_any_form_is_read_back(state, data):
    n, line = state.layout.size, state.line
    blank = data.draw(st.sampled_from(".0_"))
    line = line.replace(".", blank)
    line = data.draw(st.sampled_from([line, line.lower()]))
    rows = rows_of(line, n)
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


@settings(max_examples=60, deadline=None)
@given(puzzles())
def test_the_usual_layouts_need_not_be_named(state):
    n, line = state.layout.size, state.line
    if state.layout in (boxes(2, 2), boxes(2, 3), boxes(2, 4), NINE, boxes(3, 4), boxes(5, 5)):
        assert read_puzzle(line) == state
    if state.layout.name in ("2x2", "2x3", "2x4", "3x3", "3x4", "4x4", "5x5"):
        assert read_puzzle("\n".join(rows_of(line, n))) == state
        assert read_puzzle(" ".join(line)) == state


@settings(max_examples=150, deadline=None)
@given(states())
def test_a_state_is_read_back_equal(state):
    text = format_marks(state)
    lines = text.splitlines()
    assert [len(line.split()) for line in lines] == [state.layout.size] * state.layout.size
    assert read_puzzle(text, state.layout) == state
    assert read_puzzle(" ".join(text.split()), state.layout) == state
    assert read_puzzle(text.replace(" ", " |\n"), state.layout) == state


@settings(max_examples=80, deadline=None)
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
    assert state == START
    assert state.givens
    solved = "1 2 3 4  3 4 1 2  2 1 4 3  4 3 2 1"
    assert read_puzzle(solved).givens == 2**16 - 1
    assert read_puzzle(solved.replace("1", "+1", 1)).givens == 0


def test_signs_say_what_a_single_digit_is():
    text = "=1 23 34 2   23 3 4 4   3 234 234 234   4 234 234 234"
    state = read_puzzle(text.replace("=1", "=1"))
    assert (state.placed & 1, state.givens) == (1, 1)
    assert read_puzzle(text.replace("=1", "+1")).givens == 0
    assert read_puzzle(text.replace("=1", "+1")).placed & 1
    assert not read_puzzle(text.replace("=1", "?1")).placed & 1
    assert read_puzzle(text.replace("=1", "1")) == read_puzzle(text.replace("=1", "+1"))
    for sign in "=+":
        with pytest.raises(PuzzleError) as caught:
            read_puzzle(text.replace("34 2 ", f"34 {sign}2 "))
        assert str(caught.value) == (
            "argument, line 1, column 10: r1c4 is written, but rivals of its digit are open; "
            "expected none"
        )


def test_a_state_looks_like_this():
    assert format_marks(read_puzzle("4..1 .1.. ..1. 1..2")).splitlines()[0] == "=4 23 23 =1"
    sixteen = State.from_digits([16, *[0] * 255], boxes(4, 4))
    tokens = format_marks(sixteen).split()
    assert (tokens[0], tokens[1], tokens[255]) == ("=G", SYMBOLS[:15], SYMBOLS[:16])
    assert format_marks(State(latin(2), 0)) == "! !\n! !"


@pytest.mark.parametrize("n", [4, 16])
def test_rows_of_sixteen_are_told_from_a_line_by_their_number(n):
    text = "\n".join(["." * 16] * 16) if n == 16 else "." * 16
    assert read_puzzle(text).layout is boxes({4: 2, 16: 4}[n], {4: 2, 16: 4}[n])


def test_forms_that_could_be_taken_for_each_other():
    """The cases of the argument in the docstring of the module."""
    # A line of 81 and fifteen words are 16 tokens; a 4x4 state has as many.
    words = " ".join(str(number) for number in range(1, 16))
    assert read_puzzle(f"{PUZZLE} {words}") == START
    # An 8x8 grid in halves has 16 tokens too, of digits up to 4.
    halves = ["1234 5678", "1234 ....", *["4321 ...."] * 6]
    with pytest.raises(PuzzleError, match="r1c1 and r2c1 are both 1 in column 1"):
        read_puzzle("\n".join(halves))
    eight = "1234 5678\n" + ".... ....\n" * 7
    assert read_puzzle(eight).layout is boxes(2, 4)
    # An all-open cell of 16x16 is 16 symbols, as is a 4x4 puzzle.
    everything = " ".join([SYMBOLS[:16]] * 256)
    assert read_puzzle(everything) == State.empty(boxes(4, 4))
    # A single line is a table's header nowhere here, but a table of one record is fine.
    assert read_puzzle(f"id,puzzle\na,{PUZZLE}") == START


@pytest.mark.parametrize("blank", list(".0_"))
def test_decimal_numbers_are_not_mistaken_for_candidates(blank):
    """A 16x16 grid in decimal: '12' would be the candidates 1 and 2, but for the blanks."""
    cells = ["12", *[blank] * 255]
    with pytest.raises(PuzzleError, match="no cell of candidates; expected distinct digits"):
        read_puzzle(" ".join(cells), boxes(4, 4))


BLANK = "or '.', '0', '_' for a blank"
CANDIDATES = " ".join(["123456789"] * 80)


@pytest.mark.parametrize(
    ("text", "place", "message"),
    [
        ("", "", "no puzzle in it; expected a puzzle of 16, 36, 64"),
        (" \n# comment\n---\n", "", "no puzzle in it; expected a puzzle of 16, 36, 64"),
        (PUZZLE[:80], ", line 1, column 81", "80 characters; expected 81 for 9x9"),
        (PUZZLE + "0", ", line 1, column 82", "82 characters; expected 81 for 9x9"),
        (PUZZLE[:11] + "x" + PUZZLE[12:], ", line 1, column 12",
         f"'x' is not a digit; expected 1-9, {BLANK}"),
        ("\n\n  " + PUZZLE[:11] + "x" + PUZZLE[12:], ", line 3, column 14", "'x' is not a digit"),
        ("\n".join([*ROWS[:8]]), ", line 1, column 1", "the grid ends after 8 rows of 9 cells"),
        ("\n".join([*ROWS, ROWS[0]]), ", line 10, column 1",
         "text behind the puzzle that starts in line 1; expected one puzzle"),
        (f"{PUZZLE}\n{PUZZLE}", ", line 2, column 1", "text behind the puzzle"),
        (f"{PUZZLE}\nlorem", ", line 2, column 1", "text behind the puzzle"),
        ("\n".join([*ROWS[:3], "", *ROWS[3:8], "5 3 | x"]), ", line 10, column 7",
         "'x' is not a digit"),
        ("55" + PUZZLE[2:], ", line 1, column 2",
         "givens r1c1 and r1c2 are both 5 in row 1; expected each digit once in a house"),
        ("\n".join(["---", " ".join(ROWS[0]), *ROWS[1:3], "5" + ROWS[3][1:], *ROWS[4:]]),
         ", line 5, column 1", "givens r1c1 and r4c1 are both 5 in column 1"),
        ("\n".join(PUZZLE[:80] + "x"), ", line 81, column 1", "'x' is not a digit"),
        ("5\n5\n" + "\n".join(PUZZLE[2:]), ", line 2, column 1", "givens r1c1 and r1c2"),
        (" ".join(PUZZLE[:80]), ", line 1, column 160", "80 characters; expected 81 for 9x9"),
        ("hello", ", line 1, column 1", "no puzzle; expected a puzzle of 16, 36, 64"),
        ("12\x00", ", line 1, column 1", "no puzzle; expected"),
        ("\ud800" * 81, ", line 1, column 1", "'?' is not a digit"),
        (CANDIDATES, ", line 1, column 791", "80 cells of candidates; expected 81 for 9x9"),
        (CANDIDATES + " 12 13", ", line 1, column 804",
         "82 cells of candidates; expected 81 for 9x9"),
        (CANDIDATES + " 1x", ", line 1, column 801",
         "'1x' is no cell of candidates; expected distinct digits 1-9, one digit after '=', '+' "
         "or '?', or '!' for none"),
        (CANDIDATES + "\n11", ", line 2, column 1", "'11' is no cell of candidates"),
        (CANDIDATES + "\n10", ", line 2, column 1", "'10' is no cell of candidates"),
        (CANDIDATES + "\n.", ", line 2, column 1", "'.' is no cell of candidates"),
        (CANDIDATES + "\n=12", ", line 2, column 1", "'=12' is no cell of candidates"),
        (CANDIDATES + "\n!1", ", line 2, column 1", "'!1' is no cell of candidates"),
        (CANDIDATES + "\n?", ", line 2, column 1", "'?' is no cell of candidates"),
    ],
)  # fmt: skip
def test_text_that_is_no_puzzle_says_where_and_why(text, place, message):
    with pytest.raises(PuzzleError) as caught:
        read_puzzle(text)
    error = caught.value
    assert str(error).startswith(f"argument{place}: {message}")
    assert "\n" not in str(error)
    assert error.source == "argument"
    assert place == "" or (error.line, error.column) != (None, None)
    assert str(pickle.loads(pickle.dumps(error))) == str(error)
    with pytest.raises(ValueError, match=r"^puzzles\.txt"):
        read_puzzle(text, source="puzzles.txt")


def test_a_layout_says_how_many_cells_there_are():
    with pytest.raises(PuzzleError, match="81 characters; expected 36 for layout 2x3, in one"):
        read_puzzle(PUZZLE.replace("7", "1").replace("8", "2").replace("9", "3"), boxes(2, 3))
    with pytest.raises(PuzzleError, match="'7' is not a digit; expected 1-6"):
        read_puzzle("7" + "." * 35, boxes(2, 3))
    with pytest.raises(PuzzleError, match="80 cells of candidates; expected 25 for layout latin-5"):
        read_puzzle(CANDIDATES, latin(5))


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=200) | st.text(".123456789 |\n#-x=+?!", max_size=200))
def test_any_text_is_a_puzzle_or_a_puzzle_error(text):
    for layout in (None, boxes(2, 2)):
        try:
            state = read_puzzle(text, layout)
        except PuzzleError as error:
            lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
            if error.line is not None and error.column is not None:
                outside = error.line > len(lines) or error.column > len(lines[error.line - 1]) + 1
                if outside:
                    raise AssertionError(f"{text!r}: {error}") from error
        else:
            assert read_puzzle(format_marks(state), state.layout) == state


@given(puzzles())
def test_a_line_is_the_line_of_the_state(state):
    assert format_line(state.puzzle) == state.line
    assert format_line(bytes(state.puzzle)) == state.line


def test_the_module_offers_all_that_reads_and_writes():
    assert module.iter_puzzles is iter_puzzles
    for name in module.__all__:
        assert getattr(module, name).__doc__
