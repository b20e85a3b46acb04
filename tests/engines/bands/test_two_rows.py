"""Grids with boxes of two rows, as published and as enumerated."""

from __future__ import annotations

import pytest

from gridcrux.engines import get_engine
from gridcrux.engines.bands.two_rows import grids_with_two_rows
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State


@pytest.mark.parametrize("width", [2, 3])
def test_as_enumerated(width: int) -> None:
    """One first row of all: the digits can be renamed."""
    layout = boxes(2, width)
    first = [*range(1, layout.size + 1), *[0] * (layout.cells - layout.size)]
    count = get_engine("kernel").count(State.from_digits(first, layout), 10**6)
    names = 24 if width == 2 else 720
    assert grids_with_two_rows(width) == count.value * names


def test_published() -> None:
    """OEIS A107739 (4x4); "Mathematics of Sudoku", tables of grids by box size (6x6)."""
    assert [grids_with_two_rows(width) for width in (1, 2, 3)] == [2, 288, 28_200_960]
