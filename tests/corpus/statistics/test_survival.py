"""Curves against Kaplan-Meier by hand, a textbook's data, rates, and simulated truth."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy.stats import CensoredData, binomtest
from scipy.stats import ecdf as scipy_ecdf

from gridcrux.corpus.statistics.survival import log_rank, solved_curve, solving_times

LEVELS = ["singles", "subsets", "fish"]

TREATED = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
UNTREATED = "1 1 2 2 3 4 4 5 5 8 8 8 8 11 11 12 12 15 17 22 23"
"""Weeks to relapse, + for censored: Freireich and others, Blood 21 (1963), 699-716, as in Cox and
Oakes, "Analysis of Survival Data" (1984), table 1.1 (from memory)."""


def weeks(text: str) -> pd.DataFrame:
    each = text.split()
    return pd.DataFrame(
        {
            "time": [int(word.strip("+")) for word in each],
            "event": [not word.endswith("+") for word in each],
        }
    )


def test_levels_are_places_and_unsolved_puzzles_censored_at_the_last():
    study = pd.DataFrame({"solved_by": ["fish", None, "singles", "singles"]})
    times = solving_times(study, "solved_by", levels=LEVELS)
    assert times["time"].tolist() == [3, 3, 1, 1]
    assert times["event"].tolist() == [True, False, True, True]
    curve = solved_curve(times, levels=LEVELS)
    assert curve["label"].tolist() == LEVELS
    assert curve["solved"].tolist() == pytest.approx([0.5, 0.5, 0.75])
    assert curve[["at_risk", "events", "censored"]].to_numpy().tolist() == [
        [4, 2, 0],
        [2, 0, 0],
        [2, 1, 1],
    ]


def test_widths_by_hand():
    """Widths 1, 1, 2, 3, at least 2, at least 3, and 4.

    "At least 2" is known to be wider than 1 only, so it leaves after 1, and "at least 3" after 2:
    1 - 5/7 = 2/7 are solved by 1; 1 - 5/7 * 3/4 by 2 of 4 left; then 2 are left, and one goes.
    """
    study = pd.DataFrame(
        {
            "width": pd.array([1, 1, 2, 3, None, None, 4], "Int64"),
            "at_least": [1, 1, 2, 3, 2, 3, 4],
        }
    )
    times = solving_times(study, "width", at_least="at_least")
    assert times["time"].tolist() == [1, 1, 2, 3, 1, 2, 4]
    curve = solved_curve(times)
    expected = [2 / 7, 1 - 5 / 7 * 3 / 4, 1 - 5 / 7 * 3 / 4 * 1 / 2, 1]
    assert curve["solved"].tolist() == pytest.approx(expected)
    assert curve["at_risk"].tolist() == [7, 4, 2, 1]
    # Without a bound what is missing leaves at the end.
    assert solving_times(study, "width")["time"].tolist() == [1, 1, 2, 3, 4, 4, 4]


def test_a_textbook_curve():
    curve = solved_curve(weeks(TREATED)).set_index("time")
    published = {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}
    for week, share in published.items():
        assert 1 - curve.loc[week, "solved"] == pytest.approx(share, abs=6e-4), week
    # scipy has a Kaplan-Meier estimate and Greenwood's error of its own.
    data = weeks(TREATED)
    other = scipy_ecdf(
        CensoredData(data.time[data.event].to_numpy(), right=data.time[~data.event].to_numpy())
    ).sf
    np.testing.assert_allclose(1 - curve["solved"], other.probabilities)
    log_log = other.confidence_interval(0.95, method="log-log")
    for ends, column in ((log_log.low, "high"), (log_log.high, "low")):
        near = 1 - ends.probabilities[:15]
        np.testing.assert_allclose(curve[column].iloc[:15], near, atol=0.05)


def test_without_censoring_the_interval_is_that_of_a_share():
    study = pd.DataFrame({"solved_by": ["singles"] * 30 + ["subsets"] * 12 + ["fish"] * 8})
    curve = solved_curve(solving_times(study, "solved_by", levels=LEVELS), levels=LEVELS)
    for row, count in zip(curve.itertuples(), (30, 42, 50), strict=True):
        ends = binomtest(count, 50).proportion_ci(0.95, "wilson")
        assert (row.low, row.high) == pytest.approx(tuple(ends)), row.label


def test_whole_weights_are_repetitions():
    data = weeks(TREATED).assign(weight=np.arange(21) % 3 + 1.0)
    whole = data.loc[np.repeat(data.index, data["weight"].astype(int)), ["time", "event"]]
    np.testing.assert_allclose(solved_curve(data)["solved"], solved_curve(whole)["solved"])


@pytest.mark.parametrize("weighted", [False, True])
def test_intervals_cover_the_truth(weighted):
    """Levels of which each solves 30 % of what is left; some puzzles are lost sight of."""
    random = np.random.default_rng(3)
    covered = []
    for seed in range(400):
        kind = random.random(300) < 0.25
        solved = random.geometric(np.where(kind & weighted, 0.6, 0.3))
        lost = random.integers(1, 8, 300)
        frame = pd.DataFrame({"time": np.minimum(solved, lost), "event": solved <= lost})
        truth = 1 - 0.7**3
        if weighted:
            # Puzzles of the easy kind were drawn in a quarter of the cases, not in a half.
            frame = frame.assign(weight=np.where(kind, 2.0, 2 / 3))
            truth = 1 - (0.7**3 + 0.4**3) / 2
        row = solved_curve(frame, resamples=300, seed=seed).set_index("time").loc[3]
        assert row["method"] == ("bootstrap" if weighted else "wilson")
        covered.append(row["low"] <= truth <= row["high"])
    assert 0.92 <= np.mean(covered) <= 0.98


def test_log_rank_as_published():
    """Chi-square 16.79 with 9 events of 19.25 expected, and 21 of 10.75.

    Kleinbaum and Klein, "Survival Analysis: A Self-Learning Text", chapter 2 (from memory).
    """
    table = log_rank({"treated": weeks(TREATED), "untreated": weeks(UNTREATED)})
    assert table["events"].tolist() == [9, 21]
    assert table["expected"].tolist() == pytest.approx([19.25, 10.75], abs=0.005)
    assert table["chi_square"].tolist() == pytest.approx([16.79] * 2, abs=0.005)
    assert table["p"].iloc[0] == pytest.approx(4.17e-5, abs=1e-6)


def test_nothing_solved_is_a_curve_at_nought():
    study = pd.DataFrame({"solved_by": [None, None]})
    curve = solved_curve(solving_times(study, "solved_by", levels=LEVELS), levels=LEVELS)
    assert curve["solved"].tolist() == [0, 0, 0]
    assert curve["censored"].tolist() == [0, 0, 2]


def test_errors_are_for_people():
    study = pd.DataFrame({"solved_by": ["fishes", None]})
    with pytest.raises(ValueError, match="no level 'fishes'; did you mean fish"):
        solving_times(study, "solved_by", levels=LEVELS)
    with pytest.raises(ValueError, match="did you mean solved_by"):
        solving_times(study, "solvedby", levels=LEVELS)
    with pytest.raises(ValueError, match="2 puzzles have neither"):
        solving_times(pd.DataFrame({"width": [None, None]}), "width")
    with pytest.raises(ValueError, match="no column 'time'"):
        solved_curve(study)
    with pytest.raises(ValueError, match="not places among the 3 levels"):
        solved_curve(weeks("1 5"), levels=LEVELS)
    assert log_rank({"a": weeks("1 2"), "b": weeks("1 2").assign(weight=3.0)})["p"].iloc[0] == 1
    with pytest.raises(ValueError, match="log-rank test knows nothing"):
        log_rank({"a": weeks("1 2"), "b": weeks("1 2").assign(weight=[1.0, 2.0])})
    with pytest.raises(ValueError, match="1 of two curves"):
        log_rank({"a": weeks("1 2")})
