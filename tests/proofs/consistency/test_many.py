"""Levels of many puzzles at once against one by one."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State
from gridcrux.proofs.consistency import CONSISTENCIES, levels_of, solves, weakest_level
from gridcrux.proofs.consistency.levels import OUTCOMES, Outcome
from gridcrux.proofs.consistency.many import COLUMNS, statuses
from samples import JAGGED


def puzzles(layout, count=40):
    """Minimal puzzles, some with a digit changed."""
    found = np.array([item.puzzle for item in minimal(count, 8, layout)], np.int8)
    random = np.random.default_rng(8)
    for puzzle in found[::4]:
        cell = random.choice(np.flatnonzero(puzzle == 0))
        puzzle[cell] = random.integers(1, layout.size + 1)
    return found


@pytest.mark.parametrize("layout", [boxes(2, 2), JAGGED, NINE, boxes(3, 4)], ids=lambda x: x.name)
def test_many_at_once_end_like_each_alone(layout):
    digits = puzzles(layout, 10 if layout.size > 9 else 40)
    table = levels_of(digits, layout)
    assert list(table) == list(COLUMNS)
    # What a weaker level decides is not asked again: the same as if it were.
    alone = np.hstack([statuses(digits, layout, [name]) for name in CONSISTENCIES])
    assert (statuses(digits, layout) == alone).all()
    for puzzle, row in zip(digits, table.to_dict("records"), strict=True):
        try:
            state = State.from_digits(puzzle.tolist(), layout)
        except ValueError:
            assert {row[name] for name in CONSISTENCIES} == {"dead"}
            continue
        assert [row[name] for name in CONSISTENCIES] == [
            solves(state, name).value for name in CONSISTENCIES
        ]
        assert (None if pd.isna(row["weakest"]) else row["weakest"]) == weakest_level(state)
    assert {"dead", "solved"} <= set(np.unique(table[list(CONSISTENCIES)].to_numpy(str)))


def test_levels_can_be_asked_in_any_order():
    digits = puzzles(NINE)
    backwards = list(CONSISTENCIES)[::-1]
    assert (statuses(digits, levels=backwards)[:, ::-1] == statuses(digits)).all()
    assert set(np.unique(statuses(digits))) == set(OUTCOMES)


def test_what_one_level_has_seen_is_nothing_to_the_next():
    """A house that is as bounds have left it has yet to be looked at for all its sets."""
    line = "580000000190506700007040000001009040002030000400000506000903000809005100000180000"
    puzzle = np.array([list(line)], np.int8)
    both = statuses(puzzle, levels=["bounds", "all-different"])
    assert [OUTCOMES[status] for status in both[0]] == [Outcome.OPEN, Outcome.SOLVED]


def test_no_puzzles_have_no_levels():
    assert levels_of(np.empty((0, 81), np.int8)).shape == (0, len(COLUMNS))


def test_what_is_no_table_of_puzzles_is_refused():
    with pytest.raises(ValueError, match="1 dimensions, expected 2"):
        statuses(np.zeros(81, np.int8))
    with pytest.raises(ValueError, match="80 cells, expected 81"):
        statuses(np.zeros((1, 80), np.int8), NINE)
    with pytest.raises(ValueError, match=r"outside 0\.\.4"):
        statuses(np.full((1, 16), 5, np.int8))
