"""The index tables say what the layout says, in other numbers."""

from __future__ import annotations

import pytest

from gridcrux.grids.arrays import from_words
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import bits
from gridcrux.techniques.compiled.tables import (
    BLOCK,
    INSIDE,
    OTHER,
    OUTSIDE,
    POSITION,
    RULE,
    tables,
)

JAGGED = regions("1112 1322 4332 4443", "jagged-4")
LAYOUTS = [boxes(2, 2), JAGGED, latin(5), NINE, NINE.with_diagonals(), boxes(4, 4)]

each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


@each_layout
def test_positions_of_rules_and_links_of_candidates_agree(layout: Layout) -> None:
    index = tables(layout)
    for number, rule in enumerate(layout.rules):
        assert sorted(index.candidates[number].tolist()) == list(bits(rule.mask))
        assert from_words(index.rules[number].view("u8")) == rule.mask
    for candidate in range(layout.candidates):
        links = [link for link in index.links[candidate].tolist() if link[RULE] >= 0]
        expected = [r for r, rule in enumerate(layout.rules) if rule.mask >> candidate & 1]
        assert sorted(link[RULE] for link in links) == expected
        assert links[0][RULE] == candidate % layout.cells
        for link in links:
            assert index.candidates[link[RULE], link[POSITION]] == candidate


@each_layout
def test_a_block_is_a_house_or_a_digit(layout: Layout) -> None:
    houses, cells, n = len(layout.houses), layout.cells, layout.size
    for candidate in range(layout.candidates):
        digit = candidate // cells
        for link in tables(layout).links[candidate].tolist():
            rule = link[RULE]
            if rule >= 0:
                assert link[BLOCK] == (houses + digit if rule < cells else (rule - cells) // n)


@each_layout
def test_crossings_are_the_houses_that_share_two_cells(layout: Layout) -> None:
    index = tables(layout)
    for house, mine in zip(layout.houses, index.crossings.tolist(), strict=True):
        shared = {
            number: set(house.cells) & set(other.cells)
            for number, other in enumerate(layout.houses)
            if other is not house and len(set(house.cells) & set(other.cells)) > 1
        }
        assert [crossing[OTHER] for crossing in mine if crossing[OTHER] >= 0] == list(shared)
        assert mine[-1][OTHER] < 0, "the list has no end"
        for crossing in mine[: len(shared)]:
            other, both = layout.houses[crossing[OTHER]].cells, shared[crossing[OTHER]]
            assert {house.cells[i] for i in bits(crossing[INSIDE])} == both
            assert {other[i] for i in bits(crossing[OUTSIDE])} == set(other) - both
