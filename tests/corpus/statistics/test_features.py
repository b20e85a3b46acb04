"""Features and numbers of puzzles against loops over rows, and what is said of wrong ones."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.rows import UnknownColumn
from gridcrux.corpus.statistics.features import (
    UnknownName,
    essential_flags,
    flags,
    numbers,
    used_flags,
)

STUDY = pd.DataFrame(
    {
        "solved": [True, False, True, True],
        "hard_steps": pd.array([3, 0, None, 7], "Int64"),
        "nodes": [1, 10, 100, 1],
        "steps_naked_pair": pd.array([1, 0, None, 2], "Int64"),
        "steps_x_wing": pd.array([0, 0, None, 1], "Int64"),
        "essential_techniques": ["naked-pair", "naked-pair, x-wing", None, ""],
    },
    index=[4, 5, 6, 7],
)


def rows(frame: pd.DataFrame) -> list[list[object]]:
    return [[None if each is pd.NA else each for each in row] for row in frame.to_numpy(object)]


def test_used_is_a_step_and_essential_a_name_in_the_list():
    assert list(used_flags(STUDY)) == list(essential_flags(STUDY)) == ["naked-pair", "x-wing"]
    assert rows(used_flags(STUDY)) == [[True, False], [False, False], [None, None], [True, True]]
    assert rows(essential_flags(STUDY)) == [
        [True, False],
        [True, True],
        [None, None],
        [False, False],
    ]
    assert list(essential_flags(STUDY).index) == list(STUDY.index)


def test_the_only_way_through_is_through_a_solved_puzzle():
    assert rows(essential_flags(STUDY, through=True))[1] == [False, False]
    assert rows(essential_flags(STUDY, through=True))[0] == [True, False]


def test_techniques_without_a_column_are_found_too():
    bare = pd.DataFrame({"essential_techniques": ["swordfish, claiming", ""]})
    assert rows(essential_flags(bare)) == [[True, True], [False, False]]
    assert list(essential_flags(bare)) == ["claiming", "swordfish"]


def test_features_by_series_function_formula_and_technique():
    asked = flags(
        STUDY,
        {
            "series": STUDY["nodes"] > 5,
            "function": lambda study: study["nodes"].to_numpy() > 5,
            "formula": "hard_steps > 2 and solved",
            "column": "solved",
            "technique": "essential x-wing",
            "used": "used x-wing",
        },
    )
    assert rows(asked) == [
        [False, False, True, True, False, False],
        [True, True, False, False, True, False],
        [True, True, None, True, None, None],
        [False, False, True, True, False, True],
    ]
    pd.testing.assert_frame_equal(flags(STUDY, essential_flags(STUDY)), essential_flags(STUDY))


def test_numbers_are_columns_or_formulas():
    table = numbers(STUDY, ["hard_steps", "log10(nodes)", "nodes"])
    np.testing.assert_array_equal(table["hard_steps"], [3, 0, np.nan, 7])
    np.testing.assert_array_equal(table["log10(nodes)"], [0, 1, 2, 0])
    # What is no number, like the logarithm of nought, is missing.
    assert np.isnan(numbers(STUDY, ["log10(hard_steps)"]).to_numpy()[1, 0])


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("hard_step > 3", "no column 'hard_step' in this study; did you mean hard_steps"),
        ("essential xwing", "no technique 'xwing'; did you mean x-wing"),
        ("node", "did you mean nodes"),
        ("fewest_hard_steps > 2", "comes with 'gridcrux study --needs'"),
    ],
)
def test_names_near_to_a_missing_one_are_told(asked, said):
    with pytest.raises((UnknownColumn, UnknownName), match=said):
        flags(STUDY, [asked])


@pytest.mark.parametrize(
    ("features", "said"),
    [
        (["hard_steps"], "'hard_steps' is not yes or no: it has values like"),
        (["nodes >"], "is no formula"),
        ([], "no feature"),
        ({"a": pd.Series([True] * 4)}, "other rows than the study"),
    ],
)
def test_what_is_no_feature_is_told(features, said):
    with pytest.raises(ValueError, match=said):
        flags(STUDY, features)


def test_what_is_no_number_is_told():
    with pytest.raises(ValueError, match="'essential_techniques' holds no numbers but texts"):
        numbers(STUDY, ["essential_techniques"])
    with pytest.raises(UnknownColumn, match="essential_techniques"):
        essential_flags(STUDY[["nodes"]])
    with pytest.raises(UnknownColumn, match="steps_"):
        used_flags(STUDY[["nodes"]])
