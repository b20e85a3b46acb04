"""In how many ways a band can be filled, for any choice of the digits of its columns.

The digits of the three columns of a box are a partition.  Digits that may stand in the same cells
of the band are exchangeable, so the partition of the first box is always brought to its sorted
order first: the numbers of 1,680**3 choices fit in a few million places.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.bands.partitions import (
    ALL,
    APART,
    CROSSING,
    DIGITS,
    LINES,
    Lines,
    Numbers,
    Partitions,
    partitions,
)
from gridcrux.engines.limits import Deadline
from gridcrux.grids.inner import inner

Allowed = NDArray[np.int32]
OPEN = (1 << LINES * LINES) - 1
"""All cells of a box."""


class Band(NamedTuple):
    """The numbers of fillings of a band.

    Attributes
    ----------
    representative : (1680,), for the partition of the first box its place in `table`, or -1.
    relabelled : (1680, 1680), what becomes of a partition when that of the first box is sorted.
    second, third : (1680,), the places of the partitions of the other two boxes, or -1.
    table : the numbers, one axis a box.
    """

    representative: Numbers
    relabelled: Numbers
    second: Numbers
    third: Numbers
    table: NDArray[np.uint16]


class _Crossings(NamedTuple):
    """For a partition over rows those over columns that the cells of each box allow.

    `chosen` is (3, 1680, 216), of which the first `sizes`, (3, 1680), count.
    """

    chosen: Numbers
    sizes: Numbers


@dataclass(frozen=True, eq=False)
class Outline:
    """A band of which the fillings are not counted yet.

    Attributes
    ----------
    allowed : (3, 9), for each box and digit a bit for each cell (3 * row + column) it may be in.
    wanted : (3, 1680), the partitions over columns that are asked for; all if None.
    """

    allowed: Allowed
    wanted: NDArray[np.bool_] | None = None

    def narrowed(self, order: Sequence[int], wanted: NDArray[np.bool_]) -> Outline:
        """The same band with its boxes in another order, for some partitions only.

        What exchanging digits makes of a wanted partition is wanted, too.
        """
        boxes = list(order)
        same = self._sorted
        closed = np.stack([np.isin(same, same[wanted[box]]) for box in boxes])
        return Outline(self.allowed[boxes], None if closed.all() else closed)

    @cached_property
    def _crossings(self) -> _Crossings:
        found = _Crossings(
            np.zeros((LINES, ALL, CROSSING), np.int16), np.zeros((LINES, ALL), np.int16)
        )
        wanted = np.ones((LINES, ALL), np.bool_) if self.wanted is None else self.wanted
        _find_crossings(self.allowed, partitions(), wanted, found)
        return found

    @cached_property
    def possible(self) -> NDArray[np.bool_]:
        """(3, 1680), whether a box has a filling with that partition over columns."""
        chosen, sizes = self._crossings
        found = np.zeros((LINES, ALL), np.bool_)
        held = np.arange(CROSSING) < sizes[:, :, None]
        for box in range(LINES):
            found[box][chosen[box][held[box]]] = True
        return found

    @cached_property
    def _weights(self) -> NDArray[np.float64]:
        """(1680, 9), the place in base 3 of each digit, if digits treated alike are exchanged to
        sort the partition."""
        digits = np.arange(DIGITS)
        treatment = [tuple(boxes) for boxes in self.allowed.T.tolist()]
        classes = np.array([treatment.index(each) for each in treatment])
        places = np.argsort(classes * DIGITS + digits)
        line = partitions().line
        order = np.argsort((classes * LINES + line) * DIGITS + digits, axis=1)
        weights = np.zeros(line.shape)
        np.put_along_axis(weights, order, float(LINES) ** (DIGITS - 1 - places)[None, :], axis=1)
        return weights

    @cached_property
    def _sorted(self) -> Numbers:
        """(1680,), what becomes of each partition when it is sorted itself."""
        index = partitions()
        return index.number[(self._weights * index.line).sum(axis=1).astype(np.int64)]

    @property
    def _relabelled(self) -> Numbers:
        """[q, r]: what becomes of r when q is sorted."""
        index = partitions()
        return index.number[(self._weights @ index.line.T.astype(float)).astype(np.int64)]

    @cached_property
    def _first(self) -> Numbers:
        """The possible partitions of the first box that are sorted."""
        sorted_ = self._sorted == np.arange(ALL)
        return np.flatnonzero(sorted_ & self.possible[0]).astype(np.int16)

    @property
    def entries(self) -> int:
        """How many numbers the table of the band has."""
        return len(self._first) * int(self.possible[1].sum()) * int(self.possible[2].sum())

    @cached_property
    def fillings(self) -> int:
        """How many fillings are gone through to make the table."""
        return int(_fillings(self.allowed[0], self._first, partitions(), self._crossings.sizes))

    def count(self, deadline: Deadline) -> Band | None:
        """Go through the fillings; None if the time is up first."""
        if self.wanted is None and (self.allowed == OPEN).all():
            return _open_band()
        return self._count(deadline)

    def _count(self, deadline: Deadline) -> Band | None:
        second, third = _places(self.possible[1]), _places(self.possible[2])
        representative = np.full(ALL, -1, np.int16)
        representative[self._first] = np.arange(len(self._first))
        shape = (len(self._first), int(second.max()) + 1, int(third.max()) + 1)
        band = Band(
            representative[self._sorted],
            self._relabelled,
            second,
            third,
            np.zeros(shape, np.uint16),
        )
        left = np.zeros((shape[1], ALL), np.uint16)
        for place, column in enumerate(self._first):
            if deadline.passed:
                return None
            _fill(self.allowed[0], column, place, partitions(), self._crossings, left, band)
        return band


@cache
def _open_band() -> Band | None:
    """The band in which nothing is closed: half a second of work, and the same every time."""
    return Outline(np.full((LINES, DIGITS), OPEN, np.int32))._count(Deadline(None))


def _places(possible: NDArray[np.bool_]) -> Numbers:
    """The possible ones numbered in order, -1 for the others."""
    places = np.full(len(possible), -1, np.int16)
    places[possible] = np.arange(possible.sum())
    return places


@inner
def _fits(allowed: Allowed, rows: Lines, columns: Lines) -> bool:
    """Whether the filling of a box with these partitions is allowed."""
    for digit in range(DIGITS):
        if not allowed[digit] >> (LINES * rows[digit] + columns[digit]) & 1:
            return False
    return True


@njit(cache=True)
def _find_crossings(
    allowed: Allowed, index: Partitions, wanted: NDArray[np.bool_], found: _Crossings
) -> None:
    for box in range(LINES):
        for row in range(ALL):
            for column in index.crossing[row]:
                if wanted[box, column] and _fits(allowed[box], index.line[row], index.line[column]):
                    found.chosen[box, row, found.sizes[box, row]] = column
                    found.sizes[box, row] += 1


@njit(cache=True)
def _fillings(allowed: Allowed, first: Numbers, index: Partitions, sizes: Numbers) -> int:
    """The number of fillings whose first box has one of some partitions over columns."""
    ways = np.zeros(ALL, np.int64)
    for row in range(ALL):
        for pair in range(APART):
            ways[row] += sizes[1, index.apart[row, pair, 0]] * np.int64(
                sizes[2, index.apart[row, pair, 1]]
            )
    total = 0
    for column in first:
        for row in index.crossing[column]:
            if _fits(allowed, index.line[row], index.line[column]):
                total += ways[row]
    return total


@njit(cache=True, nogil=True)
def _fill(
    allowed: Allowed,
    column: int,
    place: int,
    index: Partitions,
    crossings: _Crossings,
    left: NDArray[np.uint16],
    band: Band,
) -> None:
    """Write the table of a band for one partition of the first box over columns.

    It leaves some partitions over rows; each of these leaves some pairs to the other two boxes.
    The fillings of the second box are added up by the rows that they leave to the third, in
    `left`, before those of the third are gone through.
    """
    chosen, sizes = crossings
    left[:] = 0
    for row in index.crossing[column]:
        if _fits(allowed, index.line[row], index.line[column]):
            for pair in range(APART):
                middle, last = index.apart[row, pair, 0], index.apart[row, pair, 1]
                for i in range(sizes[1, middle]):
                    left[band.second[chosen[1, middle, i]], last] += 1
    for second in range(left.shape[0]):
        for last in range(ALL):
            ways = left[second, last]
            if ways:
                for i in range(sizes[2, last]):
                    band.table[place, second, band.third[chosen[2, last, i]]] += ways
