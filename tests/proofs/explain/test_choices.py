"""Choices and gaps: what the search rests on, against definitions and python-sat."""

from __future__ import annotations

import numpy as np
import pytest
from numba import njit
from pysat.solvers import Solver

from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import bits
from gridcrux.proofs.explain.choices import FOUND, NONE, SPENT, enlarge, fit, gap_of
from gridcrux.proofs.explain.ground import ground_of
from gridcrux.proofs.explain.hitting import excluded_by, explains
from gridcrux.proofs.explain.narrow import narrow
from gridcrux.proofs.explain.question import positions, words_of
from samples import JAGGED, thinned_or_ended

LAYOUTS = [boxes(2, 2), latin(5), JAGGED, NINE]


@njit
def call_fit(ground, must, allowed, chosen, budget, random):
    return fit(ground, must, allowed, chosen, budget, random)


@njit
def call_enlarge(ground, must, fixed, barred, chosen, patience, random):
    enlarge(ground, must, fixed, barred, chosen, patience, random)


@njit
def call_gap(ground, chosen, gap):
    gap_of(ground, chosen, gap)


def states(layout, count=4, seed=83):
    return [state for state, _ in thinned_or_ended(layout, count, seed, 0.3)]


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_the_ground_is_the_state_numbered_anew(layout):
    for state in states(layout):
        ground = ground_of(state)
        candidates, rules = ground.candidates.tolist(), ground.rules.tolist()
        assert candidates == [c for c in bits(state.open) if layout.conflicts[c] & state.open]
        alone = set(bits(state.open)) - set(candidates)
        assert rules == [
            r for r, rule in enumerate(layout.rules) if not alone & set(bits(rule.mask))
        ]
        for i, c in enumerate(candidates):
            rivals = [j for j, d in enumerate(candidates) if layout.conflicts[c] >> d & 1]
            assert positions(ground.conflicts[i]) == rivals
            assert [j for j in ground.neighbours[i].tolist() if j >= 0] == rivals
            homes = [k for k, r in enumerate(rules) if layout.rules[r].mask >> c & 1]
            assert positions(ground.touches[i]) == homes
            assert sorted(k for k in ground.homes[i].tolist() if k >= 0) == homes
        for k, r in enumerate(rules):
            members = [i for i, c in enumerate(candidates) if layout.rules[r].mask >> c & 1]
            assert positions(ground.members[k]) == members
        kept = ground_of(state, keep=state.open)
        assert kept.candidates.tolist() == list(bits(state.open))


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_fit_finds_a_choice_if_and_only_if_there_is_one(layout):
    random = np.random.default_rng(7)
    seed = np.array([12345], np.int64)
    answers = set()
    for state in states(layout):
        ground = ground_of(state)
        count, w = ground.conflicts.shape
        rules = len(ground.rules)
        pairs = [[-i - 1, -j - 1] for i in range(count) for j in positions(ground.conflicts[i])]
        for _ in range(20):
            must = sorted(random.choice(rules, min(rules, int(random.integers(1, 9))), False))
            allowed = [i for i in range(count) if random.random() < 0.7]
            clauses = [*pairs, *([-i - 1] for i in range(count) if i not in allowed)]
            clauses += [[i + 1 for i in positions(ground.members[r])] for r in must]
            with Solver("minisat22", bootstrap_with=clauses) as solver:
                expected = FOUND if solver.solve() else NONE
            chosen = np.zeros(w, np.int64)
            words = words_of([int(r) for r in must], ground.touches.shape[1])
            answer = call_fit(ground, words, words_of(allowed, w), chosen, 1 << 40, seed)
            assert answer == expected
            answers.add(answer)
            picked = positions(chosen)
            if answer == FOUND:
                assert set(picked) <= set(allowed)
                assert not any(set(positions(ground.conflicts[i])) & set(picked) for i in picked)
                assert all(set(positions(ground.members[r])) & set(picked) for r in must)
            else:
                assert not picked
            hasty = call_fit(ground, words, words_of(allowed, w), chosen * 0, 0, seed)
            assert hasty == SPENT if expected == FOUND else hasty in (SPENT, NONE)
    assert answers == {FOUND, NONE}


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_enlarging_keeps_what_has_to_stay_and_leaves_no_room(layout):
    random = np.random.default_rng(8)
    seed = np.array([54321], np.int64)
    grown = 0
    for state in states(layout):
        ground = ground_of(state)
        count, w = ground.conflicts.shape
        for _ in range(10):
            fixed = int(random.integers(count))
            rivals = positions(ground.conflicts[fixed])
            barred = [i for i in range(count) if random.random() < 0.1 and i != fixed]
            must = random.choice(len(ground.rules), 3).tolist()
            chosen = words_of([fixed], w)
            allowed = [i for i in range(count) if i not in rivals and i not in barred]
            words = words_of(must, ground.touches.shape[1])
            if call_fit(ground, words, words_of(allowed, w), chosen, 1 << 40, seed) != FOUND:
                continue
            before = len(positions(chosen))
            call_enlarge(ground, words, words_of([fixed], w), words_of(barred, w), chosen, 50, seed)
            picked = positions(chosen)
            assert len(picked) >= before
            grown += len(picked) > before
            assert fixed in picked
            assert not set(picked) & set(barred)
            assert all(set(positions(ground.members[r])) & set(picked) for r in must)
            excluded = {j for i in picked for j in positions(ground.conflicts[i])}
            assert not excluded & set(picked)
            assert excluded | set(picked) | set(barred) == set(range(count))
            gap = np.zeros(ground.touches.shape[1], np.int64)
            call_gap(ground, chosen, gap)
            assert positions(gap) == [
                r for r, row in enumerate(ground.members) if not set(positions(row)) & set(picked)
            ]
    assert grown > 10


def test_what_is_closed_is_not_said_to_fall():
    state = next(state for state in states(NINE) if narrow(state))
    ground = ground_of(state)
    seed = np.array([1], np.int64)
    premises = max(narrow(state).values(), key=len)
    taken = words_of(
        [ground.rules.tolist().index(rule) for rule in premises], ground.touches.shape[1]
    )
    nothing = np.zeros(ground.members.shape[1], np.int64)
    fallen = np.flatnonzero(excluded_by(ground, taken, nothing, seed)).tolist()
    assert fallen
    closed = words_of(fallen[:1], ground.members.shape[1])
    again = np.flatnonzero(excluded_by(ground, taken, closed, seed)).tolist()
    assert fallen[0] not in again
    assert set(fallen[1:]) <= set(again)
    for candidate in fallen:
        denial = np.zeros((1, 3, ground.members.shape[1]), np.int64)
        denial[0, 0] = words_of([candidate], ground.members.shape[1])
        denial[0, 1] = ground.conflicts[candidate]
        assert explains(ground, denial, taken, seed)
        assert not explains(ground, denial, taken * 0, seed)
