"""The starter corpus: the puzzles printed on the ferry tickets of Lantern Quay.

Lantern Quay is an invented harbour town whose ferry company prints a puzzle on each ticket:
plain ones on weekdays, ones with symmetric givens on feast days.  Made anew with::

    python -m gridcrux.corpus.starter datasets/lantern_quay.csv
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterator
from pathlib import Path

from gridcrux.corpus.sample import minimal

SEED = 1851
WEEKDAY = 2000
FEAST_DAY = 60
"""How many puzzles without symmetry, and with each of the symmetries."""

SYMMETRIES = (
    "none",
    "half-turn",
    "quarter-turn",
    "left-right",
    "top-bottom",
    "diagonal",
    "antidiagonal",
)
"""Those of the tickets, in the order of their seeds."""

FIELDS = ("id", "puzzle", "givens", "symmetry", "index")


def tickets(weekday: int = WEEKDAY, feast_day: int = FEAST_DAY) -> Iterator[tuple[str, ...]]:
    """The rows of the corpus, with the columns `FIELDS`."""
    for number, symmetry in enumerate(SYMMETRIES):
        count = weekday if symmetry == "none" else feast_day
        for item in minimal(count, SEED + number, symmetry=symmetry):
            letter = "W" if symmetry == "none" else "F"
            name = f"LQ-{letter}{number}{item.index + 1:04d}"
            yield name, item.line, str(item.givens), symmetry, str(item.index)


def main(target: str) -> None:
    with Path(target).open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream, lineterminator="\n")
        writer.writerow(FIELDS)
        writer.writerows(tickets())


if __name__ == "__main__":
    main(sys.argv[1])
