"""A record is a deduction as a row of integers; it says the same for every technique.

The uniform record is the contract between the compiled finders, which write it, and all that
comes after: applying, slicing, certifying and explaining a step need no technique by name.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gridcrux.grids.arrays import word_count
from gridcrux.grids.layout import Layout

TECHNIQUE, PLACES, REMOVES = 0, 1, 2
"""Columns of a record: technique number; the candidate that is written, or -1; then, as words,
all that the deduction excludes, open or not; after these, as many words for the absences that
it relies on; then the premises, as words with a bit for each rule."""

SOLVED, STUCK, CONTRADICTION, UNFINISHED = 0, 1, 2, 3
"""How a route ends: every digit written; nothing applies; some rule has lost every candidate;
or the time for it was up."""

STATUS_NAMES = ("solved", "stuck", "contradiction", "unfinished")


def new_records(rows: int, layout: Layout) -> NDArray[np.int64]:
    """Room for `rows` records; nothing is written yet."""
    rule_words = -(-len(layout.rules) // 64)
    return np.empty((rows, REMOVES + 2 * word_count(layout) + rule_words), np.int64)


@dataclass(frozen=True, eq=False)
class Records:
    """S deductions; `table` has a row each (`TECHNIQUE` and the other columns).

    Attributes
    ----------
    words : W, how many words a mask of candidates has.
    """

    table: NDArray[np.int64]
    words: int

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
    def removes(self) -> NDArray[np.uint64]:
        """(S, W) all that the deduction excludes, whether it was still open or not."""
        return self.table[:, REMOVES : REMOVES + self.words].view(np.uint64)

    @property
    def relies(self) -> NDArray[np.uint64]:
        """(S, W) the candidates of the premises that must be absent."""
        return self.table[:, REMOVES + self.words : REMOVES + 2 * self.words].view(np.uint64)

    @property
    def premises(self) -> NDArray[np.uint64]:
        """(S, P) the premises, a bit for each rule."""
        return self.table[:, REMOVES + 2 * self.words :].view(np.uint64)

    @property
    def widths(self) -> NDArray[np.int64]:
        """(S,) how many premises each deduction has."""
        return np.unpackbits(self.premises.view(np.uint8), axis=1).sum(axis=1, dtype=np.int64)

    def select(self, rows: slice | NDArray[np.bool_]) -> Records:
        """A copy of some of the records, which keeps no larger array alive."""
        return Records(self.table[rows].copy(), self.words)
