"""Numbers that must be right: counters against each other, and against what is published."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from math import factorial

import numpy as np
from tqdm import tqdm

from canonical import BANDS, CLASSES, top_bands
from cases.enumeration import NO_LIMIT, disagreement
from cases.material import SEED, line_of, puzzles, spread, state_of, taken_away, with_solutions
from cases.outcome import Outcome, Settings, markdown
from cases.turns import figure
from gridcrux.engines import COUNTERS, get_counter
from gridcrux.engines.bands.engine import BandCounter
from gridcrux.engines.bands.two_rows import grids_with_two_rows
from gridcrux.engines.kernel import KernelEngine
from gridcrux.engines.protocol import Count, Counter
from gridcrux.grids.canonical import canonical_batch, group_order
from gridcrux.grids.layout import NINE, Layout, boxes
from gridcrux.grids.state import State

GRIDS_4, GRIDS_6 = 288, 28_200_960
"""OEIS A107739, and the encyclopaedia article "Mathematics of Sudoku"."""

GRIDS_8 = 29_136_487_207_403_520
"""The same article."""

GRIDS_9 = 6_670_903_752_021_072_936_960
"""Felgenhauer & Jarvis, "Enumerating possible Sudoku grids", 2005; OEIS A107739."""

DISTINCT = 44
"""Different numbers of completions of a top band; the same source."""

MANY = 10**12
MODEL_COUNTER_SECONDS = 300.0


@dataclass
class Checks:
    """Rows of a table of numbers, and what is wrong with them."""

    rows: list[list[str]] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    def number(self, what: str, how: str, right: int, find: Callable[[], int | None]) -> None:
        """A number that must be the published one; None if the time was up first."""
        began = time.perf_counter()
        found = find()
        seconds = time.perf_counter() - began
        verdict = "unknown, the time was up" if found is None else f"{found:,}"
        if found is not None and found != right:
            verdict += f", NOT {right:,}"
            self.faults.append(f"{what} by {how}: {found:,}, not {right:,}")
        self.rows.append([what, how, verdict, f"{figure(seconds)} s"])

    def agreement(
        self,
        what: str,
        counter: Counter,
        cases: Iterable[tuple[State, int]],
        threads: int = 1,
        seconds: float | None = None,
    ) -> None:
        """A counter on states of which another one says the number."""
        states, numbers = zip(*cases, strict=True)
        began = time.perf_counter()

        def ask(state: State) -> Count:
            return counter.count(state, NO_LIMIT, seconds)

        with ThreadPoolExecutor(threads) as pool:
            counts = list(tqdm(pool.map(ask, states), total=len(states), desc=what, unit="state"))
        taken = time.perf_counter() - began
        wrong = [
            fault
            for count, state, number in zip(counts, states, numbers, strict=True)
            if (fault := disagreement(count, state, number))
        ]
        self.faults += wrong
        complete = sum(count.complete for count in counts)
        words = f"{complete - len(wrong)} of {len(states)} agree"
        if complete < len(states):
            words += f", {len(states) - complete} unknown, as the time was up"
        words += f" ({min(numbers):,} to {max(numbers):,} solutions)"
        self.rows.append([what, f"enumeration and {counter.name}", words, f"{figure(taken)} s"])


def value(counter: Counter, state: State, seconds: float | None = None) -> int | None:
    """The number of solutions, or None if the time was up first."""
    count = counter.count(state, NO_LIMIT, seconds)
    return count.value if count.complete else None


def numbers(settings: Settings) -> Outcome:
    """All of them."""
    checks = Checks()
    few = list(with_solutions(spread(settings.few(200, 6), 1, settings.few(20_000, 300))))
    checks.agreement("puzzles with few solutions", get_counter("ganak"), few, 2, 120)
    most = spread(settings.few(190, 20), 1, settings.few(10**6, 10**5))
    most += [] if settings.quick else spread(10, 1.2e6, 1e8)
    many = with_solutions(most, SEED + 3)
    checks.agreement("puzzles with many solutions", BandCounter(), many)
    grids(settings, checks)
    parts = [markdown(["what", "how", "found", "time"], checks.rows, words=3)]
    parts.append(beyond(settings, checks))
    if not settings.quick:
        parts.append(top_bands_complete(checks, BandCounter()))
    return Outcome("\n\n".join(parts), faults=checks.faults)


def grids(settings: Settings, checks: Checks) -> None:
    """The numbers of complete grids, as published."""
    four, six = boxes(2, 2), boxes(2, 3)
    for name, made in COUNTERS.items():
        if name != "bands":
            checks.number("4x4 grids", name, GRIDS_4, partial(value, made(), State.empty(four)))
    row = with_first_row(six)
    kernel, ganak = KernelEngine(), get_counter("ganak")
    in_row = GRIDS_6 // factorial(6)
    checks.number("6x6 grids, first row fixed", "kernel", in_row, partial(value, kernel, row))
    if not settings.quick:
        seconds = MODEL_COUNTER_SECONDS
        by_ganak = partial(value, ganak, row, seconds)
        checks.number("6x6 grids, first row fixed", "ganak", in_row, by_ganak)
        checks.number("6x6 grids", "kernel", GRIDS_6, partial(value, kernel, State.empty(six)))
    checks.number("8x8 grids", "left halves (two_rows)", GRIDS_8, partial(grids_with_two_rows, 4))
    empty = State.empty(NINE)
    checks.number("9x9 grids", "bands", GRIDS_9, partial(value, BandCounter(), empty))


def with_first_row(layout: Layout) -> State:
    """The empty grid with 1 2 3 ... in its first row."""
    n = layout.size
    return state_of([*range(1, n + 1), *[0] * (n * n - n)], layout)


def beyond(settings: Settings, checks: Checks) -> str:
    """Puzzles with more solutions than can be visited, and the sum of their parts.

    The parts fix the digit of a cell; each has other givens, and so other symmetries.
    """
    counter, rows = BandCounter(), []
    for number, puzzle in enumerate(puzzles(settings.few(8, 2), SEED + 4)):
        for state in taken_away(puzzle, np.random.default_rng([SEED, number])):
            began = time.perf_counter()
            count = counter.count(state, NO_LIMIT).value
            seconds = time.perf_counter() - began
            if count > MANY:
                rows.append(_row_of(counter, state, count, seconds, checks))
                break
    head = ["givens", "number", "solutions", "time", "sum over the digits of a cell"]
    return f"Exact counts above {MANY:,}:\n\n" + markdown(head, rows)


def _row_of(
    counter: Counter, state: State, count: int, seconds: float, checks: Checks
) -> list[str]:
    cell = max(range(81), key=lambda each: len(state.digits_of(each)))
    parts = [state.with_placed((digit - 1) * 81 + cell) for digit in state.digits_of(cell)]
    total = sum(counter.count(part, NO_LIMIT).value for part in parts)
    if total != count:
        checks.faults.append(f"{line_of(state)} has {count:,} solutions, its parts {total:,}")
    same = "the same" if total == count else f"NOT the same: {total:,}"
    givens = f"{state.placed.bit_count()}"
    return [f"`{line_of(state)}`", givens, f"{count:,}", f"{figure(seconds)} s", same]


def top_bands_complete(checks: Checks, counter: Counter) -> str:
    """The completions of a top band of each class, and their sum over all top bands."""
    began = time.perf_counter()
    forms, automorphisms = canonical_batch(top_bands(), NINE)
    _, first = np.unique(forms, axis=0, return_index=True)
    whole = group_order(NINE) * factorial(9)
    # As givens, a band of the class may be any of three, or a stack: six sets of givens for each.
    sizes = [whole // int(number) // 6 for number in automorphisms[first]]
    completions = [
        counter.count(state_of(form), NO_LIMIT).value
        for form in tqdm(forms[first], desc="top bands", unit="band")
    ]
    total = sum(size * each for size, each in zip(sizes, completions, strict=True))
    seconds = time.perf_counter() - began
    return _told(checks, sizes, completions, total, seconds)


def _told(
    checks: Checks, sizes: Sequence[int], completions: Sequence[int], total: int, seconds: float
) -> str:
    """What the classes of bands come to, against what is published."""
    for what, found, right in (
        ("classes of top bands", len(sizes), CLASSES),
        ("top bands", sum(sizes), BANDS),
        ("different numbers of completions of a top band", len(set(completions)), DISTINCT),
        ("grids by their top bands", total, GRIDS_9),
    ):
        if found != right:
            checks.faults.append(f"{what}: {found:,}, not {right:,}")
    return (
        f"Top bands of 9x9: {len(sizes)} classes with {sum(sizes):,} bands; a band of each class "
        f"completed by the bands counter gives {len(set(completions))} different numbers, from "
        f"{min(completions):,} to {max(completions):,}; times the sizes of the classes they sum to "
        f"{total:,}, {'the' if total == GRIDS_9 else 'NOT the'} number of grids ({seconds:.0f} s; "
        "Felgenhauer & Jarvis 2005)."
    )
