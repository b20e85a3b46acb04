"""Canonical forms against the whole group, counts of classes, and published numbers."""

from __future__ import annotations

from itertools import pairwise, permutations, product
from math import factorial

import numpy as np
import pytest

from gridcrux.corpus.sample import grids, minimal
from gridcrux.engines.kernel.engine import KernelEngine
from gridcrux.grids.canonical import canonical, canonical_batch, group_order, shape_of
from gridcrux.grids.layout import NINE, boxes, latin, named, regions, usual
from gridcrux.grids.state import ContradictoryGivens, State
from samples import JAGGED

LAYOUTS = [boxes(2, 2), boxes(2, 3), boxes(3, 2), NINE, boxes(3, 4), latin(5)]


def line_orders(n, group):
    """All orders of n lines that keep groups of neighbours together, by definition."""
    starts = range(0, n, group)
    inner = [list(permutations(range(start, start + group))) for start in starts]
    return [
        [line for number in order for line in chosen[number]]
        for order in permutations(range(n // group))
        for chosen in product(*inner)
    ]


def rearrangements(layout):
    """(G, n*n) which cell comes where, for every symmetry; does not ask `canonical`."""
    n = layout.size
    height = width = 1
    if len(layout.houses) > 2 * n:
        box = layout.houses[2 * n].cells
        height, width = len({cell // n for cell in box}), len({cell % n for cell in box})
    cells = np.arange(n * n).reshape(n, n)
    columns = line_orders(n, width)
    squares = [cells[np.ix_(rows, each)] for rows in line_orders(n, height) for each in columns]
    if height == width:
        squares += [square.T for square in squares]
    return np.array(squares).reshape(len(squares), -1)


def renamed(images, n):
    """Each row with its digits named in the order in which they appear."""
    appear = np.stack(
        [np.where((images == d).any(1), (images == d).argmax(1), 1000 + d) for d in range(1, n + 1)]
    )
    ranks = appear.argsort(0).argsort(0) + 1
    names = np.concatenate([np.zeros((1, len(images)), int), ranks])
    return names[images, np.arange(len(images))[:, None]].astype(np.int8)


def by_definition(digits, arrangements, n):
    """The least of all images, and in how many ways it comes out."""
    images = renamed(np.asarray(digits)[arrangements], n)
    for cell in range(n * n):
        images = images[images[:, cell] == images[:, cell].min()]
    assert (images == images[0]).all()
    return images[0], len(images)


def shuffled(digits, layout, random):
    """The same puzzle in disguise."""
    n, (height, width) = layout.size, shape_of(layout)

    def order(group):
        blocks = random.permutation(n // group)
        return np.concatenate([block * group + random.permutation(group) for block in blocks])

    square = np.asarray(digits).reshape(n, n)[np.ix_(order(height), order(width))]
    if height == width and random.integers(2):
        square = square.T
    names = np.concatenate(([0], random.permutation(n) + 1))
    return names[square].reshape(-1).astype(np.int8)


def givens_of(layout, count, seed):
    """Minimal puzzles, puzzles with givens taken from them, with givens added, and few givens."""
    random = np.random.default_rng(seed)
    found = []
    for item in minimal(count, seed, layout):
        kept = random.random(layout.cells) < random.random()
        found += [item.puzzle, item.puzzle * kept, np.where(kept, item.solution, item.puzzle)]
        found.append(item.solution * (random.random(layout.cells) < 0.1))
    return np.array(found, np.int8)


def check(digits, arrangements, layout):
    forms, automorphisms = canonical_batch(np.array(digits, np.int8), layout)
    for given, form, number in zip(digits, forms, automorphisms, strict=True):
        least, ways = by_definition(given, arrangements, layout.size)
        assert (form == least).all()
        assert number == ways


@pytest.mark.parametrize("name", ["2x2", "latin-4", "1x4", "4x1", "2x3", "3x2", "latin-5"])
def test_least_of_all_images(name):
    layout = named(name)
    arrangements = rearrangements(layout if min(shape_of(layout)) > 1 else latin(layout.size))
    assert len(arrangements) == group_order(layout)
    check(givens_of(layout, 240 // layout.size**2, 3), arrangements, layout)
    check(np.array(list(grids(6, 4, layout))), arrangements, layout)


def test_least_of_all_images_with_one_and_two_givens():
    layout = boxes(2, 3)
    arrangements = rearrangements(layout)
    given = np.zeros((20, 36), np.int8)
    random = np.random.default_rng(2)
    for number, row in enumerate(given):
        row[random.choice(36, 2, replace=False)] = [1, 2] if number % 4 else [1, 0]
    check(given, arrangements, layout)


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_disguises_have_one_form(layout):
    random = np.random.default_rng(7)
    puzzles = givens_of(layout, 3 if layout.size > 9 else 12, 5)
    puzzles = np.concatenate([puzzles, list(grids(1 if layout.size > 9 else 6, 5, layout))])
    times = max(6, 300 // len(puzzles))
    others = [shuffled(puzzle, layout, random) for puzzle in puzzles for _ in range(times)]
    forms, automorphisms = canonical_batch(puzzles, layout)
    found, numbers = canonical_batch(np.array(others), layout)
    assert (found == forms.repeat(times, axis=0)).all()
    assert (numbers == automorphisms.repeat(times)).all()
    again, numbers = canonical_batch(forms, layout)
    assert (again == forms).all()
    assert (numbers == automorphisms).all()


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_the_arrangement_leads_to_the_form(layout):
    n = layout.size
    for puzzle in givens_of(layout, 3, 6):
        found = canonical(puzzle.tolist(), layout)
        square = puzzle.reshape(n, n).T if found.transposed else puzzle.reshape(n, n)
        moved = square[np.ix_(found.rows, found.columns)].reshape(-1)
        assert tuple(np.array(found.names)[moved].tolist()) == found.digits
        assert sorted(found.names) == list(range(n + 1))
        for order, group in zip((found.rows, found.columns), shape_of(layout), strict=True):
            blocks = [{line // group for line in order[i : i + group]} for i in range(0, n, group)]
            assert sorted(order) == list(range(n))
            assert all(len(block) == 1 for block in blocks)


def test_equal_patterns_and_counts_are_not_taken_for_equal_puzzles():
    # Two givens change places: cells, digits and how often they occur stay, solutions do not.
    for item in minimal(30, 8):
        cells = np.flatnonzero(item.puzzle)
        for first, second in pairwise(cells):
            other = item.puzzle.copy()
            other[[first, second]] = other[[second, first]]
            try:
                state = State.from_digits(other.tolist())
            except ContradictoryGivens:
                continue
            if KernelEngine().count(state, 2).value != 1:
                assert canonical(state) != canonical(item.puzzle.tolist())


def grids_with_first_row_in_order(layout):
    n = layout.size
    start = State.from_digits([*range(1, n + 1)] + [0] * (n * n - n), layout)
    return np.array(list(KernelEngine().solutions(start)), np.int8)


def classes_of(digits, layout):
    """Each canonical form once, with its orbit and how often it occurs."""
    forms, counts = np.unique(canonical_batch(digits, layout)[0], axis=0, return_counts=True)
    found = [canonical(form.tolist(), layout) for form in forms]
    assert [each.digits for each in found] == [tuple(form) for form in forms.tolist()]
    return {each: int(count) for each, count in zip(found, counts, strict=True)}


@pytest.mark.parametrize(
    ("name", "classes", "number"),
    [
        ("2x2", 2, 288),  # OEIS A291188, A107739
        ("2x3", 49, 28_200_960),  # OEIS A291188; tables of grid counts by box size
        ("3x2", 49, 28_200_960),
        ("latin-4", 2, 576),  # OEIS A002860; two isotopy classes (from memory)
        ("latin-5", 2, 161_280),
    ],
)
def test_classes_of_all_grids(name, classes, number):
    layout = named(name)
    n, height = layout.size, shape_of(layout)[0]
    every = grids_with_first_row_in_order(layout)
    assert len(every) * factorial(n) == number
    # Of the orders of the other rows, and of the other bands, one.
    column = every[:, ::n]
    ordered = np.ones(len(every), bool)
    for row in range(2, n):
        if row % height:
            ordered &= column[:, row - 1] < column[:, row]
        elif row > height:
            ordered &= column[:, row - height] < column[:, row]
    bands = n // height
    orders = factorial(height) ** (bands - 1) * factorial(height - 1) * factorial(bands - 1)
    found = classes_of(every[ordered], layout)
    assert len(found) == classes
    assert sum(each.orbit for each in found) == number
    for each, count in found.items():
        assert each.orbit == count * orders * factorial(n)


def test_minimal_puzzles_of_four_rows():
    """published-values: 13, 22 and 1 classes with 4, 5 and 6 givens (own exhaustive count)."""
    layout = usual(4)
    every = [
        np.array(order)[grid - 1] + 1
        for order in permutations(range(4))
        for grid in grids_with_first_row_in_order(layout)
    ]
    subsets = np.arange(1 << 16)
    powers = 1 << np.arange(16)
    puzzles = []
    for grid in grids_with_first_row_in_order(layout):
        # Givens have one solution if they meet every set of cells in which another grid differs.
        differences = sorted({int(powers[other != grid].sum()) for other in every} - {0})
        unique = np.ones(1 << 16, bool)
        for difference in differences:
            unique &= subsets & difference != 0
        least = unique.copy()
        for power in powers:
            least &= ~((subsets & power != 0) & unique[subsets & ~power])
        puzzles += [grid * (subset & powers != 0) for subset in subsets[least]]
    found = classes_of(np.array(puzzles), layout)
    labelled, classes = {4: 0, 5: 0, 6: 0}, {4: 0, 5: 0, 6: 0}
    for each, count in found.items():
        givens = 16 - each.digits.count(0)
        # A minimal puzzle has one grid, of which one in 24 renamings has its first row in order.
        assert each.orbit == 24 * count
        labelled[givens] += each.orbit
        classes[givens] += 1
    assert labelled == {4: 25_728, 5: 58_368, 6: 1_536}
    assert classes == {4: 13, 5: 22, 6: 1}


def test_top_bands():
    """At most 416 classes with 948,109,639,680 bands (Felgenhauer & Jarvis 2005).

    `benchmarks/canonical.py` looks at all of them.
    """
    bands = np.array(list(grids(1500, 11)))
    bands[:, 27:] = 0
    found = classes_of(bands, NINE)
    assert 250 < len(found) <= 416
    # Seen from the whole grid a band may be any of three, or a stack.
    assert all(each.orbit % 6 == 0 for each in found)
    share = sum(each.orbit // 6 for each in found) / 948_109_639_680
    assert 0.8 < share <= 1


@pytest.mark.parametrize("layout", [*LAYOUTS, usual(16), usual(25), latin(25)], ids=str)
def test_nothing_and_almost_nothing(layout):
    empty = canonical([0] * layout.cells, layout)
    assert (empty.automorphisms, empty.orbit) == (group_order(layout), 1)
    one = canonical([0, 2] + [0] * (layout.cells - 2), layout)
    assert one.digits == (0,) * (layout.cells - 1) + (1,)
    assert one.orbit == layout.size**3


def test_many_automorphisms_of_large_squares():
    """Far too many ways to go through one by one."""
    n, layout = 25, latin(25)
    row = canonical([*range(1, n + 1)] + [0] * (n * n - n), layout)
    assert row.automorphisms == factorial(n) * factorial(n - 1)
    diagonal = np.diag(np.arange(1, n + 1)).reshape(-1)
    found = canonical(diagonal.tolist(), layout)
    assert found.automorphisms == 2 * factorial(n)
    assert found.digits == tuple(np.fliplr(np.diag(np.arange(1, n + 1))).reshape(-1).tolist())
    cyclic = (np.add.outer(np.arange(9), np.arange(9)) % 9 + 1).reshape(-1)
    # Shifts of rows and of columns, factors prime to 9, and the transposition.
    assert canonical(cyclic.tolist(), latin(9)).automorphisms == 9 * 9 * 6 * 2


def test_the_group_of_nine_rows():
    assert group_order(NINE) == 3_359_232  # 2 * 6**8


def test_the_most_symmetric_grid():
    # 648 is the largest number for a 9x9 grid (Russell & Jarvis 2006; from memory).
    rows = (
        "123456789 456789123 789123456 231564897 564897231 897231564 312645978 645978312 978312645"
    )
    found = canonical([int(symbol) for symbol in rows.replace(" ", "")])
    assert found.automorphisms == 648


def test_boxes_are_told_from_their_cells():
    spelt = regions("112211223344" + "3344")
    assert shape_of(spelt) == (2, 2)
    assert shape_of(boxes(1, 5)) == shape_of(boxes(5, 1)) == shape_of(latin(5)) == (1, 1)


@pytest.mark.parametrize("layout", [NINE.with_diagonals(), JAGGED, latin(4).with_diagonals()])
def test_other_layouts_are_refused(layout):
    with pytest.raises(ValueError, match="permuted rows and columns would break"):
        canonical([0] * layout.cells, layout)


def test_contradictions_and_misfits_are_refused():
    puzzles = np.zeros((3, 16), np.int8)
    puzzles[1, [0, 5]] = 3
    with pytest.raises(ContradictoryGivens) as caught:
        canonical_batch(puzzles, usual(4))
    assert caught.value.__notes__ == ["in puzzle 1 of 3, counted from 0"]
    puzzles[1, [0, 5]] = [3, 5]
    with pytest.raises(ValueError, match="r2c2 holds 5"):
        canonical_batch(puzzles, usual(4))
    with pytest.raises(ValueError, match=r"expected \(N, 81\)"):
        canonical_batch(puzzles, NINE)
    assert canonical_batch(puzzles[:0], usual(4))[0].shape == (0, 16)


def test_a_state_stands_for_its_givens():
    state = State.from_digits(next(minimal(1, 3)).puzzle.tolist())
    written = state.with_placed(next(c for c in range(729) if state.is_open(c)))
    assert canonical(state) == canonical(written) == canonical(state.puzzle)
