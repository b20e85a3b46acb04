"""The rules as an exact cover: choose rows so that every column is met exactly once.

A row is an open candidate and a column is a rule, so the matrix is the definition of a puzzle
and nothing else.  Source of the problem: Knuth, "Dancing links", Millennial Perspectives in
Computer Science (2000) (from memory).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from gridcrux.grids.arrays import geometry
from gridcrux.grids.layout import Layout
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State, bits


@dataclass(frozen=True)
class ExactCover:
    """An exact cover problem.

    Attributes
    ----------
    layout : the layout whose rules are the columns, in their order.
    rows : the candidate of each row, ascending.
    """

    layout: Layout
    rows: tuple[int, ...]

    @cached_property
    def matrix(self) -> NDArray[np.bool_]:
        """(rows, columns) array, true where a candidate belongs to a rule."""
        rules = geometry(self.layout).rules.astype("<u8").view(np.uint8)
        membership = np.unpackbits(rules, axis=1, bitorder="little")
        return membership.T[list(self.rows)].astype(np.bool_)

    @property
    def columns(self) -> tuple[str, ...]:
        """The name of the rule of each column."""
        return tuple(rule.name for rule in self.layout.rules)

    @cached_property
    def options(self) -> list[list[int]]:
        """For each row the numbers of its columns, ascending: the same matrix, sparse.

        A rule that has lost all its candidates is in no row, so a solver must be told that every
        number below ``len(columns)`` is to be covered.
        """
        return [np.flatnonzero(row).tolist() for row in self.matrix]

    def solution(self, chosen: Iterable[int]) -> int:
        """The mask of the candidates in the chosen rows."""
        return sum(1 << self.rows[row] for row in chosen)

    def _repr_html_(self) -> str:
        sizes = {"rows": len(self.rows), "columns": len(self.columns)}
        return facts({"layout": self.layout.name, **sizes})


def exact_cover(state: State) -> ExactCover:
    """The exact covers of this problem are the solutions of the state."""
    return ExactCover(state.layout, tuple(bits(state.open)))
