"""Smallest explanations where it gets hard: every stage, claims that fail, states at the edge."""

from __future__ import annotations

import subprocess
import sys
from itertools import combinations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.proofs.explain.explanation import NotForced
from gridcrux.proofs.explain.narrow import narrow
from gridcrux.proofs.explain.question import Question
from gridcrux.proofs.explain.smallest import Explainer, smallest_explanation
from gridcrux.techniques.repertoires import SINGLES
from gridcrux.techniques.solve import closure
from samples import JAGGED, possible, thinned_or_ended

FOUR = boxes(2, 2)
DONE = [1, 2, 3, 4, 3, 4, 1, 2, 2, 1, 4, 3, 4, 3, 2, 1]
DEEP = ".412.6.......5..3.5.7......4.57.........1.74.......6...764.98.5...1...........396"
"""Here some claims need more premises than the compiled search finds before it gives up."""
DEEP_STATE = closure(read_puzzle(DEEP), SINGLES)
DEEP_TRUTH = State.from_digits(next(get_engine("kernel").solutions(DEEP_STATE))).open
DEEP_CLAIM = Claim(8 * 81 + 7 * 9 + 2, False)


def refuted(state: State, premises, candidate: int) -> bool:
    layout = state.layout
    return not possible(
        layout, tuple(premises), state.open & ~layout.conflicts[candidate], 1 << candidate
    )


def disagrees(solution: tuple[int, ...], claim: Claim) -> bool:
    digit, cell = divmod(claim.candidate, claim.layout.cells)
    return (solution[cell] == digit + 1) is not claim.holds


def check_refusal(error: NotForced, state: State, *claims: Claim) -> None:
    """Its solution is one, fits the state, and breaks a claim."""
    chosen = State.from_digits(error.solution, state.layout).open
    assert chosen & ~state.open == 0
    assert all((rule.mask & chosen).bit_count() == 1 for rule in state.layout.rules)
    assert any(disagrees(error.solution, claim) for claim in claims)


def small_claims(most: int, count: int) -> list[tuple[State, int, int]]:
    """States where singles stall, candidates that few premises exclude, and how many do."""
    found: list[tuple[State, int, int]] = []
    for item in minimal(60, 96):
        state = closure(State.from_digits(item.puzzle.tolist()), SINGLES)
        explainer = Explainer(state)
        false = state.open & ~State.from_digits(item.solution.tolist()).open
        for candidate in list(bits(false))[::40]:
            why = explainer.within(most, Claim(candidate, False))
            if why is not None and why.size == most:
                found.append((state, candidate, why.size))
        if len(found) >= count:
            return found[:count]
    raise AssertionError("too few claims")


def test_on_whole_grids_no_smaller_set_explains():
    for state, candidate, size in small_claims(3, 12):
        held = [r for r, rule in enumerate(NINE.rules) if (rule.mask & state.open).bit_count() > 1]
        for less in range(size):
            assert not any(refuted(state, each, candidate) for each in combinations(held, less))


def test_all_explanations_by_two_on_whole_grids():
    for state, candidate, _ in small_claims(2, 3):
        pairs = [
            each
            for each in combinations(range(len(NINE.rules)), 2)
            if refuted(state, each, candidate)
        ]
        every, complete = Explainer(state).all_smallest(Claim(candidate, False))
        assert complete
        assert [each.premises for each in every] == pairs


@pytest.mark.parametrize("layout", [FOUR, latin(5), JAGGED, NINE], ids=lambda layout: layout.name)
def test_two_premises_do_where_the_closure_by_two_says_so(layout):
    for state, _ in thinned_or_ended(layout, 2, 97, 0.3):
        quick, explainer = narrow(state), Explainer(state, also=state.open)
        for candidate in bits(state.open):
            why = explainer.within(2, Claim(candidate, False, layout))
            assert (why and why.size) == (len(quick[candidate]) if candidate in quick else None)


