"""Whether a puzzle has one solution: every engine on the same puzzles, the kernel beside each."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from tqdm import tqdm

from cases.material import SEED, WARM_SEED, Digits, line_of, puzzles, state_of
from cases.outcome import Outcome, Settings, ahead, markdown
from cases.series import Series
from cases.turns import Piece, figure, take_turns
from gridcrux.engines import COUNTERS
from gridcrux.engines.kernel import search
from gridcrux.engines.protocol import Answer, Count, Counter
from gridcrux.grids.arrays import geometry
from gridcrux.grids.layout import NINE
from gridcrux.grids.state import State

LOOP = "kernel, compiled loop"
PART = {"ganak": 100, "bands": 50}
"""How many of the puzzles, the first ones, are put to what takes long for each."""

WARM, AGAIN = 20, 100
BAR = 60


class Loop:
    """The kernel over many puzzles in one compiled call, as corpora are measured."""

    def __init__(self, digits: Digits) -> None:
        self.kind, self.tables = search.kind_of(NINE), geometry(NINE)
        self.stack = search.new_stack(self.kind, self.tables)
        self.digits = digits
        self.counts = np.zeros(len(digits), np.int64)
        self.nodes = np.zeros_like(self.counts)

    def __call__(self) -> int:
        search.count_many(
            self.kind, self.tables, self.stack, self.digits, 2, self.counts, self.nodes
        )
        return len(self.digits)

    def faults(self) -> list[str]:
        """The puzzles of which it does not say that they have one solution."""
        wrong = np.flatnonzero(self.counts != 1)
        return [
            f"{LOOP} says {self.counts[i]} of {line_of(state_of(self.digits[i]))}, which has one "
            "solution"
            for i in wrong.tolist()
        ]


def median_of_loop(digits: Digits) -> float:
    """Seconds of the median puzzle in compiled code, each asked many times in one call."""
    loops = [Loop(np.repeat(puzzle[None], AGAIN, axis=0)) for puzzle in digits]
    return float(np.median([take_turns([[loop]])[0] for loop in loops]))


def _ask(counter: Counter, state: State) -> Count:
    return counter.count(state, 1)


def series_of(
    made: Callable[[], Counter], states: Sequence[State], warm: Sequence[State]
) -> Series:
    """A counter that is asked whether states, which have one solution, have one."""

    def check(count: Count, number: int) -> str | None:
        if count.unique is Answer.YES:
            return None
        found = f"{count.value} ({'all' if count.complete else count.stopped_by})"
        return f"{count.engine} says {found} of {line_of(states[number])}, which has one solution"

    return Series(made, _ask, check, states, warm)


def uniqueness(
    settings: Settings, counters: Mapping[str, Callable[[], Counter]] = COUNTERS
) -> Outcome:
    """Every counter on the same puzzles."""
    count = settings.few(500, 40)
    digits = puzzles(count)
    states = [state_of(each) for each in digits]
    warm = [state_of(each) for each in puzzles(WARM, WARM_SEED)]
    loop = Loop(digits)
    loop()
    outcome = Outcome(faults=loop.faults())
    rows: list[list[str]] = []
    for name in tqdm(counters, desc="uniqueness", unit="engine"):
        part = min(PART.get(name, count), settings.few(count, 5 if name in PART else count))
        series = series_of(counters[name], states[:part], warm if part == count else warm[:1])
        own = series_of(counters["kernel"], states[:part], warm)
        ours: dict[str, Series | Piece] = {LOOP: Loop(digits[:part]), "kernel": own}
        by_loop, by_object = series.against("uniqueness", name, ours, settings.rounds)
        outcome.comparisons += [by_loop, by_object]
        outcome.faults += series.faults + own.faults
        if not rows:
            mean = float(np.median(by_loop.ours_seconds))
            nodes = f"nodes {figure(loop.nodes.mean())}"
            rows.append([LOOP, f"{part}", *_micro(median_of_loop(digits), mean), nodes, "1", ""])
        times = _micro(series.median, series.mean)
        ratios = by_loop.text, by_object.text
        rows.append([name, f"{part}", *times, series.effort_text, *ratios])
    head = ["engine", "puzzles", "median, us", "mean, us", "effort, mean", "to the compiled loop",
            "to the kernel, called as engine"]  # fmt: skip
    peers = [each for each in outcome.comparisons if each.peer != "kernel"]
    words = [
        f"{count} minimal 9x9 puzzles (seed {SEED}), {settings.rounds} rounds. "
        + ahead("The compiled loop", [each for each in peers if each.ours == LOOP], BAR)
        + " "
        + ahead("The kernel called as an engine", [e for e in peers if e.ours == "kernel"], BAR),
        "",
        markdown(head, rows),
    ]
    outcome.text = "\n".join(words)
    return outcome


def _micro(*seconds: float) -> list[str]:
    return [figure(1e6 * each) for each in seconds]
