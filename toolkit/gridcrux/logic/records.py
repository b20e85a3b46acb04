"""A record is a deduction as a row of integers; it says the same for every technique.

The uniform record is the contract between the compiled finders, which write it, and all that
comes after: applying, slicing, certifying and explaining a step need no technique by name.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

PREMISES = 4
"""Most premises that a record can hold; a family with wider deductions raises it."""

TECHNIQUE, PLACES, PREMISE, REMOVES = 0, 1, 2, 2 + PREMISES
"""Columns of a record: technique number; the candidate that is written, or -1; the premises
as rule numbers, ascending, -1 behind the last; then, as words, all that the deduction
excludes, open or not; after these words, as many for the absences that it relies on."""

SOLVED, STUCK, CONTRADICTION = 0, 1, 2
"""How a route ends: every digit written; nothing applies; some rule has lost every candidate."""

STATUS_NAMES = ("solved", "stuck", "contradiction")


def record_width(words: int) -> int:
    """Columns of a record on a layout whose candidates fill `words` words."""
    return REMOVES + 2 * words


def new_records(rows: int, words: int) -> NDArray[np.int64]:
    """Room for `rows` records; nothing is written yet."""
    return np.empty((rows, record_width(words)), np.int64)


@dataclass(frozen=True, eq=False)
class Records:
    """S deductions; `table` has a row each (`TECHNIQUE` and the other columns)."""

    table: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.table)

    @property
    def techniques(self) -> NDArray[np.int64]:
        """(S,) technique numbers."""
        return self.table[:, TECHNIQUE]

    @property
    def places(self) -> NDArray[np.int64]:
        """(S,) the candidate that is written, or -1."""
        return self.table[:, PLACES]

    @property
    def premises(self) -> NDArray[np.int64]:
        """(S, PREMISES) rule numbers, ascending, -1 behind the last."""
        return self.table[:, PREMISE:REMOVES]

    @property
    def words(self) -> int:
        """W, the words of a mask."""
        return (self.table.shape[1] - REMOVES) // 2

    @property
    def removes(self) -> NDArray[np.uint64]:
        """(S, W) all that the deduction excludes, whether it was still open or not."""
        return self.table[:, REMOVES : REMOVES + self.words].view(np.uint64)

    @property
    def relies(self) -> NDArray[np.uint64]:
        """(S, W) the candidates of the premises that must be absent."""
        return self.table[:, REMOVES + self.words :].view(np.uint64)

    def select(self, rows: slice | NDArray[np.bool_]) -> Records:
        """A copy of some of the records, which keeps no larger array alive."""
        return Records(self.table[rows].copy())
