"""How the solutions of a 9x9 state are to be added up: which way round, and how much work it is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import factorial

import numpy as np
from numpy.typing import NDArray

from gridcrux.engines.bands.fillings import Outline
from gridcrux.engines.bands.join import Stack, stack
from gridcrux.engines.bands.partitions import ALL, DIGITS, LINES, Numbers
from gridcrux.grids.arrays import open_candidates
from gridcrux.grids.layout import NINE
from gridcrux.grids.state import State

MOST_ENTRIES = 300_000_000
"""Numbers of fillings kept for a band, at two bytes each."""

MOST_FILLINGS = 100_000_000_000
"""Fillings gone through for the tables of the bands, about a minute on two cores."""

MOST_TERMS = 3_000_000_000_000
"""Products added up, some minutes on two cores."""


@dataclass(frozen=True)
class Plan:
    """The bands of a state and its stacks, in the order of the sum: the largest is innermost.

    Attributes
    ----------
    treatment : for each digit what it may do in the whole grid.
    """

    outlines: tuple[Outline, ...]
    stacks: tuple[Stack, ...]
    treatment: tuple[tuple[int, ...], ...]

    @cached_property
    def terms(self) -> float:
        """About how many products are added up: all of them by the exchanges of digits."""
        number = 1.0
        for each in self.stacks:
            number *= len(each.triples)
        for digit in set(self.treatment):
            number /= factorial(self.treatment.count(digit))
        return number

    @property
    def fillings(self) -> int:
        """How many fillings of single bands are gone through."""
        return sum(band.fillings for band in self.outlines)

    @property
    def entries(self) -> int:
        """How many numbers are kept for the largest band."""
        return max(band.entries for band in self.outlines)

    @property
    def feasible(self) -> bool:
        """Whether this takes minutes at most, and no more than some gigabytes."""
        return (
            self.terms <= MOST_TERMS
            and self.entries <= MOST_ENTRIES
            and self.fillings <= MOST_FILLINGS
        )


def plan(state: State) -> Plan:
    """The cheaper of the two ways to cut a state into bands.

    Raises
    ------
    ValueError : the layout is another than 9x9 with boxes.
    """
    if state.layout != NINE:
        raise ValueError(
            f"only 9x9 with boxes is counted by its bands; the layout is {state.layout.name}"
        )
    grid = open_candidates(state).reshape(DIGITS, DIGITS, DIGITS)
    return min((_plan(grid), _plan(grid.transpose(0, 2, 1))), key=lambda each: each.terms)


def _plan(grid: NDArray[np.bool_]) -> Plan:
    """The plan for bands of rows; `grid` says of each digit, row and column whether it is open."""
    cells = _with_columns_open(grid).reshape(DIGITS, LINES, LINES, LINES, LINES)
    # Digit, band, row, box, column become band, box, digit, with a bit for each cell of the box.
    bit = 1 << np.arange(LINES * LINES)
    boxes = cells.transpose(1, 3, 0, 2, 4).reshape(LINES, LINES, DIGITS, -1)
    allowed = (boxes * bit).sum(axis=-1).astype(np.int32)
    outlines = [Outline(band) for band in allowed]
    # The fewest partitions first: the innermost loop is over those of the other two.
    outlines.sort(key=lambda band: int(band.possible.sum()))
    stacks = [stack([band.possible[box] for band in outlines]) for box in range(LINES)]
    order = sorted(range(LINES), key=lambda box: len(stacks[box].triples))
    return Plan(
        tuple(
            band.narrowed(order, _wanted([each.triples[:, number] for each in stacks]))
            for number, band in enumerate(outlines)
        ),
        tuple(stacks[box] for box in order),
        tuple(tuple(row) for row in allowed.reshape(-1, DIGITS).T.tolist()),
    )


def _wanted(partitions_: Sequence[Numbers]) -> NDArray[np.bool_]:
    """For each box whether a partition is among the ones given."""
    found = np.zeros((LINES, ALL), np.bool_)
    for box, each in enumerate(partitions_):
        found[box, each] = True
    return found


def _with_columns_open(grid: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """The same without what the columns say: that a digit is not twice in one.

    The sum sees to that, and more digits are then treated alike in the other two bands.
    """
    fixed = grid.sum(axis=0) == 1
    result = grid.copy()
    for digit, row, column in np.argwhere(grid & fixed).tolist():
        band = row // LINES
        for other in range(DIGITS):
            if other // LINES != band and not fixed[other, column]:
                result[digit, other, column] = True
    return result
