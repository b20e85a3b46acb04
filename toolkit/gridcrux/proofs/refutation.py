"""A certificate of a claim: a formula, a proof that it cannot be satisfied, and who checked it.

The formula says that the rules hold, that what is closed is false, and that the claim fails.  A
solver refutes it and writes down each clause that it learns on the way, the last of them empty: a
DRAT proof (Wetzler, Heule and Hunt, "DRAT-trim: efficient checking and trimming using expressive
clausal proofs", SAT 2014).  A checker that shares no code with the solver, nor with us, goes
through it before anything is reported; so nobody has to trust the solver, or us.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from pysat.solvers import Solver

from gridcrux.encodings.cnf import Clause, Cnf
from gridcrux.engines.limits import Deadline
from gridcrux.grids.names import Claim
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State, bits

SOLVER, INTERRUPTIBLE = "cadical153", "glucose4"
"""The python-sat solver that writes proofs, and the one that is asked first under a limit, as the
other cannot be interrupted."""

DRAT, PROPAGATION = "DRAT check by dratify", "unit propagation by MiniSat"
"""Independent ways in which a refutation is confirmed."""


class ProofRejected(RuntimeError):
    """A proof that does not hold, though the solver says that there is no solution."""

    def __init__(self, formula: Cnf, check: Check) -> None:
        super().__init__(
            f"the proof of {formula.name!r} was rejected at step {check.step}: {check.reason}; "
            "solver and checker disagree, so nothing is claimed; please report the puzzle"
        )
        self.check = check


@dataclass(frozen=True)
class Check:
    """What a checker says of a proof.

    Attributes
    ----------
    accepted : whether every step holds up to the empty clause, and there is one.
    reason : why not, or None.
    step : the step, from 1, that does not hold; None if it is not about one.
    """

    accepted: bool
    reason: str | None = None
    step: int | None = None


@dataclass(frozen=True)
class Refutation:
    """A formula that cannot be satisfied, with a proof that was checked.

    Attributes
    ----------
    formula : variable k stands for candidate k - 1.
    proof : the DRAT proof as text.
    checked : the independent ways in which it was confirmed.
    """

    formula: Cnf = field(repr=False)
    proof: str = field(repr=False)
    checked: tuple[str, ...]

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "formula": self.formula.name,
            "clauses": len(self.formula.clauses),
            "steps": self.proof.count("\n"),
            "checked": "; ".join(self.checked),
        }

    def as_dict(self) -> dict[str, Any]:
        """Formula and proof as texts in DIMACS and DRAT form, and who checked them."""
        return {
            "cnf": self.formula.to_dimacs(),
            "proof": self.proof,
            "checked": list(self.checked),
        }

    def _repr_html_(self) -> str:
        return facts(self.row())


def refutation(state: State, claims: Sequence[Claim], premises: Sequence[int] | None = None) -> Cnf:
    """The formula that is satisfiable if and only if some claims can fail.

    It has, in this order: for each two open candidates in conflict that not both are true; for
    each premise, in full, that one of its candidates is true; for each closed candidate that it
    is false; and that one of the claims fails.  That a closed candidate conflicts with others is
    not said, as it is false anyhow.

    Parameters
    ----------
    premises : numbers of the rules that may be used; None for all.

    Raises
    ------
    ValueError : nothing is claimed.
    """
    if not claims:
        raise ValueError("nothing is claimed; name at least one candidate like r4c5!=7")
    layout, open_ = state.layout, state.open
    rules = range(len(layout.rules)) if premises is None else premises
    clauses: list[Clause] = [
        (-candidate - 1, -rival - 1)
        for candidate in bits(open_)
        for rival in bits(layout.conflicts[candidate] & open_)
        if candidate < rival
    ]
    clauses += [tuple(c + 1 for c in bits(layout.rules[rule].mask)) for rule in rules]
    clauses += [(-candidate - 1,) for candidate in bits(layout.full & ~open_)]
    clauses.append(denial(claims))
    told = " ".join(map(str, claims))
    what = "all rules" if premises is None else f"{len(rules)} premises"
    return Cnf(f"{told} fails, {what}, {layout.name}", layout.candidates, tuple(clauses))


def denial(claims: Sequence[Claim]) -> Clause:
    """The clause that one of some claims fails."""
    return tuple((-1 if c.holds else 1) * (c.candidate + 1) for c in claims)


def refute(formula: Cnf, seconds: float | None = None) -> Refutation | tuple[int, ...] | None:
    """Refute a formula, with a proof that is checked.

    Parameters
    ----------
    seconds : limit for finding out whether there is a model, and for checking the proof.  In
        between the proof is made without one, as its solver cannot be interrupted, but only
        where another one has found in time that there is no model.

    Returns
    -------
    The refutation; or the true variables of a model, if there is one; or None, if the time is up.

    Raises
    ------
    ProofRejected : the checker does not accept the proof.
    """
    deadline = Deadline(seconds)
    if seconds is not None:
        answer = _within(formula, seconds)
        if answer is None or isinstance(answer, tuple):
            return answer
    with Solver(SOLVER, bootstrap_with=formula.clauses, with_proof=True) as solver:
        if solver.solve():
            return _true(solver.get_model())
        lines = [line for line in solver.get_proof() if line]
    if not lines or lines[-1].split() != ["0"]:
        lines.append("0")
    proof = "\n".join(lines) + "\n"
    try:
        found = check(formula.to_dimacs(), proof, deadline.remaining)
    except TimeoutError:
        return None
    if not found.accepted:
        raise ProofRejected(formula, found)
    return Refutation(formula, proof, (DRAT, PROPAGATION) if propagates(formula) else (DRAT,))


def _within(formula: Cnf, seconds: float) -> bool | tuple[int, ...] | None:
    """False if there is no model, its true variables if there is one, None if the time is up."""
    with Solver(INTERRUPTIBLE, bootstrap_with=formula.clauses) as solver:
        timer = threading.Timer(seconds, solver.interrupt)
        timer.daemon = True
        timer.start()
        try:
            answer: bool | None = solver.solve_limited(expect_interrupt=True)
        finally:
            timer.cancel()
        return _true(solver.get_model()) if answer else answer


def _true(model: Sequence[int]) -> tuple[int, ...]:
    return tuple(literal for literal in model if literal > 0)


def propagates(formula: Cnf) -> bool:
    """Whether unit propagation alone refutes a formula."""
    with Solver("minisat22", bootstrap_with=formula.clauses) as solver:
        possible, _ = solver.propagate()
        return not possible


def check(dimacs: str, proof: str, seconds: float | None = None) -> Check:
    """Check a DRAT proof of a formula, both as texts, by dratify, as a stranger would.

    Text that is no formula or no proof is rejected with its reason.  So is a proof without the
    empty clause, even where the formula needs none as propagation refutes it.

    Each step must follow by unit propagation (RUP), as all do that a solver has learned.  The
    steps that DRAT allows beyond (RAT) need not follow, and are sound only if what a deleted
    clause propagated is forgotten with it; dratify 0.1.10 keeps it, and so would accept proofs
    of formulas that have a model.

    Raises
    ------
    TimeoutError : `seconds` were not enough.
    """
    from dratify import DRATChecker, parse_dimacs, parse_proof

    deadline = Deadline(seconds)
    if sum(line.lstrip().startswith("p") for line in dimacs.splitlines()) != 1:
        return Check(False, "not readable: expected one line like 'p cnf 729 2000'")
    try:
        formula = parse_dimacs(dimacs, strict=True)
        steps = parse_proof(proof)
    except ValueError as error:
        return Check(False, f"not readable: {error}")
    checker = DRATChecker(formula, check_rat=False)
    for number, (kind, literals) in enumerate(steps, 1):
        if deadline.passed:
            raise TimeoutError(f"{seconds:g} s were not enough to check the proof")
        # dratify numbers variables from 0, and its literals are 2v and 2v + 1.
        if any(literal >> 1 >= formula.nvars for literal in literals):
            return Check(False, "it names a variable that the formula does not have", number)
        if not checker.check_step(kind, literals):
            return Check(False, "it does not follow by unit propagation", number)
        if checker.result.reached_empty:
            return Check(True)
    return Check(False, "the empty clause is not among its steps")
