"""Statuses of techniques and steps: puzzles a second, beside the route and the plain definition.

python benchmarks/status.py [--puzzles 2000] [--sample 40] [--out benchmarks/README.md]
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study.measure import (
    ESSENTIAL_STEPS,
    IDLE_STEPS,
    REPLACEABLE_STEPS,
    Measures,
    measure,
)
from gridcrux.grids.arrays import to_words, word_count
from gridcrux.grids.layout import NINE
from gridcrux.grids.state import State
from gridcrux.logic.records import new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.proofs.essential import ESSENTIAL, IDLE, REPLACEABLE, Crux, judge
from gridcrux.proofs.replay import reaches
from gridcrux.techniques.compiled.driver import run
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import tables
from gridcrux.techniques.policies import NOTHING
from gridcrux.techniques.repertoires import DEFAULT_LEVEL, LEVELS
from gridcrux.techniques.solve import board_of, route
from report import replace_section

SEED = 606


def timed(work: Callable[[], object]) -> float:
    """Seconds of processor time."""
    began = time.process_time()
    work()
    return time.process_time() - began


def routes(puzzles: NDArray[np.int8], repertoire: Repertoire) -> float:
    """Seconds for the routes of some puzzles, without a study around them."""
    boards = [board_of(State.from_digits(puzzle.tolist())) for puzzle in puzzles]
    room, plan, index = new_records(NINE.candidates + 2, NINE), plan_of(repertoire), tables(NINE)
    return timed(lambda: [run(index, board, plan, NOTHING, -1, room) for board in boards])


def defined(found: Route) -> tuple[list[str], list[str]]:
    """Statuses of techniques and of steps, where needed, by closures from the start."""
    layout, plan, index = found.start.layout, plan_of(found.repertoire), tables(found.start.layout)
    start, goal, room = board_of(found.start), board_of(found.end), new_records(1, layout)
    board = start.copy()
    techniques = []
    for name, times in found.counts().items():
        if times:
            rest = plan_of(found.repertoire.without(name))
            way = reaches(index, board, start, rest, NOTHING, -1, goal, room)
            techniques.append(REPLACEABLE if way else ESSENTIAL)
    steps = []
    for step, needed in zip(found.steps, found.needed, strict=True):
        if not needed:
            steps.append(IDLE)
            continue
        banned, barred = NOTHING, -1
        if step.places is None:
            banned = to_words(step.eliminates, word_count(layout))
        else:
            barred = step.premises[0]
        way = reaches(index, board, start, plan, banned, barred, goal, room)
        steps.append(REPLACEABLE if way else ESSENTIAL)
    return techniques, steps


def differences(found: Crux, techniques: list[str], steps: list[str]) -> int:
    """How many statuses are not as defined."""
    ours = [*found.techniques.values(), *found.statuses]
    return sum(one != other for one, other in zip(ours, [*techniques, *steps], strict=True))


def line(level: str, puzzles: NDArray[np.int8], sample: int) -> str:
    """A row of the table."""
    repertoire = LEVELS[level]
    measure(puzzles[:1], NINE, repertoire, 2)
    found: list[Measures] = []
    whole = timed(lambda: found.append(measure(puzzles, NINE, repertoire, 2))) / len(puzzles)
    alone = routes(puzzles, repertoire) / len(puzzles)
    some = [route(State.from_digits(each.tolist()), repertoire) for each in puzzles[:sample]]
    for each in some:
        assert each.steps
    plain: list[tuple[list[str], list[str]]] = []
    slow = timed(lambda: plain.extend(map(defined, some))) / len(some)
    wrong = sum(differences(judge(f), *by) for f, by in zip(some, plain, strict=True))
    counts = found[0].numbers[:, [ESSENTIAL_STEPS, REPLACEABLE_STEPS, IDLE_STEPS]].sum(axis=0)
    share = ", ".join(f"{count:,}" for count in counts.tolist())
    return (
        f"| {level} | {1 / whole:.0f} | {1000 * whole:.2f} ms | {whole / alone:.2f} x | "
        f"{(slow + alone) / whole:.0f} x | {share} | {int(found[0].essential.sum())} | "
        f"{wrong} of {sum(len(t) + len(s) for t, s in plain)} |"
    )


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--puzzles", type=int, default=2000)
    parser.add_argument("--sample", type=int, default=40)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    puzzles = np.array([item.puzzle for item in minimal(options.puzzles, options.seed)], np.int8)
    text = "\n".join(
        [
            f"{len(puzzles)} minimal 9x9 puzzles (seed {options.seed}), a study with the statuses "
            f"of all techniques and steps, on one core (bar 300 a second); the definition by "
            f"closures from the start on the first {options.sample}, all in one run.",
            "",
            "| level | puzzles a second | each | against the route alone | faster than the "
            "definition | steps essential, replaceable, idle | techniques essential | "
            "not as defined |",
            "|---|---:|---:|---:|---:|---:|---:|---:|",
            line("fish", puzzles, options.sample),
            line(DEFAULT_LEVEL, puzzles, options.sample),
        ]
    )
    print(text)
    if options.out:
        replace_section(options.out, "status", text)


if __name__ == "__main__":
    main()
