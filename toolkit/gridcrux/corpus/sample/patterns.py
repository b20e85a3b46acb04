"""Random puzzles with a fixed number of givens, and with givens exactly in some cells.

What is drawn for a number g of givens (`with_givens`).  A random grid (`deletion`) loses givens
in random order, each that the others make superfluous, until g are left.  Where that gets stuck
above g, the puzzle is varied (`exchange`): up to three givens are taken out, others that rule
out the most rivals are put in, what is superfluous is deleted; a variant is kept if it is no
farther from g.  Puzzles so found are not necessarily minimal.  Asked for minimal ones, deletion
goes on to the end and variants lead up or down to g.  Where deletion alone arrives, this is its
distribution given g; where it does not, the search prefers grids with many puzzles of that size.

What is drawn for a pattern (`with_pattern`).  The cells of the pattern take their digits from a
random grid, so there is a solution.  While there are several, up to three cells of the pattern
are emptied and take their digits from another solution of what is left: from all of them, where
they can be listed, those digits that the fewest share.  What has no more solutions is kept.
The search prefers fillings that can be reached in this way: no share measured on such puzzles
is one of all puzzles with the pattern.

A search ends: it finds a puzzle or gives up after a number of attempts, which is no proof that
there is none.  What is proven impossible is refused at once (`check_pattern`, `check_givens`).
Item i of a seed depends on the seed and i alone.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from itertools import combinations

import numpy as np
from numba import njit

from gridcrux.corpus.sample.deletion import Givens, Sampled, Workbench, generator, symmetric_cells
from gridcrux.corpus.sample.exchange import (
    FEW,
    MANY,
    NoSuchPuzzle,
    Outcome,
    Room,
    Source,
    draw,
    new_room,
    source_from,
    thin,
    vary,
)
from gridcrux.corpus.sample.fitting import fitted
from gridcrux.grids.layout import NINE, Layout
from gridcrux.grids.symbols import GAPS, RULE

ATTEMPTS = 100
"""Attempts, each with a new grid, after which an item is given up."""

EXCHANGES = 3000
"""Variants that an attempt tries at most."""

FEWEST_OF_NINE = 17
"""No 9x9 puzzle with fewer givens has one solution: McGuire, Tugemann and Civario, "There is no
16-clue Sudoku" (2012), arXiv:1201.0749."""


def check_givens(layout: Layout, givens: int, symmetry: str = "none") -> None:
    """Refuse a number of givens that no puzzle with one solution has.

    Raises
    ------
    NoSuchPuzzle : it is proven that there is none.
    ValueError : no such symmetry.
    """
    if layout == NINE and givens < FEWEST_OF_NINE:
        raise NoSuchPuzzle(
            f"{givens} givens: no 9x9 puzzle with fewer than {FEWEST_OF_NINE} has one solution "
            "(McGuire, Tugemann and Civario 2012, arXiv:1201.0749)"
        )
    if givens < layout.size - 1:
        raise NoSuchPuzzle(
            f"{givens} givens leave two of the {layout.size} digits out, which can be exchanged "
            "in every solution: there is never exactly one"
        )
    if givens > layout.cells:
        raise NoSuchPuzzle(f"{givens} givens: the layout has {layout.cells} cells")
    turned = symmetric_cells(layout, symmetry).tolist()
    sizes = {min(images): len(set(images)) for images in turned}
    sums = {0}
    for size in sizes.values():
        sums |= {total + size for total in sums}
    if givens not in sums:
        near = sorted(sums, key=lambda total: (abs(total - givens), total))[:2]
        raise NoSuchPuzzle(
            f"{givens} givens cannot have the symmetry {symmetry}, under which cells come in "
            f"groups; {' or '.join(map(str, sorted(near)))} can"
        )


def read_pattern(text: str, layout: Layout = NINE) -> tuple[int, ...]:
    """The cells that are given in a pattern, row by row: all but '.', '0' and '_'.

    White space, '|', ',' and ruled lines are passed over, so a puzzle is a pattern, too.

    Raises
    ------
    ValueError : it has not one mark for each cell.

    >>> from gridcrux.grids.layout import boxes
    >>> read_pattern("x..x .... ..x. 1..2", boxes(2, 2))
    (0, 3, 10, 12, 15)
    """
    passed = str.maketrans("", "", GAPS.decode())
    lines = (line for line in text.splitlines() if line.strip(RULE.decode()))
    marks = "".join(line.translate(passed) for line in lines)
    if len(marks) != layout.cells:
        raise ValueError(
            f"the pattern has {len(marks)} cells; expected {layout.cells} for layout "
            f"{layout.name}, '.' for a blank"
        )
    return tuple(cell for cell, mark in enumerate(marks) if mark not in ".0_")


