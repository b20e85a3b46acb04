"""Published numbers of grids and puzzles, of what consistency solves and of redundant rules."""

from __future__ import annotations

import os
from math import factorial
from pathlib import Path

import numpy as np
import pytest

from gridcrux.engines.kernel import KernelEngine, search
from gridcrux.grids.arrays import geometry
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State
from gridcrux.grids.stream import read_batches
from gridcrux.proofs.consistency import CONSISTENCIES
from gridcrux.proofs.consistency.levels import OUTCOMES, Outcome
from gridcrux.proofs.consistency.many import statuses
from gridcrux.proofs.consistency.redundant import redundant_sets


def with_first_row(layout):
    """The empty grid with 1 2 3 ... in its first row."""
    n = layout.size
    return State.from_digits(list(range(1, n + 1)) + [0] * (n * n - n), layout)


@pytest.mark.parametrize(
    ("layout", "published", "source"),
    [
        (boxes(2, 2), 288, "OEIS A107739"),
        (boxes(2, 3), 28_200_960, "encyclopaedia article 'Mathematics of Sudoku'"),
        (latin(4), 576, "OEIS A002860, from memory"),
        (latin(5), 161_280, "OEIS A002860, from memory"),
    ],
    ids=lambda value: getattr(value, "name", None),
)
def test_complete_grids(layout, published, source):
    """Digits can be renamed, so each first row begins equally many grids."""
    found = KernelEngine().count(with_first_row(layout), published)
    assert found.complete
    assert found.value * factorial(layout.size) == published, source


def test_complete_grids_without_the_shortcut():
    engine = KernelEngine()
    assert engine.count(State.empty(boxes(2, 2)), 1000).value == 288
    assert engine.count(State.empty(latin(4)), 1000).value == 576


@pytest.fixture(scope="module")
def small_puzzles():
    """For each 4x4 grid with first row 1 2 3 4: (65536,) which sets of givens have one solution."""
    layout = boxes(2, 2)
    kind, tables = search.kind_of(layout), geometry(layout)
    stack = search.new_stack(kind, tables)
    grids = list(KernelEngine().solutions(with_first_row(layout)))
    subsets = (np.arange(1 << 16)[:, None] >> np.arange(16) & 1).astype(np.int8)
    one = []
    for grid in grids:
        puzzles = subsets * np.array(grid, np.int8)
        counts = np.zeros(len(puzzles), np.int64)
        search.count_many(kind, tables, stack, puzzles, 2, counts, np.zeros_like(counts))
        one.append(counts == 1)
    return np.array(one), subsets.sum(axis=1)


def test_four_by_four_puzzles_with_one_solution(small_puzzles):
    """Own exhaustive count, noted in the table of published values as recomputed (r)."""
    one, givens = small_puzzles
    labelled = {k: int(one[:, givens == k].sum()) * 24 for k in range(17)}
    assert {k: v for k, v in labelled.items() if v and (k < 9 or k == 16)} == {
        4: 25_728, 5: 284_160, 6: 1_041_408, 7: 2_141_184, 8: 2_961_024, 16: 288
    }  # fmt: skip
    assert sum(labelled.values()) == 13_579_680


def test_four_by_four_minimal_puzzles(small_puzzles):
    """Own exhaustive count, noted in the table of published values as recomputed (r)."""
    one, givens = small_puzzles
    minimal = one.copy()
    sets = np.arange(1 << 16)
    for cell in range(16):
        smaller = sets & ~(1 << cell)
        minimal &= (smaller == sets) | ~one[:, smaller]
    labelled = {k: int(minimal[:, givens == k].sum()) * 24 for k in range(17)}
    assert {k: v for k, v in labelled.items() if v} == {4: 25_728, 5: 58_368, 6: 1_536}


