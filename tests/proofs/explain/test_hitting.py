"""The search for sets that meet gaps: budgets, room, and nothing twice."""

from __future__ import annotations

import numpy as np

from gridcrux.engines.limits import Deadline
from gridcrux.grids.state import bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.explain.choices import FOUND, NONE, SPENT
from gridcrux.proofs.explain.ground import ground_of
from gridcrux.proofs.explain.hitting import gaps_at_random, gaps_beside, search
from gridcrux.proofs.explain.question import Question, positions, words_of
from gridcrux.techniques.repertoires import SINGLES
from gridcrux.techniques.solve import closure

STATE = closure(
    read_puzzle(
        "3.9.......2.9..6..1...2....9...5..4..6...157........1..7.....6...8....54...48.9.3"
    ),
    SINGLES,
)
GROUND = ground_of(STATE)
WORDS, RULE_WORDS = GROUND.members.shape[1], GROUND.touches.shape[1]


def denial(candidate: int):
    row = np.zeros((1, 3, WORDS), np.int64)
    row[0, 0] = words_of([candidate], WORDS)
    row[0, 1] = GROUND.conflicts[candidate]
    return row


def question(candidate: int) -> Question:
    return Question.of(
        GROUND,
        denial(candidate),
        np.array([99], np.int64),
        np.empty((0, WORDS), np.int64),
        np.empty((0, RULE_WORDS), np.int64),
    )


def run(candidate: int, most: int, budget: int = 1 << 40, room: int = 4000, limit: int = 1):
    choices, gaps = np.empty((room, WORDS), np.int64), np.empty((room, RULE_WORDS), np.int64)
    found = np.empty((limit, RULE_WORDS), np.int64)
    random = np.array([7], np.int64)
    told = search(GROUND, denial(candidate), most, choices, gaps, 0, random, budget, found)
    return (
        told,
        [positions(row) for row in found[: told[1]]],
        [positions(g) for g in gaps[: told[2]]],
    )


def test_it_ends_as_it_says():
    spent, _, _ = run(0, 9, budget=1)
    assert spent[0] == SPENT
    assert spent[3] == 1
    full, _, _ = run(0, 9, room=1)
    assert full[0] == SPENT
    none, sets, _ = run(0, 0)
    assert (none[0], sets) == (NONE, [])


def test_every_set_meets_every_gap_and_none_comes_twice():
    seen = 0
    for candidate in range(0, len(GROUND.candidates), 7):
        for most in range(1, 5):
            told, sets, gaps = run(candidate, most, limit=500)
            if not sets:
                continue
            seen += len(sets)
            assert told[0] == NONE
            assert len({tuple(each) for each in sets}) == len(sets)
            assert all(set(each) & set(gap) for each in sets for gap in gaps)
            assert all(len(each) <= most for each in sets)
            first, one, _ = run(candidate, most)
            assert first[0] == FOUND
            assert one[0] in sets
            break
    assert seen > 20


def test_gaps_lie_beside_what_is_asked_and_belong_to_choices():
    asked = question(0)
    rules = [1, 5, 9]
    number = asked.gaps_beside(rules)
    # What is found twice is kept once.
    assert number >= asked.count > 0
    for gap, choice in zip(asked.known, asked.choices[: asked.count], strict=True):
        assert not set(gap) & set(rules)
        picked = positions(choice)
        assert 0 in picked
        touched = {r for i in picked for r in positions(GROUND.touches[i])}
        assert sorted(set(range(len(GROUND.rules))) - touched) == list(gap)
        assert not any(set(positions(GROUND.conflicts[i])) & set(picked) for i in picked)
    assert sorted(map(len, asked.known)) == list(map(len, asked.known))


def test_rules_that_explain_have_no_gap_beside_them():
    explained = 0
    for candidate in range(len(GROUND.candidates)):
        asked = question(candidate)
        least = (found for most in range(5) if (found := asked.sets(most, 1, Deadline(20))))
        if found := next(least, None):
            explained += 1
            fresh = question(candidate)
            assert fresh.explained_by(found[0])
            assert fresh.gaps_beside(found[0]) == 0
            assert not fresh.explained_by(found[0][1:])
    assert explained > 5


def test_room_grows_and_nothing_is_lost():
    asked = question(3)
    asked.choices, asked.gaps = asked.choices[:2].copy(), asked.gaps[:2].copy()
    asked.enrich(40, 10)
    assert 5 < asked.count <= 40
    before = set(asked.known)
    asked.gaps_beside([0, 1])
    assert before <= set(asked.known)
    assert len(set(asked.known)) == asked.count


def test_a_claim_that_fails_shows_a_choice_without_a_gap():
    truth = closure(STATE).open
    solved = next(i for i, c in enumerate(GROUND.candidates.tolist()) if truth >> c & 1)
    asked = question(solved)
    assert asked.whole_choice is None
    assert asked.sets(3, 1, Deadline(20)) == []
    asked.enrich(200, 400)
    whole = asked.whole_choice
    assert whole is not None
    chosen = sum(1 << int(GROUND.candidates[i]) for i in whole)
    alone = sum(1 << c for c in bits(STATE.open) if c not in set(GROUND.candidates.tolist()))
    assert closure(STATE).is_solved
    assert chosen | alone == truth


def test_random_gaps_and_gaps_beside_fill_no_more_than_there_is_room():
    room = 3
    choices, gaps = np.empty((room, WORDS), np.int64), np.empty((room, RULE_WORDS), np.int64)
    random = np.array([5], np.int64)
    assert gaps_at_random(GROUND, denial(0), 50, 4, 10, choices, gaps, 0, random) == room
    taken = words_of([2], RULE_WORDS)
    assert gaps_beside(GROUND, denial(0), taken, 9, choices, gaps, 0, random) == room
