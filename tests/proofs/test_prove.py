"""Verdicts against the kernel, explanations against SAT, and what is told of each."""

from __future__ import annotations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.names import Claim, NotationError, parse_claim
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.proofs.prove import Verdict, claims_in, prove, prove_each
from gridcrux.proofs.refutation import check, refutation
from gridcrux.techniques.repertoires import SINGLES
from gridcrux.techniques.solve import closure
from samples import JAGGED

LAYOUTS = [boxes(2, 2), boxes(2, 3), latin(5), JAGGED, NINE]
INKALA_2010 = "005300000800000020070010500400005300010070006003200080060500009004000030000009700"
"""A puzzle printed by newspapers in 2010."""

STALLED = closure(
    read_puzzle(
        "3.9.......2.9..6..1...2....9...5..4..6...157........1..7.....6...8....54...48.9.3"
    ),
    SINGLES,
)


def puzzles(layout: Layout, count: int, seed: int) -> list[State]:
    return [
        State.from_digits(item.puzzle.tolist(), layout) for item in minimal(count, seed, layout)
    ]


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_verdicts_are_what_the_solutions_have(layout):
    random = np.random.default_rng(5)
    for start in puzzles(layout, 4, 31):
        # With a given fewer there are mostly several solutions, and claims that fail.
        digits = list(start.puzzle)
        digits[int(random.choice([i for i, d in enumerate(digits) if d]))] = 0
        for state in (start, State.from_digits(digits, layout)):
            solutions = list(_some(get_engine("kernel").solutions(state), 400))
            if len(solutions) == 400:
                continue
            for candidate in random.choice(layout.candidates, 12):
                digit, cell = divmod(int(candidate), layout.cells)
                holding = sum(solution[cell] == digit + 1 for solution in solutions)
                for holds in (False, True):
                    # What rests on most of a 9x9 puzzle takes long to explain, not to prove.
                    proof = prove(
                        state, Claim(int(candidate), holds, layout), explain=layout != NINE
                    )
                    forced = holding == (len(solutions) if holds else 0)
                    assert proof.verdict is (Verdict.FORCED if forced else Verdict.REFUTED)
                    if forced:
                        refuted = proof.certificate
                        assert refuted is not None
                        assert check(refuted.formula.to_dimacs(), refuted.proof).accepted
                        if proof.explanation is None:
                            continue
                        assert proof.explanation.exact
                        step = proof.explanation.deduction
                        if not holds:
                            assert certify(step, state).holds
                            assert step.width < 2 or irreducible(step, state)
                    else:
                        assert proof.counterexample in solutions
                        assert (proof.counterexample[cell] == digit + 1) is not holds


def _some(items, most):
    for _, item in zip(range(most), items, strict=False):
        yield item


def test_a_claim_that_fails_is_shown_to_fail():
    state = read_puzzle("4..1 .1.. ..1. ....")
    proof = prove(state, "r4c4!=2")
    assert proof.verdict is Verdict.REFUTED
    assert proof.solutions == "several"
    assert proof.counterexample is not None
    assert proof.counterexample[15] == 2
    assert proof.sentence == "r4c4!=2 is not forced: there is a solution with r4c4=2."
    told = proof.as_dict()
    assert told["verdict"] == "refuted"
    assert told["explanation"] is told["certificate"] is None
    assert told["counterexample"][:4] == "4" + told["counterexample"][1:3] + "1"
    assert len(told["counterexample"]) == 16


def test_several_claims_are_shown_by_one_argument():
    each = prove_each(STALLED, ["r1c4!=1", "r6c4!=2", "r1c4!=1 r6c4!=2"])
    assert all(proof.verdict is Verdict.FORCED for proof in each)
    alone, other, both = [proof.explanation for proof in each]
    assert all(why.exact for why in (alone, other, both))
    assert max(alone.size, other.size) <= both.size <= alone.size + other.size
    assert certify(both.deduction, STALLED).holds
    assert irreducible(both.deduction, STALLED)
    assert [proof.explanation.size for proof in each] == [
        prove(STALLED, proof.claims).explanation.size for proof in each
    ]


def test_one_claim_that_fails_refutes_all():
    state = read_puzzle("1234 34.. 2... 4..1")
    proof = prove(state, "r2c3!=2, r2c3=2")
    assert proof.verdict is Verdict.REFUTED
    assert str(proof.failing) == "r2c3=2"


def test_without_a_solution_anything_is_forced():
    state = State.from_digits([1, 2, 3, 0, *[0] * 11, 4])
    proof = prove(state, "r2c3!=1")
    assert proof.solutions == "none"
    assert proof.verdict is Verdict.FORCED
    assert "as anything is where there is no solution" in proof.sentence


def test_time_that_runs_out_is_unknown_and_not_no():
    proof = prove(read_puzzle(INKALA_2010), "r1c1!=2", seconds=0)
    assert proof.verdict is Verdict.UNKNOWN
    assert proof.stopped_by == "seconds"
    assert proof.certificate is None
    assert proof.counterexample is None
    with pytest.raises(TypeError, match="no truth value"):
        bool(proof.verdict)


def test_claims_are_read_as_text():
    state = read_puzzle(INKALA_2010)
    both = (parse_claim(NINE, "r5c2!=4"), parse_claim(NINE, "r5c2=3"))
    assert claims_in(state, "r5c2!=4,  r5c2=3 r5c2!=4") == both == claims_in(state, iter(both))
    with pytest.raises(NotationError, match="no column 12"):
        claims_in(state, "r5c12!=4")
    with pytest.raises(ValueError, match="nothing is claimed"):
        claims_in(state, " , ")


def test_claims_about_what_is_written_or_closed():
    state = read_puzzle("1234 34.. 2... 4..1")
    written, closed, wrong = prove_each(state, ["r1c1=1", "r1c1!=3", "r1c1=3"])
    assert written.verdict is closed.verdict is Verdict.FORCED
    assert (written.explanation.size, closed.explanation.size) == (1, 0)
    assert wrong.verdict is Verdict.REFUTED


def test_everything_looks_right_in_a_notebook_and_in_a_table():
    proof = prove(STALLED, "r1c4!=1")
    assert "<svg" in proof._repr_html_()
    assert "r1c4!=1" in proof._repr_html_()
    row = proof.row()
    assert row["verdict"] == "forced"
    assert row["size"] == row["lower_bound"]
    assert str(proof).splitlines()[0] == "r1c4!=1 is forced."
    formula = refutation(proof.state, proof.claims)
    assert proof.certificate.formula == formula


def test_one_text_is_one_claim():
    state = State.from_digits([0, 2, 3, 4] + [0] * 12, boxes(2, 2))
    (proof,) = prove_each(state, "r1c1=1")
    assert proof.verdict is prove(state, "r1c1=1").verdict