ONE_SOLUTION = {
    "encyclopaedia article 'Sudoku', example grid": (
        "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
    ),
    "Inkala 2010, as printed by newspapers": (
        "005300000800000020070010500400005300010070006003200080060500009004000030000009700"
    ),
    "Inkala 2012, as printed by newspapers": (
        "800000000003600000070090200050007000000045700000100030001000068008500010090000400"
    ),
    "Project Euler, problem 96, grid 01": (
        "003020600900305001001806400008102900700000008006708200002609500800203009005010300"
    ),
    "Knuth, The Art of Computer Programming 4, digits of pi": (
        "003010000415000090206500300500080009070900032038004060000260403000300008320007950"
    ),
    "Inkala 2006, as printed by a newspaper": (
        "850002400720000009004000000000107002305000900040000000000080070017000000000036040"
    ),
    "Ercsey-Ravasz and Toroczkai, Scientific Reports 2:725, 2012": (
        "000000012000000003002300400001800005060070800000009000008500000900040500470006000"
    ),
    "encyclopaedia article on solving algorithms, 17 givens": (
        "000000000000003085001020000000507000004000100090000000500000073002010000000040009"
    ),
}
NO_SOLUTION = "000005080000601043000000000010500000000106000300000005530000061000000004000000000"


@pytest.mark.parametrize("source", ONE_SOLUTION)
def test_published_puzzles_have_one_solution(source):
    found = KernelEngine().count(State.from_digits([int(c) for c in ONE_SOLUTION[source]]), 10)
    assert (found.value, found.complete) == (1, True)


def test_the_published_puzzle_without_solution_has_none():
    found = KernelEngine().count(State.from_digits([int(c) for c in NO_SOLUTION]), 10)
    assert (found.value, found.complete) == (0, True)


def solved(file, step=1):
    """How many puzzles of a collection each level of consistency solves, and how many there are."""
    path = Path(os.environ["GRIDCRUX_CORPORA"]) / file
    with open(path, "rb") as stream:
        digits = np.concatenate([batch.digits for batch in read_batches(stream, file)])[::step]
    solved = [status for status, outcome in OUTCOMES.items() if outcome is Outcome.SOLVED]
    counts = np.isin(statuses(digits), solved).sum(axis=0).tolist()
    return dict(zip(CONSISTENCIES, counts, strict=True)), len(digits)


needs_corpora = pytest.mark.skipif(
    "GRIDCRUX_CORPORA" not in os.environ,
    reason="GRIDCRUX_CORPORA does not name the folder of the open collections",
)


@needs_corpora
@pytest.mark.parametrize(
    ("file", "counts"),
    [
        ("easy50.txt", (12, 40, 44, 46, 49, 50)),
        ("hardest11.txt", (0, 1, 3, 2, 3, 9)),
        ("top95.txt", (0, 0, 10, 15, 29, 95)),
    ],
)
def test_what_levels_of_consistency_solve(file, counts):
    """Recomputed on the open collections, noted in the table of published values (r).

    The levels are of Lynce & Ouaknine, ISAIM 2006, and Simonis, CP workshop 2005 (from memory).
    """
    found, _ = solved(file)
    names = (
        "minimal-units",
        "extended-units",
        "locked",
        "all-different",
        "all-different-locked",
        "failed-literals",
    )
    assert tuple(found[name] for name in names) == counts
    assert found["minimal-units"] <= found["bounds"] <= found["all-different"]
    assert found["failed-literals"] <= found["shaving"]


@needs_corpora
def test_units_solve_half_of_the_puzzles_with_17_givens():
    """Lynce & Ouaknine, ISAIM 2006; over all 25,000 the share was 45.3 % before."""
    found, number = solved("clues17-first25000.txt", step=5)
    assert number == 5000
    assert found["minimal-units"] == 0
    assert found["extended-units"] / number == pytest.approx(0.453, abs=0.015)
    assert found["failed-literals"] == number


def test_redundant_all_different_constraints():
    """Demoen & Garcia de la Banda, "Redundant Sudoku rules", arXiv:1207.5926.

    At most six are redundant together; the numbers of classes were recomputed (r).
    """
    found = [(len(each.redundant), each.classes) for each in redundant_sets(NINE, 7)]
    assert found == [(2, 2), (6, 7), (16, 22), (33, 60), (48, 146), (39, 320), (0, 623)]
