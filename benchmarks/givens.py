"""Givens that can go and givens that are missing: how often exact, and how long it takes.

python benchmarks/givens.py [--puzzles 100] [--out benchmarks/README.md]
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.state import State
from gridcrux.proofs.further import further_givens
from gridcrux.proofs.givens import sufficient_givens
from report import replace_section

SEED = 717
LIMIT = 5.0


def changed(count: int, seed: int, more: int) -> Iterator[State]:
    """Minimal puzzles with that many random givens more, or fewer."""
    random = np.random.default_rng(seed)
    for item in minimal(count, seed):
        digits = item.puzzle.copy()
        cells = np.flatnonzero(digits == 0 if more > 0 else digits > 0)
        chosen = random.choice(cells, abs(more), replace=False)
        digits[chosen] = item.solution[chosen] if more > 0 else 0
        yield State.from_digits(digits.tolist())


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=100)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    engine = get_engine("sat")
    lines = [
        f"{options.puzzles} minimal 9x9 puzzles (seed {options.seed}) with random givens of their "
        f"solutions added, or givens taken out; at most {LIMIT:.0f} s each. python-sat confirms "
        "that what is found has one solution.",
        "",
        "| givens | exact | median | slowest | answers | refused by python-sat |",
        "|---|---:|---:|---:|---|---:|",
    ]
    for more in (2, 5, 10, -1, -2, -3, -4, -5, -6):
        seconds, exact, wrong = [], 0, 0
        sizes: Counter[int] = Counter()
        for state in tqdm(changed(options.puzzles, options.seed, more), total=options.puzzles):
            begun = time.perf_counter()
            if more > 0:
                few = sufficient_givens(state, seconds=LIMIT)
                gone = state.givens.bit_count() - few.size
                exact, end = exact + few.exact, few.state
                sizes[gone] += few.exact
            else:
                further = further_givens(state, seconds=LIMIT)
                exact, end = exact + further.exact, further.state
                sizes[further.upper] += further.exact
            seconds.append(time.perf_counter() - begun)
            wrong += engine.count(end, 2).value != 1
        what = "can go" if more > 0 else "needed"
        told = ", ".join(f"{size}: {sizes[size]}" for size in sorted(sizes) if sizes[size])
        lines.append(
            f"| {abs(more)} {'more' if more > 0 else 'fewer'} | {exact / options.puzzles:.0%} | "
            f"{1000 * np.median(seconds):.0f} ms | {max(seconds):.1f} s | {what} {told} | {wrong} |"
        )
    print("\n".join(lines))
    if options.out:
        replace_section(options.out, "givens", "\n".join(lines))


if __name__ == "__main__":
    main()
