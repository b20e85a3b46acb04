"""Smallest explanations against all smaller sets, and against each other."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.names import Claim, parse_claim
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.proofs.explain.explanation import NotForced
from gridcrux.proofs.explain.narrow import narrow
from gridcrux.proofs.explain.smallest import Explainer, smallest_explanation
from gridcrux.techniques.repertoires import DEFAULT, SINGLES
from gridcrux.techniques.solve import available, closure, route
from samples import JAGGED, possible, thinned_or_ended

SMALL = [boxes(2, 2), latin(4)]
STALLED = closure(
    read_puzzle(
        "3.9.......2.9..6..1...2....9...5..4..6...157........1..7.....6...8....54...48.9.3"
    ),
    SINGLES,
)


def explained(state: State, premises, *claims: Claim) -> bool:
    """Whether no denial can be true beside the premises, by trying all ways to satisfy them."""
    for claim in claims:
        if claim.holds:
            open_, chosen = state.open & ~(1 << claim.candidate), 0
        elif state.is_open(claim.candidate):
            open_ = state.open & ~state.layout.conflicts[claim.candidate]
            chosen = 1 << claim.candidate
        else:
            continue
        if possible(state.layout, tuple(premises), open_, chosen):
            return False
    return True


def all_least(state: State, *claims: Claim, most: int = 9) -> list[tuple[int, ...]]:
    """All explanations of the least size, by trying all sets."""
    rules = range(len(state.layout.rules))
    for size in range(most + 1):
        found = [each for each in combinations(rules, size) if explained(state, each, *claims)]
        if found:
            return found
    return []


def false_claims(state: State, truth: int) -> list[Claim]:
    return [Claim(c, False, state.layout) for c in bits(state.open & ~truth)]


@pytest.mark.parametrize("layout", SMALL, ids=lambda layout: layout.name)
def test_no_set_is_smaller_and_all_of_the_least_size_are_found(layout):
    sizes = set()
    for state, truth in thinned_or_ended(layout, 8, 91, 0.3):
        explainer = Explainer(state)
        for claim in false_claims(state, truth)[::3]:
            least = all_least(state, claim, most=3)
            why = explainer.smallest(claim)
            assert why.exact
            if not least:
                assert why.size > 3
                continue
            sizes.add(why.size)
            every, complete = explainer.all_smallest(claim)
            assert complete
            # A rule that is satisfied already is in no irreducible set.
            assert [each.premises for each in every] == sorted(least)
            assert why.premises in least
            some, complete = explainer.all_smallest(claim, limit=1)
            assert (len(some), complete) == (1, len(least) == 1)
    assert len(sizes) > 1


@pytest.mark.parametrize("layout", [boxes(2, 3), latin(5), JAGGED, NINE], ids=lambda x: x.name)
def test_explanations_are_certified_and_have_nothing_to_spare(layout: Layout):
    widest = 0
    for state, truth in thinned_or_ended(layout, 4, 92, 0.3):
        quick = narrow(state)
        explainer = Explainer(state)
        for claim in false_claims(state, truth)[::7]:
            why = explainer.smallest(claim)
            widest = max(widest, why.size)
            assert why.exact
            assert certify(why.deduction, state).holds
            assert irreducible(why.deduction, state)
            assert (claim.candidate in quick) is (why.size <= 2)
            if claim.candidate in quick:
                assert len(quick[claim.candidate]) == why.size
    assert widest > 2


def test_three_premises_are_needed_where_it_says_so():
    """All pairs of rules are tried on a 9x9 state; the 200 claims are in the benchmarks."""
    tried = 0
    held = [r for r, rule in enumerate(NINE.rules) if (rule.mask & STALLED.open).bit_count() > 1]
    truth = _truth(STALLED)
    for claim in false_claims(STALLED, truth):
        why = smallest_explanation(STALLED, claim)
        if why.size == 3 and tried < 3:
            tried += 1
            assert explained(STALLED, why.premises, claim)
            assert not any(explained(STALLED, pair, claim) for pair in combinations(held, 2))
    assert tried


def _truth(state: State) -> int:
    solution = next(get_engine("kernel").solutions(state))
    return State.from_digits(solution, state.layout).open


def test_what_is_asked_before_changes_no_size():
    claims = false_claims(STALLED, _truth(STALLED))[::5]
    alone = [Explainer(STALLED).smallest(claim).size for claim in claims]
    for order, seed in ((1, 2), (-1, 3)):
        explainer = Explainer(STALLED, seed=seed)
        told = {claim: explainer.smallest(claim).size for claim in claims[::order]}
        assert [told[claim] for claim in claims] == alone
        # Nor does it to ask again.
        assert [explainer.smallest(claim).size for claim in claims] == alone
    assert max(alone) > 5


def test_a_bounded_question_is_answered_at_the_bound():
    truth = _truth(STALLED)
    explainer = Explainer(STALLED)
    for claim in false_claims(STALLED, truth)[::9]:
        size = smallest_explanation(STALLED, claim).size
        assert explainer.within(size - 1, claim) is None
        found = explainer.within(size + 3, claim)
        assert found is not None
        assert found.size == size
        assert found.exact
    for candidate in list(bits(truth & STALLED.open))[:3]:
        assert explainer.within(3, Claim(candidate, False)) is None


def test_a_later_state_gives_what_a_new_explainer_gives():
    way = route(STALLED)
    explainer = Explainer(STALLED)
    for state in list(way.states())[1:12:3]:
        explainer.advance(state)
        for claim in false_claims(state, _truth(state))[::11]:
            why = explainer.smallest(claim)
            assert why.state == state
            assert why.size == smallest_explanation(state, claim).size
            assert certify(why.deduction, state).holds
            fallen = explainer.excluded(why.premises)
            assert fallen >> claim.candidate & 1
            assert fallen & ~state.open == 0
            for candidate in bits(fallen):
                assert explained(state, why.premises, Claim(candidate, False))
    with pytest.raises(ValueError, match="no later one"):
        explainer.advance(STALLED)


def test_excluded_is_all_that_falls():
    explainer = Explainer(STALLED)
    random = np.random.default_rng(4)
    for _ in range(12):
        premises = random.choice(len(NINE.rules), 2, replace=False).tolist()
        fallen = explainer.excluded(premises)
        for candidate in bits(STALLED.open):
            follows = explained(STALLED, premises, Claim(candidate, False))
            assert (fallen >> candidate & 1) == follows


@pytest.mark.parametrize("layout", SMALL, ids=lambda layout: layout.name)
def test_placements_and_joint_claims_on_small_grids(layout):
    random = np.random.default_rng(6)
    for state, truth in thinned_or_ended(layout, 6, 93, 0.4):
        also = state.open
        explainer = Explainer(state, also=also)
        true = [Claim(int(c), True, layout) for c in random.choice(list(bits(truth)), 4)]
        false = false_claims(state, truth)
        asked = [(claim,) for claim in true]
        asked += [(true[0], true[1]), (true[2], *false[:1]), tuple(false[:2]) or (true[3],)]
        for claims in asked:
            least = all_least(state, *claims, most=3)
            why = explainer.smallest(*claims)
            assert why.exact
            assert (why.premises in least) if least else why.size > 3


def test_what_stands_already_needs_no_premise_or_one():
    state = read_puzzle("1234 34.. 2... 4..1")
    assert smallest_explanation(state, parse_claim(state.layout, "r1c1!=3")).size == 0
    assert smallest_explanation(state, parse_claim(state.layout, "r1c1=1")).size == 1
    with pytest.raises(ValueError, match="had no rival"):
        Explainer(state).smallest(parse_claim(state.layout, "r1c1=1"))


def test_a_rule_without_candidates_explains_anything():
    state = State.from_digits([1, 2, 3, 0, *[0] * 11, 4])
    for name in ("r2c3!=1", "r2c3=1", "r1c1=2", "r1c1!=1"):
        why = smallest_explanation(state, parse_claim(state.layout, name))
        assert why.size == 1
        assert not state.layout.rules[why.premises[0]].mask & state.open


def test_a_claim_that_fails_has_a_solution_against_it():
    state = read_puzzle("4..1 .1.. ..1. ....")
    support = get_engine("kernel").support(state).occurs
    solutions = set(get_engine("kernel").solutions(state))
    for candidate in bits(state.open):
        if support >> candidate & 1:
            with pytest.raises(NotForced, match="does not follow") as raised:
                smallest_explanation(state, Claim(candidate, False, state.layout))
            assert raised.value.solution in solutions
            digit, cell = divmod(candidate, 16)
            assert raised.value.solution[cell] == digit + 1
        else:
            assert smallest_explanation(state, Claim(candidate, False, state.layout)).exact


def test_without_time_there_are_honest_bounds():
    claims = sorted(
        false_claims(STALLED, _truth(STALLED)),
        key=lambda claim: smallest_explanation(STALLED, claim).size,
    )
    claim = claims[-1]
    size = smallest_explanation(STALLED, claim).size
    told = []
    why = smallest_explanation(
        STALLED, claim, seconds=0, progress=lambda *bounds: told.append(bounds)
    )
    assert why.lower <= size <= why.size
    assert certify(why.deduction, STALLED).holds
    assert irreducible(why.deduction, STALLED)
    assert why.exact is (why.stopped_by is None)
    if not why.exact:
        assert why.bounds == f"between {why.lower} and {why.size}"


def test_wrong_questions_are_refused():
    explainer = Explainer(STALLED)
    with pytest.raises(ValueError, match="nothing is claimed"):
        explainer.smallest()
    with pytest.raises(ValueError, match="expected the same"):
        explainer.smallest(Claim(0, False, boxes(2, 2)))


def test_symmetric_puzzles_have_explanations_of_the_same_size():
    """Transposed and with other digits, a claim needs as many premises as before."""
    item = next(minimal(1, 94))
    start = closure(State.from_digits(item.puzzle.tolist()), SINGLES)
    digits = np.array([3, 1, 2, 6, 5, 4, 9, 8, 7])

    def turned(candidate: int) -> int:
        digit, cell = divmod(candidate, 81)
        return int(digits[digit] - 1) * 81 + cell % 9 * 9 + cell // 9

    other = State(NINE, sum(1 << turned(c) for c in bits(start.open)))
    for claim in false_claims(start, State.from_digits(item.solution.tolist()).open)[::9]:
        there = Claim(turned(claim.candidate), False)
        assert smallest_explanation(start, claim).size == smallest_explanation(other, there).size


@pytest.mark.parametrize("layout", [boxes(2, 3), JAGGED, NINE], ids=lambda layout: layout.name)
def test_no_technique_is_narrower_than_the_smallest_explanation(layout):
    """A contradiction would be a fault in one of them; the benchmarks try 10,000 deductions."""
    compared = tight = 0
    for state, _ in thinned_or_ended(layout, 4, 95, 0.3):
        explainer = Explainer(state)
        for step in available(state, DEFAULT):
            for candidate in list(bits(step.eliminates))[:1]:
                claim = Claim(candidate, False, layout)
                found = explainer.within(step.width, claim)
                assert found is not None, step
                compared += 1
                tight += found.size == step.width
    assert compared > 50
    assert tight > 10
