"""Bars of coverage are the shares of its table."""

from __future__ import annotations

import pandas as pd
import pytest
from matplotlib.figure import Figure

from gridcrux.figures.coverage import plot_coverage
from gridcrux.proofs.explain.coverage import coverage_table

FOUND = pd.DataFrame(
    [
        (1, "hidden-single", 1),
        (2, "x-wing", 2),
        (2, "swordfish", 3),
        (2, None, None),
        (2, None, None),
        (3, None, None),
    ],
    columns=["width", "found_by", "found_width"],
).assign(candidate="r1c1=1").astype({"found_width": "Int64"})  # fmt: skip


def test_wide_bars_are_what_is_found_and_narrow_ones_as_narrow_as_can_be():
    ax = plot_coverage(coverage_table(FOUND), ax=Figure().subplots())
    wide, narrow = ax.containers
    assert [bar.get_width() for bar in wide] == pytest.approx([1, 1 / 2, 0])
    assert [bar.get_width() for bar in narrow] == pytest.approx([1, 1 / 4, 0])
    assert wide[0].get_height() > narrow[0].get_height()
    assert [label.get_text() for label in ax.get_yticklabels()] == [
        "1 premise", "2 premises", "3 premises"
    ]  # fmt: skip
    assert [text.get_text() for text in ax.texts] == [
        "eliminations", "1", "4", "1",
        "found", "100 %", "50 %", "0 %",
        "by as few", "100 %", "25 %", "0 %",
    ]  # fmt: skip
