"""The figure of the README: a step that a puzzle needs, and how often techniques are needed.

Made anew with::

    python -m gridcrux.figures.readme datasets/lantern_quay.csv figure.svg
"""

from __future__ import annotations

import sys
from textwrap import fill

import matplotlib as mpl
import pandas as pd
from matplotlib.figure import Figure

from gridcrux.corpus.study import study
from gridcrux.figures.board import plot_board
from gridcrux.figures.palette import GREY
from gridcrux.figures.studies import plot_techniques, technique_table
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction
from gridcrux.proofs.essential import ESSENTIAL, crux

SHOWN = "swordfish"
"""The technique of the step on the left."""


def essential_step(puzzles: pd.DataFrame, technique: str) -> tuple[str, State, Deduction]:
    """The first essential step by a technique in the puzzles that cannot be solved without it.

    Parameters
    ----------
    puzzles : a study.

    Returns
    -------
    The id of the puzzle, the state before the step, and the step.

    Raises
    ------
    ValueError : there is no such step.
    """
    names = puzzles["essential_techniques"].fillna("").str.split(", ")
    candidates = puzzles[puzzles["solved"] & names.map(lambda each: technique in each)]
    for name, puzzle in zip(candidates["id"], candidates["puzzle"], strict=True):
        found = crux(read_puzzle(puzzle))
        for state, (step, status) in zip(found.route.states(), found, strict=False):
            if step.technique == technique and status == ESSENTIAL:
                return name, state, step
    raise ValueError(f"no puzzle of {len(puzzles)} has an essential step by {technique}")


def readme_figure(corpus: pd.DataFrame) -> Figure:
    """The figure for a corpus with the columns `id` and `puzzle`."""
    puzzles = study(corpus["puzzle"]).assign(id=corpus["id"])
    name, state, step = essential_step(puzzles, SHOWN)
    figure = Figure(figsize=(10.4, 4.9), layout=None)
    left = figure.add_axes((0.005, 0.155, 0.375, 0.765))
    right = figure.add_axes((0.5, 0.155, 0.355, 0.72))
    plot_board(state, step, ax=left)
    plot_techniques(technique_table(puzzles), ax=right)
    head = {"fontsize": 11, "fontweight": "bold", "va": "top"}
    figure.text(0.022, 0.985, f"A step that {name} cannot do without: {SHOWN}", **head)
    figure.text(0.415, 0.985, f"{len(puzzles):,} puzzles: techniques used and essential", **head)
    sentence = fill(step.sentence, 68)
    figure.text(0.022, 0.125, sentence, fontsize=9.5, color=GREY, va="top", linespacing=1.4)
    return figure


def main(source: str, target: str) -> None:
    corpus = pd.read_csv(source, dtype={"puzzle": str})
    with mpl.rc_context({"svg.hashsalt": "gridcrux", "font.size": 9.5}):
        # Neither date nor random ids, so that the same corpus gives the same file.
        stamp = {"Date": None} if target.endswith(".svg") else None
        readme_figure(corpus).savefig(target, dpi=150, metadata=stamp)


if __name__ == "__main__":
    main(*sys.argv[1:])
