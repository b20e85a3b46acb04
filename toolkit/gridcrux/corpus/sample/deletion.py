"""Random complete grids and random minimal puzzles, by top-down deletion.

What is sampled, and what is not.  A grid is the first one that a depth-first search finds when
its first row is a random permutation and every digit it tries in a cell is drawn at random;
then rows, columns, bands and stacks are permuted where the layout allows it.  All grids can
come up, not all equally often.  A puzzle is made by going through the givens in random order
and deleting each that the others make superfluous, until none is left (top-down deletion).
That reaches every minimal puzzle, but prefers those with few givens: over minimal 9x9 puzzles
its mean is near 24.4 givens, where the mean over all of them is 26.58 (Berthier, "Unbiased
statistics of a CSP: a controlled-bias generator", 2009).  Shares measured on such a sample are
shares of this sample.

Puzzle number i of a seed depends on the seed and i alone, so any part of a corpus can be made
anywhere, in any order, on any number of processes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.kernel import search
from gridcrux.grids.arrays import Geometry, geometry
from gridcrux.grids.layout import NINE, SYMBOLS, Layout
from gridcrux.grids.rich import facts

Givens = NDArray[np.int8]

PATIENCE = 20_000
"""Nodes that a search for a grid may take before it starts again with other random choices."""

Cell = tuple[int, int]
Turn = Callable[[int, int, int], Cell]
_HALF: tuple[Turn, ...] = (lambda r, c, n: (n - 1 - r, n - 1 - c),)
_QUARTER: tuple[Turn, ...] = (lambda r, c, n: (c, n - 1 - r), lambda r, c, n: (n - 1 - c, r))
_SIDES: tuple[Turn, ...] = (lambda r, c, n: (r, n - 1 - c), lambda r, c, n: (n - 1 - r, c))
_DIAGONALS: tuple[Turn, ...] = (lambda r, c, n: (c, r), lambda r, c, n: (n - 1 - c, n - 1 - r))
_TURNS: dict[str, tuple[Turn, ...]] = {
    "none": (),
    "half-turn": _HALF,
    "quarter-turn": (*_HALF, *_QUARTER),
    "left-right": _SIDES[:1],
    "top-bottom": _SIDES[1:],
    "diagonal": _DIAGONALS[:1],
    "antidiagonal": _DIAGONALS[1:],
    "both-sides": (*_HALF, *_SIDES),
    "both-diagonals": (*_HALF, *_DIAGONALS),
    "all": (*_HALF, *_QUARTER, *_SIDES, *_DIAGONALS),
}
SYMMETRIES = tuple(_TURNS)
"""Symmetries that the givens can be asked to have: all ten groups of those of a square."""


@dataclass(frozen=True)
class Sampled:
    """A puzzle of a sample.

    Attributes
    ----------
    index : its number in the corpus of its seed.
    puzzle : (n*n,) givens, 0 for a blank.
    solution : (n*n,) the grid that it comes from, which is its one solution.
    """

    index: int
    puzzle: Givens
    solution: Givens

    @property
    def line(self) -> str:
        """The givens as one line, '.' for a blank."""
        return "".join(SYMBOLS[digit - 1] if digit else "." for digit in self.puzzle.tolist())

    @property
    def givens(self) -> int:
        return int(np.count_nonzero(self.puzzle))

    def row(self) -> dict[str, Any]:
        return {"index": self.index, "puzzle": self.line, "givens": self.givens}

    def _repr_html_(self) -> str:
        return facts(self.row())


def symmetric_cells(layout: Layout, symmetry: str) -> NDArray[np.int32]:
    """(C, k) for each cell the cells that a symmetry maps it to, itself first.

    Raises
    ------
    ValueError : the symmetry is not one of `SYMMETRIES`.
    """
    if symmetry not in _TURNS:
        raise ValueError(f"no symmetry {symmetry!r}; known: {', '.join(SYMMETRIES)}")
    n = layout.size
    return np.array(
        [
            [row * n + column for row, column in [(r, c), *(t(r, c, n) for t in _TURNS[symmetry])]]
            for r in range(n)
            for c in range(n)
        ],
        np.int32,
    )


@njit(cache=True)
def _complete(
    kind: int,
    tables: Geometry,
    stack: NDArray[np.uint32],
    control: NDArray[np.int64],
    first_row: Givens,
    prefer: NDArray[np.uint32],
    grid: Givens,
) -> bool:
    """Fill `grid` from its first row, trying digits in `prefer` first; False if out of patience."""
    grid[:] = 0
    grid[: tables.size] = first_row
    control[:] = 0
    search.load_givens(kind, tables, stack[0], grid)
    ended = search.advance(kind, tables, stack, control, prefer, False, 0, PATIENCE)
    if ended != search.SOLUTION:
        return False
    words = np.empty(tables.rules.shape[1], np.uint64)
    search.read_words(kind, tables, stack[control[search.TOP] + 1], words)
    read_grid(words, grid)
    return True


@njit(cache=True)
def read_grid(words: NDArray[np.uint64], grid: Givens) -> None:
    """The digits of a solution from the mask of its candidates."""
    cells = grid.size
    for candidate in range(words.size << 6):
        if words[candidate >> 6] >> np.uint64(candidate & 63) & np.uint64(1):
            grid[candidate % cells] = candidate // cells + 1


@njit(cache=True)
def sound(
    kind: int,
    tables: Geometry,
    stack: NDArray[np.uint32],
    control: NDArray[np.int64],
    puzzle: Givens,
) -> bool:
    """Whether a puzzle has one solution."""
    control[:] = 0
    search.load_givens(kind, tables, stack[0], puzzle)
    search.count(kind, tables, stack, control, 2, 1 << 62)
    return control[search.FOUND] == 1


@njit(cache=True)
def delete(
    kind: int,
    tables: Geometry,
    stack: NDArray[np.uint32],
    control: NDArray[np.int64],
    order: NDArray[np.int64],
    turned: NDArray[np.int32],
    puzzle: Givens,
) -> None:
    """Blank cells in the given order, with their mirror images, while one solution remains."""
    kept = np.empty(turned.shape[1], np.int8)
    for cell in order:
        if puzzle[cell] == 0:
            continue
        for i in range(turned.shape[1]):
            kept[i] = puzzle[turned[cell, i]]
        for i in range(turned.shape[1]):
            puzzle[turned[cell, i]] = 0
        if not sound(kind, tables, stack, control, puzzle):
            for i in range(turned.shape[1]):
                puzzle[turned[cell, i]] = kept[i]


class Workbench:
    """What the compiled parts need, made once for a layout."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.kind = search.kind_of(layout)
        self.tables = geometry(layout)
        self.stack = search.new_stack(self.kind, self.tables)
        self.control = np.zeros(search.CONTROLS, np.int64)

    def grid(self, random: np.random.Generator) -> Givens:
        n = self.layout.size
        grid = np.zeros(self.layout.cells, np.int8)
        while True:
            first_row = (random.permutation(n) + 1).astype(np.int8)
            prefer = random.integers(0, 2**32, self.stack.shape[1], dtype=np.uint32)
            if _complete(self.kind, self.tables, self.stack, self.control, first_row, prefer, grid):
                return _shuffled(grid, self.layout, random)

    def puzzle(
        self, grid: Givens, turned: NDArray[np.int32], random: np.random.Generator
    ) -> Givens:
        puzzle = grid.copy()
        order = random.permutation(self.layout.cells)
        delete(self.kind, self.tables, self.stack, self.control, order, turned, puzzle)
        return puzzle


