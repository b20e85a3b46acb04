"""Placements: a rule with one candidate left makes that candidate true.

The premise has one open candidate and at least one of its candidates is true, so it is that
one, and everything in conflict with it is false.  Width 1.  Full house and hidden single
look a digit up in a house, naked single looks a cell up.
"""

from __future__ import annotations

from collections.abc import Callable

from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import Technique, technique
from gridcrux.techniques.compiled.shapes import FULL_HOUSE, HIDDEN_SINGLE, NAKED_SINGLE, SIZES


def _single(name: str, shape: int) -> Callable[[Callable[[Deduction], str]], Technique]:
    """Make a technique of the function that explains it."""
    return technique("single", name, shape * SIZES + 1, 1)


def _placed(step: Deduction) -> tuple[str, int]:
    """Name of the cell that is written, and its digit from 1."""
    assert step.places is not None
    digit, cell = divmod(step.places, step.layout.cells)
    return step.layout.cell_name(cell), digit + 1


@_single("full-house", FULL_HOUSE)
def full_house(step: Deduction) -> str:
    """The last blank cell of a house takes the digit that the house misses.

    All other cells of the house are written, so the missing digit has its only place there.
    It is the hidden single that a person sees without looking for it.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([1, 2, 3, 0] + [0] * 12)
    >>> print(available(state, "full-house")[0])
    r1c4 is the last blank cell of row 1, and 4 the digit that row 1 misses.
    """
    cell, digit = _placed(step)
    house = step.base_houses[0].name
    return f"{cell} is the last blank cell of {house}, and {digit} the digit that {house} misses."


@_single("hidden-single", HIDDEN_SINGLE)
def hidden_single(step: Deduction) -> str:
    """A digit with one place left in a house goes there.

    The digit has a place in the house, and every other place is excluded.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([0, 0, 0, 0] + [0, 0, 1, 0] + [0, 1, 0, 0] + [0] * 4)
    >>> print(available(state, "hidden-single")[0])
    In row 1, 1 has one place left: r1c1.
    """
    cell, digit = _placed(step)
    return f"In {step.base_houses[0].name}, {digit} has one place left: {cell}."


@_single("naked-single", NAKED_SINGLE)
def naked_single(step: Deduction) -> str:
    """A cell with one digit left holds that digit.

    The cell holds a digit, and every other digit is excluded.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([0, 1, 2, 0] + [0] * 8 + [3, 0, 0, 0])
    >>> print(available(state, "naked-single")[0])
    r1c1 has one digit left: 4.
    """
    cell, digit = _placed(step)
    return f"{cell} has one digit left: {digit}."


TECHNIQUES = (
    full_house,
    hidden_single,
    naked_single,
)
