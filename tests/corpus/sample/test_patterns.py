"""Givens are as many as asked for, or exactly where asked for; what cannot be is refused."""

from __future__ import annotations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal, symmetric_cells
from gridcrux.corpus.sample.exchange import NoSuchPuzzle
from gridcrux.corpus.sample.patterns import (
    check_givens,
    check_pattern,
    read_pattern,
    with_givens,
    with_pattern,
)
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State
from samples import JAGGED

RING = """
...xxx...
..x...x..
.x.xxx.x.
x.x...x.x
x.x.x.x.x
x.x...x.x
.x.xxx.x.
..x...x..
...xxx...
"""
"""Two rings and a dot."""


def is_solved_by(item, layout=NINE):
    """Whether the solution is the only one, by an engine that shares nothing with the sampler's."""
    state = State.from_digits(item.puzzle.tolist(), layout)
    one = get_engine("sat").count(state, 2).value == 1
    return one and next(get_engine("sat").solutions(state)) == tuple(item.solution.tolist())


def is_minimal(item, turned):
    for images in {
        tuple(sorted(set(turned[cell].tolist()))) for cell in np.flatnonzero(item.puzzle)
    }:
        fewer = item.puzzle.copy()
        fewer[list(images)] = 0
        if get_engine("sat").count(State.from_digits(fewer.tolist()), 2).value == 1:
            return False
    return True


@pytest.mark.parametrize(
    ("givens", "symmetry", "minimal_too"),
    [
        (60, "none", False),
        (26, "none", False),
        (20, "none", False),
        (20, "none", True),
        (28, "none", True),
        (31, "half-turn", False),
        (24, "half-turn", True),
        (29, "quarter-turn", True),
        (22, "diagonal", False),
    ],
)
def test_so_many_givens(givens, symmetry, minimal_too):
    turned = symmetric_cells(NINE, symmetry)
    for outcome in with_givens(2, 1, givens, symmetry=symmetry, minimal=minimal_too):
        item = outcome.sampled
        assert outcome.found
        assert item.givens == givens
        given = item.puzzle > 0
        assert all((given[images] == given[cell]).all() for cell, images in enumerate(turned))
        assert is_solved_by(item)
        assert not minimal_too or is_minimal(item, turned)


def test_other_layouts():
    for layout, givens in (
        (boxes(2, 3), 9),
        (latin(5), 9),
        (JAGGED, 10),
        (NINE.with_diagonals(), 18),
    ):
        for outcome in with_givens(2, 3, givens, layout):
            assert outcome.sampled.givens == givens
            assert is_solved_by(outcome.sampled, layout)


def test_a_search_without_end_is_given_up():
    """No 4x4 puzzle with three givens has one solution, but nothing here knows that."""
    told = []
    (outcome,) = with_givens(1, 1, 3, boxes(2, 2), attempts=2, tell=told.append)
    assert told == [1, 1]
    assert (outcome.found, outcome.sampled, outcome.attempts) == (False, None, 2)
    (outcome,) = with_pattern(1, 1, [0, 6, 9], boxes(2, 2), attempts=2)
    assert (outcome.found, outcome.sampled, outcome.attempts) == (False, None, 2)


@pytest.mark.parametrize(
    ("givens", "layout", "symmetry", "words"),
    [
        (16, NINE, "none", "fewer than 17.*1201.0749"),
        (4, boxes(2, 3), "none", "two of the 6 digits"),
        (82, NINE, "none", "81 cells"),
        (31, boxes(2, 4), "half-turn", "half-turn.*30 or 32"),
        (26, NINE, "quarter-turn", "24 or 25"),
    ],
)
def test_impossible_numbers_are_refused(givens, layout, symmetry, words):
    with pytest.raises(NoSuchPuzzle, match=words):
        check_givens(layout, givens, symmetry)
    with pytest.raises(NoSuchPuzzle, match=words):
        next(with_givens(1, 1, givens, layout, symmetry))


def test_the_pattern_is_kept_exactly():
    pattern = read_pattern(RING)
    found = list(with_pattern(4, 7, pattern))
    for outcome in found:
        assert tuple(np.flatnonzero(outcome.sampled.puzzle)) == pattern
        assert is_solved_by(outcome.sampled)
    assert len({outcome.sampled.line for outcome in found}) == 4


def test_the_pattern_of_a_puzzle_with_few_givens():
    (few,) = with_givens(1, 8, 22)
    pattern = read_pattern(few.sampled.line)
    assert pattern == tuple(np.flatnonzero(few.sampled.puzzle))
    (outcome,) = with_pattern(1, 9, pattern)
    assert tuple(np.flatnonzero(outcome.sampled.puzzle)) == pattern
    assert is_solved_by(outcome.sampled)


def test_patterns_of_other_layouts():
    for layout in (boxes(2, 3), JAGGED, NINE.with_diagonals(), latin(5)):
        (item,) = minimal(1, 10, layout)
        pattern = np.flatnonzero(item.puzzle).tolist()
        (outcome,) = with_pattern(1, 11, pattern, layout)
        assert np.flatnonzero(outcome.sampled.puzzle).tolist() == pattern
        assert is_solved_by(outcome.sampled, layout)


def blank(layout, rows=(), columns=()):
    """All cells but those of some lines."""
    n = layout.size
    return [c for c in range(layout.cells) if c // n not in rows and c % n not in columns]


def test_empty_lines_that_can_be_exchanged_are_refused():
    for layout, rows, columns, words in (
        (NINE, (3, 5), (), "rows 4 and 6"),
        (NINE, (), (7, 8), "columns 8 and 9"),
        (boxes(2, 3), (2, 3), (), "rows 3 and 4"),
        (boxes(2, 3), (), (0, 2), "columns 1 and 3"),
        (latin(5), (0, 4), (), "rows 1 and 5"),
    ):
        with pytest.raises(NoSuchPuzzle, match=words):
            check_pattern(layout, blank(layout, rows, columns))
    # Nothing is refused that may work: lines of two bands, and those that a diagonal tells apart.
    check_pattern(NINE, blank(NINE, (2, 3)))
    check_pattern(boxes(2, 3), blank(boxes(2, 3), (), (2, 3)))
    check_pattern(NINE.with_diagonals(), blank(NINE.with_diagonals(), (3, 5)))
    with pytest.raises(NoSuchPuzzle, match=r"1201\.0749"):
        check_pattern(NINE, range(16))


def test_a_refusal_is_right():
    """With two empty rows of a band every grid has another one beside it."""
    for item in minimal(3, 12):
        grid = item.solution.copy().reshape(9, 9)
        grid[[3, 5]] = 0
        state = State.from_digits(grid.reshape(-1).tolist())
        assert get_engine("sat").count(state, 2).value == 2


def test_text_of_a_pattern():
    with pytest.raises(ValueError, match="80 cells; expected 81"):
        read_pattern("x" * 80)
    ruled = "x.|.#\n.0|5_\n--+--\n..|..\n..|.9\n"
    assert read_pattern(ruled, boxes(2, 2)) == (0, 3, 6, 15)


def test_an_item_depends_on_seed_and_number_alone():
    for sampler, what in ((with_givens, 23), (with_pattern, read_pattern(RING))):
        whole = [outcome.sampled.line for outcome in sampler(4, 13, what)]
        assert [each.sampled.line for each in sampler(2, 13, what, start=2)] == whole[2:]
        assert [each.sampled.line for each in sampler(4, 14, what)] != whole