def check_pattern(layout: Layout, cells: Collection[int]) -> None:
    """Refuse a pattern of givens that no puzzle with one solution has, as far as is easily seen.

    Two lines without givens whose exchange takes every house to a house can be exchanged in a
    solution, which then is another one: such as two rows of a band, or two of a Latin square.

    Raises
    ------
    NoSuchPuzzle : it is proven that there is none.
    """
    check_givens(layout, len(cells))
    n, houses = layout.size, {frozenset(house.cells) for house in layout.houses}
    grid = np.arange(layout.cells).reshape(n, n)
    for kind, lines in (("rows", grid), ("columns", grid.T)):
        empty = [k for k in range(n) if not set(lines[k].tolist()) & set(cells)]
        for first, second in combinations(empty, 2):
            moved = np.arange(layout.cells)
            moved[lines[first]], moved[lines[second]] = lines[second], lines[first]
            if {frozenset(moved[list(house)].tolist()) for house in houses} == houses:
                raise NoSuchPuzzle(
                    f"{kind} {first + 1} and {second + 1} have no given and can be exchanged in "
                    "every solution: there is never exactly one"
                )


def with_givens(
    count: int,
    seed: int,
    givens: int,
    layout: Layout = NINE,
    symmetry: str = "none",
    *,
    minimal: bool = False,
    attempts: int = ATTEMPTS,
    start: int = 0,
    tell: Callable[[int], object] = bool,
) -> Iterator[Outcome]:
    """Random puzzles with one solution and an exact number of givens.

    Parameters
    ----------
    count, start : how many items, and the number of the first.
    seed : which corpus.
    symmetry : one of `deletion.SYMMETRIES`, which the cells with givens have.
    minimal : whether no given, or no set of images, may be superfluous.
    attempts : grids after which an item is given up.
    tell : called with how many attempts were made since it was called before.

    Raises
    ------
    NoSuchPuzzle : no puzzle has this number of givens.
    ValueError : no such symmetry.
    """
    check_givens(layout, givens, symmetry)
    bench, room = Workbench(layout), new_room(layout, symmetry)

    def attempt(random: np.random.Generator) -> tuple[Givens, Givens] | None:
        grid = bench.grid(random)
        puzzle = draw_givens(room, grid, givens, minimal, source_from(random))
        return None if puzzle is None else (puzzle, grid)

    yield from _attempted(attempt, count, seed, attempts, start, tell)


def _attempted(
    attempt: Callable[[np.random.Generator], tuple[Givens, Givens] | None],
    count: int,
    seed: int,
    attempts: int,
    start: int,
    tell: Callable[[int], object],
) -> Iterator[Outcome]:
    """Make attempts at each item until one yields a puzzle and its solution."""
    for index in range(start, start + count):
        random = generator(seed, index)
        outcome = Outcome(index, None, attempts)
        for number in range(1, attempts + 1):
            found = attempt(random)
            tell(1)
            if found is not None:
                outcome = Outcome(index, Sampled(index, *found), number)
                break
        yield outcome


def draw_givens(
    room: Room, grid: Givens, givens: int, minimal: bool, source: Source
) -> Givens | None:
    """A puzzle with a number of givens and a grid as its one solution; None if given up."""
    puzzle = grid.copy()
    thin(room, puzzle, grid, 0 if minimal else givens, source)
    for _ in range(0, EXCHANGES, _EXCHANGES_AT_ONCE):
        if _approach(room, puzzle, grid, givens, minimal, _EXCHANGES_AT_ONCE, source):
            return puzzle
    return None


_EXCHANGES_AT_ONCE = 250
"""Exchanges in one compiled call, so that an interrupt is heard."""


@njit(cache=True)
def _approach(
    room: Room,
    puzzle: Givens,
    grid: Givens,
    givens: int,
    minimal: bool,
    exchanges: int,
    source: Source,
) -> bool:
    """Vary a puzzle towards a number of givens; whether it has it."""
    variant = puzzle.copy()
    least = 0 if minimal else givens
    left = np.count_nonzero(puzzle)
    for _ in range(exchanges):
        if left == givens:
            break
        variant[:] = puzzle
        aim = FEW if left > givens else MANY
        if vary(room, variant, grid, 1 + draw(source, 3), least, aim, source):
            count = np.count_nonzero(variant)
            if abs(count - givens) <= abs(left - givens):
                puzzle[:], left = variant, count
    return left == givens


def with_pattern(
    count: int,
    seed: int,
    pattern: Sequence[int],
    layout: Layout = NINE,
    *,
    attempts: int = ATTEMPTS,
    start: int = 0,
    tell: Callable[[int], object] = bool,
) -> Iterator[Outcome]:
    """Random puzzles with one solution whose givens lie exactly in some cells.

    Parameters
    ----------
    count, start : how many items, and the number of the first.
    seed : which corpus.
    pattern : the cells, as `read_pattern` returns them.
    attempts : grids after which an item is given up.
    tell : called with how many attempts were made since it was called before.

    Raises
    ------
    NoSuchPuzzle : no puzzle has this pattern.
    """
    check_pattern(layout, pattern)
    bench, room = Workbench(layout), new_room(layout)
    cells = np.array(sorted(set(pattern)), np.int64)

    def attempt(random: np.random.Generator) -> tuple[Givens, Givens] | None:
        puzzle = np.zeros(layout.cells, np.int8)
        puzzle[cells] = bench.grid(random)[cells]
        solution = fitted(room, puzzle, cells, source_from(random))
        return None if solution is None else (puzzle, solution)

    yield from _attempted(attempt, count, seed, attempts, start, tell)
