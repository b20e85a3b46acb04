"""Redundant givens and smallest subsets, against trying all."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.engines.protocol import Answer
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State
from gridcrux.proofs.givens import redundant_givens, sufficient_givens
from gridcrux.proofs.uniqueness import NotUnique


def with_more(count, seed, more, layout=NINE):
    """Minimal puzzles with some more digits of their solutions given."""
    random = np.random.default_rng(seed)
    for item in minimal(count, seed, layout):
        digits = item.puzzle.copy()
        blank = np.flatnonzero(digits == 0)
        added = random.choice(blank, min(more, len(blank)), replace=False)
        digits[added] = item.solution[added]
        yield State.from_digits(digits.tolist(), layout)


def without(state, cells):
    digits = [0 if cell in cells else digit for cell, digit in enumerate(state.puzzle)]
    return State.from_digits(digits, state.layout)


def is_unique(state):
    """By another engine."""
    number = get_engine("sat").count(state, 2)
    return number.value == 1


def cells_of(state):
    return [cell for cell, digit in enumerate(state.puzzle) if digit]


@pytest.mark.parametrize("layout", [NINE, boxes(2, 3)], ids=["3x3", "2x3"])
def test_redundant_by_definition(layout):
    seen = set()
    for state in with_more(6, 21, 3, layout):
        found = redundant_givens(state)
        names = {layout.cell_name(c): is_unique(without(state, {c})) for c in cells_of(state)}
        assert {name.split("=")[0] for name in found.redundant} == {
            n for n, u in names.items() if u
        }
        assert {name.split("=")[0] for name in found.needed} == {
            n for n, u in names.items() if not u
        }
        assert found.undecided == ()
        seen |= set(names.values())
    assert seen == {True, False}


def test_a_minimal_puzzle_can_spare_nothing():
    for state in with_more(5, 22, 0):
        assert redundant_givens(state).minimal is Answer.YES
        few = sufficient_givens(state)
        assert (few.exact, few.size) == (True, len(cells_of(state)))


def test_smallest_by_trying_all():
    """On 4x4 of all subsets, on 9x9 of what can go together."""
    smaller = 0
    for state in with_more(10, 23, 4, boxes(2, 2)):
        cells = cells_of(state)
        expected = next(
            size
            for size in range(len(cells) + 1)
            for kept in combinations(cells, size)
            if is_unique(without(state, set(cells) - set(kept)))
        )
        few = sufficient_givens(state)
        assert (few.exact, few.size) == (True, expected)
        assert is_unique(few.state)
        smaller += few.size < len(cells)
    assert smaller > 2
    for state in with_more(2, 24, 3):
        cells = cells_of(state)
        spare = [c for c in cells if is_unique(without(state, {c}))]
        most = next(
            size
            for size in range(len(spare), -1, -1)
            for gone in combinations(spare, size)
            if is_unique(without(state, set(gone)))
        )
        few = sufficient_givens(state)
        assert (few.exact, few.size) == (True, len(cells) - most)
        assert is_unique(few.state)


def test_limits_leave_bounds():
    item = next(minimal(1, 25))
    full = State.from_digits(item.solution.tolist())
    few = sufficient_givens(full, seconds=1.0)
    assert few.stopped_by == "seconds"
    assert 4 <= few.lower < few.size < 40
    assert is_unique(few.state)
    assert "are needed" in str(few)


def test_only_of_puzzles_with_one_solution():
    for ask in (redundant_givens, sufficient_givens):
        with pytest.raises(NotUnique, match=r"several|more than one|differ"):
            ask(State.from_digits([0] * 81))
        with pytest.raises(NotUnique, match="no solution"):
            ask(State.from_digits([1, 2, 3, 0] + [0] * 3 + [4] + [0] * 8))


def test_reads_well():
    state = next(with_more(1, 26, 4))
    found, few = redundant_givens(state), sufficient_givens(state)
    assert found.row()["redundant"] == len(found.redundant) > 0
    assert "are redundant, each on its own: r" in str(found)
    assert few.as_dict()["puzzle"] == few.state.line
    assert few.row()["exact"]
    assert "<svg" in few._repr_html_()
