"""What a formula leaves to say of a state, over no more variables than it takes.

Model counters count every variable that they are told of, also where no clause mentions it.
"""

from __future__ import annotations

from dataclasses import dataclass

from gridcrux.encodings.cnf import Clause, Cnf, reduced
from gridcrux.grids.state import State


@dataclass(frozen=True)
class Remainder:
    """A formula in which every variable is mentioned.

    Attributes
    ----------
    clauses : over variables 1 .. `variables`.
    variables : how many there are.
    candidates : how many of them stand for candidates; they are the first ones.
    """

    clauses: tuple[Clause, ...]
    variables: int
    candidates: int


def remainder(cnf: Cnf, state: State) -> Remainder:
    """What is left of an encoding in a state that breaks no rule; nothing is propagated.

    In every encoding each open candidate that is not written is in a clause, so the models,
    looked at on the candidates alone, are the solutions of the state.
    """
    left = reduced(cnf, state)
    mentioned = sorted({abs(literal) for clause in left.clauses for literal in clause})
    number = {variable: k for k, variable in enumerate(mentioned, 1)}
    number |= {-variable: -k for variable, k in number.items()}
    clauses = tuple(tuple(number[literal] for literal in clause) for clause in left.clauses)
    candidates = sum(variable <= cnf.candidates for variable in mentioned)
    return Remainder(clauses, len(mentioned), candidates)
