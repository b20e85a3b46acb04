"""The numbers of fillings of a band, one by one."""

from __future__ import annotations

from itertools import permutations, product

import numpy as np

from gridcrux.engines.bands.fillings import OPEN, Band, Outline
from gridcrux.engines.bands.partitions import partitions
from gridcrux.engines.limits import Deadline

NEVER = Deadline(None)


def band_of(allowed: np.ndarray) -> Band:
    band = Outline(allowed.astype(np.int32)).count(NEVER)
    assert band is not None
    return band


def number(band: Band, first: int, second: int, third: int) -> int:
    sorted_ = band.relabelled[first]
    places = (
        band.representative[first],
        band.second[sorted_[second]],
        band.third[sorted_[third]],
    )
    return 0 if min(places) < 0 else int(band.table[places])


def by_hand(allowed: np.ndarray, columns: list[list[set[int]]]) -> int:
    """Put the three digits of each column in every order, row by row different digits."""
    found = 0

    def extend(box: int, rows: tuple[frozenset[int], ...]) -> int:
        if box == 3:
            return 1
        total = 0
        for orders in product(*(permutations(sorted(column)) for column in columns[box])):
            added = [frozenset(order[row] for order in orders) for row in range(3)]
            if any(len(added[row] | rows[row]) != 3 * (box + 1) for row in range(3)):
                continue
            if all(
                allowed[box, orders[column][row]] >> 3 * row + column & 1
                for row in range(3)
                for column in range(3)
            ):
                total += extend(box + 1, tuple(rows[row] | added[row] for row in range(3)))
        return total

    found += extend(0, (frozenset(),) * 3)
    return found


def columns_of(partition: int) -> list[set[int]]:
    line = partitions().line[partition]
    return [set(np.flatnonzero(line == column).tolist()) for column in range(3)]


def test_all_fillings_of_the_open_band() -> None:
    """948,109,639,680: Felgenhauer & Jarvis, "Enumerating possible Sudoku grids", 2005."""
    band = band_of(np.full((3, 9), OPEN))
    assert band.table.shape == (1, 1680, 1680)
    assert int(band.table.sum(dtype=np.int64)) * 1680 == 948_109_639_680


def test_numbers_as_by_hand() -> None:
    """Random closed cells, the same for some digits, so that digits are exchanged."""
    rng = np.random.default_rng(3)
    several = 0
    for _ in range(6):
        kinds = rng.integers(0, 3, 9)
        masks = np.where(rng.random((3, 3, 9)) < 0.12, 0, 1) @ (1 << np.arange(9))
        allowed = masks[:, kinds]
        band = band_of(allowed)
        for _ in range(8):
            first, second, third = rng.integers(0, 1680, 3).tolist()
            expected = by_hand(allowed, [columns_of(p) for p in (first, second, third)])
            assert number(band, first, second, third) == expected
            several += expected > 1
    assert several > 10


def test_order_of_the_boxes() -> None:
    rng = np.random.default_rng(4)
    kinds = np.array([0, 0, 1, 1, 1, 2, 2, 3, 3])
    allowed = (np.where(rng.random((3, 4, 9)) < 0.15, 0, 1) @ (1 << np.arange(9)))[:, kinds]
    outline = Outline(allowed.astype(np.int32))
    one, other = (
        outline.count(NEVER),
        outline.narrowed([2, 0, 1], np.ones((3, 1680), bool)).count(NEVER),
    )
    assert one is not None
    assert other is not None
    assert one.table.max() > 0
    for first, second, third in rng.integers(0, 1680, (300, 3)).tolist():
        assert number(one, first, second, third) == number(other, third, first, second)


def test_work_is_told_beforehand() -> None:
    allowed = np.full((3, 9), OPEN)
    allowed[1, 4] = 1
    outline = Outline(allowed.astype(np.int32))
    band = outline.count(NEVER)
    assert band is not None
    assert outline.entries == band.table.size
    assert outline.fillings == int(band.table.sum(dtype=np.int64))


def test_no_time() -> None:
    allowed = np.full((3, 9), OPEN)
    allowed[1, 4] = 1
    assert Outline(allowed.astype(np.int32)).count(Deadline(0)) is None
