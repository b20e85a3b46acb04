"""A certificate of an argument from uniqueness: what it excludes leads to what can be exchanged.

Such a deduction does not follow from its premises alone (`certify`).  It says: were a candidate
true that it excludes, then the premises would fill some cells so that other digits fit there
as well, and a second solution would come of every solution.  Here a SAT solver goes through
all ways to satisfy the premises with that candidate, and looks for such an *exchange* in each:
the filled cells, none of them given, with other digits in some of them and in every house the
same digits as before.  Nothing here knows a technique, or that the exchange may be a rectangle.

The check is worth the less, the more the premises fill: in a full grid there is always
something to exchange.
"""

from __future__ import annotations

from collections.abc import Iterable

from pysat.solvers import Solver

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.proofs.certify import Certificate


def exchanged(layout: Layout, filled: Iterable[int]) -> set[int] | None:
    """Candidates among the filled ones whose cells can hold other digits, or None.

    Parameters
    ----------
    filled : true candidates, at most one in a cell, no two in conflict.

    Returns
    -------
    Those whose cells get another digit, such that each house keeps its digits.
    """
    digit_of = {candidate % layout.cells: candidate // layout.cells for candidate in filled}
    clauses: list[list[int]] = [[-_true(layout, d, c) for c, d in digit_of.items()]]
    for cells in [[cell] for cell in digit_of] + [list(house.cells) for house in layout.houses]:
        inside = [cell for cell in cells if cell in digit_of]
        for digit in {digit_of[cell] for cell in inside} if len(cells) > 1 else ():
            clauses.append([_true(layout, digit, cell) for cell in inside])
    for cell in digit_of:
        wanted = [
            {digit_of[c] for c in layout.houses[house].cells if c in digit_of}
            for house in layout.houses_of[cell]
        ]
        possible = set.intersection(*wanted)
        clauses.append([_true(layout, digit, cell) for digit in possible])
        clauses += [
            [-_true(layout, digit, cell)] for digit in range(layout.size) if digit not in possible
        ]
        for digit in possible:
            clauses += [
                [-_true(layout, digit, cell), -(rival + 1)]
                for rival in bits(layout.conflicts[digit * layout.cells + cell])
                if rival % layout.cells in digit_of
            ]
    with Solver("minisat22", bootstrap_with=clauses) as solver:
        if not solver.solve():
            return None
        true = {literal - 1 for literal in solver.get_model() if literal > 0}
    return {
        digit * layout.cells + cell
        for cell, digit in digit_of.items()
        if digit * layout.cells + cell not in true
    }


def _true(layout: Layout, digit: int, cell: int) -> int:
    """The literal that says that a candidate is true."""
    return digit * layout.cells + cell + 1


def certify_unique(deduction: Deduction, state: State) -> Certificate:
    """Check by SAT that a deduction excludes only what makes an exchange possible.

    Strict reading: only what the deduction relies on is absent, and all that it removes must
    lead to an exchange.  Candidates that occur in no premise are false: were they true, the
    exchange would still be there.

    Parameters
    ----------
    deduction : what to check; it places nothing.
    state : where it was found; it says which cells are given.

    Raises
    ------
    ValueError : the state has another layout.
    """
    layout = deduction.layout
    if state.layout != layout:
        raise ValueError(
            f"the deduction is on layout {layout.name!r}, the state on {state.layout.name!r}; "
            "give a state of the same layout"
        )
    premises = [[*bits(layout.rules[rule].mask & ~deduction.relies)] for rule in deduction.premises]
    failures = tuple(
        candidate
        for candidate in bits(deduction.removes)
        if not _always_exchanged(layout, premises, candidate, state.givens)
    )
    return Certificate(deduction, "unique", deduction.removes.bit_count(), failures)


def _always_exchanged(
    layout: Layout, premises: list[list[int]], candidate: int, givens: int
) -> bool:
    """Whether every way to satisfy the premises with a candidate allows an exchange."""
    known = {candidate}.union(*premises)
    clauses = [[c + 1 for c in premise] for premise in premises] + [[candidate + 1]]
    clauses += [
        [-(c + 1), -(rival + 1)]
        for c in known
        for rival in bits(layout.conflicts[c])
        if c < rival and rival in known
    ]
    with Solver("minisat22", bootstrap_with=clauses) as solver:
        while solver.solve():
            true = {literal - 1 for literal in solver.get_model() if literal > 0} & known
            free = {c for c in true if not givens >> c % layout.cells & 1}
            found = exchanged(layout, free)
            if found is None:
                return False
            solver.add_clause([-(c + 1) for c in found])
    return True
