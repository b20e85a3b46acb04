"""Canonical forms: how many a second, and the classes of all top bands of 9x9 grids.

python benchmarks/canonical.py [--puzzles 10000] [--out benchmarks/README.md]

The open collection is read from the folder in `GRIDCRUX_CORPORA`, and left out without it.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Iterator, Sequence
from itertools import permutations, product
from math import factorial
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.duplicates import duplicates, near_duplicates
from gridcrux.corpus.sample import grids, minimal
from gridcrux.grids.canonical import canonical_batch, group_order
from gridcrux.grids.layout import NINE, Layout, boxes, usual
from gridcrux.grids.stream import read_batches
from report import replace_section

SEED = 909
BAR = 2000
BANDS, CLASSES = 948_109_639_680, 416
"""Top bands, and their classes: Felgenhauer & Jarvis 2005, "Enumerating possible Sudoku grids"."""

Digits = NDArray[np.int8]


def top_bands() -> Digits:
    """(36288, 81) every top band with the first box 1 to 9, up to the order of other columns.

    The columns of the second and of the third box ascend by their first row, and so do the boxes.
    """
    box = ({1, 2, 3}, {4, 5, 6}, {7, 8, 9})
    found = []
    for second in permutations(range(1, 10)):
        parts = (second[:3], second[3:6], second[6:])
        if list(parts[0]) != sorted(parts[0]) or any(map(set.intersection, map(set, parts), box)):
            continue
        third = [
            sorted({*range(1, 10)} - row - set(part)) for row, part in zip(box, parts, strict=True)
        ]
        if third[0] > list(parts[0]):
            rests = (third[:1], permutations(third[1]), permutations(third[2]))
            for rest in product(*rests):
                rows = zip(box, parts, rest, strict=True)
                found.append([digit for row in rows for part in row for digit in part])
    return np.pad(np.array(found, np.int8), ((0, 0), (0, 54)))


def classes_of_bands() -> tuple[int, int]:
    """Classes of top bands, and bands of all classes."""
    forms, automorphisms = canonical_batch(top_bands(), NINE)
    _, first = np.unique(forms, axis=0, return_index=True)
    # As givens of a grid, a band may be any of three, or a stack: six sets of givens for each.
    whole = group_order(NINE) * factorial(9)
    return len(first), sum(whole // int(number) for number in automorphisms[first]) // 6


def minimal_puzzles(count: int, layout: Layout) -> Digits:
    return np.array([item.puzzle for item in minimal(count, SEED, layout)])


def cases(count: int) -> Iterator[tuple[str, Layout, Digits]]:
    """What is measured: its name, and the givens."""
    yield "minimal 9x9", NINE, minimal_puzzles(count, NINE)
    yield "9x9 grids", NINE, np.array(list(grids(count // 10, SEED)))
    # Minimal puzzles of 16 rows take long to sample.
    for size, few in ((6, 200), (12, 100), (16, 10)):
        layout = usual(size)
        yield f"minimal {size}x{size}", layout, minimal_puzzles(few, layout)
        yield f"{size}x{size} grids", layout, np.array(list(grids(few, SEED, layout)))
    yield "empty 9x9", NINE, np.zeros((count, 81), np.int8)
    if seventeen := seventeens():
        yield "9x9 with 17 givens", NINE, digits_of(seventeen)


def seventeens() -> Path | None:
    """The collection of puzzles with 17 givens, where there is one."""
    folder = os.environ.get("GRIDCRUX_CORPORA")
    path = Path(folder or ".") / "clues17-first25000.txt"
    return path if folder and path.exists() else None


def digits_of(path: Path) -> Digits:
    with open(path, "rb") as stream:
        return np.concatenate([batch.digits for batch in read_batches(stream, path.name)])


def rate(digits: Digits, layout: Layout) -> float:
    """Canonical forms a second of processor time, on one core."""
    begun = time.process_time()
    canonical_batch(digits, layout)
    return len(digits) / (time.process_time() - begun)


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=10_000)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    canonical_batch(np.zeros((1, 16), np.int8), boxes(2, 2))
    lines = [
        f"Forms a second of processor time on one core; the bar for minimal 9x9 is {BAR:,}.",
        "",
        "| what | number | forms a second | a form |",
        "|---|---:|---:|---:|",
    ]
    for name, layout, digits in cases(options.puzzles):
        found = rate(digits, layout)
        micro = 1e6 / found
        unit = f"{micro:,.0f} us" if micro < 1000 else f"{micro / 1000:,.1f} ms"
        lines.append(f"| {name} | {len(digits):,} | {found:,.0f} | {unit} |")
    begun = time.process_time()
    classes, bands = classes_of_bands()
    seconds = time.process_time() - begun
    verdict = "as published" if (classes, bands) == (CLASSES, BANDS) else "NOT as published"
    lines += [
        "",
        f"The top bands of 9x9 fall into {classes} classes, whose orbits have {bands:,} bands "
        f"together: {verdict} (Felgenhauer & Jarvis 2005; {seconds:.0f} s).",
    ]
    if seventeen := seventeens():
        lines += ["", collection(seventeen)]
    print("\n".join(lines))
    if options.out:
        replace_section(options.out, "canonical", "\n".join(lines))


def collection(path: Path) -> str:
    """What the puzzles with 17 givens have in common."""
    puzzles = pd.DataFrame({"puzzle": path.read_text().split()})
    begun = time.process_time()
    alike, near = duplicates(puzzles), near_duplicates(puzzles, progress=True)
    seconds = time.process_time() - begun
    one = near[near["left_out"] > 0]
    who = len(set(one["first"]) | set(one["second"]))
    return (
        f"Of {len(puzzles):,} puzzles with 17 givens {len(alike)} are the same up to symmetry as "
        f"another; {len(one):,} pairs, of {who:,} puzzles, differ in one given ({seconds:.0f} s of "
        "processor time)."
    )


if __name__ == "__main__":
    main()
