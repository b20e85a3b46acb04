"""A layout is what its houses say: counts, symmetry, numbering, names, and refusals."""

from __future__ import annotations

import os
import pickle
import subprocess
import sys

import pytest

from gridcrux.grids.layout import (
    LARGEST,
    NINE,
    SYMBOLS,
    USUAL,
    House,
    Layout,
    boxes,
    latin,
    named,
    regions,
    usual,
)
from gridcrux.grids.state import bits

JAGGED_4 = regions(["1112", "1222", "3334", "3444"], "jagged-4")
JAGGED_9 = regions(
    "112222333 111222333 411122333 441556666 444555666 474555566 477889999 777888999 777888899",
    "jagged-9",
)
NAMES = ["2x2", "2x3", "2x4", "3x3", "2x5", "3x4", "4x4", "5x5", "latin-5", "3x3-diagonals"]
LAYOUTS = [*map(named, NAMES), JAGGED_4, JAGGED_9, JAGGED_4.with_diagonals(), latin(1)]
each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


def test_nine_has_the_sizes_of_the_ordinary_puzzle():
    assert (NINE.cells, NINE.candidates, len(NINE.houses), len(NINE.rules)) == (81, 729, 27, 324)
    assert {len(peers) for peers in NINE.peers} == {20}
    assert {len(numbers) for numbers in NINE.houses_of} == {3}
    assert {mask.bit_count() for mask in NINE.conflicts} == {28}


@pytest.mark.parametrize(
    ("name", "rules", "peers"),
    [
        ("2x2", 64, {7}),
        ("2x3", 144, {12}),
        ("4x4", 1024, {39}),
        ("latin-5", 75, {8}),
        # A diagonal adds the 6 of its 8 other cells that lie outside the box; the middle cell
        # has two diagonals.
        ("3x3-diagonals", 342, {20, 26, 32}),
    ],
)
def test_counts_of_other_layouts(name, rules, peers):
    layout = named(name)
    assert len(layout.rules) == rules
    assert {len(some) for some in layout.peers} == peers


@each_layout
def test_rules_have_n_candidates_and_cover_each_candidate(layout):
    n = layout.size
    assert len(layout.rules) == n * n + len(layout.houses) * n
    assert len(layout.rule_numbers) == len(layout.rules)
    seen = [0] * layout.candidates
    for rule in layout.rules:
        assert rule.mask.bit_count() == n
        for candidate in bits(rule.mask):
            seen[candidate] += 1
    for candidate, times in enumerate(seen):
        assert times == 1 + len(layout.houses_of[candidate % layout.cells])


@each_layout
def test_rules_are_numbered_cells_first_then_house_by_digit(layout):
    n, cells = layout.size, layout.cells
    for cell in range(cells):
        expected = {digit * cells + cell for digit in range(n)}
        assert set(bits(layout.rules[cell].mask)) == expected
    for number, house in enumerate(layout.houses):
        for digit in range(n):
            rule = layout.rules[cells + number * n + digit]
            assert rule.name == f"{digit + 1} in {house.name}"
            assert set(bits(rule.mask)) == {digit * cells + cell for cell in house.cells}


@each_layout
def test_peers_and_houses_agree(layout):
    for cell, peers in enumerate(layout.peers):
        assert cell not in peers
        together = {
            other
            for house in layout.houses
            if cell in house.cells
            for other in house.cells
            if other != cell
        }
        assert peers == together
        assert all(cell in layout.peers[peer] for peer in peers)


@each_layout
def test_candidates_conflict_where_a_rule_holds_both(layout):
    together = [0] * layout.candidates
    for rule in layout.rules:
        for candidate in bits(rule.mask):
            together[candidate] |= rule.mask & ~(1 << candidate)
    assert list(layout.conflicts) == together


@pytest.mark.parametrize("layout", [NINE, JAGGED_9, named("3x3-diagonals"), latin(5)])
def test_conflicts_are_symmetric(layout):
    for candidate, mask in enumerate(layout.conflicts):
        assert not mask >> candidate & 1
        assert all(layout.conflicts[other] >> candidate & 1 for other in bits(mask))


@each_layout
def test_houses_start_with_rows_then_columns(layout):
    n = layout.size
    for i in range(n):
        assert layout.houses[i] == House("row", i + 1, tuple(range(i * n, i * n + n)))
        assert layout.houses[n + i] == House("column", i + 1, tuple(range(i, n * n, n)))


