"""Certificates: formulas against engines, and tampered proofs against the checker."""

from __future__ import annotations

import time
from collections import Counter
from itertools import combinations, islice

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


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_whole_states_agree_with_the_kernel(layout):
    """Also where there are several solutions, and where there is none."""
    random = np.random.default_rng(3)
    engine = get_engine("kernel")
    seen = set()
    for state, truth in states(layout, 4, 43):
        givens = np.array(state.puzzle)
        givens[random.choice(np.flatnonzero(givens), 2, False)] = 0
        unwritten = truth & ~sum(1 << c for c in range(layout.candidates) if state.placed >> c & 1)
        lost = int(random.choice(list(bits(unwritten))))
        for which in (state, State.from_digits(givens.tolist(), layout), state.without(1 << lost)):
            for candidate in random.choice(list(bits(which.open)), 4).tolist():
                for holds in (False, True):
                    denied = (
                        which.without(1 << candidate) if holds else which.with_placed(candidate)
                    )
                    found = refute(refutation(which, [Claim(candidate, holds, layout)]))
                    forced = engine.count(denied, 1).value == 0
                    assert isinstance(found, Refutation) is forced
                    seen.add((which is state, holds, forced))
    assert len(seen) == 8


def test_blocks_come_in_the_order_of_the_docstring():
    state, truth = next(states(boxes(2, 2), 1, 44))
    candidate = next(bits(state.open & ~truth))
    clauses = refutation(state, [Claim(candidate, False, state.layout)], (3, 20)).clauses
    # Two in conflict share a rule; each such pair is there once, unless one of it is closed.
    shared = (combinations(bits(rule.mask & state.open), 2) for rule in state.layout.rules)
    pairs = {(-one - 1, -other - 1) for both in shared for one, other in both}
    assert list(clauses[: len(pairs)]) == sorted(pairs, reverse=True)
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


def pigeons(holes: int) -> Cnf:
    """One pigeon more than there are holes: without a model, and hard to refute by resolution."""
    place = [[pigeon * holes + hole + 1 for hole in range(holes)] for pigeon in range(holes + 1)]
    apart = [(-a, -b) for hole in zip(*place, strict=True) for a, b in combinations(hole, 2)]
    return Cnf(f"{holes} holes", holes * (holes + 1), (*map(tuple, place), *apart))


def test_no_time_is_no_answer(monkeypatch):
    assert refute(pigeons(12), seconds=0) is None
    started = time.monotonic()
    assert refute(pigeons(12), seconds=0.1) is None
    assert time.monotonic() - started < 20
    assert isinstance(refute(pigeons(4), seconds=30), Refutation)
    # The check has what is left of the time.
    monkeypatch.setattr("gridcrux.proofs.refutation._within", lambda *_: False)
    assert refute(pigeons(4), seconds=0) is None
    found = refute(pigeons(4))
    with pytest.raises(TimeoutError, match="0 s were not enough"):
        check(found.formula.to_dimacs(), found.proof, seconds=0)


def test_with_enough_time_a_limit_changes_nothing():
    state, truth = next(states(NINE, 1, 45))
    either = refutation(State.empty(), [Claim(0, False), Claim(0, True)])
    assert isinstance(refute(either, seconds=30), tuple)
    formula = refutation(state, [Claim(next(bits(state.open & ~truth)), False)])
    assert refute(formula, seconds=30) == refute(formula)


def test_a_rejected_proof_is_never_reported(monkeypatch):
    def wrong(self):
        return ["3 0", "0"]

    monkeypatch.setattr("pysat.solvers.Cadical153.get_proof", wrong)
    with pytest.raises(ProofRejected, match="rejected at step 2"):
        refute(Cnf("needs search", 3, (*SQUARE.clauses, (3, 1), (-3, 1, 2))))


FOUR = SQUARE.to_dimacs()


@pytest.mark.parametrize(
    ("dimacs", "proof", "reason", "step"),
    [
        (FOUR, "0\n", "not follow", 1),
        (FOUR, "1 0\n", "the empty clause", None),
        (FOUR, "", "the empty clause", None),
        (FOUR, "1 x 0\n", "not readable: proof line 1", None),
        (FOUR, "1 0\n0", "", None),
        (FOUR, "1 0\n2", "not readable", None),
        (FOUR, "1 99999999999 0\n0\n", "a variable that", 1),
        (FOUR.replace("cnf 2 4", "cnf 2 5"), "1 0\n0\n", "not readable", None),
        (FOUR.replace("p cnf 2 4\n", ""), "1 0\n0\n", "not readable: expected", None),
        ("nonsense", "0\n", "not readable", None),
        # Propagation refutes it, but a proof has to say so.
        ("p cnf 1 2\n1 0\n-1 0\n", "", "the empty clause", None),
        ("p cnf 1 2\n1 0\n-1 0\n", "1 0\n", "the empty clause", None),
        # It has a model.  What the deleted clause propagated must not be used for a RAT step.
        ("p cnf 2 2\n1 0\n-1 -2 0\n", "d -1 -2 0\n2 0\n0\n", "not follow", 2),
    ],
)
def test_what_is_no_proof_is_rejected_with_its_reason(dimacs, proof, reason, step):
    found = check(dimacs, proof)
    assert found.accepted is not bool(reason)
    assert found.step == step
    if reason:
        assert reason in found.reason


