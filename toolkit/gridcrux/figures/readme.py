"""The figure of the README: a step that a puzzle needs, and how often techniques are needed.

Made anew with::

    python -m gridcrux.figures.readme datasets/lantern_quay.csv figure.png
"""

from __future__ import annotations

import sys
from io import BytesIO
from textwrap import fill
from typing import Any

import matplotlib as mpl
import pandas as pd
from matplotlib.figure import Figure
from PIL import Image

from gridcrux.corpus.study import study
from gridcrux.figures.board import plot_board
from gridcrux.figures.palette import GREY
from gridcrux.figures.studies import plot_techniques, technique_table
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction
from gridcrux.proofs.essential import ESSENTIAL, crux
from gridcrux.techniques.repertoires import FIRST_FAMILY

SHOWN = "x-wing"
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
        found = crux(read_puzzle(puzzle), FIRST_FAMILY)
        for state, (step, status) in zip(found.route.states(), found, strict=False):
            if step.technique == technique and status == ESSENTIAL:
                return name, state, step
    raise ValueError(f"no puzzle of {len(puzzles)} has an essential step by {technique}")


def readme_figure(corpus: pd.DataFrame) -> Figure:
    """The figure for a corpus with the columns `id` and `puzzle`."""
    puzzles = study(corpus["puzzle"]).assign(id=corpus["id"])
    name, state, step = essential_step(puzzles, SHOWN)
    figure = Figure(figsize=(10.6, 5.0))
    left = figure.add_axes((0.0, 0.105, 0.405, 0.825))
    right = figure.add_axes((0.535, 0.165, 0.335, 0.7))
    plot_board(state, step, ax=left)
    plot_techniques(technique_table(puzzles), ax=right)
    head: dict[str, Any] = {"fontsize": 11, "fontweight": "bold", "va": "top"}
    count = f"{len(puzzles):,}"
    figure.text(0.03, 0.985, f"Puzzle {name} cannot do without this {step.technique}", **head)
    figure.text(0.44, 0.985, f"Techniques used, and essential, in {count} puzzles", **head)
    sentence = fill(step.sentence, 62)
    figure.text(0.03, 0.088, sentence, fontsize=9.5, color=GREY, va="top", linespacing=1.4)
    return figure


def main(source: str, target: str) -> None:
    corpus = pd.read_csv(source, dtype={"puzzle": str})
    with mpl.rc_context({"font.size": 9.5}):
        figure = readme_figure(corpus)
        drawn = BytesIO()
        figure.savefig(drawn, dpi=160, format="png")
    # There are few colours; a table of them makes the file a third as long.
    few = Image.open(drawn).convert("RGB").quantize(256, Image.Quantize.FASTOCTREE)
    few.save(target, format="png", optimize=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
