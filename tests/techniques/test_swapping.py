"""A route with another deduction in it is a route that stands."""

from __future__ import annotations

import pytest

from gridcrux.grids.text import read_puzzle
from gridcrux.logic.repertoire import UnknownTechnique
from gridcrux.techniques.repertoires import FIRST_FAMILY, LEVELS
from gridcrux.techniques.solve import available, route
from gridcrux.techniques.swapping import NotOffered, swapped

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"


@pytest.mark.parametrize("policy", ["easiest", "narrowest"])
def test_any_deduction_that_is_on_offer_can_take_the_place_of_a_step(policy: str) -> None:
    found = route(read_puzzle(PUZZLE), FIRST_FAMILY, policy)
    states = list(found.states())
    tried = 0
    for step in range(1, len(found) + 1, 7):
        for other in available(states[step - 1], FIRST_FAMILY)[::5]:
            if other == found.steps[step - 1]:
                continue
            way = swapped(found, step, other)
            assert way.flaw is None
            assert way.steps[: step - 1] == found.steps[: step - 1]
            assert way.steps[step - 1] == other
            assert (way.solved, way.policy, way.repertoire) == (True, policy, FIRST_FAMILY)
            assert way.end.open == found.end.open
            tried += 1
    assert tried > 20


def test_the_step_itself_changes_nothing() -> None:
    found = route(read_puzzle(PUZZLE), FIRST_FAMILY)
    assert swapped(found, 3, found.steps[2]).steps == found.steps


def test_what_is_not_on_offer_is_refused() -> None:
    found = route(read_puzzle(PUZZLE), FIRST_FAMILY)
    with pytest.raises(NotOffered, match="finds that"):
        swapped(found, 1, found.steps[-1])
    with pytest.raises(ValueError, match="none has the number 0"):
        swapped(found, 0, found.steps[0])
    other = next(s for s in route(read_puzzle(PUZZLE), LEVELS["fish"]) if s.technique != "x")
    singles = route(read_puzzle(PUZZLE), LEVELS["singles"].without(other.technique))
    with pytest.raises(UnknownTechnique):
        swapped(singles, 1, other)
