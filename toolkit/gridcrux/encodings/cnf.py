"""A formula in clauses as a value, and what a state says in clauses.

The variable of candidate k is k + 1; auxiliary variables come after those of the candidates.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from gridcrux.grids.rich import facts
from gridcrux.grids.state import State, bits

Clause = tuple[int, ...]


@dataclass(frozen=True)
class Cnf:
    """A conjunction of clauses over variables 1 .. `variables`, as it was published.

    Attributes
    ----------
    name : the encoding.
    variables : how many variables there are, whether or not a clause mentions them.
    clauses : tuples of literals, in the order and with the repetitions of the source.
    auxiliary : how many of the variables are no candidates; they are the last ones.
    """

    name: str
    variables: int
    clauses: tuple[Clause, ...]
    auxiliary: int = 0

    @property
    def candidates(self) -> int:
        """How many of the variables are candidates; they are the first ones."""
        return self.variables - self.auxiliary

    def distinct(self) -> Cnf:
        """The same formula with each clause once."""
        clauses = tuple(dict.fromkeys(self.clauses))
        return replace(self, name=f"{self.name}, distinct", clauses=clauses)

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
        """The formula in DIMACS form; comments say its name and which variables are auxiliary.

        Parameters
        ----------
        comments : further ones, by the number of the clause, from 0, that each stands before.
        """
        lines = [f"c {self.name}"]
        if self.auxiliary:
            lines.append(f"c variables from {self.candidates + 1} on are auxiliary")
        lines.append(f"p cnf {self.variables} {len(self.clauses)}")
        for number, clause in enumerate(self.clauses):
            if comments and number in comments:
                lines.append(f"c {comments[number]}")
            lines.append(" ".join(map(str, (*clause, 0))))
        return "\n".join(lines) + "\n"

    def _repr_html_(self) -> str:
        return facts({**vars(self), "clauses": len(self.clauses)})


def variables_of(mask: int) -> Clause:
    """The variables of the candidates in a mask, which as a clause say that one of them is true."""
    return tuple(candidate + 1 for candidate in bits(mask))


def givens_as_units(state: State) -> tuple[Clause, ...]:
    """The state as unit clauses: its written digits, then what else is closed.

    A puzzle gives one positive unit a given and nothing else, as its closed candidates follow.
    """
    layout = state.layout
    written = _written(state)
    closed = layout.full & ~state.open
    for candidate in bits(written):
        closed &= ~layout.conflicts[candidate]
    positive = ((variable,) for variable in variables_of(written))
    return (*positive, *((-variable,) for variable in variables_of(closed)))


def reduced(cnf: Cnf, state: State) -> Cnf:
    """What a formula says about the candidates that are open and not yet written.

    Clauses that hold already are left out, and so are literals that are false already; nothing
    is propagated.  The variables keep their numbers, and the auxiliary ones their clauses.  A
    clause without literals is left where the state contradicts the formula.
    """
    holds = set(variables_of(_written(state)))
    holds.update(-variable for variable in variables_of(state.layout.full & ~state.open))
    clauses = tuple(
        tuple(literal for literal in clause if -literal not in holds)
        for clause in cnf.clauses
        if holds.isdisjoint(clause)
    )
    return replace(cnf, name=f"{cnf.name}, reduced", clauses=clauses)


def _written(state: State) -> int:
    """The candidates of the written cells."""
    cells = state.layout.cells
    everywhere = sum(1 << digit * cells for digit in range(state.layout.size))
    return state.open & state.placed * everywhere
