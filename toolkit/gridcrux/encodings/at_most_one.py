"""At most one of some literals is true: the ways of the literature to say so in clauses.

Pairwise needs no further variable and a number of clauses that grows with the square; the others
trade clauses for auxiliary variables.  What python-sat offers is taken from there, with sources
for each in the documentation of `pysat.card`; product and commander are written here.  For n
literals, from 7 on,

===================  ===========================  ==========================
name                 clauses                      auxiliary variables
===================  ===========================  ==========================
pairwise             n (n - 1) / 2                0
sequential           3n - 4                       n - 1
ladder               4n                           n + 1
bitwise              n ceil(log2 n)               ceil(log2 n)
product              2n + 4 sqrt(n) + ...         2 sqrt(n) + ...
commander            3.5 n, about                 n / 2, about
totalizer            grow with n squared          grow with n log n
modulo-totalizer     the same, fewer              the same, fewer
k-modulo-totalizer   4n - 4                       2n - 2
sorting-network      grow with n (log n) squared  the same
cardinality-network  6n - 8, n a power of two     4n - 6, n a power of two
===================  ===========================  ==========================

The ladder of python-sat has a variable for "none is true" among the n + 1.  With each of them
unit propagation from one true literal makes the others false.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isqrt

from gridcrux.encodings.cnf import Clause

AtMostOne = Callable[[Sequence[int], int], tuple[list[Clause], int]]
"""Literals and the first free variable, above those of the literals, to clauses and the number
of auxiliary variables, which are the first free one and those that follow."""

_FEW = 6
"""Up to so many literals pairwise needs no more clauses than product or commander."""

_GROUP = 3
"""Literals to a commander; with groups of three there are the fewest clauses."""


def _from_pysat(encoding: str) -> AtMostOne:
    """What python-sat has under a name of its `EncType`, which is loaded at the first use."""

    def write(literals: Sequence[int], free: int) -> tuple[list[Clause], int]:
        from pysat.card import CardEnc, EncType

        formula = CardEnc.atmost(
            list(literals), bound=1, top_id=free - 1, encoding=getattr(EncType, encoding)
        )
        # Where nothing is to be said its number of variables is 0.
        return [tuple(clause) for clause in formula.clauses], max(0, formula.nv - free + 1)

    return write


_pairwise = _from_pysat("pairwise")


def product(literals: Sequence[int], free: int) -> tuple[list[Clause], int]:
    """The literals in a rectangle: at most one row and at most one column has a true one.

    Two literals differ in their row or in their column.  Source: Chen, "A new SAT encoding of the
    at-most-one constraint", ModRef 2010.
    """
    if len(literals) <= _FEW:
        return _pairwise(literals, free)
    columns = isqrt(len(literals) - 1) + 1
    rows = -(-len(literals) // columns)
    row = range(free, free + rows)
    column = range(free + rows, free + rows + columns)
    clauses: list[Clause] = []
    for number, literal in enumerate(literals):
        clauses += [(-literal, row[number // columns]), (-literal, column[number % columns])]
    auxiliary = rows + columns
    for side in (row, column):
        further, more = product(side, free + auxiliary)
        clauses += further
        auxiliary += more
    return clauses, auxiliary


def commander(literals: Sequence[int], free: int) -> tuple[list[Clause], int]:
    """The literals in groups, each with a commander that is true if and only if one of them is.

    Pairwise in a group, and again among the commanders.  Source: Klieber & Kwon, "Efficient CNF
    encoding for selecting 1 from N objects", CFV 2007.
    """
    if len(literals) <= _FEW:
        return _pairwise(literals, free)
    groups = -(-len(literals) // _GROUP)
    commanders = range(free, free + groups)
    clauses: list[Clause] = []
    for number, leader in enumerate(commanders):
        group = literals[number::groups]
        clauses += _pairwise(group, free)[0]
        clauses += [(-literal, leader) for literal in group]
        clauses.append((-leader, *group))
    further, more = commander(commanders, free + groups)
    return clauses + further, groups + more


AT_MOST_ONE: dict[str, AtMostOne] = {
    "pairwise": _pairwise,
    "sequential": _from_pysat("seqcounter"),
    "ladder": _from_pysat("ladder"),
    "bitwise": _from_pysat("bitwise"),
    "product": product,
    "commander": commander,
    "totalizer": _from_pysat("totalizer"),
    "modulo-totalizer": _from_pysat("mtotalizer"),
    "k-modulo-totalizer": _from_pysat("kmtotalizer"),
    "sorting-network": _from_pysat("sortnetwrk"),
    "cardinality-network": _from_pysat("cardnetwrk"),
}
"""Every way by its name, the usual one first."""
