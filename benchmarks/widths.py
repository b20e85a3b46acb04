"""Bottleneck widths of minimal puzzles: how often exact, how long it takes, and their distribution.

python benchmarks/widths.py [--puzzles 500] [--out benchmarks/README.md] [--figure FILE]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from matplotlib import pyplot as plt
from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from gridcrux.figures.widths import plot_widths, width_table
from gridcrux.grids.state import State
from gridcrux.proofs.explain.bottleneck import bottleneck
from report import replace_section

SEED = 606
LIMIT = 30.0


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=500)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    parser.add_argument("--figure", type=Path, help="picture of the distribution")
    options = parser.parse_args(arguments)
    found, seconds = [], []
    bottleneck(State.from_digits(next(minimal(1, options.seed)).puzzle.tolist()))
    for item in tqdm(minimal(options.puzzles, options.seed), total=options.puzzles, unit="puzzle"):
        begun = time.perf_counter()
        found.append(bottleneck(State.from_digits(item.puzzle.tolist()), LIMIT))
        seconds.append(time.perf_counter() - begun)
    table = width_table(found)
    exact = sum(each.exact for each in found)
    lines = [
        f"{len(found)} minimal 9x9 puzzles (seed {options.seed}): {exact / len(found):.1%} exact "
        f"within {LIMIT:.0f} s each (bar 95 %); median {1000 * np.median(seconds):.0f} ms, "
        f"slowest {max(seconds):.1f} s.",
        "",
        "| width | puzzles | share | interval, 95 % | solved by steps up to this width |",
        "|---:|---:|---:|---:|---:|",
    ]
    for row in table.itertuples():
        lines.append(
            f"| {row.width} | {row.puzzles} | {row.puzzles_share:.1%} | {row.puzzles_low:.1%} to "
            f"{row.puzzles_high:.1%} | {row.at_most:.1%} |"
        )
    print("\n".join(lines))
    if options.out:
        replace_section(options.out, "widths", "\n".join(lines))
    if options.figure:
        figure, axes = plt.subplots(figsize=(6.4, 3.2))
        plot_widths(table, ax=axes)
        figure.savefig(options.figure, bbox_inches="tight", dpi=150)


if __name__ == "__main__":
    main()
