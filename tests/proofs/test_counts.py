"""Counts and backbones as the user sees them."""

from __future__ import annotations

import pytest

from gridcrux.engines.kernel import KernelEngine
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State
from gridcrux.proofs.counts import backbone, count

PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"


def state_of(line):
    return State.from_digits([int(symbol) for symbol in line])


def test_count_and_limit():
    assert count(state_of(PUZZLE)).row()["count"] == 1
    empty = count(State.empty(), 1000)
    assert (empty.value, empty.complete, empty.stopped_by) == (1000, False, "limit")
    with pytest.raises(ValueError, match="kernel"):
        count(state_of(PUZZLE), engine="abacus")


def test_backbone_of_one_solution_is_the_solution():
    found = backbone(state_of(PUZZLE))
    assert found.complete
    assert len(found.cells) == 81
    assert found.cells["r1c1"] == 5
    assert found.candidates["r1c3"] == [found.cells["r1c3"]]


def test_backbone_of_several_solutions_against_their_list():
    fewer = "0" * 9 + PUZZLE[9:]
    state = state_of(fewer)
    grids = list(KernelEngine().solutions(state))
    found = backbone(state)
    assert len(grids) > 1
    for cell in range(81):
        digits = sorted({grid[cell] for grid in grids})
        name = state.layout.cell_name(cell)
        assert found.candidates[name] == digits
        assert found.cells.get(name) == (digits[0] if len(digits) == 1 else None)


def test_backbone_without_solution_or_time():
    impossible = State.empty(boxes(2, 2)).without(0b1111)
    assert not backbone(impossible.without(impossible.layout.rules[0].mask)).solvable
    hasty = backbone(State.empty(), seconds=0)
    assert not hasty.complete
    assert hasty.cells == {}
