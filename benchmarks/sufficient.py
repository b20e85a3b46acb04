"""Minimal sufficient and blocking sets: how often exact, against all subsets, and how monotone.

python benchmarks/sufficient.py [--puzzles 1000] [--subsets 200] [--pairs 300] [--out FILE]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator, Sequence
from itertools import product
from pathlib import Path

import numpy as np
from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from gridcrux.grids.state import State
from gridcrux.proofs.closures import Closures, Flags
from gridcrux.proofs.monotone import monotone_exceptions
from gridcrux.proofs.sufficient import Names, technique_sets
from gridcrux.techniques.repertoires import DEFAULT, LEVELS, SINGLES
from report import replace_section

SEED = 808
LIMIT = 1.0
PAIRS = 100
PERCENTILES = (50, 75, 90, 95, 99, 100)
CUT = DEFAULT.only(
    *SINGLES.names,
    *("pointing", "claiming", "naked-pair", "x-wing", "skyscraper", "xy-wing", "w-wing"),
)
"""Ten techniques of several kinds, for all of whose subsets the closure can be worked out."""


def starts(count: int, seed: int) -> Iterator[State]:
    puzzles = (State.from_digits(item.puzzle.tolist()) for item in minimal(count, seed))
    return iter(tqdm(puzzles, total=count, unit="puzzle"))


def exact_lines(count: int, seed: int, always: Names) -> list[str]:
    """How often all sets are known in time, and how many there are."""
    seconds, sizes, complete, exceptional = [], [], [], []
    technique_sets(next(starts(1, seed)), DEFAULT, always=always)
    for state in starts(count, seed):
        begun = time.perf_counter()
        found = technique_sets(state, DEFAULT, always=always, limit=None, seconds=LIMIT)
        seconds.append(time.perf_counter() - begun)
        sizes.append((len(found.sufficient), len(found.blocking)))
        complete.append(found.complete)
        exceptional.append(bool(found.exceptions))
    free = len(DEFAULT) - len(always)
    what = (
        f"{free} techniques, placements taken for granted" if always else f"all {free} techniques"
    )
    shares = np.percentile(sizes, PERCENTILES, axis=0)
    return [
        f"{count} minimal 9x9 puzzles (seed {seed}), {what}: {np.mean(complete):.1%} exact within "
        f"{LIMIT:.0f} s each (bar 99 %); median {1000 * np.median(seconds):.0f} ms; with "
        f"exceptions {np.mean(exceptional):.1%}. Sets found by then:",
        "",
        f"| percentile | {' | '.join(map(str, PERCENTILES))} |",
        f"|---|{'---:|' * len(PERCENTILES)}",
        f"| minimal sufficient | {' | '.join(f'{n:.0f}' for n in shares[:, 0])} |",
        f"| minimal blocking | {' | '.join(f'{n:.0f}' for n in shares[:, 1])} |",
        "",
    ]


def minimal_sets(holds: Flags) -> set[int]:
    """The least numbers, as sets of bits, of an array over all of them that grows with the set."""
    found = np.flatnonzero(holds)
    bits = 1 << np.arange(len(holds).bit_length() - 1)
    return {n for n in found.tolist() if not any(holds[n & ~b] for b in bits.tolist() if n & b)}


def by_all_subsets(state: State) -> tuple[set[int], set[int], bool]:
    """Both kinds of sets as numbers, by the closure of every subset; whether all is monotone."""
    count = len(CUT)
    subsets = np.array(list(product([False, True], repeat=count)))[:, ::-1].copy()
    reached = Closures(state, CUT).reach(subsets)
    # A set with a sufficient part is sufficient.
    cube = reached.copy().reshape((2,) * count)
    for axis in range(count):
        less, more = np.moveaxis(cube, axis, 0)
        more |= less
    sufficient = cube.reshape(-1)
    monotone = bool((sufficient == reached).all())
    # The complement of set number n has number 2**count - 1 - n.
    return minimal_sets(sufficient), minimal_sets(~sufficient[::-1]), monotone


def subset_lines(count: int, seed: int) -> list[str]:
    """How often both kinds are those that all subsets give."""
    numbers = {name: 1 << place for place, name in enumerate(CUT.names)}
    equal = monotone = several = 0
    for state in starts(count, seed):
        found = technique_sets(state, CUT)
        both = [{sum(map(numbers.get, s)) for s in k} for k in (found.sufficient, found.blocking)]  # type: ignore[arg-type]
        *expected, grows = by_all_subsets(state)
        equal += both == expected
        monotone += grows
        several += len(found.sufficient) > 1
    return [
        f"Against the closures of all {1 << len(CUT)} subsets of {len(CUT)} techniques: equal for "
        f"{equal} of {count} puzzles (bar: all); {several} of them have more than one minimal "
        f"sufficient set, and in {count - monotone} some larger set reaches less.",
        "",
    ]


def monotone_lines(count: int, seed: int) -> list[str]:
    """How often the smaller of two sets gets farther."""
    lines = [
        f"Pairs of random sets, one a part of the other, {PAIRS} a puzzle, {count} puzzles:",
        "",
        "| level | placements | puzzles with such a pair | smaller set alone reaches the goal "
        "| ... or excludes something more |",
        "|---|---|---:|---:|---:|",
    ]
    for level in ("fish", "almost-locked-sets"):
        for always in ((), SINGLES.names):
            puzzles = goals = losses = 0
            for number, state in enumerate(starts(count, seed)):
                found = monotone_exceptions(state, LEVELS[level], PAIRS, number, always)
                puzzles += bool(found)
                goals += sum(each.reaches for each in found)
                losses += len(found)
            pairs = count * PAIRS
            lines.append(
                f"| {level} | {'in every set' if always else 'like all others'} "
                f"| {puzzles / count:.1%} | {goals / pairs:.3%} | {losses / pairs:.3%} |"
            )
    return lines


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=1000)
    parser.add_argument("--subsets", type=int, default=200, help="puzzles for all subsets")
    parser.add_argument("--pairs", type=int, default=300, help="puzzles for pairs of sets")
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    lines = []
    # Where placements may be left out most puzzles take longer, so fewer are looked at.
    for always, count in ((SINGLES.names, options.puzzles), ((), options.puzzles // 10)):
        lines += exact_lines(count, options.seed, always)
    lines += subset_lines(options.subsets, options.seed)
    lines += monotone_lines(options.pairs, options.seed)
    print("\n".join(lines))
    if options.out:
        replace_section(options.out, "sufficient", "\n".join(lines))


if __name__ == "__main__":
    main()
