"""What is hard for a person beside what is hard for a machine, over many minimal puzzles.

    python benchmarks/contrast.py [--puzzles 10000] [--out benchmarks/README.md]

The bar is a contrast of 10,000 puzzles with the usual columns in less than ten minutes on two
cores, the start of the processes included.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import pandas as pd

from gridcrux.corpus.contrast import (
    CAUTIONS,
    ContrastRun,
    contrast_correlations,
    contrast_files,
    rank_residuals,
)
from gridcrux.corpus.contrast.efforts import main_column
from gridcrux.corpus.contrast.measures import known_table
from gridcrux.corpus.sample import minimal
from gridcrux.figures.contrast import outlier_table
from gridcrux.grids.state import State
from report import replace_section

SEED = 20_26
HUMAN, OUTLIERS = "refutation_sum", 5


def corpus(count: int, target: Path) -> Path:
    """Minimal 9x9 puzzles, one a line."""
    lines = (State.from_digits(item.puzzle.tolist()).line for item in minimal(count, SEED))
    target.write_text("\n".join(lines) + "\n")
    return target


def correlations_text(run: ContrastRun, rows: pd.DataFrame) -> list[str]:
    """A row for each measure of a person, a column for each engine that has ranks."""
    known = known_table(rows, run.asked.engines).to_dict("records")
    main = [main_column(name) for name in run.asked.engines]
    constant = [str(row["measure"]) for row in known if row["values"] <= 1]
    ranked = [name for name in main if name not in constant]
    cells = {
        (
            row["first"],
            row["second"],
        ): f"{row['spearman']:.3f} ({row['low']:.3f} to {row['high']:.3f})"
        for row in contrast_correlations(rows, run.asked.engines).to_dict("records")
    }
    lines = [
        "| measure | known | " + " | ".join(ranked) + " |",
        "|---|---:|" + "---:|" * len(ranked),
    ]
    for row in known:
        if row["side"] == "human":
            found = " | ".join(cells[row["measure"], name] for name in ranked)
            lines.append(f"| {row['measure']} | {row['puzzles']:,} | {found} |")
    same = [name for name in main if name in constant]
    return [*lines, "", f"The same in all puzzles: {', '.join(same) or 'none'}."]


def outliers_text(run: ContrastRun, rows: pd.DataFrame) -> list[str]:
    machine = main_column(run.asked.engines[0])
    found = outlier_table(rank_residuals(rows, HUMAN, machine, top=OUTLIERS))
    lines = [f"| outlier | puzzle | {HUMAN} | {machine} |", "|---|---|---:|---:|"]
    for row in found.to_dict("records"):
        lines.append(
            f"| {row['outlier']} | `{row['puzzle']}` | {row['human']:g} | {row['machine']:g} |"
        )
    return lines


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--puzzles", type=int, default=10_000)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    with tempfile.TemporaryDirectory() as folder:
        source = corpus(options.puzzles, Path(folder) / "minimal.txt")
        began = time.perf_counter()
        run = contrast_files([str(source)], Path(folder) / "out")
        seconds = time.perf_counter() - began
        rows = run.frame()
        lines = [
            f"{options.puzzles:,} minimal 9x9 puzzles (deletion, seed {SEED}): "
            f"{seconds / 60:.1f} minutes.",
            "",
            *correlations_text(run, rows),
            "",
            *outliers_text(run, rows),
            "",
            *(f"{caution[0].upper()}{caution[1:]}." for caution in CAUTIONS),
        ]
    text = "\n".join(lines)
    print(text)
    if options.out:
        replace_section(options.out, "contrast", text)


if __name__ == "__main__":
    main()
