"""Rivals of a solution: other grids that agree with it in some cells; by the kernel.

The search is led to the solution itself and goes on from there.  What it finds next differs from
it by the latest decisions only, so that rivals are found at once and are near the solution.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.kernel import search
from gridcrux.engines.limits import Deadline
from gridcrux.grids.arrays import Geometry, geometry
from gridcrux.grids.layout import Layout

Digits = NDArray[np.int8]

_WORK_BETWEEN_CLOCK_CHECKS = 4_000_000
"""Nodes between two looks at the clock, times the candidates of the layout (some 5 ms)."""

_PATIENCE = 1_000
"""Nodes spent on one more cell in which a rival might agree as well."""


@njit(cache=True, nogil=True)
def rival(
    kind: int,
    tables: Geometry,
    stack: search.Stack,
    control: search.Control,
    solution: search.Row,
    budget: int,
) -> int:
    """Search on for a grid that is not the solution; as `search.advance`.

    Parameters
    ----------
    solution : a row of the stack's kind that has the solution's candidates only.
    """
    last = control[search.NODES] + budget
    while True:
        left = last - control[search.NODES]
        result = search.advance(kind, tables, stack, control, solution, False, 0, left)
        if result != search.SOLUTION:
            return result
        found = stack[control[search.TOP] + 1]
        if search.first_unseen(kind, tables, found, solution) >= 0:
            return result


@njit(cache=True)
def _drop_differing(
    kind: int,
    tables: Geometry,
    found: search.Row,
    digits: Digits,
    shared: Digits,
    words: search.Words,
) -> None:
    """Blank the cells of `shared` in which a grid does not have the digits."""
    search.read_words(kind, tables, found, words)
    cells = digits.size
    for cell in range(cells):
        candidate = (digits[cell] - 1) * cells + cell
        if not words[candidate >> 6] >> np.uint64(candidate & 63) & np.uint64(1):
            shared[cell] = 0


@njit(cache=True, nogil=True)
def come_closer(
    kind: int,
    tables: Geometry,
    stack: search.Stack,
    control: search.Control,
    solution: search.Row,
    digits: Digits,
    order: NDArray[np.int64],
    shared: Digits,
    patience: int,
) -> None:
    """From the rival just found go to rivals that agree in more and more of some cells.

    Parameters
    ----------
    digits : the solution.
    order : the cells that count, in the order in which they are tried.
    shared : for each cell the digit that the last rival shares with the solution, or 0; written.
    """
    words = np.empty(tables.rules.shape[1], np.uint64)
    shared[:] = 0
    for cell in order:
        shared[cell] = digits[cell]
    found = stack[control[search.TOP] + 1]
    _drop_differing(kind, tables, found, digits, shared, words)
    for cell in order:
        if shared[cell]:
            continue
        shared[cell] = digits[cell]
        control[:] = 0
        search.load_givens(kind, tables, stack[0], shared)
        if rival(kind, tables, stack, control, solution, patience) == search.SOLUTION:
            for other in order:
                shared[other] = digits[other]
            found = stack[control[search.TOP] + 1]
            _drop_differing(kind, tables, found, digits, shared, words)
        else:
            shared[cell] = 0


class Rivals:
    """Looks for grids that have some givens of a puzzle and are not its solution.

    Parameters
    ----------
    solution : the digits of all cells.
    givens : the cells that count.
    """

    def __init__(
        self,
        layout: Layout,
        solution: Sequence[int],
        givens: Iterable[int],
        deadline: Deadline,
    ) -> None:
        self.givens, self.deadline = tuple(givens), deadline
        self._kind = search.kind_of(layout)
        self._tables = geometry(layout)
        self._stack = search.new_stack(self._kind, self._tables)
        self._control = np.zeros(search.CONTROLS, np.int64)
        self._digits = np.array(solution, np.int8)
        self._solution = np.zeros_like(self._stack[0])
        search.load_givens(self._kind, self._tables, self._solution, self._digits)
        self._order = np.array(self.givens, np.int64)
        self._budget = max(1, _WORK_BETWEEN_CLOCK_CHECKS // layout.candidates)
        self._random = np.random.default_rng(0)

    def exists(self, cells: Iterable[int]) -> bool:
        """Whether there is another grid with the givens in some cells.

        Raises
        ------
        TimeoutError : the time was up first.
        """
        asked = np.zeros_like(self._digits)
        for cell in cells:
            asked[cell] = self._digits[cell]
        self._control[:] = 0
        search.load_givens(self._kind, self._tables, self._stack[0], asked)
        while True:
            if self.deadline.passed:
                raise TimeoutError("whether there is another grid was not found out in time")
            ended = rival(
                self._kind,
                self._tables,
                self._stack,
                self._control,
                self._solution,
                self._budget,
            )
            if ended != search.PAUSED:
                return ended == search.SOLUTION

    def gaps(self, cells: Sequence[int]) -> list[list[int]]:
        """Sets of givens without a common one, each missing in a rival that has those in cells.

        None if and only if these givens leave no rival.  A gap is irreducible, as far as can be
        seen in a little time: a rival that lacks fewer would lack them only.

        Raises
        ------
        TimeoutError : the time was up before the first was found.
        """
        found: list[list[int]] = []
        asked = list(cells)
        shared = np.zeros_like(self._digits)
        while self.exists(asked):
            self._random.shuffle(self._order)
            come_closer(
                self._kind,
                self._tables,
                self._stack,
                self._control,
                self._solution,
                self._digits,
                self._order,
                shared,
                _PATIENCE,
            )
            gap = [cell for cell in self.givens if not shared[cell]]
            found.append(gap)
            asked += gap
        return found

    def irreducible(self, cells: Iterable[int]) -> tuple[int, ...]:
        """Givens that leave no rival, out of some that do not: tried are the first ones first.

        None of them can be spared, unless the time is up before.
        """
        kept = list(cells)
        try:
            for cell in list(kept):
                rest = [other for other in kept if other != cell]
                if not self.exists(rest):
                    kept = rest
        except TimeoutError:
            pass
        return tuple(kept)
