"""Every technique on many states: against the solution, by SAT from its premises, by its shape.

    python benchmarks/soundness.py [--deductions 1000000] [--out benchmarks/README.md]

States come from the routes of sampled minimal puzzles, of the open collections in
`GRIDCRUX_CORPORA`, and of other layouts.  In each state every technique writes all that it
finds; all of it is compared with the solution.  A random part is certified by SAT from the
premises alone (arguments from uniqueness by a check of their own), tested for premises to spare,
and named by the recogniser, which knows no finder.  Exit status 1 if anything is wrong.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pandas as pd
from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.arrays import to_words, word_count
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction, from_record
from gridcrux.logic.records import Records, new_records
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.proofs.certify_unique import certify_unique
from gridcrux.techniques.compiled.driver import find
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import tables
from gridcrux.techniques.recognise import names
from gridcrux.techniques.repertoires import DEFAULT, EVERYTHING
from gridcrux.techniques.solve import board_of, route
from report import replace_section

JAGGED = regions(["111222", "113222", "133444", "333446", "555466", "555666"], "jagged-6")
LAYOUTS = (
    boxes(2, 2),
    boxes(2, 3),
    latin(6),
    JAGGED,
    boxes(2, 4),
    NINE.with_diagonals(),
    boxes(3, 4),
)
COLLECTIONS = ("top95.txt", "hardest11.txt", "easy50.txt", "clues17-first25000.txt")
ROOM = 20_000
STEPS = 3
"""Deductions checked in each state of the first technique that offers any."""

SLOW_EVERY = 25
"""The last resorts are asked for in one state of so many, and up to 9x9: they take long."""


class Case(NamedTuple):
    """A state on the way to a known solution; `reached` from the givens, or thinned at random."""

    source: str
    state: State
    solution: int
    reached: bool = True


def on_the_way(source: str, start: State, solution: int) -> Iterator[Case]:
    """The states of a route in which no digit can be written, and the last one."""
    found = route(start, DEFAULT)
    states = list(found.states())
    for step, state in enumerate(states):
        if state.is_solved:
            continue
        if step == len(states) - 1 or found.records.places[step] < 0:
            yield Case(source, state, solution)


def sampled(layout: Layout, seed: int) -> Iterator[Case]:
    """States on the routes of minimal puzzles, without end."""
    for batch in range(1 << 30):
        for item in minimal(50, seed + batch, layout):
            start = State.from_digits(item.puzzle.tolist(), layout)
            truth = State.from_digits(item.solution.tolist(), layout).open
            yield from on_the_way(layout.name, start, truth)


def thinned(layout: Layout, seed: int) -> Iterator[Case]:
    """Puzzles of a layout with some of what is false excluded beforehand, without end.

    Singles are enough for most small puzzles, so there would be little to find on their routes.
    """
    random = np.random.default_rng(seed)
    for batch in range(1 << 30):
        for item in minimal(20, seed + batch, layout):
            truth = State.from_digits(item.solution.tolist(), layout).open
            lost = random.random(layout.candidates) < random.uniform(0, 0.5)
            excluded = sum(1 << c for c in np.flatnonzero(lost).tolist())
            few = np.where(random.random(layout.cells) < 0.5, item.puzzle, 0)
            start = State.from_digits(few.tolist(), layout)
            yield Case(layout.name, start.without(excluded & ~truth), truth, False)


def collected(folder: Path, seed: int) -> Iterator[Case]:
    """States of the puzzles of the open collections, mixed."""
    lines = [
        line for name in COLLECTIONS for line in islice((folder / name).read_text().split(), 2000)
    ]
    for i in np.random.default_rng(seed).permutation(len(lines)).tolist():
        start = read_puzzle(lines[i])
        digits = next(iter(get_engine("kernel").solutions(start)))
        yield from on_the_way("open collections", start, State.from_digits(digits).open)


def cases(seed: int) -> Iterator[Case]:
    """All sources in turn; 9x9 comes by most often."""
    sources = [sampled(NINE, seed)] * 6
    sources += [thinned(layout, seed) for layout in LAYOUTS]
    if folder := os.environ.get("GRIDCRUX_CORPORA"):
        sources += [collected(Path(folder), seed)] * 3
    while True:
        for source in sources:
            case = next(source, None)
            if case is not None:
                yield case


class Tally:
    """What came of it, by technique."""

    def __init__(self) -> None:
        self.counts: dict[str, Counter[str]] = {t.name: Counter() for t in EVERYTHING}
        self.problems: list[dict[str, str]] = []

    def total(self, what: str) -> int:
        return sum(count[what] for count in self.counts.values())

    def note(self, case: Case, step: Deduction, what: str, told: str = "") -> None:
        self.problems.append(
            {
                "what": what,
                "technique": step.technique,
                "told": told,
                "layout": step.layout.name,
                "premises": "; ".join(step.premise_names),
                "eliminates": "; ".join(step.elimination_names),
                "state": repr(case.state.marks),
            }
        )

    def check(self, case: Case, step: Deduction, easiest: bool, recognise: bool) -> None:
        """Certify one deduction, look for premises to spare, and name it.

        `easiest` says that no earlier technique offered anything, as when a step is taken.
        """
        count = self.counts[step.technique]
        assert step.theorem is not None
        count["certified"] += 1
        if step.theorem.assumes_unique:
            holds = certify_unique(step, case.state).holds
        else:
            holds = certify(step).holds and certify(step, case.state).holds
        if not holds:
            count["failed"] += 1
            self.note(case, step, "not certified")
        if step.theorem.assumes_unique:
            return
        narrow = 1 < step.width <= 4
        spare = not irreducible(step, case.state)
        count["narrow"] += narrow and easiest
        count["narrow reducible"] += narrow and easiest and spare
        count["judged"] += 1
        count["reducible"] += spare
        if recognise:
            told = names(step, case.state)
            count["recognised"] += 1
            if step.technique not in told:
                count["disagreed"] += 1
                self.note(case, step, "named otherwise", ", ".join(told[:3]))

    def table(self) -> pd.DataFrame:
        rows = []
        for technique in EVERYTHING:
            count = self.counts[technique.name]
            rows.append(
                {
                    "technique": technique.name,
                    "deductions": count["deductions"],
                    "wrong": count["wrong"],
                    "certified": count["certified"],
                    "refused": count["failed"],
                    "narrow steps": count["narrow"],
                    "irreducible": _share(count["narrow reducible"], count["narrow"]),
                    "irreducible anywhere": _share(count["reducible"], count["judged"]),
                    "named": count["recognised"],
                    "named otherwise": count["disagreed"],
                }
            )
        table = pd.DataFrame(rows)
        total = {"technique": "all"} | {
            column: table[column].sum()
            for column in table
            if column not in ("technique", "irreducible", "irreducible anywhere")
        }
        total["irreducible"] = _share(self.total("narrow reducible"), self.total("narrow"))
        total["irreducible anywhere"] = _share(self.total("reducible"), self.total("judged"))
        return pd.concat([table, pd.DataFrame([total])], ignore_index=True)


def _share(bad: int, of: int) -> str:
    return f"{1 - bad / of:.1%}" if of else "-"


def run(deductions: int, certified: int, recognised: int, seed: int) -> tuple[Tally, Counter[str]]:
    """Check until there are as many as asked for; also how many states of each source."""
    tally, states = Tally(), Counter[str]()
    random = np.random.default_rng(seed)
    plan = plan_of(EVERYTHING)
    with tqdm(total=deductions, unit="deduction") as bar:
        for number, case in enumerate(cases(seed)):
            have = tally.total("deductions")
            bar.update(min(have, deductions) - bar.n)
            if have >= deductions and tally.total("certified") >= certified:
                if tally.total("recognised") >= recognised:
                    break
                certified = recognised
            states[case.source] += 1
            layout = case.state.layout
            index, words = tables(layout), word_count(layout)
            truth = to_words(case.solution, words)
            room = new_records(ROOM, layout)
            easiest = True
            for technique in EVERYTHING:
                if technique.family == "forcing" and (number % SLOW_EVERY or layout.size > 9):
                    continue
                if technique.assumes_unique and not case.reached:
                    continue
                board = board_of(case.state)
                found = find(index, board, plan, technique.number, -1, room, 0, ROOM)
                records = Records(room[:found], words)
                count = tally.counts[technique.name]
                count["deductions"] += found
                wrong = [bool((removes & truth).any()) for removes in records.removes]
                count["wrong"] += sum(wrong)
                # More of what is rare, so that every technique is certified often enough.
                often = count["deductions"] > deductions // 50
                share = certified / deductions * (0.7 if often else 4)
                picked = random.random(found) < share
                for row in range(found):
                    as_a_step = easiest and row < STEPS
                    if not (picked[row] or wrong[row] or as_a_step):
                        continue
                    step = from_record(records, row, case.state, technique)
                    if wrong[row]:
                        tally.note(case, step, "removes the solution")
                    tally.check(case, step, easiest, tally.total("recognised") < recognised)
                easiest = easiest and (found == 0 or technique.assumes_unique)
    return tally, states


def as_text(tally: Tally, states: Counter[str], seed: int) -> str:
    table = tally.table()
    lines = [
        f"{states.total():,} states (seed {seed}): "
        + ", ".join(f"{name} {count:,}" for name, count in states.most_common())
        + ".",
        "",
        "| " + " | ".join(table.columns) + " |",
        "|---" + "|---:" * (len(table.columns) - 1) + "|",
    ]
    for row in table.itertuples(index=False):
        lines.append(
            "| " + " | ".join(f"{v:,}" if isinstance(v, int) else str(v) for v in row) + " |"
        )
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--deductions", type=int, default=1_000_000)
    parser.add_argument("--certified", type=int, default=100_000)
    parser.add_argument("--recognised", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    parser.add_argument("--problems", type=Path, help="CSV file for whatever was found wrong")
    options = parser.parse_args(arguments)
    tally, states = run(options.deductions, options.certified, options.recognised, options.seed)
    text = as_text(tally, states, options.seed)
    print(text)
    if options.out:
        replace_section(options.out, "soundness", text)
    if options.problems:
        pd.DataFrame(tally.problems).to_csv(options.problems, index=False)
    return int(bool(tally.total("wrong") or tally.total("failed")))


if __name__ == "__main__":
    sys.exit(main())
