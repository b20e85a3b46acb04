"""Arguments from uniqueness are for puzzles that have exactly one solution: who makes sure.

A technique never consults a solver, so `techniques.solve` takes a repertoire as it is.  Here
the solutions of the givens are counted, before such a repertoire is put to work.
"""

from __future__ import annotations

from itertools import islice

from gridcrux.engines import get_engine
from gridcrux.grids.state import State, expect_state
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.wording import listing

PATIENCE = 20.0
"""Seconds that the count may take when nothing else is said."""


class NotUnique(ValueError):
    """A puzzle is asked or assumed to have one solution, and it has not or may not have.

    Attributes
    ----------
    solutions : how many were found: 0, 1 (then nobody knows whether there are more) or 2.
    """

    def __init__(self, what: str, solutions: int, advice: str) -> None:
        super().__init__(f"{what}; {advice}")
        self.solutions = solutions


def require_unique(state: State, repertoire: Repertoire, seconds: float | None = PATIENCE) -> None:
    """Refuse techniques that assume a unique solution where the givens have none or several.

    Counted are the solutions of the puzzle that the state came from, not of the state: what
    has been excluded since may be wrong.  Without such techniques nothing is counted.

    Raises
    ------
    NotUnique : there are none or several, or `seconds` were not enough to find out, or the
        state does not tell its givens.
    """
    expect_state(state)
    if repertoire.assumes_unique:
        require_one_solution(
            state,
            seconds,
            f"leave out what assumes that it has exactly one "
            f"({listing(repertoire.assuming_unique)}) with --no-uniqueness or "
            "Repertoire.without_uniqueness()",
        )


def require_one_solution(
    state: State, seconds: float | None = PATIENCE, advice: str = "expected exactly one"
) -> None:
    """Refuse a state whose givens do not have exactly one solution.

    Parameters
    ----------
    advice : what the refusal says at the end.

    Raises
    ------
    NotUnique : there are none or several, or `seconds` were not enough to find out, or the
        state does not tell its givens.
    """
    expect_state(state)
    start = State.from_digits(state.puzzle, state.layout)
    count = get_engine("kernel").count(start, 2, seconds)
    if count.complete and count.value == 1:
        return
    if count.value > 1 and not state.givens:
        what = "without givens the puzzle has several solutions, and the state tells of none"
    elif count.value > 1:
        what = f"the puzzle has several solutions, e.g. {_difference(start)}"
    elif count.complete:
        what = "the puzzle has no solution"
    else:
        what = f"how many solutions the puzzle has was not found out in {seconds:g} s"
    raise NotUnique(what, count.value, advice)


def _difference(start: State) -> str:
    """The first cell in which the first two solutions differ."""
    one, other = islice(get_engine("kernel").solutions(start), 2)
    cell = next(cell for cell in range(start.layout.cells) if one[cell] != other[cell])
    name = start.layout.cell_name(cell)
    return f"one with {name}={one[cell]} and one with {name}={other[cell]}"
