"""The cells and the two digits that an argument from uniqueness is about, off its record.

The candidates that a premise may have, those that the record does not rely on being absent,
tell the two digits, the corners and the guards.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import reduce
from itertools import combinations
from operator import or_
from typing import NamedTuple

from gridcrux.grids.layout import House, Layout
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.wording import cells_of, digits_of


@dataclass(frozen=True)
class Pattern:
    """Cells that must not hold two digits only, as these could be exchanged there.

    Attributes
    ----------
    cells : the corners of the rectangle, ascending.
    digits : the two digits, from 1, ascending.
    """

    layout: Layout = field(repr=False)
    cells: tuple[int, ...]
    digits: tuple[int, ...]

    @property
    def candidates(self) -> int:
        """Mask of the two digits in every cell."""
        cells = self.layout.cells
        return sum(1 << (digit - 1) * cells + cell for digit in self.digits for cell in self.cells)


def pattern(step: Deduction) -> Pattern | None:
    """The rectangle that a deduction is about; None if it is about all of the grid, or none.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> pair, rest = [1, 2], [1, 2, 3, 4]
    >>> state = State.from_marks([pair, rest, pair, rest, pair] + [rest] * 11)
    >>> pattern(available(state, "unique-corner")[0])
    Pattern(cells=(0, 2, 4, 6), digits=(1, 2))
    """
    read = _READERS.get(step.technique)
    return None if read is None else read(step)


def left(step: Deduction, rule: int) -> int:
    """Mask of the candidates that a premise may have."""
    return step.layout.rules[rule].mask & ~step.relies


def all_left(step: Deduction) -> int:
    """Mask of all candidates that the premises may have."""
    return reduce(or_, (left(step, rule) for rule in step.premises))


def exchanged(step: Deduction) -> Pattern:
    """The rectangle that what falls would fill with two digits."""
    filled = all_left(step) | step.removes
    return _pattern(step, cells_of(step.layout, filled), digits_of(step.layout, filled))


def guarded(step: Deduction) -> Pattern:
    """The rectangle whose guards are all of the one digit that falls."""
    kept = all_left(step)
    falls = digits_of(step.layout, step.removes)
    digits = [digit for digit in digits_of(step.layout, kept) if digit not in falls]
    return _pattern(step, cells_of(step.layout, kept), digits)


class Subset(NamedTuple):
    """A naked subset that guards of two corners of a rectangle are part of.

    Attributes
    ----------
    guarded, others : the two corners, and the other cells of the subset.
    taken : the digits that the subset uses up, from 1.
    homes : the houses that have all of these cells.
    """

    rectangle: Pattern
    guarded: list[int]
    others: list[int]
    taken: set[int]
    homes: list[House]


def subset(step: Deduction) -> Subset:
    """Which premises are the corners of the rectangle, and which are the rest of the subset."""
    layout = step.layout
    has = {cell: set(digits_of(layout, left(step, cell))) for cell in step.premises}
    for corners, others in _rectangles(step):
        bare = min((has[cell] for cell in corners), key=len)
        two = [cell for cell in corners if has[cell] != bare]
        taken = has[others[0]]
        homes = [h for h in layout.houses if {*two, *others} <= set(h.cells)]
        if len(bare) == len(two) == 2 and homes and len(taken) == len(others) + 1:
            break
    return Subset(_pattern(step, corners, sorted(bare)), two, others, taken, homes)


def _pattern(step: Deduction, cells: list[int], digits: list[int]) -> Pattern:
    return Pattern(step.layout, tuple(cells), tuple(digits))


def _rectangles(step: Deduction) -> Iterator[tuple[list[int], list[int]]]:
    """Four premises that are two rows crossed by two columns, and the rest of the premises."""
    for corners in combinations(step.premises, 4):
        lines = [{cell // step.layout.size for cell in corners}]
        lines.append({cell % step.layout.size for cell in corners})
        if all(len(line) == 2 for line in lines):
            yield list(corners), [cell for cell in step.premises if cell not in corners]


def _of_subset(step: Deduction) -> Pattern:
    return subset(step).rectangle


_READERS: dict[str, Callable[[Deduction], Pattern]] = {
    "unique-corner": exchanged,
    "unique-side": guarded,
    "unique-scatter": guarded,
    "unique-subset": _of_subset,
    "unique-side-lock": exchanged,
    "unique-cross-lock": exchanged,
    "hidden-rectangle": exchanged,
    "masked-rectangle": exchanged,
    "avoidable-corner": exchanged,
    "avoidable-guards": guarded,
    "avoidable-subset": _of_subset,
    "avoidable-lock": exchanged,
}
