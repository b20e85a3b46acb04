"""Certificates: formulas against engines, and tampered proofs against the checker."""

from __future__ import annotations

from itertools import islice

import numpy as np
import pytest
from pysat.solvers import Solver

from gridcrux.corpus.sample import minimal
from gridcrux.encodings.cnf import Cnf
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits
from gridcrux.proofs.certify import certify
from gridcrux.proofs.refutation import (
    DRAT,
    PROPAGATION,
    ProofRejected,
    Refutation,
    check,
    propagates,
    refutation,
    refute,
)
from gridcrux.techniques.repertoires import SINGLES
from gridcrux.techniques.solve import closure, route
from samples import JAGGED

LAYOUTS = [boxes(2, 2), boxes(2, 3), latin(5), JAGGED, NINE]
MUTANTS = 1000
SQUARE = Cnf("all four clauses over two variables", 2, ((1, 2), (-1, 2), (1, -2), (-1, -2)))


def states(layout: Layout, count: int, seed: int):
    """Where singles stall, or the start; and the candidates of the solution."""
    for item in minimal(count, seed, layout):
        start = State.from_digits(item.puzzle.tolist(), layout)
        end = closure(start, SINGLES)
        yield (
            start if end.is_solved else end,
            State.from_digits(item.solution.tolist(), layout).open,
        )


def is_satisfiable(clauses) -> bool:
    with Solver("minisat22", bootstrap_with=clauses) as solver:
        return bool(solver.solve())


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_the_formula_is_satisfiable_if_the_claim_can_fail(layout):
    random = np.random.default_rng(2)
    for state, truth in states(layout, 3, 41):
        for candidate in random.choice(list(bits(state.open)), 6):
            holds = bool(truth >> int(candidate) & 1)
            right = Claim(int(candidate), holds, layout)
            wrong = Claim(int(candidate), not holds, layout)
            assert isinstance(refute(refutation(state, [right])), Refutation)
            model = refute(refutation(state, [wrong]), seconds=10)
            assert isinstance(model, tuple)
            assert sum(1 << variable - 1 for variable in model) == truth
            # Together they can fail as well.
            assert isinstance(refute(refutation(state, [right, wrong])), tuple)


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_premises_are_enough_where_they_are_for_the_certifier(layout):
    seen = set()
    for state, _ in states(layout, 3, 42):
        way = route(state)
        for before, step in islice(zip(way.states(), way, strict=False), 0, 40, 3):
            for candidate in list(bits(step.eliminates))[:1]:
                claim = Claim(candidate, False, layout)
                for premises in (step.premises, step.premises[1:]):
                    formula = refutation(before, [claim], premises)
                    refuted = isinstance(refute(formula), Refutation)
                    with Solver("glucose4", bootstrap_with=formula.clauses) as solver:
                        assert refuted is not solver.solve()
                    seen.add(refuted)
                    if premises == step.premises:
                        assert refuted
                        assert certify(step, before).holds
    assert seen == {True, False}


def test_whole_states_agree_with_the_kernel():
    random = np.random.default_rng(3)
    engine = get_engine("kernel")
    for state, _ in states(NINE, 6, 43):
        for candidate in random.choice(list(bits(state.open)), 8):
            found = refute(refutation(state, [Claim(int(candidate), False)]))
            possible = engine.count(state.with_placed(int(candidate)), 1).value
            assert isinstance(found, Refutation) is (possible == 0)


def test_blocks_come_in_the_order_of_the_docstring():
    state, truth = next(states(boxes(2, 2), 1, 44))
    candidate = next(bits(state.open & ~truth))
    clauses = refutation(state, [Claim(candidate, False, state.layout)], (3, 20)).clauses
    pairs = [c for c in clauses if len(c) == 2 and max(c) < 0]
    assert list(clauses[: len(pairs)]) == pairs
    assert clauses[len(pairs) : len(pairs) + 2] == tuple(
        tuple(c + 1 for c in bits(state.layout.rules[rule].mask)) for rule in (3, 20)
    )
    closed = tuple((-c - 1,) for c in bits(state.layout.full & ~state.open))
    assert clauses[len(pairs) + 2 :] == (*closed, (candidate + 1,))
    with pytest.raises(ValueError, match="nothing is claimed"):
        refutation(state, [])


def test_a_refutation_says_who_checked_it():
    found = refute(SQUARE)
    assert isinstance(found, Refutation)
    assert found.checked == (DRAT,)
    assert not propagates(SQUARE)
    chain = Cnf("chain", 2, ((1,), (-1, 2), (-2,)))
    assert refute(chain).checked == (DRAT, PROPAGATION)
    assert refute(Cnf("empty clause", 1, ((1,), ()))).checked == (DRAT, PROPAGATION)
    assert found.row()["clauses"] == 4
    assert check(found.as_dict()["cnf"], found.as_dict()["proof"]).accepted


