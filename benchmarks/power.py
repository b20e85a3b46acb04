"""How many puzzles each level of techniques solves.

    python benchmarks/power.py [--puzzles 5000] [--out benchmarks/README.md]

Minimal puzzles are sampled; the open collections are read from the folder in `GRIDCRUX_CORPORA`,
whole, and tried with the level that has last resorts but assumes no uniqueness.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable, Sequence
from pathlib import Path

from scipy.stats import binomtest
from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.solve import closure
from report import replace_section

SEED = 404
COLLECTIONS = ("easy50.txt", "top95.txt", "hardest11.txt", "clues17-first25000.txt")
RESORTS = "last-resorts"


def solved(starts: Iterable[State], repertoire: Repertoire, what: str) -> tuple[int, int]:
    """How many of some puzzles a repertoire solves, and how many there are."""
    ends = [closure(start, repertoire).is_solved for start in tqdm(starts, what, unit="puzzle")]
    return sum(ends), len(ends)


def report(count: int) -> str:
    starts = [State.from_digits(item.puzzle.tolist()) for item in minimal(count, SEED)]
    lines = [
        f"{count:,} minimal 9x9 puzzles (seed {SEED}); intervals of Wilson, 95 %.",
        "",
        "| level | techniques | solved | share | interval |",
        "|---|---:|---:|---:|---:|",
    ]
    for name, repertoire in LEVELS.items():
        good, total = solved(starts, repertoire, name)
        low, high = binomtest(good, total).proportion_ci(method="wilson")
        lines.append(
            f"| {name} | {len(repertoire)} | {good:,} | {good / total:.2%} | "
            f"{low:.2%} to {high:.2%} |"
        )
    if folder := os.environ.get("GRIDCRUX_CORPORA"):
        lines += ["", f"| collection | puzzles | solved by {RESORTS} |", "|---|---:|---:|"]
        for name in COLLECTIONS:
            puzzles = map(read_puzzle, (Path(folder) / name).read_text().split())
            good, total = solved(puzzles, LEVELS[RESORTS], name)
            lines.append(f"| {name} | {total:,} | {good:,} |")
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=5000)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    text = report(options.puzzles)
    print(text)
    if options.out:
        replace_section(options.out, "power", text)


if __name__ == "__main__":
    main()