def _shuffled(grid: Givens, layout: Layout, random: np.random.Generator) -> Givens:
    """Permute lines within bands and bands, transpose where boxes are square; else leave it."""
    n = layout.size
    boxes = [house for house in layout.houses if house.kind == "box"]
    others = {house.kind for house in layout.houses} - {"row", "column", "box"}
    if others:
        return grid
    height = width = 1
    if boxes:
        height = len({cell // n for cell in boxes[0].cells})
        width = n // height
    rows = _permuted_lines(n, height, random)
    columns = _permuted_lines(n, width, random)
    square = grid.reshape(n, n)[np.ix_(rows, columns)]
    if height == width and random.integers(2):
        square = square.T
    return np.ascontiguousarray(square).reshape(-1)


def _permuted_lines(n: int, group: int, random: np.random.Generator) -> NDArray[np.int64]:
    order = [start * group + random.permutation(group) for start in random.permutation(n // group)]
    return np.concatenate(order)


def generator(seed: int, index: int) -> np.random.Generator:
    """The source of randomness of one item: it depends on `seed` and `index` alone."""
    return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(index,)))


def grids(count: int, seed: int, layout: Layout = NINE, start: int = 0) -> Iterator[Givens]:
    """Random complete grids, numbers `start` to `start + count - 1` of a seed, (n*n,) each."""
    bench = Workbench(layout)
    for index in range(start, start + count):
        yield bench.grid(generator(seed, index))


def minimal(
    count: int, seed: int, layout: Layout = NINE, symmetry: str = "none", start: int = 0
) -> Iterator[Sampled]:
    """Random minimal puzzles by top-down deletion, which is biased to few givens (see above).

    Parameters
    ----------
    count, start : how many, and the number of the first.
    seed : which corpus.
    symmetry : one of `SYMMETRIES`; then cells are deleted together with their images, and the
        puzzle is minimal in this sense only: no whole set of images can be spared.

    Raises
    ------
    ValueError : no such symmetry.
    """
    turned = symmetric_cells(layout, symmetry)
    bench = Workbench(layout)
    for index in range(start, start + count):
        random = generator(seed, index)
        grid = bench.grid(random)
        yield Sampled(index, bench.puzzle(grid, turned, random), grid)
