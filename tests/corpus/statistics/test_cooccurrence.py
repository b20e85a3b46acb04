"""Pairs against a table by hand, correlations of numpy and Fisher's test by its definition."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import hypergeom

from gridcrux.corpus.statistics.cooccurrence import cooccurrence

FEATURES = ["a", "b"]


def table(both: int, first: int, second: int, neither: int) -> pd.DataFrame:
    rows = [(1, 1)] * both + [(1, 0)] * first + [(0, 1)] * second + [(0, 0)] * neither
    return pd.DataFrame(rows, columns=FEATURES)


def test_a_pair_by_hand():
    study = table(12, 8, 18, 62)
    row = cooccurrence(study, FEATURES).iloc[0]
    assert row[["first_count", "second_count", "together"]].tolist() == [20, 30, 12]
    assert row["expected"] == pytest.approx(0.2 * 0.3)
    assert row["lift"] == pytest.approx(0.12 / 0.06)
    assert row["phi"] == pytest.approx(np.corrcoef(study["a"], study["b"])[0, 1])
    chances = hypergeom(100, 20, 30).pmf(np.arange(21))
    assert row["p"] == pytest.approx(chances[chances <= chances[12] * (1 + 1e-9)].sum())
    assert 1 < row["lift_low"] < 2 < row["lift_high"]


def test_essential_techniques_that_occur_are_compared_by_default():
    study = pd.DataFrame(
        {
            "essential_techniques": ["x-wing, swordfish", "x-wing", "", None, "claiming"],
            **{f"steps_{name}": 0 for name in ("claiming", "jellyfish", "x_wing", "swordfish")},
        }
    )
    found = cooccurrence(study)
    assert found[["first", "second"]].to_numpy().tolist() == [
        ["claiming", "x-wing"],
        ["claiming", "swordfish"],
        ["x-wing", "swordfish"],
    ]
    assert found["together"].tolist() == [0, 0, 1]
    assert (found["puzzles"] == 4).all()
    # Three p-values, so the least is worth three times as much.
    assert found["p_corrected"].min() == pytest.approx(min(1, 3 * found["p"].min()))


def test_weights_make_up_for_how_puzzles_were_drawn():
    """Half of the puzzles with `a` were dropped and the others count twice: the same shares."""
    study = table(12, 8, 18, 62)
    some = study[study.index.isin([*range(0, 20, 2), *range(20, 100)])]
    some = some.assign(weight=np.where(some["a"] == 1, 2.0, 1.0))
    one, two = (cooccurrence(each, FEATURES).iloc[0] for each in (study, some))
    for name in ("share", "expected", "lift", "phi"):
        assert two[name] == pytest.approx(one[name]), name
    assert two["p"] > one["p"]


def test_groups_of_copies_say_no_more_than_the_puzzles():
    study = table(12, 8, 18, 62)
    copies = pd.concat([study.assign(group=range(100))] * 6, ignore_index=True)
    one, two = (cooccurrence(each, FEATURES, resamples=4000).iloc[0] for each in (study, copies))
    assert two["p"] == pytest.approx(one["p"])
    assert two["lift_low"] == pytest.approx(one["lift_low"], rel=0.03)
    assert two["lift_high"] == pytest.approx(one["lift_high"], rel=0.03)


def test_what_no_puzzle_has_cannot_be_judged():
    row = cooccurrence(table(0, 10, 0, 20), FEATURES).iloc[0]
    assert row[["lift", "phi", "p", "p_corrected", "lift_low"]].isna().all()
    row = cooccurrence(table(2, 10, 5, 20), FEATURES).iloc[0]
    assert row[["lift_low", "lift_high"]].isna().all()
    assert row["p"] > 0


def test_intervals_of_lift_cover_the_truth(monkeypatch):
    # statsmodels collects garbage at each correction, which takes longer than all the rest.
    monkeypatch.setattr("gc.collect", lambda: 0)
    random = np.random.default_rng(7)
    covered = []
    for seed in range(400):
        first = random.random(400) < 0.3
        second = random.random(400) < np.where(first, 0.4, 0.2)
        study = pd.DataFrame({"a": first, "b": second, "weight": random.gamma(4, 1, 400)})
        row = cooccurrence(study, FEATURES, resamples=300, seed=seed).iloc[0]
        covered.append(row["lift_low"] <= 0.4 / 0.26 <= row["lift_high"])
    assert 0.92 <= np.mean(covered) <= 0.98


def test_errors_are_for_people():
    with pytest.raises(ValueError, match="1 of two features"):
        cooccurrence(table(1, 1, 1, 1), ["a"])
    with pytest.raises(ValueError, match="no puzzle of which all"):
        cooccurrence(pd.DataFrame({"a": [None, True], "b": [True, None]}), FEATURES)
    with pytest.raises(ValueError, match="essential_techniques"):
        cooccurrence(table(1, 1, 1, 1))