def test_no_time_is_no_answer():
    state, truth = next(states(NINE, 1, 45))
    hard = refutation(State.empty(), [Claim(0, False), Claim(0, True)])
    assert isinstance(refute(hard, seconds=30), tuple)
    formula = refutation(state, [Claim(next(bits(state.open & ~truth)), False)])
    assert isinstance(refute(formula, seconds=30), Refutation)


def test_a_rejected_proof_is_never_reported(monkeypatch):
    def wrong(self):
        return ["3 0", "0"]

    monkeypatch.setattr("pysat.solvers.Cadical153.get_proof", wrong)
    with pytest.raises(ProofRejected, match="rejected at step 2"):
        refute(Cnf("needs search", 3, (*SQUARE.clauses, (3, 1), (-3, 1, 2))))


@pytest.mark.parametrize(
    ("dimacs", "proof", "reason"),
    [
        ("p cnf 2 4\n1 2 0\n-1 2 0\n1 -2 0\n-1 -2 0\n", "0\n", "neither RUP nor RAT"),
        ("p cnf 2 4\n1 2 0\n-1 2 0\n1 -2 0\n-1 -2 0\n", "1 0\n", "never derives"),
        ("p cnf 2 4\n1 2 0\n-1 2 0\n1 -2 0\n-1 -2 0\n", "", "never derives"),
        ("p cnf 2 4\n1 2 0\n-1 2 0\n1 -2 0\n-1 -2 0\n", "1 x 0\n", "not readable"),
        ("p cnf 2 5\n1 2 0\n-1 2 0\n1 -2 0\n-1 -2 0\n", "1 0\n0\n", "not readable"),
        ("nonsense", "0\n", "not readable"),
    ],
)
def test_what_is_no_proof_is_rejected_with_its_reason(dimacs, proof, reason):
    found = check(dimacs, proof)
    assert not found.accepted
    assert reason in found.reason


def mutants(formula: Cnf, proof: str, other: str, random):
    """Formula and proof with one thing wrong, and what it is."""
    lines = proof.splitlines()
    clauses = list(formula.clauses)
    adds = [i for i, line in enumerate(lines) if not line.startswith("d") and line != "0"]
    where = int(random.choice(adds)) if adds else 0
    words = lines[where].split()
    yield "a step dropped", clauses, [*lines[:where], *lines[where + 1 :]]
    if len(words) > 1:
        spot = int(random.integers(len(words) - 1))
        flipped = [*words]
        flipped[spot] = str(-int(words[spot]))
        yield "a literal flipped", clauses, [*lines[:where], " ".join(flipped), *lines[where + 1 :]]
        less = [*words[:spot], *words[spot + 1 :]]
        yield "a literal dropped", clauses, [*lines[:where], " ".join(less), *lines[where + 1 :]]
    yield "cut short", clauses, lines[: len(lines) // 2]
    yield "nothing but its end", clauses, ["0"]
    yield "another formula's proof", clauses, other.splitlines()
    # The denial is the last clause; a rule or a pair may be one that is needed.
    yield "the denial dropped", clauses[:-1], lines
    spot = int(random.integers(len(clauses)))
    yield "a clause dropped", [*clauses[:spot], *clauses[spot + 1 :]], lines
    changed = [*clauses]
    changed[spot] = tuple(-x if i == 0 else x for i, x in enumerate(clauses[spot]))
    yield "a literal of the formula flipped", changed, lines


def implied(clauses, lines) -> bool:
    """Whether another solver finds that each clause of a proof follows from what is before it."""
    with Solver("minisat22", bootstrap_with=clauses) as solver:
        for line in lines:
            if line.startswith("d"):
                continue
            literals = [int(word) for word in line.split()[:-1]]
            if solver.solve(assumptions=[-x for x in literals]):
                return False
            solver.add_clause(literals) if literals else None
    return True


def test_tampered_proofs_are_told_from_those_that_still_hold():
    random = np.random.default_rng(1)
    made = []
    for layout, count in ((boxes(2, 2), 25), (boxes(2, 3), 25), (JAGGED, 15), (NINE, 8)):
        for state, truth in states(layout, count, 46):
            for candidate in random.choice(list(bits(state.open & ~truth)), 3):
                found = refute(refutation(state, [Claim(int(candidate), False, layout)]))
                assert isinstance(found, Refutation)
                made.append(found)
    tried, accepted, rejected = 0, 0, 0
    for number, found in enumerate(made):
        # Of another layout, or of another claim.
        other = made[(number + 101) % len(made)].proof
        for what, clauses, lines in mutants(found.formula, found.proof, other, random):
            changed = Cnf(what, found.formula.variables, tuple(clauses))
            told = check(changed.to_dimacs(), "\n".join(lines) + "\n")
            tried += 1
            if told.accepted:
                accepted += 1
                assert not is_satisfiable(clauses), what
                assert implied(clauses, lines), what
            else:
                rejected += 1
                assert told.reason
                # What it does not accept has a step that does not follow by propagation, or no end.
            if is_satisfiable(clauses):
                assert not told.accepted, what
    assert tried >= MUTANTS
    assert min(accepted, rejected) > 100
