"""How deductions show themselves: with a board, and in few words."""

from __future__ import annotations

import pytest

from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.counts import backbone
from gridcrux.techniques.alternatives import alternatives
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import route

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"


@pytest.fixture(scope="module")
def found():
    return route(read_puzzle(PUZZLE), FIRST_FAMILY)


def test_what_a_step_looks_at_is_part_of_its_state(found):
    for state, step in zip(found.states(), found, strict=False):
        seen = step.looked_at
        assert seen.open & ~state.open == 0
        assert step.eliminates & ~seen.open == 0
        if step.places is not None:
            assert seen.is_open(step.places)
        for rule in step.premises:
            mask = step.layout.rules[rule].mask
            assert mask & seen.open == mask & state.open
        assert seen.placed == 0


def test_steps_and_what_else_there_is_say_what_they_are_in_few_words(found):
    step = next(step for step in found if step.technique == "x-wing")
    assert repr(step) == (
        "Deduction(x-wing: r6c1=8, r6c7=8, r7c1=8 and r7c2=8 are false, "
        "by 8 in column 3; 8 in column 9)"
    )
    groups = alternatives(found.start, FIRST_FAMILY)
    assert repr(groups[6]) == "Alternative(r7c4=9: 1 by naked-single)"
    assert repr(groups[9]) == "Alternative(not r9c1=1 and r9c2=1: 1 by claiming, 2 including it)"
    assert max(len(repr(each)) for each in groups) < 200


def test_masks_are_no_text(found):
    for thing in (backbone(found.start), State.empty()):
        assert len(repr(thing)) < 200
