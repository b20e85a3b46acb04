"""What a level of consistency looks at, brought to the fixpoint on a row of the kernel.

A row is that of `engines.kernel.masks`, for any layout.  Naked singles are always looked at; the
rest is in *parts*: hidden singles (with them the kernel's own propagation, which is unit
propagation over the extended encoding), locked candidates, and each house as an all-different
constraint, by bounds or by matchings.  All of it is monotone, so the order does not matter.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.engines.kernel import masks
from gridcrux.engines.kernel.status import DEAD, OPEN, SOLVED
from gridcrux.grids.arrays import Geometry, geometry
from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner
from gridcrux.grids.layout import Layout
from gridcrux.proofs.consistency.bounds import keep_bounded
from gridcrux.proofs.consistency.matching import DOMAINS, MEMBERS, ROWS, keep_matched
from gridcrux.techniques.compiled.tables import INSIDE, OTHER, OUTSIDE, Ints, tables

HIDDEN, LOCKED, BOUNDS, MATCHINGS = 1, 2, 4, 8
"""Parts of a level."""

SETTLED = np.uint32(1 << 31)
DIGITS = np.uint32((1 << 31) - 1)
"""Bit of a cell whose digit was taken from its peers, and the bits of the digits."""

FITS_NOWHERE = -1
"""What a filter returns where it finds a contradiction; else it is how many it excludes."""


class Room(NamedTuple):
    """The tables of a layout with C cells, n digits, H houses, and room to work in.

    Attributes
    ----------
    layout : index tables.
    crossings : see `techniques.compiled.tables.Tables`.
    rows : (2, C + H*n) the row asked about and one for an assumption.
    seen : (2, H, n) for each row the cells of each house when it was last filtered.
    possible : (C,) digits that an assumption was made of without a contradiction.
    desk : (7, n) see `matching`.
    """

    layout: Geometry
    crossings: Ints
    rows: NDArray[np.uint32]
    seen: NDArray[np.uint32]
    possible: NDArray[np.uint32]
    desk: Ints


def new_room(layout: Layout) -> Room:
    index = geometry(layout)
    return Room(
        index,
        tables(layout).crossings,
        np.zeros((2, masks.row_length(index)), np.uint32),
        np.zeros((2, *index.house_cells.shape), np.uint32),
        np.zeros(layout.cells, np.uint32),
        np.zeros((ROWS, layout.size), np.int64),
    )


@inner
def load(room: Room, domains: NDArray[np.uint32]) -> None:
    """Fill the first row from the open digits of each cell."""
    layout, row = room.layout, room.rows[0]
    whole = (1 << layout.size) - 1
    row[:] = np.uint32(whole)
    for cell in range(domains.shape[0]):
        closed = whole & ~np.int64(domains[cell])
        while closed:
            masks.exclude_digit(layout, row, lowest(closed), cell)
            closed &= closed - 1


@inner
def propagate_naked(layout: Geometry, row: masks.Row) -> int:
    """Unit propagation over the minimal encoding: DEAD, OPEN or SOLVED.

    A house in which a digit has no place left is no contradiction there.
    """
    cells = layout.cell_houses.shape[0]
    changed = True
    left = 0
    while changed:
        changed = False
        left = 0
        for cell in range(cells):
            mask = np.int64(row[cell] & DIGITS)
            if mask == 0:
                return DEAD
            if mask & (mask - 1):
                left += 1
            elif not row[cell] & SETTLED:
                masks.take_from_peers(layout, row, lowest(mask), cell)
                row[cell] |= SETTLED
                changed = True
    return OPEN if left else SOLVED


@inner
def filter_locked(room: Room, row: masks.Row) -> int:
    """A digit whose places in a house all lie in another house has no place in its rest."""
    layout, crossings = room.layout, room.crossings
    n, cells = layout.size, layout.cell_houses.shape[0]
    excluded = 0
    for house in range(layout.house_cells.shape[0]):
        for digit in range(n):
            places = np.int64(row[cells + house * n + digit])
            if places & (places - 1) == 0:
                continue
            j = 0
            while crossings[house, j, OTHER] >= 0:
                if places & ~crossings[house, j, INSIDE] == 0:
                    other = crossings[house, j, OTHER]
                    rest = np.int64(row[cells + other * n + digit]) & crossings[house, j, OUTSIDE]
                    while rest:
                        cell = layout.house_cells[other, lowest(rest)]
                        masks.exclude_digit(layout, row, digit, cell)
                        rest &= rest - 1
                        excluded += 1
                j += 1
    return excluded


@inner
def filter_house(room: Room, row: masks.Row, house: int, parts: int) -> int:
    """One house as an all-different constraint."""
    desk, members = room.desk, room.layout.house_cells[house]
    count = 0
    for cell in members:
        # A settled digit is in no other domain; in the middle of one, if only bounds are moved.
        if row[cell] & SETTLED and parts & MATCHINGS:
            continue
        desk[DOMAINS, count] = row[cell] & DIGITS
        desk[MEMBERS, count] = cell
        count += 1
    kept = keep_matched(desk, count) if parts & MATCHINGS else keep_bounded(desk, count)
    if not kept:
        return FITS_NOWHERE
    excluded = 0
    for i in range(count):
        cell = desk[MEMBERS, i]
        gone = np.int64(row[cell] & DIGITS) & ~desk[DOMAINS, i]
        while gone:
            masks.exclude_digit(room.layout, row, lowest(gone), cell)
            gone &= gone - 1
            excluded += 1
    return excluded


@inner
def filter_houses(room: Room, top: int, parts: int) -> int:
    """Every house that has changed since it was last filtered."""
    row, house_cells = room.rows[top], room.layout.house_cells
    excluded = 0
    for house in range(house_cells.shape[0]):
        changed = False
        for i in range(house_cells.shape[1]):
            changed |= row[house_cells[house, i]] & DIGITS != room.seen[top, house, i]
        if not changed:
            continue
        here = filter_house(room, row, house, parts)
        if here == FITS_NOWHERE:
            return FITS_NOWHERE
        excluded += here
        for i in range(house_cells.shape[1]):
            room.seen[top, house, i] = row[house_cells[house, i]] & DIGITS
    return excluded


@inner
def propagate(room: Room, top: int, parts: int) -> int:
    """Bring a row to the fixpoint of some parts, the cheap ones first: DEAD, OPEN or SOLVED."""
    while True:
        if parts & HIDDEN:
            status = masks.propagate(room.layout, room.rows, top)
        else:
            status = propagate_naked(room.layout, room.rows[top])
        if status != OPEN:
            return status
        excluded = 0
        if parts & LOCKED:
            excluded = filter_locked(room, room.rows[top])
        if not excluded and parts & (BOUNDS | MATCHINGS):
            excluded = filter_houses(room, top, parts)
        if excluded == FITS_NOWHERE:
            return DEAD
        if not excluded:
            return OPEN
