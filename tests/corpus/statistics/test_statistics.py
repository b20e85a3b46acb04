"""What every table of statistics keeps to, whatever it is about."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import NamedTuple

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.statistics import comparison, cooccurrence, rates, regression, survival

RANDOM = np.random.default_rng(17)
ROWS = 300


def study() -> pd.DataFrame:
    hard = RANDOM.poisson(2, ROWS)
    essential = [
        ", ".join(name for name in ("claiming", "x-wing") if RANDOM.random() < 0.3)
        for _ in range(ROWS)
    ]
    return pd.DataFrame(
        {
            "givens": RANDOM.integers(21, 30, ROWS),
            "hard_steps": pd.array(hard, "Int64"),
            "nodes": 1 + RANDOM.poisson(1 + hard),
            "solved": RANDOM.random(ROWS) < 0.7,
            "steps_claiming": RANDOM.integers(0, 2, ROWS),
            "steps_x_wing": RANDOM.integers(0, 2, ROWS),
            "essential_techniques": pd.array(essential, "str"),
            "time": RANDOM.integers(1, 4, ROWS),
            "event": RANDOM.random(ROWS) < 0.8,
            "weight": RANDOM.gamma(2, 1, ROWS),
            "group": RANDOM.integers(0, 120, ROWS),
        }
    )


STUDY = study()
FAST = {"resamples": 200}
FEATURES = ["used x-wing", "essential claiming", "hard_steps > 2"]
NUMBERS = ["givens", "hard_steps", "log10(nodes)"]


class Case(NamedTuple):
    """A function of a study, its columns, and those of them that a seed decides."""

    make: Callable[..., pd.DataFrame]
    columns: Mapping[str, str]
    seeded: tuple[str, ...] = ()


def halves(compare: Callable[..., pd.DataFrame], asked: list[str]) -> Callable[..., pd.DataFrame]:
    def make(frame: pd.DataFrame, **options: object) -> pd.DataFrame:
        middle = len(frame) // 2
        return compare(frame[:middle], frame[middle:], asked, **FAST | options)

    return make


CASES = {
    "rates": Case(
        lambda frame, **options: rates.rates(frame, FEATURES, **FAST | options),
        rates.RATES_COLUMNS,
        ("low",),
    ),
    "means": Case(
        lambda frame, **options: rates.means(frame, NUMBERS, **FAST | options),
        rates.MEANS_COLUMNS,
        ("mean_low",),
    ),
    "shares": Case(
        halves(comparison.compare_shares, FEATURES),
        comparison.SHARES_COLUMNS,
        ("difference_low",),
    ),
    "numbers": Case(
        halves(comparison.compare_numbers, NUMBERS),
        comparison.NUMBERS_COLUMNS,
        ("difference_low", "p"),
    ),
    "pairs": Case(
        partial(cooccurrence.cooccurrence, **FAST), cooccurrence.PAIRS_COLUMNS, ("lift_low",)
    ),
    "curve": Case(partial(survival.solved_curve, **FAST), survival.CURVE_COLUMNS, ("low",)),
    "coefficients": Case(
        lambda frame, **options: regression.coefficients(
            frame, "log10(nodes)", NUMBERS[:2], **options
        ),
        regression.COEFFICIENTS_COLUMNS,
    ),
    "predictions": Case(
        lambda frame, **options: regression.predictions(
            frame, "hard_steps", ["givens", "nodes"], model="poisson", **options
        ),
        regression.PREDICTIONS_COLUMNS,
        ("predicted",),
    ),
}

each_case = pytest.mark.parametrize("case", CASES.values(), ids=list(CASES))


@each_case
def test_columns_are_explained_and_the_study_is_left_alone(case):
    frame = STUDY.copy()
    assert list(case.make(frame).columns) == list(case.columns)
    pd.testing.assert_frame_equal(frame, STUDY)


@each_case
def test_the_seed_decides(case):
    once, again = case.make(STUDY), case.make(STUDY)
    pd.testing.assert_frame_equal(once, again)
    for column in case.seeded:
        assert not case.make(STUDY, seed=1)[column].equals(once[column]), column


@each_case
def test_weights_may_have_any_sum_and_can_be_left_out(case):
    once = case.make(STUDY)
    thrice = case.make(STUDY.assign(weight=3 * STUDY["weight"]))
    pd.testing.assert_frame_equal(once, thrice)
    bare = case.make(STUDY.drop(columns=["weight", "group"]))
    pd.testing.assert_frame_equal(case.make(STUDY, weights=None, groups=None), bare)
    named = STUDY.rename(columns={"weight": "importance", "group": "family"})
    other = case.make(named, weights="importance", groups="family")
    pd.testing.assert_frame_equal(once, other)


@each_case
def test_no_rows_are_told(case):
    with pytest.raises(ValueError, match="no rows"):
        case.make(STUDY[:0])


@each_case
def test_other_indices_change_nothing(case):
    shuffled = STUDY.set_axis(RANDOM.permutation(ROWS) + 1000)
    once, other = case.make(STUDY), case.make(shuffled)
    pd.testing.assert_frame_equal(once.reset_index(drop=True), other.reset_index(drop=True))
