"""Houses that the other houses imply, so that they need not be said.

A set of houses is redundant if whatever keeps all other houses keeps these too.  Then each of its
parts is redundant; and it is redundant if it is so without one of its houses and the others imply
that one.  So sets are found size by size, with at most one question for each.  A filling that
breaks a house has a digit twice in it, and digits are alike: the question is whether the first
digit can be twice in the house while other houses hold.  A SAT solver answers it.

Demoen & Garcia de la Banda, "Redundant Sudoku rules", Theory and Practice of Logic Programming,
arXiv:1207.5926, did this for 9x9.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import combinations, permutations, product
from typing import Any

from pysat.solvers import Solver

from gridcrux.grids.canonical import shape_of
from gridcrux.grids.layout import Layout
from gridcrux.grids.rich import facts
from gridcrux.grids.state import bits

Houses = frozenset[int]
"""Numbers of houses in their layout."""

Signature = tuple[tuple[int, ...], ...]


class Implications:
    """Answers whether houses of a layout imply another; a context that ends its solver.

    Variable k + 1 is candidate k, then come for each house a variable that demands it and one that
    has the first digit twice in it.

    Attributes
    ----------
    questions : how many were asked.
    """

    def __init__(self, layout: Layout, solver: str = "cadical195") -> None:
        self.layout = layout
        self.questions = 0
        self._solver: Any = Solver(name=solver)
        self._demands = layout.candidates + 1
        self._breaks = self._demands + len(layout.houses)
        free = self._breaks + len(layout.houses)
        for number, rule in enumerate(layout.rules):
            # Cells hold one digit each, whichever houses are demanded.
            asked = (number - layout.cells) // layout.size
            unless = [-(self._demands + asked)] if asked >= 0 else []
            variables = [candidate + 1 for candidate in bits(rule.mask)]
            self._solver.add_clause(unless + variables)
            for pair in combinations(variables, 2):
                self._solver.add_clause(unless + [-variable for variable in pair])
        for number, house in enumerate(layout.houses):
            pairs = list(combinations([cell + 1 for cell in house.cells], 2))
            self._solver.add_clause([-(self._breaks + number), *range(free, free + len(pairs))])
            for variable, pair in enumerate(pairs, free):
                for cell in pair:
                    self._solver.add_clause([-variable, cell])
            free += len(pairs)

    def __enter__(self) -> Implications:
        return self

    def __exit__(self, *_: object) -> None:
        self._solver.delete()

    def counterexample(self, houses: Iterable[int], other: int) -> tuple[int, ...] | None:
        """n*n digits that keep some houses and break another; None if they imply it."""
        self.questions += 1
        demanded = [self._demands + house for house in sorted(houses)]
        if not self._solver.solve(assumptions=[*demanded, self._breaks + other]):
            return None
        layout = self.layout
        true = [v - 1 for v in self._solver.get_model()[: layout.candidates] if v > 0]
        digits = [0] * layout.cells
        for candidate in true:
            digits[candidate % layout.cells] = candidate // layout.cells + 1
        return tuple(digits)


def is_redundant(layout: Layout, houses: Iterable[int]) -> bool:
    """Whether all other houses of a layout together imply some houses.

    Parameters
    ----------
    houses : numbers of houses.

    >>> from gridcrux.grids.layout import boxes
    >>> is_redundant(boxes(2, 2), [0]), is_redundant(boxes(2, 2), [0, 1])
    (True, False)
    """
    chosen = set(houses)
    kept = set(range(len(layout.houses))) - chosen
    with Implications(layout) as implications:
        return all(implications.counterexample(kept, house) is None for house in sorted(chosen))


class Symmetries:
    """Which sets of houses are alike under the symmetries of a layout with boxes.

    Rows of a band can be exchanged and leave all other houses where they are; so a set is known by
    how many rows of each band it has, how many columns of each stack, and which boxes.

    Raises
    ------
    ValueError : two houses have the same cells, or see `grids.canonical.shape_of`.
    """

    def __init__(self, layout: Layout) -> None:
        if len({frozenset(house.cells) for house in layout.houses}) < len(layout.houses):
            raise ValueError(f"layout {layout.name!r} has a house twice, so one is redundant")
        shape = shape_of(layout)
        n = layout.size
        # A Latin square is one band and one stack.
        height, width = (n, n) if shape.height == 1 else shape
        self._bands, self._stacks = n // height, n // width
        self._turns = height == width
        self._places: list[tuple[int | None, int | None]] = []
        for house in layout.houses:
            rows = {cell // n for cell in house.cells}
            columns = {cell % n for cell in house.cells}
            band = None if len(rows) == n else min(rows) // height
            stack = None if len(columns) == n else min(columns) // width
            self._places.append((band, stack))

    def signature(self, houses: Iterable[int]) -> Signature:
        """The same for two sets of houses just if a symmetry carries one to the other."""
        counts = [[0] * (self._stacks + 1) for _ in range(self._bands + 1)]
        for house in houses:
            band, stack = self._places[house]
            # Columns are counted below the bands, rows to the right of the stacks.
            counts[self._bands if band is None else band][
                self._stacks if stack is None else stack
            ] += 1
        tables = [counts]
        if self._turns:
            tables.append([list(column) for column in zip(*counts, strict=True)])
        return min(
            tuple(tuple(table[i][j] for j in (*stacks, -1)) for i in (*bands, -1))
            for table in tables
            for bands, stacks in product(
                permutations(range(len(table) - 1)), permutations(range(len(table[0]) - 1))
            )
        )


@dataclass(frozen=True)
class RedundantSets:
    """The sets of k houses of a layout up to symmetry.

    Attributes
    ----------
    size : k.
    classes : how many classes of sets there are.
    redundant : a set of each class that is redundant.
    questions : how many were put to the solver for them.
    """

    size: int
    classes: int
    redundant: tuple[Houses, ...] = field(repr=False)
    questions: int

    def _repr_html_(self) -> str:
        return facts({**vars(self), "redundant": len(self.redundant)})


def redundant_sets(
    layout: Layout, most: int, solver: str = "cadical195"
) -> Iterator[RedundantSets]:
    """The redundant sets of 1, 2, ... up to `most` houses.

    Raises
    ------
    ValueError : see `Symmetries`.
    """
    symmetries, every = Symmetries(layout), frozenset(range(len(layout.houses)))
    classes: dict[Signature, Houses] = {symmetries.signature(()): frozenset()}
    redundant = set(classes)
    with Implications(layout, solver) as implications:
        for size in range(1, most + 1):
            larger: dict[Signature, Houses] = {}
            for houses in classes.values():
                for house in sorted(every - houses):
                    chosen = houses | {house}
                    larger.setdefault(symmetries.signature(chosen), chosen)
            classes, smaller, redundant, before = larger, redundant, set(), implications.questions
            for signature, houses in classes.items():
                parts = (symmetries.signature(houses - {house}) for house in sorted(houses))
                if not all(part in smaller for part in parts):
                    continue
                if implications.counterexample(every - houses, min(houses)) is None:
                    redundant.add(signature)
            yield RedundantSets(
                size,
                len(classes),
                tuple(houses for signature, houses in classes.items() if signature in redundant),
                implications.questions - before,
            )