def test_no_proof_is_accepted_of_a_small_formula_with_a_model():
    random = np.random.default_rng(5)
    literals = [x for v in (1, 2, 3) for x in (v, -v)]
    tried = 0
    while tried < 2000:
        size = int(random.integers(2, 8))
        clauses = [
            random.choice(literals, random.integers(1, 4), False).tolist() for _ in range(size)
        ]
        if not is_satisfiable(clauses):
            continue
        tried += 1
        lines = []
        for _ in range(int(random.integers(1, 6))):
            if random.random() < 0.5:
                lines.append(["d", *clauses[int(random.integers(size))]])
            else:
                lines.append(random.choice(literals, random.integers(1, 3), False).tolist())
        proof = "".join(" ".join(map(str, (*line, 0))) + "\n" for line in [*lines, []])
        dimacs = Cnf("small", 3, tuple(map(tuple, clauses))).to_dimacs()
        assert not check(dimacs, proof).accepted, (dimacs, proof)


def test_any_text_gets_an_answer():
    random = np.random.default_rng(6)
    texts = (FOUR, refute(SQUARE).proof)
    letters = [*"0123456789- \ndcp%x.", "\0", "\u0663", "\ud800"]
    answers = set()
    for number in range(1500):
        spoilt = list(texts[number % 2])
        for spot in random.integers(len(spoilt), size=2).tolist():
            spoilt[spot] = str(random.choice(letters))
        pair = ("".join(spoilt), texts[1]) if number % 2 == 0 else (texts[0], "".join(spoilt))
        found = check(*pair)
        assert found.accepted is (found.reason is None)
        answers.add((number % 2, found.accepted))
    assert len(answers) == 4


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
    yield "the denial denied", [*clauses[:-1], tuple(-x for x in clauses[-1])], lines
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


def three_literals(random) -> Cnf:
    """A random formula without a model that is not refuted by propagation."""
    while True:
        clauses = tuple(
            tuple((random.choice(30, 3, False) + 1) * random.choice([-1, 1], 3)) for _ in range(165)
        )
        clauses = tuple(tuple(map(int, clause)) for clause in clauses)
        if not is_satisfiable(clauses):
            return Cnf("three literals a clause", 30, clauses)


def formulas(random):
    """Without a model; some are refuted by propagation alone, more need search."""
    for layout, count in ((boxes(2, 3), 5), (JAGGED, 40), (NINE, 4)):
        for state, truth in states(layout, count, 46):
            false = random.permutation(list(bits(state.open & ~truth)))[:15].tolist()
            told = [refutation(state, [Claim(candidate, False, layout)]) for candidate in false]
            yield told[0]
            yield from [formula for formula in told[1:] if not propagates(formula)][:3]
    for _ in range(35):
        yield three_literals(random)


def test_tampered_proofs_are_told_from_those_that_still_hold():
    random = np.random.default_rng(1)
    made = [refute(formula) for formula in formulas(random)]
    assert all(isinstance(found, Refutation) for found in made)
    outcomes = Counter()
    for number, found in enumerate(made):
        searched = found.checked == (DRAT,)
        # Of another layout, or of another claim.
        other = made[(number + 101) % len(made)].proof
        for what, clauses, lines in mutants(found.formula, found.proof, other, random):
            changed = Cnf(what, found.formula.variables, tuple(clauses))
            told = check(changed.to_dimacs(), "\n".join(lines) + "\n")
            satisfiable = is_satisfiable(clauses)
            outcomes[searched, satisfiable, told.accepted] += 1
            if told.accepted:
                assert not satisfiable, what
                assert lines[-1] == "0", what
                assert implied(clauses, lines), what
            else:
                assert told.reason, what
    assert sum(outcomes.values()) >= MUTANTS
    # Where search is needed: a model; a bad proof of what has none; a proof that is still good.
    assert outcomes[True, True, False] > 50
    assert outcomes[True, False, False] > 200
    assert outcomes[True, False, True] > 100
    assert outcomes[False, True, False] > 20
