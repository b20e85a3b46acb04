"""A state is what stands on the paper: which candidates are open and which digits are written.

Masks are ints with one bit a candidate (numbering: `layout.Layout`) or a cell; sets and
dictionaries appear only at the edge (`marks`, `grid`, `print`).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from gridcrux.grids.layout import NINE, SYMBOLS, Layout, usual

_SHOWN = 40
"""Characters that are shown of something that is no state."""


def bits(mask: int) -> Iterator[int]:
    """The positions of the bits of a mask, lowest first.

    >>> list(bits(0b10110))
    [1, 2, 4]
    """
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


class ContradictoryGivens(ValueError):
    """Two givens that share a house hold the same digit; `cells` names both."""

    def __init__(self, layout: Layout, first: int, second: int, digit: int) -> None:
        self.layout = layout
        self.cells = (first, second)
        self.digit = digit
        shared = set(layout.houses_of[first]) & set(layout.houses_of[second])
        house = layout.houses[min(shared)].name
        super().__init__(
            f"givens {layout.cell_name(first)} and {layout.cell_name(second)} are both "
            f"{digit + 1} in {house}; expected each digit once in a house"
        )

    def __reduce__(self) -> tuple[type, tuple[Layout, int, int, int]]:
        return type(self), (self.layout, *self.cells, self.digit)


@dataclass(frozen=True)
class State:
    """Open candidates and written digits on a layout.

    Attributes
    ----------
    layout : the cells and houses.
    open : mask of the candidates not yet excluded (n**3 bits).
    placed : mask of the cells whose digit is written (n*n bits); such a cell has one open
        candidate, and none of the candidates in conflict with it is open.
    givens : mask of the cells that the puzzle came with; part of `placed`.
    """

    layout: Layout = field(repr=False)
    open: int = field(repr=False)
    placed: int = field(default=0, repr=False)
    givens: int = field(default=0, repr=False)

    @classmethod
    def empty(cls, layout: Layout = NINE) -> State:
        return cls(layout, layout.full)

    @classmethod
    def from_digits(cls, digits: Sequence[int], layout: Layout | None = None) -> State:
        """The start of a puzzle: its givens, with only their direct conflicts removed.

        Parameters
        ----------
        digits : n*n ints row by row, 0 for a blank.

        Raises
        ------
        ContradictoryGivens : two equal givens share a house.
        ValueError : wrong number of cells, or a digit outside 0..n.
        """
        if layout is None:
            layout = usual(round(len(digits) ** 0.5))
        if len(digits) != layout.cells:
            raise ValueError(f"{len(digits)} cells, expected {layout.cells} ({layout.name})")
        # Small array integers would overflow in the numbering of the candidates.
        digits = [int(digit) for digit in digits]
        open_, placed = layout.full, 0
        for cell, digit in enumerate(digits):
            if not digit:
                continue
            if not 0 < digit <= layout.size:
                raise ValueError(
                    f"{layout.cell_name(cell)} holds {digit}, expected 0 to {layout.size}"
                )
            for peer in sorted(layout.peers[cell]):
                if peer < cell and digits[peer] == digit:
                    raise ContradictoryGivens(layout, peer, cell, digit - 1)
            open_ &= ~layout.conflicts[(digit - 1) * layout.cells + cell]
            placed |= 1 << cell
        return cls(layout, open_, placed, placed)

    @classmethod
    def from_marks(cls, marks: Sequence[Sequence[int]], layout: Layout | None = None) -> State:
        """A state in mid-solve: for each cell the digits still open in it.

        A cell with one digit counts as written where that digit's rivals are gone already;
        otherwise it is a naked single that no one has used yet.
        """
        if layout is None:
            layout = usual(round(len(marks) ** 0.5))
        if len(marks) != layout.cells:
            raise ValueError(f"{len(marks)} cells, expected {layout.cells} ({layout.name})")
        marks = [[int(digit) for digit in digits] for digits in marks]
        open_ = 0
        for cell, digits in enumerate(marks):
            for digit in digits:
                if not 0 < digit <= layout.size:
                    raise ValueError(
                        f"{layout.cell_name(cell)} holds {digit}, expected 1 to {layout.size}"
                    )
                open_ |= 1 << ((digit - 1) * layout.cells + cell)
        placed = 0
        for cell, digits in enumerate(marks):
            if len(digits) == 1:
                candidate = (digits[0] - 1) * layout.cells + cell
                if not open_ & layout.conflicts[candidate]:
                    placed |= 1 << cell
        return cls(layout, open_, placed)

    def without(self, candidates: int) -> State:
        """This state with the candidates of a mask excluded."""
        return State(self.layout, self.open & ~candidates, self.placed, self.givens)

    def with_placed(self, candidate: int) -> State:
        """This state with a digit written and its direct conflicts removed."""
        cell = candidate % self.layout.cells
        return State(
            self.layout,
            self.open & ~self.layout.conflicts[candidate],
            self.placed | 1 << cell,
            self.givens,
        )

    def is_open(self, candidate: int) -> bool:
        return bool(self.open >> candidate & 1)

    @cached_property
    def is_solved(self) -> bool:
        """Whether every digit is written."""
        return self.placed == (1 << self.layout.cells) - 1

    @cached_property
    def broken_rule(self) -> int | None:
        """The first rule with no open candidate left: proof that there is no solution."""
        for number, rule in enumerate(self.layout.rules):
            if not rule.mask & self.open:
                return number
        return None

    def digits_of(self, cell: int) -> list[int]:
        """The open digits (from 1) of a cell, ascending."""
        layout = self.layout
        return [d + 1 for d in range(layout.size) if self.open >> (d * layout.cells + cell) & 1]

    @property
    def grid(self) -> tuple[int, ...]:
        """The written digits row by row, 0 where none is written or the one written is excluded."""
        return tuple(
            next(iter(self.digits_of(cell)), 0) if self.placed >> cell & 1 else 0
            for cell in range(self.layout.cells)
        )

    @property
    def puzzle(self) -> tuple[int, ...]:
        """The givens row by row, 0 for a blank."""
        return tuple(
            digit if self.givens >> cell & 1 else 0 for cell, digit in enumerate(self.grid)
        )

    @property
    def marks(self) -> dict[str, list[int]]:
        """Open digits of every cell that is not written: ``{"r1c2": [1, 2]}``."""
        return {
            self.layout.cell_name(cell): self.digits_of(cell)
            for cell in range(self.layout.cells)
            if not self.placed >> cell & 1
        }

    @property
    def line(self) -> str:
        """The written digits as one line, '.' for a blank."""
        return "".join(SYMBOLS[digit - 1] if digit else "." for digit in self.grid)

    def __str__(self) -> str:
        n = self.layout.size
        line = self.line
        return "\n".join(" ".join(line[r * n : (r + 1) * n]) for r in range(n))

    def __repr__(self) -> str:
        return f"State({self.line!r}, layout={self.layout.name!r}, open={self.open.bit_count()})"

    def _repr_svg_(self) -> str:
        from gridcrux.figures.svg import board_svg

        return board_svg(self)


def expect_state(given: object) -> None:
    """Tell who hands over something else than a state how to come by one.

    Raises
    ------
    TypeError : it is no state.
    """
    if not isinstance(given, State):
        shown = repr(given)
        what = shown if len(shown) <= _SHOWN else f"{shown[:_SHOWN]}..."
        raise TypeError(
            f"expected a State, got {what} ({type(given).__name__}); grids.text.read_puzzle makes "
            "one of a text, State.from_digits of numbers"
        )
