"""Coverage of narrow eliminations, against what the techniques offer."""

from __future__ import annotations

import pytest

from gridcrux.grids.names import Claim, parse_candidate
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.explain.coverage import COLUMNS, SHARES, coverage, coverage_table
from gridcrux.proofs.explain.smallest import smallest_explanation
from gridcrux.proofs.uniqueness import NotUnique
from gridcrux.techniques.repertoires import DEFAULT, EVERYTHING, LEVELS, SINGLES
from gridcrux.techniques.solve import available, closure

HARD = closure(
    read_puzzle(
        ".....1.4....29..6.27.....3..5.68....9...3..523.6.....76.45..1......49....8......."
    ),
    SINGLES,
)
"""Where singles stall in a minimal puzzle of our own sampler."""


def test_each_row_says_what_finds_the_candidate():
    table = coverage(HARD, DEFAULT, 3)
    assert list(table.columns) == list(COLUMNS)
    assert len(table) >= 5
    offered = available(HARD, DEFAULT)
    for row in table.itertuples():
        candidate = parse_candidate(HARD.layout, row.candidate)
        assert smallest_explanation(HARD, Claim(candidate, False)).size == row.width <= 3
        finders = [step for step in offered if step.eliminates >> candidate & 1]
        if isinstance(row.found_by, str):
            assert row.found_by == finders[0].technique
            assert row.found_width == min(step.width for step in finders) >= row.width
        else:
            assert not finders


def test_shares_add_up_and_more_techniques_cover_more():
    few, more = (
        coverage_table(coverage(HARD, LEVELS[level], 3))
        for level in ("subsets", "almost-locked-sets")
    )
    assert list(few.columns) == list(SHARES)
    assert few["eliminations"].tolist() == more["eliminations"].tolist()
    assert (few["covered"] <= more["covered"]).all()
    assert few["covered"].sum() < more["covered"].sum()
    assert (more["as_narrow"] <= more["covered"]).all()
    assert (more["covered_share"] == more["covered"] / more["eliminations"]).all()


def test_several_states_are_numbered():
    table = coverage([HARD, HARD], SINGLES, 2)
    one, two = (table[table["state"] == number].drop(columns="state") for number in (1, 2))
    assert one.reset_index(drop=True).equals(two.reset_index(drop=True))


def test_arguments_from_uniqueness_need_a_unique_puzzle():
    with pytest.raises(NotUnique):
        coverage(read_puzzle("4..1 .1.. ..1. ...."), EVERYTHING, 1)
