"""A sketch closes what its facts deny, nothing else, and refuses what it cannot read."""

from __future__ import annotations

import numpy as np
import pytest

from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import State
from gridcrux.techniques.sketch import sketch

JAGGED = regions(["1112", "1222", "3334", "3444"])
LAYOUTS = [boxes(2, 2), boxes(2, 3), latin(5), JAGGED, NINE, NINE.with_diagonals(), boxes(3, 4)]

each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


def _marks(layout: Layout, *facts: str) -> dict[str, list[int]]:
    """What differs from the empty grid."""
    full = list(range(1, layout.size + 1))
    marks = sketch(layout, *facts).marks
    assert len(marks) == layout.cells
    return {cell: digits for cell, digits in marks.items() if digits != full}


@each_layout
def test_without_facts_everything_is_open(layout: Layout) -> None:
    assert sketch(layout) == State.empty(layout)


def test_a_cell_keeps_just_its_digits() -> None:
    assert _marks(NINE, "cell r4c7: 2 9") == {"r4c7": [2, 9]}
    assert _marks(boxes(3, 4), "cell r12c10: 11 1 12") == {"r12c10": [1, 11, 12]}


def test_a_house_keeps_just_the_places_of_a_digit() -> None:
    without = [1, 2, 4]
    assert _marks(boxes(2, 2), "3 in row 2: r2c1 r2c4") == {"r2c2": without, "r2c3": without}
    assert _marks(boxes(2, 2), "3 in box 4: r3c3") == {
        "r3c4": without,
        "r4c3": without,
        "r4c4": without,
    }
    assert _marks(JAGGED, "3 in region 1: r1c1 r1c2 r1c3") == {"r2c1": without}


def test_facts_add_up_and_blanks_do_not_matter() -> None:
    facts = "cell r1c1: 1 2", "2 in row 1: r1c1 r1c3"
    both = sketch(boxes(2, 2), *facts)
    assert both.open == sketch(boxes(2, 2), facts[0]).open & sketch(boxes(2, 2), facts[1]).open
    assert both == sketch(boxes(2, 2), *facts[::-1])
    assert both == sketch(boxes(2, 2), " cell r1c1 :  2   1 ", "2 in row 1:r1c3 r1c1")


@each_layout
def test_any_state_can_be_sketched_from_its_cells_or_from_its_rows(layout: Layout) -> None:
    random = np.random.default_rng(71)
    lost = np.flatnonzero(random.random(layout.candidates) < 0.5).tolist()
    state = State.empty(layout).without(sum(1 << candidate for candidate in lost))
    by_cell = [f"cell {cell}: {' '.join(map(str, held))}" for cell, held in state.marks.items()]
    assert sketch(layout, *by_cell) == state
    by_row = [
        f"{digit} in row {row + 1}: "
        + " ".join(
            name
            for name in (layout.cell_name(row * layout.size + c) for c in range(layout.size))
            if digit in state.marks[name]
        )
        for row in range(layout.size)
        for digit in range(1, layout.size + 1)
    ]
    assert sketch(layout, *by_row) == state


def test_a_rule_may_be_left_with_nothing() -> None:
    state = sketch(boxes(2, 2), "cell r3c3:")
    assert state.digits_of(10) == []
    assert state.broken_rule == 10


@pytest.mark.parametrize(
    "fact",
    [
        "row 1: r1c1",
        "5 in row 1: r1c1",
        "1 in diagonal 1: r1c1",
        "cell r5c1: 1",
        "",
        "cell r1c1 1",
    ],
)
def test_an_unknown_rule_is_named(fact: str) -> None:
    with pytest.raises(ValueError, match="no rule") as caught:
        sketch(boxes(2, 2), fact)
    assert repr(fact) in str(caught.value)
    assert "expected 'cell r1c2: 3 4'" in str(caught.value)


@pytest.mark.parametrize(
    "fact", ["1 in row 1: r1c9", "1 in row 1: 3", "cell r1c1: x", "cell r1c1: r1c1"]
)
def test_what_is_no_digit_or_no_cell_is_refused(fact: str) -> None:
    with pytest.raises(ValueError, match=fact.split()[-1]):
        sketch(boxes(2, 2), fact)


@pytest.mark.parametrize("fact", ["cell r1c1: 9", "cell r1c1: 0", "2 in row 2: r1c1"])
def test_what_is_not_in_the_rule_is_refused(fact: str) -> None:
    with pytest.raises(ValueError, match=fact):
        sketch(boxes(2, 2), fact)