@pytest.mark.parametrize(("height", "width"), USUAL.values())
def test_boxes_are_rectangles_that_tile_the_square(height, width):
    layout = boxes(height, width)
    found = [house for house in layout.houses if house.kind == "box"]
    n = layout.size
    assert sorted(cell for box in found for cell in box.cells) == list(range(n * n))
    for box in found:
        rows, columns = {c // n for c in box.cells}, {c % n for c in box.cells}
        assert (len(rows), len(columns)) == (height, width)
        assert max(rows) - min(rows) == height - 1
        assert max(columns) - min(columns) == width - 1
    starts = [box.cells[0] for box in found]
    assert starts == sorted(starts), "boxes are numbered row by row"


def test_names_of_cells_candidates_houses_and_rules():
    assert NINE.cell_name(0) == "r1c1"
    assert NINE.cell_name(80) == "r9c9"
    assert NINE.candidate_name(6 * 81 + 3 * 9 + 4) == "r4c5=7"
    assert NINE.houses[18].name == "box 1"
    assert NINE.rules[NINE.rule_numbers["7 in row 4"]].name == "7 in row 4"
    assert NINE.rule_numbers["cell r4c5"] == 31
    assert boxes(4, 4).candidate_name(13 * 256 + 9 * 16 + 11) == "r10c12=14"


def test_diagonals_are_two_further_houses():
    layout = named("3x3-diagonals")
    assert layout.name == "3x3-diagonals"
    down, up = layout.houses[27:]
    assert [layout.cell_name(cell) for cell in down.cells][:2] == ["r1c1", "r2c2"]
    assert [layout.cell_name(cell) for cell in up.cells][:2] == ["r9c1", "r8c2"]
    assert layout.houses[:27] == NINE.houses
    assert layout != NINE


def test_regions_keep_their_shape_and_number():
    assert [house.name for house in JAGGED_4.houses[8:]] == [f"region {i}" for i in (1, 2, 3, 4)]
    names = [JAGGED_4.cell_name(cell) for cell in JAGGED_4.houses[9].cells]
    assert names == ["r1c4", "r2c2", "r2c3", "r2c4"]
    assert regions("b b a a\nb b a a\nd d c c\nd d c c").houses[8].cells == (0, 1, 4, 5)
    assert [house.cells for house in regions("1122112233443344").houses] == [
        house.cells for house in boxes(2, 2).houses
    ]


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("11122233", "8 marks are not a square"),
        ("1112122233343433", "'3' marks 6 cells, expected 4"),
        ("1111222233334455", "'4' marks 2 cells, expected 4"),
        ("", "size 0 is outside 1..25"),
    ],
)
def test_bad_regions_are_refused(text, message):
    with pytest.raises(ValueError, match=message):
        regions(text)


@pytest.mark.parametrize(
    ("size", "cells", "message"),
    [
        (2, (0, 1, 2), r"row 1 has 3 distinct cells, expected 2"),
        (2, (0, 0), r"row 1 has 1 distinct cells, expected 2"),
        (2, (0, 4), r"row 1 leaves the 2 x 2 square"),
        (2, (-1, 0), r"row 1 leaves the 2 x 2 square"),
        (0, (), r"size 0 is outside 1..25"),
        (26, (), r"size 26 is outside 1..25"),
    ],
)
def test_bad_layouts_are_refused(size, cells, message):
    with pytest.raises(ValueError, match=r"layout 'odd': " + message):
        Layout("odd", size, (House("row", 1, cells),))


def test_a_house_with_a_cell_twice_is_refused_even_if_it_has_n_cells():
    with pytest.raises(ValueError, match="1 distinct cells"):
        NINE.with_houses("odd", [House("extra", 1, (0,) * 9)])


@pytest.mark.parametrize("name", NAMES)
def test_a_layout_is_found_by_its_name(name):
    assert named(name).name == name


@pytest.mark.parametrize(
    "name", ["", "3", "3x", "3x3x3", "x3", "9x9-", "latin", "latin-", "latin-x", "-diagonals",
             "3x3-diagonal", "3x3-diagonals-diagonals", "3x3 ", "-3x-3", "٣x٣"]
)  # fmt: skip
def test_a_name_of_no_layout_says_what_a_name_is(name):
    with pytest.raises(ValueError, match=r"expected box height x width like '3x3'") as caught:
        named(name)
    assert repr(name) in str(caught.value)


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("0x3", "a box of 0 x 3 cells is empty"),
        ("6x6", "size 36 is outside 1..25"),
        ("latin-0", "size 0 is outside 1..25"),
        ("latin-26", "size 26 is outside 1..25"),
        # Refused before anything of that size is built.
        ("100000x100000", "size 10000000000 is outside 1..25"),
        ("latin-100000000", "size 100000000 is outside 1..25"),
    ],
)
def test_a_name_of_an_impossible_layout_says_why(name, message):
    with pytest.raises(ValueError, match=message):
        named(name)


def test_the_usual_layout_of_a_size():
    assert usual(9) is NINE
    assert {n: usual(n).size for n in USUAL} == {n: n for n in USUAL}
    with pytest.raises(ValueError, match=r"no usual layout of size 7; sizes with one: 4, 6, 8"):
        usual(7)


def test_layouts_are_values():
    assert pickle.loads(pickle.dumps(NINE)) == NINE
    assert hash(JAGGED_4) == hash(regions("1112122233343444", "jagged-4"))
    assert regions("1122112233443344", "jagged-4") != JAGGED_4
    assert boxes(3, 3) is NINE


def test_there_is_a_symbol_for_each_digit():
    assert len(SYMBOLS) == len(set(SYMBOLS)) == LARGEST == 25
    assert SYMBOLS[9] == "A"
    assert SYMBOLS[24] == "P"


def test_the_hash_goes_along_to_other_processes():
    """It is kept with a layout that is sent there, so it must not depend on how strings hash."""
    code = "from gridcrux.grids.layout import NINE; print(hash(NINE))"
    found = [
        subprocess.run(
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert found == [f"{hash(NINE)}\n"] * 2
