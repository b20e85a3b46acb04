"""An encoding as a value: which halves of the rules are written as clauses, and how.

A rule says that exactly one of its candidates is true, so it has two halves, and there are rules
of cells and rules of houses.  Not all four halves are needed, as n cells have room for n digits:
the formula defines the puzzle if and only if it has one of these two pairs.

- A digit in each cell, and no digit twice in a house.  A house has n digits in n cells, at least
  one in each and all different, so each digit is there and no cell has two.
- Each digit somewhere in each house, and no two digits in a cell.  The same with the parts of
  digits and cells exchanged.

What goes beyond a pair follows from it, and is there for unit propagation.  Source of the first
pair ("minimal") and of all four halves ("extended"): Lynce & Ouaknine, "Sudoku as a SAT problem",
ISAIM 2006, which counts for 9x9

=================================  ========  ======== ========
clauses                             minimal  extended distinct
=================================  ========  ======== ========
a digit in each cell                     81        81       81
no digit twice in a row               2,916     2,916    2,916
no digit twice in a column            2,916     2,916    2,916
no digit twice in a box               2,916     2,916    1,458
no two digits in a cell                         2,916    2,916
each digit somewhere in a row                      81       81
each digit somewhere in a column                   81       81
each digit somewhere in a box                      81       81
together                              8,829    11,988   10,530
=================================  ========  ======== ========

Two cells of a box that share a row or a column are counted with both houses: 1,458 clauses come
twice, so that 7,371 of the minimal and 10,530 of the extended encoding are distinct.  Both have
the same models; they differ in what unit propagation sees.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from gridcrux.encodings.at_most_one import AT_MOST_ONE
from gridcrux.encodings.cnf import Clause, Cnf, variables_of
from gridcrux.grids.layout import Layout
from gridcrux.grids.rich import facts

USUAL = "pairwise"
"""How at-most-one is written when nothing else is said."""

_NAMES = {
    (True, True, False, False): "minimal",
    (True, True, True, False): "minimal-exact-cells",
    (True, True, False, True): "minimal-exact-houses",
    (False, False, True, True): "dual",
    (True, False, True, True): "dual-exact-cells",
    (False, True, True, True): "dual-exact-houses",
    (True, True, True, True): "extended",
}
"""How each set of halves that suffices is called; exact are those that are written whole."""


@dataclass(frozen=True)
class Encoding:
    """Which halves of the rules are written, in the order of the clauses; all, if none is named.

    Attributes
    ----------
    cells_some : a digit in each cell.
    houses_not_two : no digit twice in a house.
    cells_not_two : no two digits in a cell.
    houses_some : each digit somewhere in each house.
    at_most_one : how the second and the third are written, a name of `AT_MOST_ONE`.

    Raises
    ------
    ValueError : the halves have other models than the solutions of the puzzle, or there is no
        such way to write at-most-one.
    """

    cells_some: bool = True
    houses_not_two: bool = True
    cells_not_two: bool = True
    houses_some: bool = True
    at_most_one: str = USUAL

    def __post_init__(self) -> None:
        if self.at_most_one not in AT_MOST_ONE:
            raise ValueError(
                f"at-most-one cannot be written as {self.at_most_one!r}; "
                f"there are {', '.join(AT_MOST_ONE)}"
            )
        if self._halves not in _NAMES:
            raise ValueError(
                f"these halves of the rules do not define the puzzle: {self._gap()}; write at "
                "least cells_some with houses_not_two, or cells_not_two with houses_some"
            )

    @property
    def _halves(self) -> tuple[bool, bool, bool, bool]:
        return self.cells_some, self.houses_not_two, self.cells_not_two, self.houses_some

    def _gap(self) -> str:
        """What halves that do not suffice leave unsaid, and what they have for a model so."""
        if not (self.cells_some or self.houses_some):
            return "nothing has to be true, so the empty grid would be a solution"
        if not (self.cells_not_two or self.houses_not_two):
            return "everything may be true at once, so all digits in every cell would be a solution"
        if self.cells_some:
            return "nothing is said of houses, so the same digit in all cells would be a solution"
        return "nothing is said of cells, so all digits in the same n cells would be a solution"

    @property
    def name(self) -> str:
        """As `get_encoding` knows it: ``"minimal"``, ``"extended-ladder"``."""
        name = _NAMES[self._halves]
        return name if self.at_most_one == USUAL else f"{name}-{self.at_most_one}"

    def __call__(self, layout: Layout) -> Cnf:
        """The rules of a layout, with the auxiliary variables above those of the candidates."""
        rules = [variables_of(rule.mask) for rule in layout.rules]
        cells, houses = rules[: layout.cells], rules[layout.cells :]
        write = AT_MOST_ONE[self.at_most_one]
        clauses: list[Clause] = []
        variables = layout.candidates

        def not_two(rules: Iterable[Clause]) -> None:
            nonlocal variables
            for rule in rules:
                further, auxiliary = write(rule, variables + 1)
                clauses.extend(further)
                variables += auxiliary

        if self.cells_some:
            clauses += cells
        if self.houses_not_two:
            not_two(houses)
        if self.cells_not_two:
            not_two(cells)
        if self.houses_some:
            clauses += houses
        auxiliary = variables - layout.candidates
        return Cnf(f"{self.name} {layout.name}", variables, tuple(clauses), auxiliary)

    def _repr_html_(self) -> str:
        return facts({"name": self.name, **vars(self)})


SUFFICIENT: tuple[Encoding, ...] = tuple(Encoding(*halves) for halves in _NAMES)
"""Every set of halves that suffices, with the usual at-most-one."""

MINIMAL = Encoding(cells_not_two=False, houses_some=False)
EXTENDED = Encoding()
