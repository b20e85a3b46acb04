"""How long a storyboard takes, part by part, beside the route it tells.

python benchmarks/storyboard.py [--drawn 60] [--out benchmarks/README.md]

The open collections are read from the folder in `GRIDCRUX_CORPORA`, and left out without it.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from gridcrux.figures.storyboard import Storyboard, storyboard
from gridcrux.figures.storyboard.files import KINDS, write_storyboard
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.repertoires import DEFAULT_LEVEL, LEVELS
from gridcrux.techniques.solve import route
from report import replace_section

SEED = 707
LIMIT = 10.0
"""Seconds that a storyboard of a hard puzzle may take."""


def timed(work: Callable[[], object]) -> float:
    """Seconds by the clock, as one waits for them."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def collections(drawn: int) -> Iterator[tuple[str, str, list[State]]]:
    """Name, level and puzzles."""
    states = [State.from_digits(each.puzzle.tolist()) for each in minimal(drawn * 40, seed=SEED)]
    hard = sorted(states, key=lambda state: -len(route(state, LEVELS[DEFAULT_LEVEL])))
    solved = [state for state in hard if route(state, LEVELS[DEFAULT_LEVEL]).solved]
    yield f"the {drawn} longest routes of {len(states):,} drawn", DEFAULT_LEVEL, solved[:drawn]
    if folder := os.environ.get("GRIDCRUX_CORPORA"):
        for name, level in (("hardest11.txt", "everything"), ("top95.txt", "last-resorts")):
            lines = (Path(folder) / name).read_text().split()
            yield name, level, [read_puzzle(line) for line in lines]


def measured(state: State, repertoire: Repertoire) -> dict[str, float]:
    """Seconds for the route, for telling it, and for each kind of file."""
    seconds = {"route": timed(lambda: route(state, repertoire, unique=True))}
    boards: list[Storyboard] = []
    seconds["told"] = timed(lambda: boards.append(storyboard(state, repertoire)))
    with TemporaryDirectory() as folder:
        # Pictures of parts are kept once drawn; the first kind would pay for all.
        for part in boards[0]:
            part.scene  # noqa: B018
        for kind in KINDS:
            seconds[kind] = timed(
                lambda kind=kind: write_storyboard(boards[0], Path(folder), (kind,))  # type: ignore[misc]
            )
    seconds["hard steps"] = sum(part.hard for part in boards[0])
    return seconds


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--drawn", type=int, default=60)
    parser.add_argument("--out", type=Path)
    arguments = parser.parse_args()
    lines = [
        "| puzzles | level | hard steps | route | told | "
        + " | ".join(KINDS)
        + " | all: median | all: longest | all / route | within 10 s | route of the others |",
        "|---|---|---:|" + "---:|" * (len(KINDS) + 7),
    ]
    for name, level, states in collections(arguments.drawn):
        repertoire = LEVELS[level]
        # What is compiled and loaded once is not what one waits for again.
        measured(states[0], repertoire)
        rows = [measured(state, repertoire) for state in tqdm(states, name, leave=False)]
        whole = [sum(row[key] for key in ("told", *KINDS)) for row in rows]
        over = [row["route"] for row, each in zip(rows, whole, strict=True) if each >= LIMIT]
        ratios = [each / row["route"] for each, row in zip(whole, rows, strict=True)]
        halves = [f"{median(row[key] for row in rows):.2f}" for key in ("route", "told", *KINDS)]
        steps = [row["hard steps"] for row in rows]
        lines.append(
            f"| {name} ({len(states)}) | {level} | {median(steps):g} (to {max(steps)}) | "
            + " | ".join(halves)
            + f" | {median(whole):.2f} | {max(whole):.2f} | {median(ratios):,.0f} | "
            f"{len(whole) - len(over)} of {len(whole)} | "
            f"{', '.join(f'{each:.1f}' for each in over) or '-'} |"
        )
    text = "\n".join(lines)
    print(text)
    if arguments.out:
        replace_section(arguments.out, "storyboard", text)


if __name__ == "__main__":
    main()
