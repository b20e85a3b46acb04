"""What a recogniser may look at: rules, open candidates and conclusions, no technique."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from itertools import islice
from typing import Protocol

from gridcrux.grids.layout import House, Layout
from gridcrux.grids.state import State
from gridcrux.techniques.reading import Chain, chains, loops

MOST = 200
"""Readings of one premise set that are looked at."""


class Argument(Protocol):
    """A bare premise set with what it concludes; a Deduction is one."""

    @property
    def layout(self) -> Layout: ...
    @property
    def premises(self) -> tuple[int, ...]: ...
    @property
    def removes(self) -> int: ...
    @property
    def places(self) -> int | None: ...


class Evidence:
    """A premise set in a state, taken apart; what takes time is worked out when asked for.

    Attributes
    ----------
    open, written : masks of the open candidates and of the written cells.
    premises : rule numbers, ascending.
    masks : for each premise the candidates that it has left.
    base : all of these.
    removes, places : the conclusions.
    all_cells : whether all premises are cells.
    digit : from zero, if all premises look up this digit in houses, else -1.
    """

    def __init__(self, argument: Argument, state: State) -> None:
        layout = self.layout = argument.layout
        self.open, self.written = state.open, state.placed
        self.premises = tuple(sorted(argument.premises))
        self.removes, self.places = argument.removes, argument.places
        self.masks = tuple(layout.rules[rule].mask & state.open for rule in self.premises)
        self.base = 0
        for mask in self.masks:
            self.base |= mask
        self.plane = (1 << layout.cells) - 1
        self.all_cells = bool(self.premises) and self.premises[-1] < layout.cells
        self.digit = -1
        if self.premises and self.premises[0] >= layout.cells:
            digits = {(rule - layout.cells) % layout.size for rule in self.premises}
            if len(digits) == 1:
                self.digit = digits.pop()

    def house(self, place: int) -> House:
        """The house in which the premise at a position looks a digit up."""
        return self.layout.houses[(self.premises[place] - self.layout.cells) // self.layout.size]

    def rule(self, house: int, digit: int) -> int:
        """Mask of a digit (from zero) in a house, open or not."""
        layout = self.layout
        return layout.rules[layout.cells + house * layout.size + digit].mask

    def cells_of(self, digit: int, mask: int) -> int:
        """The cells, as a mask, where a mask of candidates has a digit (from zero)."""
        return mask >> digit * self.layout.cells & self.plane

    def digits_of(self, mask: int) -> list[int]:
        """The digits, from zero, of the candidates of a mask, ascending."""
        cells = self.layout.cells
        return [d for d in range(self.layout.size) if mask >> d * cells & self.plane]

    def on_cells(self, mask: int) -> int:
        """The cells, as a mask, of the candidates of a mask."""
        found = 0
        while mask:
            found |= mask & self.plane
            mask >>= self.layout.cells
        return found

    def houses_around(self, cells: int) -> list[int]:
        """The houses that contain all cells of a mask."""
        return [
            house
            for house in range(len(self.layout.houses))
            # The rule of the first digit in a house has the bits of the cells.
            if not cells & ~self.rule(house, 0)
        ]

    @cached_property
    def chains(self) -> list[Chain]:
        """Readings as a chain without almost locked sets."""
        return self._some(chains(self.layout, self.open, self.premises, self.removes))

    @cached_property
    def loops(self) -> list[Chain]:
        """Readings as a loop without almost locked sets."""
        return self._some(loops(self.layout, self.open, self.premises, self.removes))

    @cached_property
    def set_chains(self) -> list[Chain]:
        """Readings as a chain through almost locked sets."""
        return self._some(chains(self.layout, self.open, self.premises, self.removes, sets=True))

    @cached_property
    def set_loops(self) -> list[Chain]:
        """Readings as a loop through almost locked sets."""
        return self._some(loops(self.layout, self.open, self.premises, self.removes, sets=True))

    @staticmethod
    def _some(found: Iterator[Chain]) -> list[Chain]:
        return list(islice(found, MOST))
