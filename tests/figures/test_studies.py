"""Shares of techniques against counts by hand and the intervals of scipy."""

from __future__ import annotations

import pandas as pd
import pytest
from matplotlib import pyplot as plt
from matplotlib.figure import Figure
from scipy.stats import binomtest

from gridcrux.figures.studies import plot_techniques, technique_table

STUDY = pd.DataFrame(
    {
        "steps_naked_pair": [1, 0, 2, None],
        "steps_x_wing": [0, 0, 1, None],
        "essential_techniques": ["naked-pair", "", "naked-pair, x-wing", None],
    }
)


def test_shares_are_counts_and_intervals_those_of_wilson():
    table = technique_table(STUDY).set_index("technique")
    assert table[["puzzles", "used", "judged", "essential"]].to_numpy().tolist() == [
        [3, 2, 3, 2],
        [3, 1, 3, 1],
    ]
    for name, row in table.iterrows():
        for what, of in (("used", "puzzles"), ("essential", "judged")):
            ends = binomtest(int(row[what]), int(row[of])).proportion_ci(0.95, "wilson")
            assert (row[f"{what}_low"], row[f"{what}_high"]) == pytest.approx(tuple(ends)), name


def test_no_study_is_told():
    with pytest.raises(ValueError, match="essential_techniques"):
        technique_table(pd.DataFrame({"a": [1]}))


def test_the_axes_given_are_drawn_on():
    figures = plt.get_fignums()
    ax = Figure().subplots()
    assert plot_techniques(technique_table(STUDY), ax=ax) is ax
    assert plt.get_fignums() == figures
    assert [bar.get_width() for bar in ax.patches] == pytest.approx([2 / 3, 1 / 3, 2 / 3, 1 / 3])
