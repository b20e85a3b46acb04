"""All solutions counted, and what is said where that takes too long."""

from __future__ import annotations

import random
from itertools import permutations

import pytest

from gridcrux.engines import get_engine
from gridcrux.engines.protocol import Count
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import State, bits
from gridcrux.proofs import total as module
from gridcrux.proofs.total import Total, total, upper_bound

# The encyclopaedia article "Sudoku", example grid.
PUZZLE = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
SOLUTION = "534678912672195348198342567859761423426853791713924856961537284287419635345286179"


def thinned(givens: int, seed: int) -> State:
    kept = set(random.Random(seed).sample(range(81), givens))
    return State.from_digits([int(d) if i in kept else 0 for i, d in enumerate(SOLUTION)])


@pytest.mark.parametrize(
    ("layout", "number"),
    [
        (boxes(2, 2), 288),  # OEIS A107739
        (latin(4), 576),  # OEIS A002860 (from memory)
        (latin(5), 161_280),
        (latin(6), 812_851_200),
        (boxes(2, 3), 28_200_960),  # "Mathematics of Sudoku", tables of grids by box size
        (NINE, 6_670_903_752_021_072_936_960),  # Felgenhauer & Jarvis 2005
    ],
    ids=lambda value: value.name if isinstance(value, Layout) else "",
)
def test_published_counts(layout: Layout, number: int) -> None:
    found = total(State.empty(layout))
    assert (found.value, found.exact, found.lower, found.upper) == (number, True, number, number)
    assert found.confidence == 1
    assert found.method == ("joining bands" if layout == NINE else "enumeration")
    assert found.row()["solutions"] == number


@pytest.mark.parametrize("layout", [boxes(2, 4), boxes(4, 2)], ids=lambda layout: layout.name)
def test_all_grids_of_order_eight_are_counted_by_their_stacks(layout: Layout) -> None:
    found = total(State.empty(layout))
    # "Mathematics of Sudoku", tables of grids by box size.
    assert (found.value, found.exact) == (29_136_487_207_403_520, True)
    assert (found.method, found.source) == ("joining stacks", module.METHODS["joining stacks"])
    assert found.upper == found.lower <= upper_bound(State.empty(layout))


def test_stacks_are_joined_only_where_nothing_is_closed_and_there_is_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    blank = State.empty(boxes(2, 4))
    assert total(blank, 0.0).method == "bounds"
    monkeypatch.setattr(module, "TWO_ROWS_TAKE", 0.0)
    for state in (blank.with_placed(0), blank.without(1), State.empty(latin(8))):
        assert total(state, 0.1).method != "joining stacks"


@pytest.mark.parametrize("seed", range(8))
def test_either_way_gives_the_same_number(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    state = thinned(24, seed)
    enumerated = total(state)
    assert enumerated.method == "enumeration"
    monkeypatch.setattr(module, "ENUMERATED", 1)
    joined = total(state)
    assert enumerated.value == joined.value
    assert joined.method == ("joining bands" if joined.value > 1 else "enumeration")


@pytest.mark.parametrize(
    "layout",
    [
        boxes(2, 2).with_diagonals(),
        boxes(2, 3),
        latin(5),
        regions("EBAAA EBADA EBBDD ECBDD ECCCC"),
    ],
    ids=lambda layout: layout.name,
)
def test_exchanged_digits_are_counted_as_often_as_there_are_orders(layout: Layout) -> None:
    """Some digits written, some closed in a few cells, so that the others are alike."""
    for seed in range(6):
        rng = random.Random(seed)
        state = State.empty(layout)
        solution = next(get_engine("kernel").solutions(state))
        for cell in rng.sample(range(layout.cells), 2 + layout.size // 2):
            candidate = (solution[cell] - 1) * layout.cells + cell
            state = state.with_placed(candidate)
        state = state.without(sum(1 << rng.randrange(layout.candidates) for _ in range(seed % 3)))
        expected = get_engine("kernel").count(state, 10**7)
        assert expected.complete
        found = total(state)
        assert (found.value, found.exact) == (expected.value, True)


def test_no_solution_and_one() -> None:
    one = total(State.from_digits([int(mark) for mark in PUZZLE]))
    assert (one.value, one.exact, one.method) == (1, True, "enumeration")
    none = total(State.from_digits([int(mark) for mark in SOLUTION]).without(NINE.rules[5].mask))
    assert (none.value, none.exact, none.upper) == (0, True, 0)


def test_bounds_where_time_is_short() -> None:
    """8x8 has 29,136,487,207,403,520 grids ("Mathematics of Sudoku", tables by box size)."""
    found = total(State.empty(boxes(2, 4)), seconds=0.5)
    assert (found.value, found.exact, found.method) == (None, False, "bounds")
    assert found.stopped_by == "seconds"
    assert found.upper is not None
    assert 0 < found.lower < 29_136_487_207_403_520 < found.upper


def test_no_time_is_no_number() -> None:
    found = total(State.empty(NINE), seconds=0)
    assert (found.value, found.exact, found.lower, found.stopped_by) == (None, False, 0, "seconds")


def _too_slow(self: object, state: State, limit: int, seconds: float | None = None) -> Count:
    return Count(7, False, "seconds", "kernel", {"nodes": 7})


def test_what_is_not_enumerated_is_left_to_the_model_counter(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("gridcrux.engines.kernel.KernelEngine.count", _too_slow)
    found = total(State.empty(boxes(2, 2)))
    assert (found.value, found.method) == (288, "model counting")


def test_and_then_estimated_with_a_guarantee(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("gridcrux.engines.kernel.KernelEngine.count", _too_slow)
    monkeypatch.setattr("gridcrux.engines.model_counter.GanakCounter.count", _too_slow)
    told: list[str] = []
    found = total(State.empty(boxes(2, 2)), begins=told.append)
    assert told == ["enumeration", "model counting", "hashing"]
    assert found.method == "hashing"
    assert found.upper is not None
    assert found.lower <= 288 <= found.upper
    assert found.exact or found.confidence == 0.8


def test_upper_bound_is_that_of_the_house_kind_with_the_fewest_ways() -> None:
    layout = boxes(2, 2)
    state = State.empty(layout).without(0b1 | 1 << 16 + 1)
    by_hand = []
    for kind in ("row", "column", "box"):
        product = 1
        for house in layout.houses:
            if house.kind == kind:
                product *= sum(
                    all(state.is_open(d * 16 + c) for d, c in zip(order, house.cells, strict=True))
                    for order in permutations(range(4))
                )
        by_hand.append(product)
    assert upper_bound(state) == min(by_hand)
    assert upper_bound(State.empty(boxes(5, 5))) is None
    assert upper_bound(state.without(sum(1 << k for k in bits(layout.rules[0].mask)))) == 0


def test_methods_are_explained() -> None:
    assert all(Total(1, True, 1, 1, 1.0, name).source for name in module.METHODS)