def gives_up(*_: object, **__: object) -> None:
    """In place of `Question.sets`: as if its budget were spent at once."""


def test_cp_sat_alone_finds_the_same_sizes(monkeypatch):
    asked = []
    for state, truth in thinned_or_ended(FOUR, 4, 98, 0.3):
        asked += [(state, Claim(c, False, FOUR)) for c in list(bits(state.open & ~truth))[::4]]
    false = DEEP_STATE.open & ~DEEP_TRUTH
    asked += [(DEEP_STATE, Claim(c, False)) for c in list(bits(false))[::32]]
    sizes = [smallest_explanation(state, claim).size for state, claim in asked]
    monkeypatch.setattr(Question, "sets", gives_up)
    for (state, claim), size in zip(asked, sizes, strict=True):
        why = smallest_explanation(state, claim)
        assert (why.size, why.lower, why.stopped_by) == (size, size, None)
        bounded = Explainer(state, also=1 << claim.candidate).within(size, claim)
        assert bounded is not None
        assert bounded.size == size
        assert size == 0 or Explainer(state).within(size - 1, claim) is None
    assert max(sizes) > 5


@pytest.mark.parametrize("seconds", [None, 0, 20])
def test_claims_that_fail_are_refused_after_every_stage(monkeypatch, seconds):
    several = read_puzzle("4..1 .1.. ..1. ....")
    support = get_engine("kernel").support(several).occurs
    fails = [Claim(c, False, FOUR) for c in bits(support)]
    fails += [Claim(c, True, FOUR) for c in bits(several.open) if FOUR.conflicts[c] & support]
    falls = [Claim(c, False, FOUR) for c in bits(several.open & ~support)]
    for stage in range(2):
        if stage:
            monkeypatch.setattr(Question, "sets", gives_up)
        for claim in fails:
            # A claim that follows, said with it, does not save it.
            for claims in ((claim,), (falls[0], claim)):
                explainer = Explainer(several, also=several.open)
                with pytest.raises(NotForced) as raised:
                    explainer.smallest(*claims, seconds=seconds)
                check_refusal(raised.value, several, *claims)
                with pytest.raises(NotForced):
                    explainer.all_smallest(*claims, seconds=seconds)
        if seconds != 0:
            assert Explainer(several, also=several.open).within(20, fails[0]) is None


