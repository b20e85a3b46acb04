"""How many solutions a state has, and what all of them share (its backbone).

The backbone of a formula is the set of literals true in every model (Janota, Lynce and
Marques-Silva, "Algorithms for computing backbones of propositional formulae", AI
Communications 28, 2015); here, the cells that hold the same digit in every solution.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from gridcrux.engines import get_counter, get_engine
from gridcrux.engines.protocol import Count, Engine
from gridcrux.grids.names import parse_cell
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State, expect_state

KERNEL_LIMIT = 1_000_000
LIBRARY_LIMIT = 1_000
"""Solutions counted when no limit is given: the kernel finds about a million a second, the
solver libraries some thousands."""

NO_LIMIT = 10**200
"""What does not visit solutions one by one needs no limit."""


def count(
    state: State, limit: int | None = None, engine: str = "kernel", seconds: float | None = None
) -> Count:
    """Count the solutions of a state up to a limit by one engine; `total.total` counts all of them.

    Parameters
    ----------
    engine : a path that `engines.get_counter` knows.

    Raises
    ------
    ValueError : the limit is below 1, there is no such engine, or it is not made for the state.
    """
    expect_state(state)
    counter = get_counter(engine)
    if limit is None:
        limit = KERNEL_LIMIT if engine == "kernel" else LIBRARY_LIMIT
        limit = limit if isinstance(counter, Engine) else NO_LIMIT
    return counter.count(state, limit, seconds)


def how_many(state: State, seconds: float | None = None) -> str:
    """How many solutions a state has, in a word: "none", "one", "several" or "unknown"."""
    number = count(state, 2, seconds=seconds)
    if number.value < 2 and not number.complete:
        return "unknown"
    return ("none", "one", "several")[number.value]


@dataclass(frozen=True)
class Backbone:
    """Which digits occur in some solution, and so which cells are fixed in all.

    Attributes
    ----------
    state : the state asked about.
    occurs : mask of the candidates known to occur in a solution.
    undecided : mask of the candidates neither seen in a solution nor refuted.
    complete : whether everything was decided; otherwise `stopped_by` says what ended it.
    """

    state: State
    occurs: int = field(repr=False)
    undecided: int = field(repr=False)
    complete: bool
    stopped_by: str | None

    @property
    def solvable(self) -> bool:
        """Whether some solution was seen."""
        return self.occurs != 0

    @property
    def cells(self) -> dict[str, int]:
        """The digit of each cell that is the same in every solution: ``{"r1c1": 5}``."""
        layout = self.state.layout
        possible = self.digits(self.occurs | self.undecided)
        return {
            layout.cell_name(cell): digits[0]
            for cell, digits in enumerate(possible)
            if len(digits) == 1
        }

    @property
    def candidates(self) -> dict[str, list[int]]:
        """For every cell the digits that occur in some solution: ``{"r1c2": [1, 2]}``."""
        layout = self.state.layout
        return {
            layout.cell_name(cell): digits for cell, digits in enumerate(self.digits(self.occurs))
        }

    def digits(self, mask: int) -> list[list[int]]:
        """For each cell the digits (from 1) of a mask."""
        marks = State(self.state.layout, mask)
        return [marks.digits_of(cell) for cell in range(self.state.layout.cells)]

    def row(self) -> dict[str, Any]:
        return {
            "backbone": len(self.cells),
            "candidates": self.occurs.bit_count(),
            "undecided": self.undecided.bit_count(),
            "complete": self.complete,
        }

    def _repr_html_(self) -> str:
        state = self.state
        fixed = sum(1 << parse_cell(state.layout, name) for name in self.cells)
        left = State(state.layout, self.occurs | self.undecided, fixed, state.givens & fixed)
        return f"{facts(self.row())}{left._repr_svg_()}"


def backbone(state: State, engine: str = "kernel", seconds: float | None = None) -> Backbone:
    """Find every candidate that occurs in a solution, and with it the backbone."""
    expect_state(state)
    support = get_engine(engine).support(state, seconds)
    return Backbone(state, support.occurs, support.undecided, support.complete, support.stopped_by)
