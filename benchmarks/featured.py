"""Puzzles in which a technique is essential: by rejection and from near misses, side by side.

    python benchmarks/featured.py [--seconds 60] [--out benchmarks/README.md]

Both searches work in one process on one core, one after the other for each technique, both
warmed up, for the same time; seconds are those of the processor.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

from tqdm import tqdm

from gridcrux.corpus.sample.featured import SEARCHES, Feature
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.repertoires import EVERYTHING, LEVELS
from report import replace_section

SEED = 1207
ENOUGH = 200
"""Puzzles after which the time is not waited for."""

PATIENCE = 5_000
"""Puzzles tested for one item before the next is begun, so that the time is kept."""

IN_LEVEL = {
    "claiming": "fish",
    "x-wing": "fish",
    "hidden-pair": "fish",
    "naked-pair": "fish",
    "swordfish": "fish",
    "naked-quad": "fish",
}
"""Techniques, and the level that is known."""

ALONE = ("skyscraper", "xy-wing", "w-wing", "remote-pair")
"""Techniques with which all that is easier is known, and nothing that is harder."""


class Speed(NamedTuple):
    """How a search did."""

    tested: int
    found: int
    seconds: float

    @property
    def seconds_each(self) -> float:
        """For a puzzle found; the time so far if there is none."""
        return self.seconds / max(1, self.found)

    @property
    def cells(self) -> str:
        few = "" if self.found else "> "
        return (
            f"{self.tested:,} | {self.tested / self.seconds:,.0f} | {self.found} | "
            f"{few}{self.tested / max(1, self.found):,.0f} | {few}{self.seconds_each:.3g}"
        )


def up_to(name: str) -> Repertoire:
    """All techniques up to one, in the order of attention."""
    return EVERYTHING.only(*EVERYTHING.names[: EVERYTHING.names.index(name) + 1])


def measured(search: str, feature: Feature, seed: int, seconds: float) -> Speed:
    """Search for some time."""
    run = SEARCHES[search]
    for _ in run(1, seed, feature, limit=100):
        pass
    tested = found = 0
    begun = time.process_time()
    for outcome in run(1_000_000, seed + 1, feature, limit=PATIENCE):
        tested += outcome.attempts
        found += outcome.found
        if found == ENOUGH or time.process_time() - begun > seconds:
            break
    return Speed(tested, found, time.process_time() - begun)


def report(seed: int, seconds: float) -> str:
    lines = [
        f"Minimal 9x9 puzzles (seed {seed}), {seconds:g} s for each search, or until {ENOUGH} are "
        "found. 'faster' is how many times less time a puzzle takes that is found from near "
        "misses; where rejection found none, at least that.",
        "",
        "| essential | known | search | tested | a second | found | tested for one | s for one "
        "| faster |",
        "|---|---|---|---:|---:|---:|---:|---:|---:|",
    ]
    features = [(Feature(name, LEVELS[level]), level) for name, level in IN_LEVEL.items()]
    features += [(Feature(name, up_to(name)), "all that is easier") for name in ALONE]
    for feature, known in tqdm(features, unit="technique"):
        speeds = {name: measured(name, feature, seed, seconds) for name in SEARCHES}
        ratio = speeds["rejection"].seconds_each / speeds["near"].seconds_each
        faster = f"{ratio:.2g}" if speeds["near"].found else "-"
        if speeds["near"].found and not speeds["rejection"].found:
            faster = f"> {faster}"
        for name, speed in speeds.items():
            last = faster if name == "near" else "1"
            lines.append(f"| {feature.technique} | {known} | {name} | {speed.cells} | {last} |")
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    text = report(options.seed, options.seconds)
    print(text)
    if options.out:
        replace_section(options.out, "featured", text)


if __name__ == "__main__":
    main()
