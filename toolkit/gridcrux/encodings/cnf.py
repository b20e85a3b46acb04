"""The rules as clauses, in the two encodings of the literature.

The variable of candidate k is k + 1.  Source: Lynce & Ouaknine, "Sudoku as a SAT problem",
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

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations
from typing import Any

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State, bits

Clause = tuple[int, ...]


@dataclass(frozen=True)
class Cnf:
    """A conjunction of clauses over variables 1 .. `variables`, as it was published.

    Attributes
    ----------
    name : the encoding.
    variables : how many variables there are, whether or not a clause mentions them.
    clauses : tuples of literals, in the order of the table, with the repetitions of the source.
    """

    name: str
    variables: int
    clauses: tuple[Clause, ...]

    def distinct(self) -> Cnf:
        """The same formula with each clause once."""
        return Cnf(f"{self.name}, distinct", self.variables, tuple(dict.fromkeys(self.clauses)))

    def mentioned(self) -> int:
        """How many variables occur in a clause."""
        return len({abs(literal) for clause in self.clauses for literal in clause})

    def to_pysat(self) -> Any:
        """A `pysat.formula.CNF`.

        Its number of variables is `variables`, also where the last ones occur in no clause.
        """
        from pysat.formula import CNF

        formula = CNF()
        formula.extend([list(clause) for clause in self.clauses])
        formula.nv = self.variables
        return formula

    def to_dimacs(self, comments: Mapping[int, str] | None = None) -> str:
        """The formula in DIMACS form, with its name as a comment.

        Parameters
        ----------
        comments : further ones, by the number of the clause, from 0, that each stands before.
        """
        lines = [f"c {self.name}", f"p cnf {self.variables} {len(self.clauses)}"]
        for number, clause in enumerate(self.clauses):
            if comments and number in comments:
                lines.append(f"c {comments[number]}")
            lines.append(" ".join(map(str, (*clause, 0))))
        return "\n".join(lines) + "\n"


def _variables(mask: int) -> Clause:
    """The variables of the candidates in a mask."""
    return tuple(candidate + 1 for candidate in bits(mask))


def _some(masks: Iterable[int]) -> Iterator[Clause]:
    """At least one candidate of each mask is true."""
    return (_variables(mask) for mask in masks)


def _not_two(masks: Iterable[int]) -> Iterator[Clause]:
    """No two candidates of a mask are true."""
    for mask in masks:
        for first, second in combinations(_variables(mask), 2):
            yield -first, -second


def _masks(layout: Layout) -> tuple[list[int], list[int]]:
    """The rules of the cells and those of the houses."""
    masks = [rule.mask for rule in layout.rules]
    return masks[: layout.cells], masks[layout.cells :]


def minimal(layout: Layout) -> Cnf:
    """A digit in each cell, and no digit twice in a house.

    That suffices: n*n cells are filled, and no digit has more than n places in n rows.
    """
    cells, houses = _masks(layout)
    clauses = (*_some(cells), *_not_two(houses))
    return Cnf(f"minimal {layout.name}", layout.candidates, clauses)


def extended(layout: Layout) -> Cnf:
    """Both halves of every rule: the minimal encoding and what follows from it."""
    cells, houses = _masks(layout)
    clauses = (*minimal(layout).clauses, *_not_two(cells), *_some(houses))
    return Cnf(f"extended {layout.name}", layout.candidates, clauses)


def givens_as_units(state: State) -> tuple[Clause, ...]:
    """The state as unit clauses: its written digits, then what else is closed.

    A puzzle gives one positive unit a given and nothing else, as its closed candidates follow.
    """
    layout = state.layout
    written = _written(state)
    closed = layout.full & ~state.open
    for candidate in bits(written):
        closed &= ~layout.conflicts[candidate]
    positive = ((variable,) for variable in _variables(written))
    return (*positive, *((-variable,) for variable in _variables(closed)))


def reduced(cnf: Cnf, state: State) -> Cnf:
    """What a formula says about the candidates that are open and not yet written.

    Clauses that hold already are left out, and so are literals that are false already; nothing
    is propagated.  The variables keep their numbers.  A clause without literals is left where
    the state contradicts the formula.
    """
    true = set(_variables(_written(state)))
    open_ = set(_variables(state.open))
    clauses = []
    for clause in cnf.clauses:
        if any(literal in true or (literal < 0 and -literal not in open_) for literal in clause):
            continue
        clauses.append(tuple(x for x in clause if (x in open_ if x > 0 else -x not in true)))
    return Cnf(f"{cnf.name}, reduced", cnf.variables, tuple(clauses))


def _written(state: State) -> int:
    """The candidates of the written cells."""
    cells = state.layout.cells
    everywhere = sum(1 << digit * cells for digit in range(state.layout.size))
    return state.open & state.placed * everywhere
