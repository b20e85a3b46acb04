"""The same layout and state as arrays, for compiled code.

Masks become rows of 64-bit words, lowest candidate first; houses and cells become index
tables.  Nothing here decides anything: the numbering is that of `layout.Layout`.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State

Words = NDArray[np.uint64]


def word_count(layout: Layout) -> int:
    """Number of 64-bit words that hold one bit for each candidate."""
    return -(-layout.candidates // 64)


def to_words(mask: int, words: int) -> Words:
    """A mask as `words` 64-bit words."""
    return np.frombuffer(mask.to_bytes(words * 8, "little"), dtype="<u8").astype(np.uint64)


def from_words(words: Words) -> int:
    """The mask held by a row of 64-bit words."""
    return int.from_bytes(np.ascontiguousarray(words, dtype="<u8").tobytes(), "little")


class Geometry(NamedTuple):
    """Index tables of a layout with C cells, n digits, H houses, at most m houses a cell.

    Attributes
    ----------
    size : n.
    house_cells : (H, n) cells of each house.
    cell_houses : (C, m) houses of each cell, -1 behind the last.
    cell_slots : (C, m) position of the cell in each of those houses.
    house_kinds : (H,) 0 row, 1 column, 2 box or region, 3 anything else.
    shared : (H, H) mask over the positions of the first house: cells also in the second.
    rules : (C + H*n, words) mask of each rule.
    conflicts : (C*n, words) mask of what each candidate excludes.
    """

    size: int
    house_cells: NDArray[np.int32]
    cell_houses: NDArray[np.int32]
    cell_slots: NDArray[np.int32]
    house_kinds: NDArray[np.int32]
    shared: NDArray[np.int32]
    rules: Words
    conflicts: Words


@lru_cache(maxsize=64)
def geometry(layout: Layout) -> Geometry:
    """The index tables of a layout, computed once."""
    words = word_count(layout)
    houses = layout.houses
    deepest = max(len(numbers) for numbers in layout.houses_of)
    cell_houses = np.full((layout.cells, deepest), -1, dtype=np.int32)
    cell_slots = np.zeros((layout.cells, deepest), dtype=np.int32)
    for cell, numbers in enumerate(layout.houses_of):
        for slot, number in enumerate(numbers):
            cell_houses[cell, slot] = number
            cell_slots[cell, slot] = houses[number].cells.index(cell)
    shared = np.zeros((len(houses), len(houses)), dtype=np.int32)
    sets = [set(house.cells) for house in houses]
    for first, house in enumerate(houses):
        for second, members in enumerate(sets):
            shared[first, second] = sum(
                1 << i for i, cell in enumerate(house.cells) if cell in members
            )
    kinds = {"row": 0, "column": 1, "box": 2, "region": 2}
    return Geometry(
        size=layout.size,
        house_cells=np.array([house.cells for house in houses], dtype=np.int32),
        cell_houses=cell_houses,
        cell_slots=cell_slots,
        house_kinds=np.array([kinds.get(house.kind, 3) for house in houses], dtype=np.int32),
        shared=shared,
        rules=np.array([to_words(rule.mask, words) for rule in layout.rules]),
        conflicts=np.array([to_words(mask, words) for mask in layout.conflicts]),
    )


def state_words(state: State) -> Words:
    """The open candidates of a state as words."""
    return to_words(state.open, word_count(state.layout))


def open_candidates(state: State) -> NDArray[np.bool_]:
    """(n, C) whether each digit is open in each cell."""
    layout = state.layout
    raw = np.frombuffer(state.open.to_bytes(-(-layout.candidates // 8), "little"), np.uint8)
    bits = np.unpackbits(raw, count=layout.candidates, bitorder="little")
    return bits.reshape(layout.size, layout.cells).astype(np.bool_)


def placed_cells(state: State) -> NDArray[np.uint8]:
    """For each cell 1 where its digit is written."""
    return np.array([state.placed >> cell & 1 for cell in range(state.layout.cells)], np.uint8)
