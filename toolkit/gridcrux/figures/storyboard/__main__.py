"""The picture of a storyboard in the README: a part of a walk with a chain in it.

Made anew with::

    python -m gridcrux.figures.storyboard docs/pictures/storyboard.png
"""

from __future__ import annotations

import sys
from io import BytesIO
from pathlib import Path
from textwrap import fill
from typing import Any

from matplotlib.figure import Figure
from PIL import Image

from gridcrux.figures.board import plot_scene
from gridcrux.figures.palette import GREY
from gridcrux.figures.storyboard.making import storyboard
from gridcrux.figures.storyboard.part import Part
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS

PUZZLE = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."
SHOWN = "xy-chain"


def shown_part() -> Part:
    """The first part of the walk with the technique."""
    board = storyboard(read_puzzle(PUZZLE), LEVELS["chains"])
    return next(part for part in board if part.hard and part.steps[0].technique == SHOWN)


def main(target: str) -> None:
    part = shown_part()
    figure = Figure(figsize=(9.2, 4.6))
    plot_scene(part.scene, ax=figure.add_axes((0.0, 0.0, 0.5, 1.0)))
    place = 0.93
    for number, sentence in enumerate((part.title, *part.sentences, part.beside)):
        text = fill(sentence, 52)
        look: dict[str, Any] = (
            {"weight": "bold"} if number < 2 else {"color": GREY} if number > 3 else {}
        )
        figure.text(0.52, place, text, va="top", fontsize=10, linespacing=1.35, **look)
        place -= 0.05 * (text.count("\n") + 1) + 0.035
    drawn = BytesIO()
    figure.savefig(drawn, dpi=110, format="png", metadata={"Software": None})
    few = Image.open(drawn).convert("RGB").quantize(128, Image.Quantize.FASTOCTREE)
    Path(target).parent.mkdir(parents=True, exist_ok=True)
    few.save(target, format="png", optimize=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
