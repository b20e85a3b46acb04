"""Shares at the ticks of axes are written exactly, and everywhere in the same way."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from matplotlib.figure import Figure

import gridcrux.figures
from figures.drawn import figure_of, written
from figures.examples import EXAMPLES
from gridcrux.figures.shares import PercentTicks

OF_SHARES = ("rates", "techniques", "solved", "contrast", "coverage", "consistency", "widths")


def ticks(*values: float, scale: str = "linear") -> list[str]:
    ax = Figure().subplots()
    ax.set_xscale(scale)
    ax.set_xlim(values[0], values[-1])
    ax.xaxis.set_major_formatter(PercentTicks())
    ax.set_xticks(values)
    return [label.get_text() for label in ax.get_xticklabels()]


def test_evenly_spaced_ticks_are_written_evenly_spaced():
    assert ticks(0, 0.2, 0.4) == ["0 %", "20 %", "40 %"]
    assert ticks(0.01, 0.0125, 0.015, 0.0175) == ["1.00 %", "1.25 %", "1.50 %", "1.75 %"]
    assert ticks(0, 0.1 + 0.2, 0.6) == ["0 %", "30 %", "60 %"]
    assert PercentTicks(100)(2.5) == "2.5 %"


def test_ticks_of_a_logarithmic_axis_have_decimals_of_their_own():
    assert ticks(0.0001, 0.01, 1, scale="log") == ["0.01 %", "1 %", "100 %"]


@pytest.mark.parametrize("name", OF_SHARES)
def test_figures_write_shares_alike(name: str):
    ax = EXAMPLES[f"plot_{name}"]["usual"].draw(ax=Figure(figsize=(8, 5)).subplots())
    shares = [text for text, _ in written(figure_of(ax)) if "%" in text]
    assert shares
    assert all(re.fullmatch(r"[\d.]+ %", text) for text in shares if text[-1] == "%")


def test_no_figure_has_ticks_of_its_own_in_percent():
    folder = Path(gridcrux.figures.__path__[0])
    assert not [
        path.name
        for path in folder.rglob("*.py")
        if "PercentFormatter" in path.read_text(encoding="utf-8")
    ]
