"""Levels of consistency: what each solves, how long it takes, and which rules are redundant.

    python benchmarks/consistency.py [--out benchmarks/README.md]

The open collections are read from the folder in `GRIDCRUX_CORPORA`; without it there is only what
the sampler makes.
"""

from __future__ import annotations

import argparse
import os
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from gridcrux.corpus.sample import minimal
from gridcrux.engines.kernel import search
from gridcrux.grids.arrays import geometry
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.stream import read_batches
from gridcrux.proofs.consistency import CONSISTENCIES
from gridcrux.proofs.consistency.levels import OUTCOMES, Outcome
from gridcrux.proofs.consistency.many import statuses
from gridcrux.proofs.consistency.redundant import redundant_sets
from report import replace_section

Digits = NDArray[np.int8]

SEED = 2006
FILES = ("easy50.txt", "hardest11.txt", "top95.txt", "clues17-first25000.txt")
SOLVED = next(status for status, outcome in OUTCOMES.items() if outcome is Outcome.SOLVED)

COLLECTED = tuple(name for name in CONSISTENCIES if name not in ("bounds", "shaving"))
KNOWN = {
    "easy50.txt": (12, 40, 44, 46, 49, 50),
    "hardest11.txt": (0, 1, 3, 2, 3, 9),
    "top95.txt": (0, 0, 10, 15, 29, 95),
}
"""Puzzles that the levels of `COLLECTED` solve, recomputed independently of this project."""

CLASSES = ((2, 2), (6, 7), (16, 22), (33, 60), (48, 146), (39, 320), (0, 623))
"""Classes of redundant sets of 1 to 7 houses of 9x9, and of all: Demoen & Garcia de la Banda."""


def collections(sampled: int) -> Iterator[tuple[str, Digits]]:
    """The names of collections of 9x9 puzzles, and their givens."""
    yield f"minimal, seed {SEED}", np.array([item.puzzle for item in minimal(sampled, SEED)])
    folder = os.environ.get("GRIDCRUX_CORPORA")
    for file in FILES if folder else ():
        with open(Path(folder or "") / file, "rb") as stream:
            yield file, np.concatenate([batch.digits for batch in read_batches(stream, file)])


def uniqueness_seconds(digits: Digits) -> float:
    """Seconds in which the kernel decides uniqueness."""
    kind, index = search.kind_of(NINE), geometry(NINE)
    counts = np.zeros(len(digits), np.int64)
    begun = time.perf_counter()
    search.count_many(
        kind, index, search.new_stack(kind, index), digits, 2, counts, np.zeros_like(counts)
    )
    seconds = time.perf_counter() - begun
    assert (counts == 1).all(), "a puzzle of the benchmark has not one solution"
    return seconds


def level_seconds(digits: Digits, name: str) -> float:
    """Seconds in which one level is asked of every puzzle."""
    begun = time.perf_counter()
    statuses(digits, levels=[name])
    return time.perf_counter() - begun


def share(solved: int, number: int) -> str:
    if solved in (0, number) or number < 1000:
        return f"{solved:,}"
    return f"{solved:,} ({solved / number:.1%})"


def tables_of_levels(sampled: int) -> list[str]:
    """What each level solves, then how long it takes."""
    named = dict(collections(sampled))
    solved = {name: (statuses(digits) == SOLVED).sum(axis=0) for name, digits in named.items()}
    for name, known in KNOWN.items():
        if name in named:
            found = dict(zip(CONSISTENCIES, solved[name].tolist(), strict=True))
            assert tuple(found[level] for level in COLLECTED) == known, name
    if FILES[-1] in named:
        # Lynce & Ouaknine 2006: none, about half, all.
        found = dict(zip(CONSISTENCIES, solved[FILES[-1]].tolist(), strict=True))
        number = len(named[FILES[-1]])
        assert found["minimal-units"] == 0
        assert 0.4 < found["extended-units"] / number < 0.5
        assert found["failed-literals"] == number
    head = [f"{name} ({len(digits):,})" for name, digits in named.items()]
    lines = [
        "Puzzles solved:",
        "",
        f"| level | {' | '.join(head)} |",
        "|---|" + "---:|" * len(head),
    ]
    for place, level in enumerate(CONSISTENCIES):
        row = (share(int(solved[name][place]), len(named[name])) for name in named)
        lines.append(f"| {level} | {' | '.join(row)} |")
    timed = {name: digits for name, digits in named.items() if len(digits) >= 50}
    lines += [
        "",
        "Microseconds a puzzle, each level asked alone, and as a multiple of the kernel's "
        "uniqueness check in the same run:",
        "",
        f"| level | {' | '.join(timed)} |",
        "|---|" + "---:|" * len(timed),
    ]
    base = {
        name: min(uniqueness_seconds(digits) for _ in range(5)) for name, digits in timed.items()
    }
    lines.append(
        "| uniqueness, kernel | "
        + " | ".join(f"{1e6 * base[name] / len(timed[name]):.2f}" for name in timed)
        + " |"
    )
    for level in CONSISTENCIES:
        cells = []
        for name, digits in timed.items():
            seconds = min(level_seconds(digits, level) for _ in range(3))
            cells.append(f"{1e6 * seconds / len(digits):,.1f} ({seconds / base[name]:,.1f})")
        lines.append(f"| {level} | {' | '.join(cells)} |")
    return lines


def table_of_redundant_sets() -> list[str]:
    """Redundant sets of houses by size, for 9x9 and smaller squares."""
    sizes = range(1, len(CLASSES) + 1)
    lines = [
        "Classes of sets of k houses that the other houses imply, of all classes under the "
        "symmetries of the layout; in brackets, the questions that were put to the SAT solver:",
        "",
        f"| layout | {' | '.join(f'k={size}' for size in sizes)} | seconds |",
        "|---|" + "---:|" * (len(CLASSES) + 1),
    ]
    for layout in (boxes(2, 2), boxes(2, 3), NINE):
        begun = time.process_time()
        found = list(redundant_sets(layout, len(CLASSES)))
        seconds = time.process_time() - begun
        if layout is NINE:
            assert tuple((len(each.redundant), each.classes) for each in found) == CLASSES
        cells = (f"{len(each.redundant)}/{each.classes} ({each.questions})" for each in found)
        lines.append(f"| {layout.name} | {' | '.join(cells)} | {seconds:.1f} |")
    return lines


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=2000, help="how many are sampled")
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    statuses(np.zeros((1, 81), np.int8))
    text = "\n".join([*tables_of_levels(options.puzzles), "", *table_of_redundant_sets()])
    print(text)
    if options.out:
        replace_section(options.out, "consistency", text)


if __name__ == "__main__":
    main()
