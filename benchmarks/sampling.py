"""Weighted minimal puzzles against published numbers: givens, their mean, totals, and the cost.

python benchmarks/sampling.py [--groups 600] [--out benchmarks/README.md]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path

import pandas as pd
from tqdm import tqdm

from gridcrux.corpus.sample.estimates import givens_table, group_table, summary_table
from gridcrux.corpus.sample.weighted import groups
from gridcrux.corpus.workers import cores, in_order, workers_at
from report import replace_section

SEED = 2026
PIECE = 10
"""Groups sampled in one go."""

PERCENT = {
    20: 1.3e-7,
    21: 3.4e-5,
    22: 0.0035,
    23: 0.148,
    24: 2.28,
    25: 13.42,
    26: 31.91,
    27: 32.71,
    28: 15.48,
    29: 3.598,
    30: 0.41,
    31: 0.0241,
    32: 0.001,
}
"""Minimal 9x9 puzzles by givens (Berthier, "Unbiased statistics of a CSP", 2009, and 2012)."""

KNOWN = {
    "mean givens": 26.577,
    "minimal puzzles": 3.10e37,
    "grids": 6_670_903_752_021_072_936_960,
}
"""Of the same source; the number of grids is exact (Felgenhauer and Jarvis, 2005)."""


def lines(table: pd.DataFrame, seconds: float, seed: int) -> list[str]:
    """The report on a table of groups that took so long."""
    summary = summary_table(table)
    number, effective = summary["groups"].iloc[0], summary["effective"].iloc[0]
    text = [
        f"{number:,} groups with {table['puzzles'].sum():,} puzzles (seed {seed}), {seconds:.0f} s "
        f"of processor time. For the mean number of givens they are worth {effective:,.0f} "
        f"independent puzzles ({effective / seconds:.0f} a second).",
        "",
        "| quantity | estimate | standard error | published | standard errors apart |",
        "|---|---:|---:|---:|---:|",
    ]
    for quantity, estimate, error in zip(
        summary["quantity"], summary["estimate"], summary["standard_error"], strict=True
    ):
        known = KNOWN[quantity]
        text.append(
            f"| {quantity} | {estimate:.5g} | {error:.2g} | {known:.5g} | "
            f"{(estimate - known) / error:+.1f} |"
        )
    text += [
        "",
        "| givens | found | percent | standard error | published | standard errors apart |",
        "|---:|---:|---:|---:|---:|---:|",
    ]
    rows = givens_table(table).set_index("givens").reindex(sorted(PERCENT))
    for givens, known, found, percent, error in zip(
        PERCENT,
        PERCENT.values(),
        rows["found"],
        rows["percent"],
        rows["standard_error"],
        strict=True,
    ):
        told = (
            f"{found:,.0f} | {percent:.3g} | {error:.2g} | {known:g} | "
            f"{(percent - known) / error:+.1f} |"
            if found > 0
            else f"0 | - | - | {known:g} | - |"
        )
        text.append(f"| {givens} | {told}")
    return text


def sampled(seed: int, numbers: range) -> tuple[pd.DataFrame, float]:
    """The groups with these numbers, and the processor time they took."""
    list(groups(1, seed))
    begun = time.process_time()
    table = group_table(groups(len(numbers), seed, start=numbers.start))
    return table, time.process_time() - begun


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--groups", type=int, default=600)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    pieces = (range(at, min(at + PIECE, options.groups)) for at in range(0, options.groups, PIECE))
    tables, seconds = [], 0.0
    with workers_at(None, cores()) as pool, tqdm(total=options.groups, unit="group") as bar:
        work = partial(sampled, options.seed)
        for piece, (part, taken) in in_order(work, ((each, each) for each in pieces), pool):
            tables.append(part)
            seconds += taken
            bar.update(len(piece))
    text = "\n".join(lines(pd.concat(tables, ignore_index=True), seconds, options.seed))
    print(text)
    if options.out:
        replace_section(options.out, "sampling", text)


if __name__ == "__main__":
    main()