def test_a_claim_that_fails_is_refused_where_the_search_gives_up():
    """No grid of 25 x 25 is filled by luck: the budget ends before a solution is met."""
    layout = boxes(5, 5)
    random = np.random.default_rng(1)
    digits = np.array([(5 * (r % 5) + r // 5 + c) % 25 + 1 for r in range(25) for c in range(25)])
    digits = random.permutation(25)[digits - 1] + 1
    truth = State.from_digits(digits.tolist(), layout).open
    given = np.where(random.random(625) < 0.4, digits, 0)
    state = closure(State.from_digits(given.tolist(), layout), SINGLES)
    claim = Claim(next(c for c in bits(truth) if layout.conflicts[c] & state.open), False, layout)
    with pytest.raises(NotForced) as raised:
        smallest_explanation(state, claim, seconds=0)
    check_refusal(raised.value, state, claim)


def test_the_solution_fits_the_state_one_has_gone_on_to():
    several = read_puzzle("4..1 .1.. ..1. ....")
    explainer = Explainer(several)
    support = get_engine("kernel").support(several).occurs
    choice = next(c for c in bits(support) if FOUR.conflicts[c] & support)
    explainer.smallest(Claim(next(bits(several.open & ~support)), False, FOUR))
    later = several.with_placed(choice)
    explainer.advance(later)
    with pytest.raises(NotForced) as raised:
        explainer.smallest(Claim(choice, False, FOUR))
    check_refusal(raised.value, later, Claim(choice, False, FOUR))


def test_a_solved_state_has_nothing_to_explain():
    state = State.from_digits(DONE)
    explainer = Explainer(state)
    candidate = next(bits(state.open))
    with pytest.raises(NotForced) as raised:
        explainer.smallest(Claim(candidate, False, FOUR))
    assert raised.value.solution == tuple(DONE)
    assert explainer.within(3, Claim(candidate, False, FOUR)) is None
    closed = next(bits(FOUR.conflicts[candidate]))
    assert explainer.smallest(Claim(closed, False, FOUR)).size == 0
    with pytest.raises(NotForced):
        explainer.smallest(Claim(closed, True, FOUR))
    broken = state.without(1 << candidate)
    why = Explainer(broken).smallest(Claim(closed, True, FOUR))
    assert FOUR.rules[why.premises[0]].mask & broken.open == 0
    assert why.size == 1


def test_a_rule_that_loses_its_last_candidate_later_is_not_overlooked():
    state = State.from_digits([1, 2, 3, 0, *[0] * 12])
    alone = next(c for c in bits(state.open) if not FOUR.conflicts[c] & state.open)
    later = state.without(1 << alone)
    claim = Claim(next(c for c in bits(later.open) if FOUR.conflicts[c] & later.open), False, FOUR)
    assert Explainer(later).smallest(claim).size == 1
    explainer = Explainer(state)
    with pytest.raises(ValueError, match="had no rival"):
        explainer.advance(later)
    assert explainer.state == state
    kept = Explainer(state, also=1 << alone)
    kept.advance(later)
    assert kept.smallest(claim).size == 1


def test_bounds_are_honest_whenever_the_time_ends(monkeypatch):
    size = smallest_explanation(DEEP_STATE, DEEP_CLAIM).size
    # So that the search gives up early, and the time matters.
    monkeypatch.setattr("gridcrux.proofs.explain.question.STAGES", ((0, 50),))
    stopped = 0
    told: list[tuple[int, int]] = []
    for seconds in (0, 0.01, 0.1):
        why = smallest_explanation(
            DEEP_STATE, DEEP_CLAIM, seconds=seconds, progress=lambda *both: told.append(both)
        )
        assert why.lower <= size <= why.size
        assert why.exact is (why.stopped_by is None)
        assert why.stopped_by in (None, "seconds")
        assert certify(why.deduction, DEEP_STATE).holds
        assert irreducible(why.deduction, DEEP_STATE)
        stopped += not why.exact
    assert stopped
    assert all(lower <= size <= best for lower, best in told)
    with pytest.raises(TimeoutError, match="give more time"):
        Explainer(DEEP_STATE).within(size, DEEP_CLAIM, seconds=0)
    one, complete = Explainer(DEEP_STATE).all_smallest(DEEP_CLAIM, seconds=0)
    assert (len(one), complete) == (1, False)
    assert one[0].stopped_by == "seconds"


@pytest.mark.parametrize("seed", [0, 2, 77])
def test_the_seed_changes_no_size_of_a_deep_claim(seed):
    size = smallest_explanation(DEEP_STATE, DEEP_CLAIM).size
    why = Explainer(DEEP_STATE, seed=seed).smallest(DEEP_CLAIM)
    assert why.size == size
    assert certify(why.deduction, DEEP_STATE).holds


def test_a_deep_claim_has_the_same_explanation_in_every_process():
    ask = (
        "from gridcrux.grids.names import Claim\n"
        "from gridcrux.grids.text import read_puzzle\n"
        "from gridcrux.proofs.explain.smallest import smallest_explanation\n"
        "from gridcrux.techniques.repertoires import SINGLES\n"
        "from gridcrux.techniques.solve import closure\n"
        f"state = closure(read_puzzle({DEEP!r}), SINGLES)\n"
        f"print(smallest_explanation(state, Claim({DEEP_CLAIM.candidate}, False)))\n"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", ask],
            env={"PYTHONHASHSEED": seed, "PATH": ""},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert told == {f"{smallest_explanation(DEEP_STATE, DEEP_CLAIM)}\n"}
