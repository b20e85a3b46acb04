"""Puzzles beside a puzzle: some givens are taken out, and others of the same solution put in.

What is put in is chosen among the cells in which rivals differ from the solution, until no
rival is left; then givens that the others make superfluous are deleted.  So a variant has the
same one solution, and is minimal unless it is asked to keep some number of givens.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.sample.deletion import Givens, Sampled, Workbench, delete, symmetric_cells
from gridcrux.engines.kernel import search
from gridcrux.grids.arrays import Geometry
from gridcrux.grids.layout import Layout

Source = NDArray[np.uint64]
"""(1,) the state of a source of random numbers for compiled code."""

BUDGET = 20_000
"""Nodes that a search for one more solution may take before a variant is given up."""

RIVALS = 32
"""Rivals that are looked at before a given is put in."""

MANY, ANY, FEW = -1, 0, 1
"""What is put in: what rules out the fewest rivals, whatever rules out any, or the most."""


@dataclass(frozen=True)
class Outcome:
    """What became of an item of a sample: a puzzle, or a search that was given up.

    Attributes
    ----------
    index : its number in the corpus of its seed.
    sampled : the puzzle; None if it was given up, which does not say that there is none.
    attempts : how many attempts it took, or were made in vain.
    """

    index: int
    sampled: Sampled | None
    attempts: int

    @property
    def found(self) -> bool:
        return self.sampled is not None


class NoSuchPuzzle(ValueError):
    """What is asked for is proven not to exist; the message gives the reason."""


class Room(NamedTuple):
    """What the compiled parts work in.

    Attributes
    ----------
    kind, tables : as the kernel has them.
    stack, control : of its search.
    turned : (C, k) cells that are given or blank together (`deletion.symmetric_cells`).
    """

    kind: int
    tables: Geometry
    stack: search.Stack
    control: search.Control
    turned: NDArray[np.int32]


def new_room(layout: Layout, symmetry: str = "none") -> Room:
    """Room for the puzzles of a layout.

    Raises
    ------
    ValueError : no such symmetry.
    """
    bench = Workbench(layout)
    turned = symmetric_cells(layout, symmetry)
    return Room(bench.kind, bench.tables, bench.stack, bench.control, turned)


def source_from(random: np.random.Generator) -> Source:
    """A source for compiled code that goes on from where a generator is."""
    return random.integers(0, 2**64, 1, dtype=np.uint64)


@njit(cache=True)
def draw(source: Source, below: int) -> int:
    """A random number from 0 to `below` - 1.

    The generator is SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number
    generators", OOPSLA 2014); for the small ranges here the remainder is as good as uniform.
    """
    source[0] += np.uint64(0x9E3779B97F4A7C15)
    mixed = source[0]
    mixed = (mixed ^ (mixed >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
    mixed = (mixed ^ (mixed >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
    mixed ^= mixed >> np.uint64(31)
    return int(mixed % np.uint64(below))


@njit(cache=True)
def shuffle(source: Source, order: NDArray[np.int64]) -> None:
    """Put some numbers in random order."""
    for last in range(order.shape[0] - 1, 0, -1):
        other = draw(source, last + 1)
        order[last], order[other] = order[other], order[last]


@njit(cache=True)
def prefer_any(source: Source, prefer: search.Row) -> None:
    """Choose at random which candidates a search tries first."""
    for at in range(prefer.shape[0]):
        prefer[at] = draw(source, 1 << 32)


@njit(cache=True)
def rivals(
    room: Room, puzzle: Givens, solution: Givens, most: int, differ: NDArray[np.int64]
) -> int:
    """Look for at most `most` other solutions of a puzzle; -1 if none was found in the budget.

    Parameters
    ----------
    differ : (C,) how many of them differ from the solution in each cell; written.
    """
    nothing = np.zeros(room.stack.shape[1], np.uint32)
    words = np.empty(room.tables.rules.shape[1], np.uint64)
    cells = puzzle.shape[0]
    differ[:] = 0
    room.control[:] = 0
    search.load_givens(room.kind, room.tables, room.stack[0], puzzle)
    found, ended = 0, search.SOLUTION
    while found < most and ended == search.SOLUTION:
        ended = search.advance(
            room.kind, room.tables, room.stack, room.control, nothing, False, 0, BUDGET
        )
        if ended != search.SOLUTION:
            break
        row = room.stack[room.control[search.TOP] + 1]
        search.read_words(room.kind, room.tables, row, words)
        before = found
        for cell in range(cells):
            candidate = (solution[cell] - 1) * cells + cell
            if not words[candidate >> 6] >> np.uint64(candidate & 63) & np.uint64(1):
                differ[cell] += 1
                found = before + 1
    return -1 if found == 0 and ended == search.PAUSED else found


@njit(cache=True)
def put_in(room: Room, puzzle: Givens, solution: Givens, cell: int) -> None:
    """Give a cell, with its images."""
    for i in range(room.turned.shape[1]):
        puzzle[room.turned[cell, i]] = solution[room.turned[cell, i]]


@njit(cache=True)
def images(room: Room, cell: int) -> int:
    """How many cells are given or blank together with one, itself included."""
    count = 0
    for i in range(room.turned.shape[1]):
        count += 1
        for before in range(i):
            if room.turned[cell, before] == room.turned[cell, i]:
                count -= 1
                break
    return count


@njit(cache=True)
def thin(room: Room, puzzle: Givens, solution: Givens, least: int, source: Source) -> None:
    """Delete superfluous givens in random order, but leave `least`; put some in if there are less.

    The puzzle has one solution, before and after.
    """
    order = np.arange(puzzle.shape[0])
    shuffle(source, order)
    for cell in order:
        if np.count_nonzero(puzzle) < least:
            put_in(room, puzzle, solution, cell)
    shuffle(source, order)
    left = np.count_nonzero(puzzle)
    for at in range(order.shape[0]):
        cell = order[at]
        if puzzle[cell] and left - images(room, cell) >= least:
            delete(
                room.kind,
                room.tables,
                room.stack,
                room.control,
                order[at : at + 1],
                room.turned,
                puzzle,
            )
            left = np.count_nonzero(puzzle)


@njit(cache=True)
def vary(
    room: Room, puzzle: Givens, solution: Givens, out: int, least: int, aim: int, source: Source
) -> bool:
    """Make a variant of a puzzle in its place; False if a search ran out of budget.

    Parameters
    ----------
    puzzle : with the one given solution; a wreck if False comes back.
    out : how many givens are taken out, each with its images.
    least : below how many givens nothing is deleted any more.
    aim : what is put in for them, `MANY`, `ANY` or `FEW`: so that many or few are needed.
    """
    cells = puzzle.shape[0]
    order = np.arange(cells)
    differ = np.empty(cells, np.int64)
    taken = np.zeros(cells, np.int64)
    shuffle(source, order)
    for cell in order:
        if out and puzzle[cell]:
            out -= 1
            for i in range(room.turned.shape[1]):
                puzzle[room.turned[cell, i]] = 0
                taken[room.turned[cell, i]] = 1
    while True:
        found = rivals(room, puzzle, solution, RIVALS, differ)
        if found <= 0:
            break
        shuffle(source, order)
        best, most = 0, -BUDGET
        for cell in order:
            # What was taken out comes back only if nothing else is of use.
            worth = int(aim * differ[cell] - 2 * RIVALS * taken[cell])
            if differ[cell] and worth > most:
                best, most = int(cell), worth
        put_in(room, puzzle, solution, best)
    if found == 0:
        thin(room, puzzle, solution, least, source)
    return found == 0
