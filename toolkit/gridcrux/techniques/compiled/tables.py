"""Index tables from which the compiled finders read a layout: rules as short masks.

Rule number r has n positions, one a candidate: the digits for a cell, the cells for a digit
in a house.  The tables are few because a compiled function is handed each array separately:
with one array a topic, calling would cost more than finding.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.grids.arrays import geometry
from gridcrux.grids.layout import Layout

Ints = NDArray[np.int64]

RULE, POSITION, BLOCK = 0, 1, 2
"""What a link says: a rule of the candidate, its position there, the block that changes."""

OTHER, INSIDE, OUTSIDE = 0, 1, 2
"""What a crossing says: another house, our positions inside it, its positions outside us."""


class Tables(NamedTuple):
    """A layout with C cells, n digits, H houses, K candidates, R rules, at most m houses a cell.

    A *block* is what carries the time of its last change: house h is block h, and digit d
    over the whole grid is block H + d.

    Attributes
    ----------
    size, cells, houses : n, C and H.
    links : (K, m + 1, 3) for each candidate its rules, the cell's first, then the houses';
        rule -1 behind the last.
    candidates : (R, n) the candidate at each position of a rule.  Those of digit 0 have the
        numbers of their cells.
    rules : (R, W) mask of each rule, as 64-bit words.
    conflicts : (K, W) mask of what each candidate excludes.
    crossings : (H, q, 3) the other houses that share two cells or more with a house, -1
        behind the last.
    boxed : (H,) 1 for a box or region, 0 for another house.
    """

    size: int
    cells: int
    houses: int
    links: NDArray[np.int32]
    candidates: NDArray[np.int32]
    rules: Ints
    conflicts: Ints
    crossings: Ints
    boxed: Ints


@lru_cache(maxsize=64)
def tables(layout: Layout) -> Tables:
    """The index tables of a layout, computed once."""
    base = geometry(layout)
    n, cells = layout.size, layout.cells
    rules = base.rules.view(np.int64)
    _LAYOUTS[rules.ctypes.data] = layout
    in_cells = np.arange(n) * cells + np.arange(cells)[:, None]
    in_houses = (np.arange(n)[:, None] * cells + base.house_cells[:, None, :]).reshape(-1, n)
    return Tables(
        size=n,
        cells=cells,
        houses=len(layout.houses),
        links=_links(layout),
        candidates=np.vstack([in_cells, in_houses]).astype(np.int32),
        rules=rules,
        conflicts=base.conflicts.view(np.int64),
        crossings=_crossings(base.shared, n),
        boxed=(base.house_kinds == 2).astype(np.int64),
    )


_LAYOUTS: dict[int, Layout] = {}
"""By the address of its rules, the layout of each table that there is (or was)."""


def layout_of(rules: Ints) -> Layout:
    """The layout of tables, by their rules as compiled code hands them out."""
    return _LAYOUTS[rules.ctypes.data]


def _links(layout: Layout) -> NDArray[np.int32]:
    base = geometry(layout)
    n, cells, houses = layout.size, layout.cells, len(layout.houses)
    cell = np.tile(np.arange(cells), n)
    digit = np.repeat(np.arange(n), cells)
    house = base.cell_houses[cell]
    links = np.empty((layout.candidates, 1 + house.shape[1], 3), np.int32)
    links[:, 0] = np.column_stack([cell, digit, houses + digit])
    links[:, 1:, RULE] = np.where(house < 0, -1, cells + house * n + digit[:, None])
    links[:, 1:, POSITION] = base.cell_slots[cell]
    links[:, 1:, BLOCK] = house
    return links


def _crossings(shared: NDArray[np.int32], n: int) -> Ints:
    whole = (1 << n) - 1
    found = [
        [
            (other, int(mask), whole & ~int(shared[other, house]))
            for other, mask in enumerate(row)
            if other != house and int(mask).bit_count() > 1
        ]
        for house, row in enumerate(shared)
    ]
    table = np.full((len(found), 1 + max(map(len, found)), 3), -1, np.int64)
    for house, crossings in enumerate(found):
        if crossings:
            table[house, : len(crossings)] = crossings
    return table
