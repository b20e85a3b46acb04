"""What a question knows: every gap once, the small ones first, and nothing lost."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from gridcrux.engines.limits import Deadline
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import bits
from gridcrux.proofs.explain.ground import ground_of
from gridcrux.proofs.explain.question import Question, positions, words_of
from samples import possible, thinned_or_ended

FOUR = boxes(2, 2)
STATE, TRUTH = next(thinned_or_ended(FOUR, 1, 99, 0.2))
GROUND = ground_of(STATE)
WORDS, RULE_WORDS = GROUND.members.shape[1], GROUND.touches.shape[1]


def question(candidate: int, gaps: list[list[int]]) -> Question:
    denial = np.zeros((1, 3, WORDS), np.int64)
    denial[0, 0] = words_of([candidate], WORDS)
    denial[0, 1] = GROUND.conflicts[candidate]
    # What was chosen tells the rows apart.
    choices = [words_of([i % len(GROUND.candidates)], WORDS) for i in range(len(gaps))]
    return Question.of(
        GROUND,
        denial,
        np.array([5], np.int64),
        np.array(choices, np.int64).reshape(len(gaps), WORDS),
        np.array([words_of(gap, RULE_WORDS) for gap in gaps], np.int64).reshape(-1, RULE_WORDS),
    )


@settings(derandomize=True, deadline=None)
@given(st.sets(st.integers(0, 191)))
def test_words_hold_positions(places):
    words = words_of(sorted(places), 3)
    assert words.shape == (3,)
    assert positions(words) == sorted(places)


@settings(derandomize=True, deadline=None)
@given(
    st.lists(
        st.lists(st.integers(0, len(GROUND.rules) - 1), min_size=1, max_size=6, unique=True),
        max_size=30,
    )
)
def test_every_gap_is_kept_once_and_the_small_ones_come_first(gaps):
    asked = question(0, gaps)
    distinct = list(dict.fromkeys(tuple(sorted(gap)) for gap in gaps))
    # Of the same size they stay as they came, so that the answer does not depend on chance.
    assert asked.known == sorted(distinct, key=len)
    assert asked.whole_choice is None
    first = {tuple(sorted(gap)): i for i, gap in reversed(list(enumerate(gaps)))}
    for row, gap in zip(asked.choices, asked.known, strict=False):
        assert positions(row) == [first[gap] % len(GROUND.candidates)]


def test_a_choice_without_a_gap_is_told():
    asked = question(0, [[1, 2], [], [3]])
    assert asked.whole_choice == [1]


def test_its_sets_are_all_that_explain():
    """Up to three rules, against all of them, with nothing known and with much known."""
    rules, found = range(len(GROUND.rules)), 0
    numbers = GROUND.rules.tolist()
    for i, candidate in enumerate(GROUND.candidates.tolist()):
        if TRUTH >> candidate & 1:
            continue
        left = STATE.open & ~FOUR.conflicts[candidate]
        for size in range(4):
            least = [
                list(each)
                for each in combinations(rules, size)
                if not possible(FOUR, tuple(numbers[r] for r in each), left, 1 << candidate)
            ]
            for rich in (False, True):
                asked = question(i, [])
                if rich:
                    asked.enrich(50, 20)
                told = asked.sets(size, 1000, Deadline(None))
                assert told is not None
                assert sorted(told) == least
                assert all(asked.explained_by(each) for each in told)
            if least:
                found += 1
                break
    assert found > 3


def test_without_budget_and_time_it_is_not_said_that_there_is_none():
    false = [i for i, c in enumerate(GROUND.candidates.tolist()) if not TRUTH >> c & 1]
    assert len(list(bits(STATE.open))) > len(false) > 3
    for i in false:
        asked = question(i, [])
        told = asked.sets(9, 1, Deadline(0))
        assert told is None or asked.explained_by(told[0])
