"""Arguments from uniqueness are refused where there is no solution, or more than one."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gridcrux.engines.protocol import Count
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs import uniqueness
from gridcrux.proofs.essential import crux
from gridcrux.proofs.uniqueness import NotUnique, require_unique
from gridcrux.techniques.repertoires import FIRST_FAMILY

ONE = read_puzzle("1.2.....4...21..")
TWO = read_puzzle("4..1.1....1.1..2")
NONE = read_puzzle("123........4....")

ASSUMING = Repertoire(
    (
        *FIRST_FAMILY.without("jellyfish"),
        replace(FIRST_FAMILY["jellyfish"], name="trusting", assumes_unique=True),
    )
)


@pytest.mark.parametrize("ask", [require_unique, crux])
def test_only_a_puzzle_with_one_solution_will_do(ask) -> None:  # type: ignore[no-untyped-def]
    ask(ONE, ASSUMING)
    with pytest.raises(NotUnique, match="several solutions") as caught:
        ask(TWO, ASSUMING)
    assert caught.value.solutions == 2
    assert "(trusting) with --no-uniqueness" in str(caught.value)
    with pytest.raises(NotUnique, match="no solution") as caught:
        ask(NONE, ASSUMING)
    assert caught.value.solutions == 0


def test_the_example_is_a_cell_in_which_two_solutions_differ() -> None:
    with pytest.raises(NotUnique, match=r"e\.g\. one with r1c2=2 and one with r1c2=3;"):
        require_unique(TWO, ASSUMING)


@pytest.mark.parametrize("state", [ONE, TWO, NONE])
def test_who_assumes_nothing_may_solve_anything(state: State) -> None:
    require_unique(state, FIRST_FAMILY)
    require_unique(state, ASSUMING.without_uniqueness())
    crux(state, FIRST_FAMILY)


def test_the_givens_count_whatever_was_done_since() -> None:
    nonsense = ONE.without(ONE.layout.rules[-1].mask)
    require_unique(nonsense, ASSUMING)
    narrowed = TWO.without(1 << TWO.layout.cells + 1)
    with pytest.raises(NotUnique, match="several solutions"):
        require_unique(narrowed, ASSUMING)


def test_a_state_that_tells_no_givens_is_refused() -> None:
    written = State.from_marks(
        [ONE.digits_of(cell) for cell in range(ONE.layout.cells)], ONE.layout
    )
    with pytest.raises(NotUnique, match="the state tells of none"):
        require_unique(written, ASSUMING)


def test_unknown_is_not_taken_for_one() -> None:
    with pytest.raises(NotUnique, match="was not found out in 0 s") as caught:
        require_unique(ONE, ASSUMING, seconds=0)
    assert caught.value.solutions == 0


def test_one_solution_found_in_time_is_not_the_only_one(monkeypatch: pytest.MonkeyPatch) -> None:
    class Slow:
        def count(self, state: State, limit: int, seconds: float | None) -> Count:
            return Count(1, False, "seconds", "slow")

    monkeypatch.setattr(uniqueness, "get_engine", lambda name: Slow())
    with pytest.raises(NotUnique, match="was not found out in 2 s") as caught:
        require_unique(ONE, ASSUMING, seconds=2)
    assert caught.value.solutions == 1
