"""Compiled: minimal puzzles of a grid, with weights, by deleting givens and keeping count.

A set of givens is *sound* if the puzzle has one solution.  Sound sets are visited, and every
visit has a weight, such that the weights of all visits to a set sum to 1 on average over the
random choices.  Three facts keep this true from level to level, in a grid of C cells.

- A random set of m givens is a certain one with probability 1 / binomial(C, m); if it is sound,
  it is visited with that binomial as its weight.
- A sound set of m - 1 givens lies below C - m + 1 sound sets of m givens, one for each cell that
  it leaves blank.  So a visit of weight w to a set of m givens, of which d can be deleted, hands
  w / (C - m + 1) to each of the d sets below it.
- Instead of all d, some of them chosen at random are visited, n in number, with weights
  multiplied by d / E[n]: splitting where E[n] is large, Russian roulette where it is below 1.

Visited sets without deletable givens are minimal puzzles.  Any E[n] will do; here it is
w * value[m, d], so that the weight handed down depends on m and d alone.
"""

from __future__ import annotations

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.sample.deletion import Givens, sound
from gridcrux.engines.kernel import search
from gridcrux.grids.arrays import Geometry

Stack = NDArray[np.uint32]
Control = NDArray[np.int64]
Cells = NDArray[np.int64]

FOREVER = 1 << 62


@njit(cache=True)
def deletable(
    kind: int,
    tables: Geometry,
    stack: Stack,
    control: Control,
    puzzle: Givens,
    tried: Cells,
    found: Cells,
) -> int:
    """Write which of some givens of a sound puzzle it can do without, each alone; how many."""
    number = 0
    for cell in tried:
        digit = puzzle[cell]
        puzzle[cell] = 0
        control[:] = 0
        search.load_givens(kind, tables, stack[0], puzzle)
        search.exclude(kind, tables, stack[0], (digit - 1) * puzzle.size + cell)
        search.count(kind, tables, stack, control, 1, FOREVER)
        puzzle[cell] = digit
        if control[search.FOUND] == 0:
            found[number] = cell
            number += 1
    return number


@njit(cache=True)
def take(
    grid: Givens, order: Cells, first: int, last: int, random: np.random.Generator, puzzle: Givens
) -> None:
    """Extend a random choice of `first` cells, those in front of `order`, to one of `last`."""
    for i in range(first, last):
        j = random.integers(i, order.size)
        order[i], order[j] = order[j], order[i]
        puzzle[order[i]] = grid[order[i]]


@njit(cache=True)
def threshold(
    kind: int,
    tables: Geometry,
    stack: Stack,
    control: Control,
    grid: Givens,
    order: Cells,
    random: np.random.Generator,
    puzzle: Givens,
) -> int:
    """Put givens in random order; how many of them it takes to be sound.  They are `puzzle`."""
    puzzle[:] = 0
    take(grid, order, 0, order.size, random, puzzle)
    unsound, enough = 0, order.size
    while enough - unsound > 1:
        middle = (unsound + enough) // 2
        puzzle[:] = 0
        for cell in order[:middle]:
            puzzle[cell] = grid[cell]
        if sound(kind, tables, stack, control, puzzle):
            enough = middle
        else:
            unsound = middle
    puzzle[:] = 0
    for cell in order[:enough]:
        puzzle[cell] = grid[cell]
    return enough


@njit(cache=True)
def survey(
    kind: int,
    tables: Geometry,
    stack: Stack,
    control: Control,
    grid: Givens,
    random: np.random.Generator,
    kept: NDArray[np.int64],
) -> tuple[int, int]:
    """One random top-down deletion: givens it took to be sound, and givens that were left.

    Parameters
    ----------
    kept : (C + 1, 2) to which is added, for each level m that a given is deleted at, how many
        other givens were deletable before, and how many of these are after it.
    """
    cells = grid.size
    order = np.arange(cells)
    puzzle = np.empty(cells, np.int8)
    first = threshold(kind, tables, stack, control, grid, order, random, puzzle)
    free = order[:first].copy()
    level = first
    others = first
    while True:
        # What is found is written over what was tried, never ahead of it.
        number = deletable(kind, tables, stack, control, puzzle, free[:others], free)
        if level < first:
            kept[level + 1, 0] += others
            kept[level + 1, 1] += number
        if number == 0:
            break
        at = random.integers(0, number)
        puzzle[free[at]] = 0
        others = number - 1
        free[at] = free[others]
        level -= 1
    return first, level


@njit(cache=True)
def descend(
    kind: int,
    tables: Geometry,
    stack: Stack,
    control: Control,
    grid: Givens,
    level: int,
    attempts: int,
    value: NDArray[np.float64],
    random: np.random.Generator,
) -> tuple[Givens, NDArray[np.float64], int]:
    """Minimal puzzles of a grid with at most `level` givens, from random sets of so many.

    Returns puzzles (N, C) and weights (N,) in units of binomial(C, level) / attempts, and N;
    rows beyond N mean nothing.

    Parameters
    ----------
    value : (C + 1, C + 1) how many deletions a visit of weight 1 is worth, by givens and by how
        many of them are deletable.
    """
    cells = grid.size
    order = np.arange(cells)
    puzzle = np.empty(cells, np.int8)
    # For each level: deletable givens, how many, how many deletions are tried and were, which.
    free = np.empty((cells + 1, cells), np.int64)
    number = np.zeros(cells + 1, np.int64)
    wanted = np.zeros(cells + 1, np.int64)
    tried = np.zeros(cells + 1, np.int64)
    puzzles = np.empty((64, cells), np.int8)
    weights = np.empty(64)
    found = 0
    for _ in range(attempts):
        puzzle[:] = 0
        take(grid, order, 0, level, random, puzzle)
        if not sound(kind, tables, stack, control, puzzle):
            continue
        m = level
        weight = 1.0
        free[m, :m] = order[:m]
        others = m
        while True:
            # What is found is written over what was tried, never ahead of it.
            d = deletable(kind, tables, stack, control, puzzle, free[m, :others], free[m])
            number[m] = d
            tried[m] = 0
            wanted[m] = int(weight * value[m, d] + random.random()) if d > 0 else 0
            if d == 0:
                if found == weights.size:
                    puzzles = np.concatenate((puzzles, np.empty_like(puzzles)))
                    weights = np.concatenate((weights, np.empty_like(weights)))
                puzzles[found] = puzzle
                weights[found] = weight
                found += 1
            while tried[m] == wanted[m] and m < level:
                m += 1
                cell = free[m, _place(tried[m], number[m])]
                puzzle[cell] = grid[cell]
            if tried[m] == wanted[m]:
                break
            d = number[m]
            tried[m] += 1
            last = _place(tried[m], d)
            at = random.integers(0, last + 1)
            cell = free[m, at]
            free[m, at] = free[m, last]
            free[m, last] = cell
            puzzle[cell] = 0
            weight = d / (value[m, d] * (cells - m + 1))
            others = d - 1
            free[m - 1, :last] = free[m, :last]
            free[m - 1, last:others] = free[m, last + 1 : d]
            m -= 1
    return puzzles, weights, found


@njit(cache=True)
def _place(tried: int, number: int) -> int:
    """Where the given of a deletion is kept: behind those that have not had their turn."""
    return number - 1 - (tried - 1) % number
