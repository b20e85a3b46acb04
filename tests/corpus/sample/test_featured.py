"""What a search finds has one solution and cannot be solved without the technique."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal, symmetric_cells
from gridcrux.corpus.sample.exchange import NoSuchPuzzle, Outcome
from gridcrux.corpus.sample.featured import KIN, SEARCHES, Feature, distinct, near, rejection
from gridcrux.corpus.sample.grading import (
    ESSENTIAL,
    MOST,
    NEEDED,
    STEP,
    UNUSED,
    USED,
    grade_of,
    question_of,
)
from gridcrux.corpus.study.measure import STATUS, measure
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State
from gridcrux.logic.records import SOLVED
from gridcrux.logic.repertoire import UnknownTechnique
from gridcrux.proofs import essential
from gridcrux.techniques.repertoires import EVERYTHING, LEVELS
from gridcrux.techniques.solve import closure, route

FISH, SUBSETS = LEVELS["fish"], LEVELS["subsets"]
UP_TO_SKYSCRAPER = EVERYTHING.only(*EVERYTHING.names[: EVERYTHING.names.index("skyscraper") + 1])


def check(outcome, feature):
    """One solution, solved, and not without the technique; minimal unless the givens are fixed."""
    assert outcome.found
    layout, puzzle = feature.layout, outcome.sampled.puzzle
    state = State.from_digits(puzzle.tolist(), layout)
    assert get_engine("sat").count(state, 2).value == 1
    assert next(get_engine("sat").solutions(state)) == tuple(outcome.sampled.solution.tolist())
    found = essential.crux(state, feature.repertoire)
    assert found.solved
    assert feature.technique in found.essential
    assert not closure(state, feature.repertoire.without(feature.technique)).is_solved
    if feature.givens is not None:
        assert outcome.sampled.givens == feature.givens
        return
    for images in symmetric_cells(layout, feature.symmetry)[puzzle > 0]:
        fewer = puzzle.copy()
        fewer[images] = 0
        fewer_state = State.from_digits(fewer.tolist(), layout)
        assert get_engine("kernel").count(fewer_state, 2).value == 2


@pytest.mark.parametrize("search", SEARCHES)
@pytest.mark.parametrize(
    "feature",
    [
        Feature("hidden-single", FISH),
        Feature("naked-pair", SUBSETS.without("hidden-pair")),
        Feature("skyscraper", UP_TO_SKYSCRAPER),
        Feature("x-wing", FISH.without("swordfish"), none_harder=True),
        Feature("claiming", FISH, symmetry="half-turn"),
        Feature("pointing", LEVELS["locked"], givens=25),
        Feature("hidden-single", LEVELS["locked"], boxes(2, 3)),
    ],
    ids=lambda feature: feature.technique,
)
def test_the_technique_is_essential(search, feature):
    for outcome in SEARCHES[search](2, 1, feature):
        check(outcome, feature)
        given = outcome.sampled.puzzle > 0
        for cell, images in enumerate(symmetric_cells(feature.layout, feature.symmetry)):
            assert (given[images] == given[cell]).all()
        if feature.none_harder:
            state = State.from_digits(outcome.sampled.puzzle.tolist())
            order = feature.repertoire.names.index(feature.technique) + 1
            harder = set(feature.repertoire.names[order:])
            assert not harder & {step.technique for step in route(state, feature.repertoire).steps}


def test_near_misses_lead_to_what_is_rare():
    feature = Feature("x-wing", FISH)
    outcomes = list(near(2 * KIN, 2, feature))
    assert len(outcomes) == 2 * KIN
    for outcome in outcomes:
        check(outcome, feature)
    # By rejection it would be some 2,500 for each.
    assert sum(outcome.attempts for outcome in outcomes) < 1_500 * len(outcomes)
    # Kin are led away from each other.
    for one, two in pairwise(outcomes[:KIN]):
        given = [np.flatnonzero(each.sampled.puzzle) for each in (one, two)]
        assert len(np.intersect1d(*given)) < 0.9 * len(given[0])


def test_any_part_of_a_family_is_the_same():
    feature = Feature("claiming", FISH)
    whole = [outcome.sampled.line for outcome in near(2 * KIN, 5, feature)]
    part = [outcome.sampled.line for outcome in near(4, 5, feature, start=KIN - 2)]
    assert part == whole[KIN - 2 : KIN + 2]


def test_rejection_tests_as_many_as_the_share_of_the_feature_says():
    """Each item is the first of independent draws, so their mean number is one by the share."""
    feature = Feature("skyscraper", UP_TO_SKYSCRAPER)
    puzzles = np.array([item.puzzle for item in minimal(2000, 3)])
    found = measure(puzzles, NINE, feature.repertoire, 1)
    has = found.essential[:, -1] & (found.numbers[:, STATUS] == SOLVED)
    outcomes = list(rejection(80, 4, feature))
    tested = sum(outcome.attempts for outcome in outcomes)
    share, spread = has.mean(), (1 / len(outcomes) + 1 / has.sum()) ** 0.5
    assert abs(len(outcomes) / tested / share - 1) < 3 * spread


def test_the_highest_grade_is_that_of_essential_techniques():
    puzzles = np.array([item.puzzle for item in minimal(600, 5)])
    found = measure(puzzles, NINE, FISH, 1)
    solved = found.numbers[:, STATUS] == SOLVED
    for name in ("hidden-single", "claiming"):
        feature, question = Feature(name, FISH), question_of(name, FISH, NINE, 0, False)
        has = solved & found.essential[:, FISH.names.index(name)]
        assert has.any()
        for most in (0, MOST):
            grades = np.array([grade_of(question, puzzle, most) for puzzle in puzzles])
            assert (grades[has] == ESSENTIAL).all()
            # Where closures depend on the order, another order may do without it.
            beyond = puzzles[~has & (grades == ESSENTIAL)]
            assert len(beyond) <= 1
            assert not any(map(feature.is_in, beyond))
        assert all(map(feature.is_in, puzzles[has][:5]))


def test_grades_say_what_they_mean():
    name, repertoire = "naked-pair", SUBSETS
    question = question_of(name, repertoire, NINE, 0, False)
    seen = set()
    for item in minimal(700, 6):
        grade = grade_of(question, item.puzzle, MOST)
        state = State.from_digits(item.puzzle.tolist())
        if grade in (USED, NEEDED, ESSENTIAL - STEP):
            seen.add(grade)
            found = essential.crux(state, repertoire)
            assert found.solved
            assert found.techniques.get(name) != essential.ESSENTIAL
        if grade == USED:
            assert found.techniques[name] == essential.REPLACEABLE
            assert {s for step, s in found if step.technique == name} == {essential.IDLE}
        if grade == ESSENTIAL - STEP:
            others = (other for other in repertoire.names if other != name)
            fewer = [repertoire.without(other) for other in others]
            assert any(
                closure(state, each).is_solved and not closure(state, each.without(name)).is_solved
                for each in fewer
            )
        if grade == UNUSED and closure(state, repertoire).is_solved:
            assert not route(state, repertoire).counts()[name]
    assert seen == {USED, NEEDED, ESSENTIAL - STEP}


@pytest.mark.parametrize("search", SEARCHES)
def test_a_technique_that_another_includes_is_given_up(search):
    told = []
    feature = Feature("remote-pair", LEVELS["two-digit-cells"])
    (outcome,) = SEARCHES[search](1, 7, feature, limit=250, tell=told.append)
    assert (outcome.found, outcome.attempts, sum(told)) == (False, 250, 250)


@pytest.mark.parametrize("search", SEARCHES)
def test_an_item_depends_on_seed_and_number_alone(search):
    feature = Feature("hidden-single", FISH)
    whole = [outcome.sampled.line for outcome in SEARCHES[search](4, 8, feature)]
    assert [each.sampled.line for each in SEARCHES[search](2, 8, feature, start=2)] == whole[2:]
    assert len(set(whole)) == 4


def test_no_two_results_are_equal():
    first, second = minimal(2, 9)
    outcomes = [Outcome(i, item, 1) for i, item in enumerate((first, second, first, None, None))]
    assert [outcome.index for outcome in distinct(outcomes)] == [0, 1, 3, 4]


def test_what_cannot_be_is_refused():
    with pytest.raises(UnknownTechnique, match="skyscraper"):
        Feature("skyscraper", FISH)
    with pytest.raises(NoSuchPuzzle, match="16"):
        Feature("x-wing", FISH, givens=16)
    with pytest.raises(ValueError, match="spiral"):
        next(near(1, 1, Feature("x-wing", FISH, symmetry="spiral")))
