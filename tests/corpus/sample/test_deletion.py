"""Sampled puzzles are minimal, symmetric where asked, and the same for the same seed."""

from __future__ import annotations

import csv
import hashlib
import itertools
import re
from pathlib import Path

import numpy as np
import pytest

from gridcrux.corpus.sample import SYMMETRIES, grids, minimal, symmetric_cells
from gridcrux.corpus.starter import FIELDS, tickets
from gridcrux.engines.kernel import KernelEngine
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State

LAYOUTS = [boxes(2, 2), boxes(2, 3), boxes(2, 4), NINE, latin(5), NINE.with_diagonals()]
DATASETS = Path(__file__).parents[3] / "datasets"


def solutions(digits, layout, limit=2):
    return KernelEngine().count(State.from_digits(digits.tolist(), layout), limit).value


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_grids_keep_every_rule(layout):
    for grid in grids(20, 1, layout):
        for house in layout.houses:
            assert sorted(grid[list(house.cells)]) == list(range(1, layout.size + 1))


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_no_given_of_a_minimal_puzzle_can_be_spared(layout):
    for item in minimal(5, 2, layout):
        assert solutions(item.puzzle, layout) == 1
        assert (item.puzzle[item.puzzle > 0] == item.solution[item.puzzle > 0]).all()
        for cell in np.flatnonzero(item.puzzle):
            fewer = item.puzzle.copy()
            fewer[cell] = 0
            assert solutions(fewer, layout) == 2


@pytest.mark.parametrize("symmetry", SYMMETRIES)
def test_symmetric_givens(symmetry):
    turned = symmetric_cells(NINE, symmetry)
    for item in minimal(5, 3, symmetry=symmetry):
        given = item.puzzle > 0
        assert solutions(item.puzzle, NINE) == 1
        assert all((given[images] == given[cell]).all() for cell, images in enumerate(turned))
        for images in {tuple(sorted(set(images))) for images in turned[given].tolist()}:
            fewer = item.puzzle.copy()
            fewer[list(images)] = 0
            assert solutions(fewer, NINE) == 2


def test_an_unknown_symmetry_is_named():
    with pytest.raises(ValueError, match=r"'spiral'.*half-turn"):
        next(minimal(1, 0, symmetry="spiral"))


def test_a_puzzle_depends_on_seed_and_number_alone():
    whole = [item.line for item in minimal(8, 11)]
    assert [item.line for item in minimal(3, 11, start=5)] == whole[5:]
    assert [item.line for item in minimal(8, 12)] != whole
    assert len(set(whole)) == 8


def test_top_down_deletion_prefers_few_givens():
    """Its mean is near 24.4 givens (from memory, see published values), not 26.58."""
    mean = np.mean([item.givens for item in minimal(600, 4)])
    assert 24.2 < mean < 24.6


def test_the_starter_corpus_is_what_its_page_says():
    data = (DATASETS / "lantern_quay.csv").read_bytes()
    page = (DATASETS / "README.md").read_text()
    assert re.search(r"[0-9a-f]{64}", page)[0] == hashlib.sha256(data).hexdigest()
    with (DATASETS / "lantern_quay.csv").open(newline="") as stream:
        rows = [tuple(row) for row in csv.reader(stream)]
    assert rows[0] == FIELDS
    assert len({row[1] for row in rows[1:]}) == 2360
    assert list(itertools.islice(tickets(), 20)) == rows[1:21]
    assert list(tickets(0, 2)) == [
        row for row in rows[1:] if row[0].startswith("LQ-F") and row[4] in "01"
    ]
