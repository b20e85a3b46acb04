"""A layout is data: cells and the houses that each hold every digit exactly once.

Everything that differs between 4x4, 9x9, 16x16, Latin squares, irregular regions and
diagonals is a list of houses.  Rules, peers and names follow from that list, so no other
module asks which kind of puzzle it has.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cache, cached_property
from math import isqrt

SYMBOLS = "123456789ABCDEFGHIJKLMNOP"
"""How the digits 1 to 25 are written when a cell is one character."""

LARGEST = len(SYMBOLS)


@dataclass(frozen=True, slots=True)
class House:
    """A set of n cells in which each of the n digits has exactly one place."""

    kind: str
    number: int
    cells: tuple[int, ...]

    @property
    def name(self) -> str:
        return f"{self.kind} {self.number}"


@dataclass(frozen=True, slots=True)
class Rule:
    """A named set of candidates of which exactly one is true; `mask` has a bit for each."""

    name: str
    mask: int


@dataclass(frozen=True)
class Layout:
    """Cells in an n x n square and the houses over them.

    Parameters
    ----------
    name : how the layout is called on the command line and in tables.
    size : n, the number of rows, of columns and of digits.
    houses : rows first, then columns, then whatever else; each has n distinct cells.

    Numbering, used by every other module: cell = row * n + column and
    candidate = digit * n * n + cell, all from zero; a mask is an int with one bit a candidate.
    Rule numbers are cells first (0 .. n*n - 1), then n*n + house * n + digit.
    """

    name: str
    size: int
    houses: tuple[House, ...] = field(repr=False)

    def __post_init__(self) -> None:
        n = self.size
        if not 1 <= n <= LARGEST:
            raise ValueError(f"layout {self.name!r}: size {n} is outside 1..{LARGEST}")
        for house in self.houses:
            if len(set(house.cells)) != n or len(house.cells) != n:
                raise ValueError(
                    f"layout {self.name!r}: {house.name} has {len(set(house.cells))} distinct "
                    f"cells, expected {n}"
                )
            if not all(0 <= cell < n * n for cell in house.cells):
                raise ValueError(f"layout {self.name!r}: {house.name} leaves the {n} x {n} square")

    def __hash__(self) -> int:
        return self._hash

    @cached_property
    def _hash(self) -> int:
        # Of numbers alone, so that it is the same in the process that a layout is sent to.
        return hash((self.size, tuple(house.cells for house in self.houses)))

    @property
    def cells(self) -> int:
        """Number of cells, n * n."""
        return self.size * self.size

    @property
    def candidates(self) -> int:
        """Number of candidates, n * n * n."""
        return self.cells * self.size

    @cached_property
    def full(self) -> int:
        """The mask in which every candidate is open."""
        return (1 << self.candidates) - 1

    @cached_property
    def rules(self) -> tuple[Rule, ...]:
        n, cells = self.size, self.cells
        by_cell = [
            Rule(f"cell {self.cell_name(cell)}", sum(1 << (d * cells + cell) for d in range(n)))
            for cell in range(cells)
        ]
        by_house = [
            Rule(f"{d + 1} in {house.name}", sum(1 << (d * cells + cell) for cell in house.cells))
            for house in self.houses
            for d in range(n)
        ]
        return tuple(by_cell + by_house)

    @cached_property
    def rule_numbers(self) -> dict[str, int]:
        """Rule number by rule name."""
        return {rule.name: number for number, rule in enumerate(self.rules)}

    @cached_property
    def houses_of(self) -> tuple[tuple[int, ...], ...]:
        """For each cell the numbers of the houses that contain it."""
        found: list[list[int]] = [[] for _ in range(self.cells)]
        for number, house in enumerate(self.houses):
            for cell in house.cells:
                found[cell].append(number)
        return tuple(tuple(numbers) for numbers in found)

    @cached_property
    def peers(self) -> tuple[frozenset[int], ...]:
        """For each cell the other cells that share a house with it."""
        return tuple(
            frozenset(c for h in self.houses_of[cell] for c in self.houses[h].cells) - {cell}
            for cell in range(self.cells)
        )

    @cached_property
    def conflicts(self) -> tuple[int, ...]:
        """For each candidate the mask of the candidates that cannot be true with it."""
        n, cells = self.size, self.cells
        found = []
        for candidate in range(self.candidates):
            digit, cell = divmod(candidate, cells)
            mask = sum(1 << (d * cells + cell) for d in range(n) if d != digit)
            mask |= sum(1 << (digit * cells + peer) for peer in self.peers[cell])
            found.append(mask)
        return tuple(found)

    def cell_name(self, cell: int) -> str:
        row, column = divmod(cell, self.size)
        return f"r{row + 1}c{column + 1}"

    def candidate_name(self, candidate: int) -> str:
        digit, cell = divmod(candidate, self.cells)
        return f"{self.cell_name(cell)}={digit + 1}"

    def with_houses(self, name: str, houses: Iterable[House]) -> Layout:
        """This layout with further houses."""
        return Layout(name, self.size, self.houses + tuple(houses))

    def with_diagonals(self) -> Layout:
        """This layout with its two long diagonals as further houses."""
        n = self.size
        down = House("diagonal", 1, tuple(i * n + i for i in range(n)))
        up = House("diagonal", 2, tuple((n - 1 - i) * n + i for i in range(n)))
        return self.with_houses(f"{self.name}-diagonals", (down, up))

    def _repr_svg_(self) -> str:
        from gridcrux.grids.state import State

        return State(self, 0)._repr_svg_()


def _lines(n: int) -> tuple[House, ...]:
    if not 1 <= n <= LARGEST:
        raise ValueError(f"a square of size {n} is outside 1..{LARGEST}")
    rows = [House("row", r + 1, tuple(r * n + c for c in range(n))) for r in range(n)]
    columns = [House("column", c + 1, tuple(r * n + c for r in range(n))) for c in range(n)]
    return tuple(rows + columns)


@cache
def boxes(height: int, width: int) -> Layout:
    """The square of size height * width with boxes of that height and width."""
    n = height * width
    if height < 1 or width < 1:
        raise ValueError(f"a box of {height} x {width} cells is empty")
    lines = _lines(n)
    found = []
    for number in range(n):
        top, left = number // height * height, number % height * width
        found.append(
            House(
                "box",
                number + 1,
                tuple((top + i) * n + left + j for i in range(height) for j in range(width)),
            )
        )
    return Layout(f"{height}x{width}", n, lines + tuple(found))


@cache
def latin(n: int) -> Layout:
    """The Latin square of order n: rows and columns only."""
    return Layout(f"latin-{n}", n, _lines(n))


def regions(text: str | Sequence[str], name: str = "regions") -> Layout:
    """A square with irregular regions: n*n marks row by row, the same mark all over a region.

    A mark is any character but white space, which is dropped.  Regions are numbered by first
    appearance; nothing asks whether a region is connected.

    Parameters
    ----------
    text : the marks, as one string or as a sequence of strings such as the rows.

    Raises
    ------
    ValueError : the cells are no square, or a region has not n cells.

    >>> jagged = regions(["1112", "1222", "3334", "3444"])
    >>> house = jagged.houses[8]
    >>> house.name, [jagged.cell_name(cell) for cell in house.cells]
    ('region 1', ['r1c1', 'r1c2', 'r1c3', 'r2c1'])
    """
    marks = "".join("".join(text).split())
    n = isqrt(len(marks))
    if n * n != len(marks):
        raise ValueError(f"regions: {len(marks)} marks are not a square number of cells")
    members: dict[str, list[int]] = {}
    for cell, mark in enumerate(marks):
        members.setdefault(mark, []).append(cell)
    for mark, cells in members.items():
        if len(cells) != n:
            raise ValueError(f"regions: {mark!r} marks {len(cells)} cells, expected {n}")
    houses = tuple(
        House("region", number + 1, tuple(cells)) for number, cells in enumerate(members.values())
    )
    return Layout(name, n, _lines(n) + houses)


USUAL = {4: (2, 2), 6: (2, 3), 8: (2, 4), 9: (3, 3), 10: (2, 5), 12: (3, 4), 16: (4, 4), 25: (5, 5)}
"""Box height and width taken for a size when nothing else is said."""


def usual(n: int) -> Layout:
    """The layout that is meant when only the size n is known."""
    if n not in USUAL:
        known = ", ".join(map(str, USUAL))
        raise ValueError(f"no usual layout of size {n}; sizes with one: {known}")
    return boxes(*USUAL[n])


def named(name: str) -> Layout:
    """The layout with the given name: '3x3', '2x3-diagonals', 'latin-5'.

    Raises
    ------
    ValueError : the name has none of these forms, or the size is outside 1..25.
    """
    found = re.fullmatch(r"(?:latin-(\d+)|(\d+)x(\d+))(-diagonals)?", name, re.ASCII)
    if found is None:
        raise ValueError(
            f"layout {name!r}: expected box height x width like '3x3', or 'latin-5', "
            "optionally followed by '-diagonals'"
        )
    order, height, width, diagonals = found.groups()
    try:
        layout = latin(int(order)) if order else boxes(int(height), int(width))
    except ValueError as error:
        hint = ""
        if height is not None and height == width and int(height) in USUAL:
            hint = f"; {height} rows and columns are {usual(int(height)).name!r}"
        raise ValueError(f"layout {name!r}: {error}{hint}") from error
    return layout.with_diagonals() if diagonals else layout


NINE = boxes(3, 3)
"""The layout of the ordinary 9x9 puzzle."""
