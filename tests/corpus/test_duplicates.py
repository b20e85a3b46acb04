"""Duplicates and near duplicates against canonical forms compared pair by pair."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus import duplicates as module
from gridcrux.corpus.duplicates import (
    DUPLICATE_COLUMNS,
    NEAR_COLUMNS,
    duplicates,
    near_duplicates,
)
from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study import study
from gridcrux.grids.canonical import canonical
from gridcrux.grids.layout import NINE, boxes, latin, usual
from gridcrux.grids.sources import PuzzleError
from gridcrux.grids.state import ContradictoryGivens, State
from gridcrux.grids.text import format_line, read_puzzle
from gridcrux.techniques.repertoires import SINGLES


def disguised(puzzle, seed):
    """A 9x9 puzzle with rows, columns, digits exchanged, and turned over."""
    random = np.random.default_rng(seed)
    square = np.array(puzzle).reshape(9, 9)[[2, 0, 1, 6, 7, 8, 4, 5, 3]].T
    names = np.concatenate(([0], random.permutation(9) + 1))
    return names[square[[3, 5, 4, 0, 1, 2, 8, 7, 6]]].reshape(-1).tolist()


def some_puzzles(layout, count, seed):
    """Minimal puzzles, each also with one or two givens less, with one more, and with another."""
    random = np.random.default_rng(seed)
    found = []
    for item in minimal(count, seed, layout):
        given, blank = np.flatnonzero(item.puzzle), random.choice(np.flatnonzero(item.puzzle == 0))
        less, more = item.puzzle.copy(), item.puzzle.copy()
        less[random.choice(given, random.integers(1, 3), replace=False)] = 0
        more[blank] = item.solution[blank]
        other = more.copy()
        other[random.choice(given)] = 0
        found += [each.tolist() for each in (item.puzzle, less, more, other)]
    return found


def lessened(puzzle):
    """A puzzle and what is left without one given, with the name of what was left out."""
    yield None, puzzle
    for cell, digit in enumerate(puzzle):
        if digit:
            yield (cell, digit), [*puzzle[:cell], 0, *puzzle[cell + 1 :]]


def pairs_by_definition(puzzles, layout):
    """For each pair of near duplicates how few givens are left out."""
    forms = [
        [(left is not None, canonical(less, layout)) for left, less in lessened(puzzle)]
        for puzzle in puzzles
    ]
    found = {}
    for first, second in combinations(range(len(puzzles)), 2):
        ways = [a + b for a, x in forms[first] for b, y in forms[second] if x == y]
        if ways:
            found[first, second] = min(ways)
    return found


def test_copies_and_disguises_are_found():
    puzzles = [item.puzzle.tolist() for item in minimal(40, 3)]
    lines = [format_line(puzzle) for puzzle in puzzles]
    lines.insert(5, format_line(disguised(puzzles[20], 1)))
    lines += [lines[30], format_line(disguised(puzzles[2], 2)), lines[2].replace(".", "0")]
    table = duplicates(lines)
    assert list(table.columns) == list(DUPLICATE_COLUMNS)
    assert table["row"].tolist() == [2, 42, 43, 5, 21, 30, 41]
    assert table["group"].tolist() == [0, 0, 0, 1, 1, 2, 2]
    assert table["size"].tolist() == [3, 3, 3, 2, 2, 2, 2]
    assert table["same"].tolist() == [2, 42, 2, 5, 21, 30, 30]
    assert table["puzzle"].tolist() == [lines[i].replace("0", ".") for i in table["row"]]
    for row in table.itertuples():
        form = canonical(read_puzzle(row.puzzle))
        assert (row.canonical, row.automorphisms) == (form.line, form.automorphisms)
        assert (row.layout, row.givens) == ("3x3", 81 - row.puzzle.count("."))


@pytest.mark.parametrize("layout", [boxes(2, 2), boxes(2, 3), latin(4)], ids=str)
def test_pairs_agree_with_the_definition(layout):
    puzzles = some_puzzles(layout, 12 if layout.size == 4 else 8, 5)
    table = near_duplicates(puzzles, layout)
    assert list(table.columns) == list(NEAR_COLUMNS)
    found = table.set_index(["first", "second"])["left_out"].to_dict()
    assert found == pairs_by_definition(puzzles, layout)
    assert set(found.values()) >= {1, 2}
    for row in table.itertuples():
        left = 0
        for puzzle, name in ((row.first, row.first_given), (row.second, row.second_given)):
            digits = list(puzzles[puzzle])
            if isinstance(name, str):
                left += 1
                cell = next(c for c in range(layout.cells) if name.startswith(layout.cell_name(c)))
                assert name == f"{layout.cell_name(cell)}={digits[cell]}"
                digits[cell] = 0
            assert canonical(digits, layout).line == row.canonical
        assert left == row.left_out
        assert row.common_givens == len(row.canonical) - row.canonical.count(".")


def test_pairs_among_nine_rows():
    puzzles = [item.puzzle.tolist() for item in minimal(30, 6)]
    changed = list(puzzles[4])
    given = [cell for cell in range(81) if changed[cell]]
    changed[given[3]] = 0
    puzzles += [disguised(changed, 3), disguised(puzzles[7], 4)]
    table = near_duplicates(puzzles)
    assert table[["first", "second", "left_out"]].to_numpy().tolist() == [[4, 30, 1], [7, 31, 0]]
    assert table["first_given"].tolist()[0] == f"{NINE.cell_name(given[3])}={puzzles[4][given[3]]}"
    assert table[["second_given"]].isna().to_numpy().all()


def test_neither_batches_nor_equal_hashes_matter(monkeypatch):
    puzzles = some_puzzles(usual(4), 12, 5)
    alike, near = duplicates(puzzles), near_duplicates(puzzles)
    monkeypatch.setattr(module, "BATCH", 5)
    pd.testing.assert_frame_equal(duplicates(puzzles), alike)
    pd.testing.assert_frame_equal(near_duplicates(puzzles), near)

    def useless(digits, layout):
        whose, cells, less = module._lessened(digits)
        return whose, cells, np.zeros(len(less), np.uint64)

    monkeypatch.setattr(module, "_hashes", useless)
    pd.testing.assert_frame_equal(near_duplicates(puzzles), near)


def test_a_study_and_its_labels():
    states = [
        State.from_digits(item.puzzle.tolist(), layout)
        for layout in (boxes(2, 3), boxes(3, 2), usual(4))
        for item in minimal(3, 2, layout)
    ]
    # Turned over, a puzzle with boxes of 2 x 3 is one with boxes of 3 x 2: another layout.
    turned = np.array(states[0].puzzle).reshape(6, 6).T.reshape(-1).tolist()
    states.append(State.from_digits(turned, boxes(3, 2)))
    states.append(State.from_digits(states[8].puzzle[::-1], usual(4)))
    table = study(states, repertoire=SINGLES).set_index(pd.Index(list("abcdefghijk")))
    found = duplicates(table)
    assert ["i", "k"] in [
        found["row"][group].tolist() for group in found.groupby("group").groups.values()
    ]
    assert set(found["layout"]) == {"2x2"}
    pd.testing.assert_frame_equal(
        found.drop(columns=["row", "same"]), duplicates(states).drop(columns=["row", "same"])
    )
    near = near_duplicates(table)
    assert ["i", "k", 0] in near[["first", "second", "left_out"]].to_numpy().tolist()


def test_what_has_no_duplicates():
    lines = [item.line for item in minimal(5, 1)]
    for nothing in (duplicates(lines), duplicates([]), duplicates(lines[:1])):
        assert nothing.empty
        assert list(nothing.columns) == list(DUPLICATE_COLUMNS)
    for nothing in (near_duplicates(lines), near_duplicates([])):
        assert nothing.empty
        assert list(nothing.columns) == list(NEAR_COLUMNS)
    assert duplicates(["." * 16, "0" * 16])["size"].tolist() == [2, 2]
    assert near_duplicates(["." * 16, "...4" + "." * 12])["left_out"].tolist() == [1]


def test_wrong_input_is_refused():
    with pytest.raises(PuzzleError):
        duplicates(["12"])
    with pytest.raises(ContradictoryGivens):
        duplicates(["11" + "." * 14])
    with pytest.raises(ValueError, match="permuted rows and columns would break"):
        near_duplicates(["." * 81], NINE.with_diagonals())
