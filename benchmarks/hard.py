"""Fewest hard steps: how often exact and how fast, against brute force, and under symmetries.

python benchmarks/hard.py [--puzzles 1000] [--transformed 500] [--out benchmarks/README.md]
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
from gridcrux.engines.limits import Deadline
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.essential import ESSENTIAL, crux
from gridcrux.proofs.hard.fewest import FewestSteps, fewest_hard_steps
from gridcrux.proofs.hard.layers import Layers
from gridcrux.proofs.hard.moves import Walk
from gridcrux.proofs.hard.offers import ALL
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.proofs.hard.ways import shortest_ways
from gridcrux.proofs.hard.widths import least_total_width, least_widest_step
from gridcrux.proofs.sufficient import technique_sets
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import route
from report import replace_section

SEED = 515
LIMIT = 2.0
STATES = 2_000
"""States that a brute-force search may look at before a puzzle is passed over."""


def starts(count: int, seed: int, layout: Layout = NINE) -> Iterator[State]:
    for item in minimal(count, seed, layout):
        yield State.from_digits(item.puzzle.tolist(), layout)


def hard_steps(state: State, repertoire: Repertoire, policy: str, above: str) -> int | None:
    """Hard steps of the route that a policy takes; None if it does not solve the puzzle."""
    way = route(state, repertoire, policy, unique=True)
    easy = LEVELS[above].names
    return sum(step.technique not in easy for step in way) if way.solved else None


def exactness(puzzles: int, seed: int) -> list[str]:
    """How often the number is exact within the limit, and that no route is shorter."""
    lines = [
        "| techniques | easy | exact within 2 s | median | 95 % within | mean | solved | "
        "hard steps of the route | fewest | above a route |",
        "|---|---|---:|---:|---:|---:|---:|---:|---:|---:|",
    ]
    plans = ((DEFAULT, "singles"), (DEFAULT, "subsets"), (FIRST_FAMILY, "singles"))
    for repertoire, above in plans:
        fewest_hard_steps(next(starts(1, seed)), repertoire, above)
        found: list[FewestSteps] = []
        seconds, taken, worse = [], [], 0
        for place, state in enumerate(tqdm(starts(puzzles, seed), total=puzzles, unit="puzzle")):
            begun = time.perf_counter()
            found.append(fewest_hard_steps(state, repertoire, above, seconds=LIMIT))
            seconds.append(time.perf_counter() - begun)
            greedy = hard_steps(state, repertoire, "easiest", above)
            upper = found[-1].upper
            if greedy is None or upper is None:
                worse += (greedy is None) != (upper is None)
                continue
            taken.append(greedy)
            if place % 10 == 0:
                least = hard_steps(state, repertoire, "fewest", above)
                greedy = greedy if least is None else min(greedy, least)
            worse += upper > greedy
        within = np.array(seconds) <= 1.05 * LIMIT
        exact = np.mean(np.array([each.exact for each in found]) & within)
        uppers = [each.upper for each in found if each.upper is not None]
        name = next(key for key, level in LEVELS.items() if level is repertoire)
        lines.append(
            f"| {name} | {above} | {exact:.1%} | {1000 * np.median(seconds):.1f} ms | "
            f"{np.quantile(seconds, 0.95):.2f} s | {np.mean(seconds):.2f} s | "
            f"{len(uppers) / len(found):.1%} | {np.mean(taken):.2f} | {np.mean(uppers):.2f} | "
            f"{worse} |"
        )
    return lines


def by_brute_force(walk: Walk, most: int) -> int | str | None:
    """The fewest hard steps by looking at every state; None if there are more than `most`."""
    layer, seen, steps = [walk.start], {walk.start}, 0
    while layer:
        if any(map(walk.solved, layer)):
            return steps
        after = []
        for left in layer:
            for further in walk.moves(left, to_end=True).left:
                if further not in seen:
                    seen.add(further)
                    after.append(further)
            if len(seen) > most:
                return None
        layer, steps = after, steps + 1
    return "not solved"


def brute_force(seed: int) -> list[str]:
    """Comparison with a search that passes no state over."""
    lines = [
        "| layout | techniques | compared | fewest 0, 1, 2, ... | too many states | differences |",
        "|---|---|---:|---|---:|---:|",
    ]
    cells = DEFAULT.without("full-house", "hidden-single")
    small = FIRST_FAMILY.without("full-house", "hidden-single")
    plans = [
        (boxes(2, 2), "naked singles and harder", cells, 400),
        (boxes(2, 3), "naked singles and harder", small, 400),
        (latin(5), "naked singles and harder", small, 400),
        (NINE, "fish", FIRST_FAMILY, 300),
        (NINE, "two-digit-cells", LEVELS["two-digit-cells"], 100),
        (NINE, "almost-locked-sets", DEFAULT, 60),
    ]
    for layout, name, repertoire, count in plans:
        numbers: Counter[int | str] = Counter()
        skipped = differ = 0
        for state in tqdm(starts(count, seed + 1, layout), total=count, unit="puzzle"):
            most = STATES if repertoire is FIRST_FAMILY or layout is not NINE else STATES // 10
            walk = Walk.above(state, repertoire, "singles", keep=ALL)
            expected = by_brute_force(walk, most)
            if expected is None:
                skipped += 1
                continue
            found = fewest_hard_steps(state, repertoire, seconds=60)
            got = "not solved" if found.upper is None else found.upper
            numbers[expected] += 1
            differ += not found.exact or got != expected
        spread = ", ".join(str(numbers[k]) for k in range(1 + max(_whole(numbers), default=0)))
        spread += f"; not solved {numbers['not solved']}" if numbers["not solved"] else ""
        total = sum(numbers.values())
        lines.append(f"| {layout.name} | {name} | {total} | {spread} | {skipped} | {differ} |")
    return lines


class Unjoined(Layers):
    """A search that looks at every state of a layer by itself."""

    def _join(self, refuted: int, others: list[int]) -> None:
        pass


def unjoined(puzzles: int, seed: int) -> str:
    """Comparison with a search that joins no states, where there are three steps or more."""
    compared = differ = 0
    for state in tqdm(starts(puzzles, seed + 3), total=puzzles, unit="puzzle"):
        found = fewest_hard_steps(state, seconds=LIMIT)
        if not found.exact or found.route is None or len(found.hard) < 3:
            continue
        plain = Unjoined(Walk.above(state, DEFAULT, "singles"), Deadline(5 * LIMIT))
        plain.search([found.route.records.table[place] for place in found.hard])
        if plain.best is not None and plain.lower == len(plain.best):
            compared += 1
            differ += plain.lower != found.lower
    return (
        f"Of {puzzles:,} other puzzles (almost-locked-sets, above singles) those that take three "
        "hard steps or more were searched once more without joining states: "
        f"{compared} compared, {differ} differences."
    )


def _whole(numbers: Counter[int | str]) -> list[int]:
    return [key for key in numbers if isinstance(key, int)]


def transformed(state: State, random: np.random.Generator) -> State:
    """A 9x9 puzzle with other digits, bands, stacks, lines, and perhaps turned over."""
    grid = np.array(state.puzzle).reshape(9, 9)
    rows, columns = (
        np.concatenate([3 * band + random.permutation(3) for band in random.permutation(3)])
        for _ in range(2)
    )
    grid = np.concatenate([[0], 1 + random.permutation(9)])[grid[rows][:, columns]]
    if random.random() < 0.5:
        grid = grid.T
    return State.from_digits(grid.ravel().tolist())


def counts(state: State, repertoire: Repertoire) -> dict[str, object]:
    """Everything that is counted of a puzzle, as far as it is known exactly."""
    fewest = fewest_hard_steps(state, repertoire, seconds=LIMIT)
    total = least_total_width(state, repertoire, seconds=LIMIT)
    judged = crux(state, repertoire)
    sets = technique_sets(state, repertoire, always=SINGLES.names, seconds=LIMIT)
    told: dict[str, object] = {
        "fewest hard steps": fewest.upper if fewest.exact else None,
        "least total width": total.upper if total.exact else None,
        "least widest step": least_widest_step(state, repertoire),
        "essential techniques": judged.essential,
        "essential steps of the route": judged.statuses.count(ESSENTIAL),
        "idle steps of the route": judged.idle,
        "minimal sufficient sets": sets.sufficient if sets.complete else None,
        "minimal blocking sets": sets.blocking if sets.complete else None,
    }
    if fewest.exact and fewest.route is not None:
        ways = shortest_ways(fewest, repertoire, seconds=LIMIT)
        told["shortest ways"] = ways.number if ways.complete else None
    start = route(state, SINGLES)
    if not start.solved:
        way = route(start.end, repertoire, unique=True)
        profile = crux_profile(way)
        told["hard deductions open at the first hard step"] = profile.moments[:1] and (
            profile.moments[0].open,
            profile.moments[0].leading,
            profile.moments[0].solving,
        )
    return told


def symmetry(puzzles: int, seed: int) -> list[str]:
    """How often a count is another one after a transformation."""
    lines = ["| techniques | count | compared | differences |", "|---|---|---:|---:|"]
    plans = ((FIRST_FAMILY, "fish", puzzles), (DEFAULT, "almost-locked-sets", puzzles // 5))
    for repertoire, name, number in plans:
        random = np.random.default_rng(seed)
        compared: Counter[str] = Counter()
        differ: Counter[str] = Counter()
        for state in tqdm(starts(number, seed + 2), total=number, unit="puzzle"):
            before = counts(state, repertoire)
            for _ in range(5):
                after = counts(transformed(state, random), repertoire)
                for key, value in before.items():
                    if value is not None and after.get(key) is not None:
                        compared[key] += 1
                        differ[key] += value != after[key]
        lines += [f"| {name} | {key} | {compared[key]:,} | {differ[key]} |" for key in compared]
    return lines


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=1000)
    parser.add_argument("--transformed", type=int, default=500)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    lines = [f"{options.puzzles:,} minimal 9x9 puzzles (seed {options.seed}):", ""]
    lines += [*exactness(options.puzzles, options.seed), ""]
    lines += ["Against a search that passes no state over:", "", *brute_force(options.seed), ""]
    lines += [unjoined(options.puzzles // 2, options.seed), ""]
    lines += [
        "Five random transformations of each puzzle (digits, bands, stacks, lines, transposed):",
        "",
        *symmetry(options.transformed, options.seed),
    ]
    print("\n".join(lines))
    if options.out:
        replace_section(options.out, "hard", "\n".join(lines))


if __name__ == "__main__":
    main()
