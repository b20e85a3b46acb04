"""Effective sizes by hand, blocks by counting, and what is said of wrong weights."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.rows import UnknownColumn
from gridcrux.corpus.statistics import weighting
from gridcrux.corpus.statistics.weighting import Weighting

STUDY = pd.DataFrame({"weight": [1.0, 1.0, 2.0], "group": ["a", "a", "b"]})
ALL = np.ones(3, bool)


def test_effective_size_by_hand():
    """Kish: (1 + 1 + 2)^2 / (1 + 1 + 4) of puzzles, (2 + 2)^2 / (4 + 4) of groups."""
    assert Weighting.of(STUDY, "weight", None, 0).effective(ALL) == pytest.approx(16 / 6)
    assert Weighting.of(STUDY, "weight", "group", 0).effective(ALL) == pytest.approx(2)
    assert Weighting.of(STUDY, None, None, 0).effective(ALL) == 3
    assert Weighting.of(STUDY, None, "group", 0).effective(ALL) == pytest.approx(9 / 5)


def test_totals_are_sums_over_groups():
    found = Weighting.of(STUDY, "weight", "group", 0)
    assert found.totals(np.array([1, 10, 100])).tolist() == [11, 200]
    assert not found.plain
    assert Weighting.of(STUDY[[]].assign(x=0), "weight", "group", 0).plain


def test_blocks_have_equal_numbers_of_whole_groups(monkeypatch):
    monkeypatch.setattr(weighting, "UNITS", 10)
    groups = np.repeat(np.arange(57), 3)
    found = Weighting.of(pd.DataFrame({"group": groups}), None, "group", 5)
    assert (found.units, found.groups, found.method) == (10, 57, "bootstrap of blocks")
    pairs = pd.DataFrame({"group": found.group, "unit": found.unit}).drop_duplicates()
    assert len(pairs) == 57
    assert pairs["unit"].value_counts().isin([5, 6]).all()


@pytest.mark.parametrize("bad", [0.0, -1.0, np.nan, np.inf])
def test_a_weight_is_above_nought(bad):
    study = pd.DataFrame({"weight": [1.0, bad]})
    with pytest.raises(ValueError, match="1 of 2 weights"):
        Weighting.of(study, "weight", None, 0)


def test_a_missing_column_is_told():
    with pytest.raises(UnknownColumn, match="did you mean weight"):
        Weighting.of(STUDY, "weights", None, 0)


def test_whoever_has_no_group_is_one_alone():
    mixed = pd.DataFrame({"weight": [2.0] * 5, "group": ["a", None, "b", None, "a"]})
    found = Weighting.of(mixed, "weight", "group", 0)
    assert found.group.tolist() == [0, 2, 1, 3, 0]
    assert not found.plain
    assert Weighting.of(mixed[1:4], "weight", "group", 0).plain
    assert not Weighting.of(mixed[1:4].assign(weight=[1, 2, 2]), "weight", "group", 0).plain
