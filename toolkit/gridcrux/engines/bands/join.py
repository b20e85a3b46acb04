"""The sum over all ways in which the columns share out their digits among three bands.

In a stack of three boxes the partitions over columns are *apart*: a triple of them gives each
digit one column in each band.  The number of solutions is the sum over three triples, one a
stack, of the product of the numbers of fillings of the bands.  Of triples that differ by digits
that the state treats alike, in the first two stacks, one is looked at and counts for all.

The innermost sum runs over the triples of the third stack for sixteen pairs of triples of the
other two at once, in the lanes of two registers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.bands.fillings import Band
from gridcrux.engines.bands.partitions import DIGITS, LINES, Numbers, partitions
from gridcrux.engines.kernel.vector import LANES, load, store
from gridcrux.grids.inner import inner

BATCH = 2 * LANES
_LOW = (1 << 32) - 1

Codes = NDArray[np.int8]


class Stack(NamedTuple):
    """The triples of a stack.

    Attributes
    ----------
    triples : (N, 3), a partition over columns for each band.
    codes : (N, 9), for each digit a number that says in which column it is in which band.
    """

    triples: Numbers
    codes: Codes


class Third(NamedTuple):
    """The triples of the last stack, by the partition of the first band.

    Attributes
    ----------
    partitions : for each band those that occur, as numbers.
    starts : where the pairs of each partition of the first band begin, and the end.
    pairs : for each triple the places of the other two partitions in the lists of their bands,
        times `BATCH`.
    """

    partitions: tuple[Numbers, Numbers, Numbers]
    starts: NDArray[np.int64]
    pairs: NDArray[np.int64]


def stack(possible: Sequence[NDArray[np.bool_]]) -> Stack:
    """The triples of a stack, from the partitions that each band allows there."""
    index = partitions()
    first = np.flatnonzero(possible[0])
    second, third = index.apart[first, :, 0], index.apart[first, :, 1]
    fine = possible[1][second] & possible[2][third]
    which, pair = np.nonzero(fine)
    triples = np.stack([first[which], second[which, pair], third[which, pair]], axis=1)
    codes = LINES * index.line[triples[:, 0]] + index.line[triples[:, 1]]
    return Stack(triples.astype(np.int16), codes.astype(np.int8))


def third(last: Stack) -> Third:
    """The triples of a stack made ready for the innermost sum."""
    lists, places = [], []
    for band in range(LINES):
        found, place = np.unique(last.triples[:, band], return_inverse=True)
        lists.append(found.astype(np.int16))
        places.append(place)
    # The triples are in the order of their first partition.
    starts = np.searchsorted(places[0], np.arange(len(lists[0]) + 1))
    pairs = np.stack(places[1:], axis=1) * BATCH
    return Third((lists[0], lists[1], lists[2]), starts, pairs.astype(np.int64).ravel())


def previous_alike(treatment: Sequence[tuple[int, ...]]) -> Codes:
    """For each digit the nearest lower one that is treated the same, or -1."""
    earlier = [
        [other for other in range(digit) if treatment[other] == treatment[digit]]
        for digit in range(DIGITS)
    ]
    return np.array([max(others, default=-1) for others in earlier], np.int8)


def representatives(first: Stack, previous: Codes) -> NDArray[np.int64]:
    """The triples of the first stack that are in order: codes ascend among digits alike."""
    fine = np.ones(len(first.codes), np.bool_)
    for digit in np.flatnonzero(previous >= 0):
        fine &= first.codes[:, previous[digit]] <= first.codes[:, digit]
    return np.flatnonzero(fine)


@inner
def orders(one: Codes, other: Codes, previous: Codes) -> int:
    """How many pairs of triples are this one with digits exchanged; 0 if it is not in order.

    The codes of the first triple ascend already; those of the second have to where these agree.
    """
    result = 1
    length = np.zeros(DIGITS, np.int64)
    position = np.zeros(DIGITS, np.int64)
    for digit in range(DIGITS):
        length[digit] = position[digit] = 1
        before = previous[digit]
        if before >= 0:
            position[digit] += position[before]
            if one[before] == one[digit]:
                if other[before] > other[digit]:
                    return 0
                if other[before] == other[digit]:
                    length[digit] += length[before]
        result = result * position[digit] // length[digit]
    return result


@njit(cache=True, nogil=True)
def pairs_in_order(
    first: Stack, chosen: NDArray[np.int64], second: Stack, previous: Codes
) -> NDArray[np.int64]:
    """For each of the chosen triples how many of the second stack it is looked at with."""
    found = np.zeros(len(chosen), np.int64)
    for i in range(len(chosen)):
        for j in range(len(second.codes)):
            found[i] += orders(first.codes[chosen[i]], second.codes[j], previous) > 0
    return found


@inner
def _find_places(band: Band, one: int, partitions_: Numbers, places: NDArray[np.int64]) -> None:
    """Where in a row of the table the partitions of the third box are, for one of the first."""
    for i in range(len(partitions_)):
        places[i] = band.third[band.relabelled[one, partitions_[i]]]


@inner
def _row(band: Band, one: int, other: int) -> int:
    """Where the row of two partitions begins in the table of a band."""
    second = band.second[band.relabelled[one, other]]
    _, rows, length = band.table.shape
    return (np.int64(band.representative[one]) * rows + second) * length


@inner
def _write_lanes(
    table: NDArray[np.uint16],
    rows: NDArray[np.int64],
    places: NDArray[np.int64],
    lanes: NDArray[np.uint32],
) -> None:
    """The numbers of fillings for each partition of the third box, a row of the table a lane."""
    for i in range(len(places)):
        for lane in range(BATCH):
            lanes[i * BATCH + lane] = table[rows[lane] + places[i]]


@inner
def _add_products(
    last: Third,
    first: NDArray[np.uint32],
    second: NDArray[np.uint32],
    third: NDArray[np.uint32],
    sums: NDArray[np.int64],
) -> None:
    """The sum over the triples of the last stack, in each lane.

    A product of two numbers is below 2**22, and 56 of them fit in a lane.
    """
    sums[:] = 0
    inside = np.zeros(BATCH, np.uint32)
    nothing = load(inside, 0)
    for i in range(len(last.starts) - 1):
        low, high = nothing, nothing
        for pair in range(last.starts[i], last.starts[i + 1]):
            one, other = last.pairs[2 * pair], last.pairs[2 * pair + 1]
            low = low + load(second, one) * load(third, other)
            high = high + load(second, one + LANES) * load(third, other + LANES)
        store(inside, 0, low)
        store(inside, LANES, high)
        for lane in range(BATCH):
            sums[lane] += np.int64(first[i * BATCH + lane]) * np.int64(inside[lane])


@njit(cache=True, nogil=True)
def add_up(
    bands: tuple[Band, Band, Band],
    first: Stack,
    chosen: NDArray[np.int64],
    second: Stack,
    begin: int,
    end: int,
    last: Third,
    previous: Codes,
) -> tuple[int, int]:
    """The sum over some of the first triples and, of the second, those from `begin` to `end`.

    Returns
    -------
    The upper and the lower 32 bits and more of the sum: high * 2**32 + low.
    """
    sizes = (len(last.partitions[0]), len(last.partitions[1]), len(last.partitions[2]))
    tables = (bands[0].table.ravel(), bands[1].table.ravel(), bands[2].table.ravel())
    places = (
        np.zeros(sizes[0], np.int64),
        np.zeros(sizes[1], np.int64),
        np.zeros(sizes[2], np.int64),
    )
    numbers = (
        np.zeros(sizes[0] * BATCH, np.uint32),
        np.zeros(sizes[1] * BATCH, np.uint32),
        np.zeros(sizes[2] * BATCH, np.uint32),
    )
    rows = np.zeros((LINES, BATCH), np.int64)
    weights = np.zeros(BATCH, np.int64)
    sums = np.zeros(BATCH, np.int64)
    high = low = 0
    for i in chosen:
        one = first.triples[i]
        for band in range(LINES):
            _find_places(bands[band], one[band], last.partitions[band], places[band])
        filled = 0
        for j in range(begin, end):
            weight = orders(first.codes[i], second.codes[j], previous)
            if weight:
                for band in range(LINES):
                    rows[band, filled] = _row(bands[band], one[band], second.triples[j, band])
                weights[filled] = weight
                filled += 1
            if filled == BATCH or (j == end - 1 and filled):
                for band in range(LINES):
                    _write_lanes(tables[band], rows[band], places[band], numbers[band])
                _add_products(last, numbers[0], numbers[1], numbers[2], sums)
                for lane in range(filled):
                    low += (sums[lane] & _LOW) * weights[lane]
                    high += (sums[lane] >> 32) * weights[lane] + (low >> 32)
                    low &= _LOW
                filled = 0
    return high, low
