"""Givens that force a claim, against the kernel and against all subsets."""

from __future__ import annotations

from itertools import combinations

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, Layout, boxes
from gridcrux.grids.names import Claim, parse_claim
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.explain.explanation import NotForced
from gridcrux.proofs.explain.givens import forcing_givens


def forces(start: State, cells: tuple[int, ...], claim: Claim) -> bool:
    digits = [d if cell in cells else 0 for cell, d in enumerate(start.puzzle)]
    state = State.from_digits(digits, start.layout)
    if claim.holds:
        return not get_engine("kernel").count(state.without(1 << claim.candidate), 1).value
    if not state.is_open(claim.candidate):
        return True
    return not get_engine("kernel").count(state.with_placed(claim.candidate), 1).value


def cases(layout: Layout, count: int, step: int):
    for item in minimal(count, 8, layout):
        start = State.from_digits(item.puzzle.tolist(), layout)
        truth = State.from_digits(item.solution.tolist(), layout).open
        for candidate in list(bits(start.open & ~truth))[::step]:
            yield start, Claim(candidate, False, layout)
        for candidate in list(bits(start.open & truth))[::step]:
            yield start, Claim(candidate, True, layout)


@pytest.mark.parametrize(("layout", "count", "step"), [(boxes(2, 2), 12, 3), (boxes(2, 3), 6, 9)])
def test_no_smaller_set_forces_the_claim(layout, count, step):
    seen = set()
    for start, claim in cases(layout, count, step):
        found = forcing_givens(start, claim)
        assert found.exact
        assert found.stopped_by is None
        assert forces(start, found.cells, claim)
        seen.add(found.size)
        for smaller in combinations(bits(start.givens), found.size - 1) if found.size else ():
            assert not forces(start, smaller, claim)
    assert len(seen) > 2


def test_on_a_whole_puzzle_none_of_them_can_be_spared():
    for start, claim in list(cases(NINE, 3, 60))[:9]:
        found = forcing_givens(start, claim)
        assert found.exact
        assert forces(start, found.cells, claim)
        for cell in found.cells:
            rest = [other for other in found.cells if other != cell]
            digits = [d if c in rest else 0 for c, d in enumerate(start.puzzle)]
            state = State.from_digits(digits)
            denied = (
                state.without(1 << claim.candidate)
                if claim.holds
                else state.with_placed(claim.candidate)
            )
            # The kernel may take long where few givens allow nothing; here there is a grid.
            assert get_engine("sat").count(denied, 1).value == 1


def test_what_the_givens_do_not_force_has_a_grid_against_it():
    state = read_puzzle("4..1 .1.. ..1. ....")
    with pytest.raises(NotForced) as raised:
        forcing_givens(state, parse_claim(state.layout, "r4c4!=2"))
    assert raised.value.solution[15] == 2


def test_it_is_told_by_name():
    state = read_puzzle("4..1 .1.. ..1. 1..2")
    found = forcing_givens(state, parse_claim(state.layout, "r1c2!=1"))
    assert found.names == ("r1c4=1",) or found.names == ("r2c2=1",)
    assert str(found).startswith("r1c2!=1 is forced by 1 given: ")
    assert found.row()["givens"] == 1
    assert found.as_dict()["lower_bound"] == 1
    assert "<svg" in found._repr_html_()
