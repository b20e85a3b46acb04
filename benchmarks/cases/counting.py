"""How many solutions: enumeration, the model counter and the bands, from one to very many."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import pairwise
from math import log, log10
from statistics import median

import numpy as np
import pandas as pd
from tqdm import tqdm

from cases.enumeration import NO_LIMIT, disagreement, series_of
from cases.material import SEED, WARM_SEED, line_of, partly_given, puzzles, state_of, taken_away
from cases.outcome import Outcome, Settings, markdown
from cases.pictures import save
from cases.turns import Comparison, figure, take_turns
from gridcrux.engines import ENGINES, get_counter
from gridcrux.engines.bands.engine import BandCounter
from gridcrux.engines.kernel import KernelEngine
from gridcrux.engines.protocol import Counter
from gridcrux.figures.scaling import plot_scaling, scaling_table
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State

NAMES = ("kernel", "ganak", "bands")
LARGEST = {"kernel": 20_000_000, "ganak": 20_000, "bands": 10**17}
"""Above so many solutions an engine is not asked, as it would take too long."""

SECONDS, QUICK_SECONDS, LONG = 20.0, 2.0, 4.0
"""A state may take no longer; and what takes longer is timed once."""

PUZZLES = 4
FEWEST = 6
"""Givens at which a chain ends: with about five the bands take longest, some 10 s."""

GRIDS = 39_168
"""6x6 grids with a given first row: 28,200,960 / 720 (encyclopaedia, "Mathematics of Sudoku")."""

SOME = ("kernel", "sat", "cp", "cp/integers", "cover", "cadical195/fresh", "minisat22/fresh",
        "bands", "ganak")  # fmt: skip
"""Those that are asked for the 650,000 solutions of one puzzle."""


@dataclass
class Decade:
    """States with about as many solutions.

    Attributes
    ----------
    exponent : they have at least 10 to the power of this, and less than ten times as many.
    seconds : for each engine the seconds a state, in each round; empty if a count was cut short.
    """

    exponent: int
    states: list[State] = field(default_factory=list)
    numbers: list[int] = field(default_factory=list)
    seconds: dict[str, tuple[float, ...]] = field(default_factory=dict)


def decades(settings: Settings, largest: int) -> list[Decade]:
    """Puzzles with one given after the other taken away, sorted by how many solutions they have."""
    counter = BandCounter()
    found: dict[int, Decade] = {}
    chains = puzzles(settings.few(PUZZLES, 1))
    for number, puzzle in enumerate(tqdm(chains, desc="states to count", unit="puzzle")):
        for state in taken_away(puzzle, np.random.default_rng([SEED, number])):
            count = counter.count(state, NO_LIMIT).value
            if count >= largest or state.placed.bit_count() < FEWEST:
                break
            decade = found.setdefault(int(log10(count) + 1e-9), Decade(len(str(count)) - 1))
            decade.states.append(state)
            decade.numbers.append(count)
    return [found[exponent] for exponent in sorted(found)]


def measure(
    decade: Decade,
    makers: Mapping[str, Callable[[], Counter]],
    rounds: int,
    seconds: float,
    outcome: Outcome,
) -> None:
    """Time those engines on a decade that are not too slow for it; compare what they say."""
    names = [name for name in makers if max(decade.numbers) < LARGEST[name]]
    warm = [state_of(puzzles(1, WARM_SEED)[0])]
    series = {
        name: series_of(makers[name], decade.states, decade.numbers, warm, seconds)
        for name in names
    }
    found: dict[str, list[float]] = {name: [] for name in names}
    # With nobody to take turns with there is no ratio.
    for number in range(rounds if len(names) > 1 else 1):
        # What was too slow once is not asked again.
        names = [name for name in names if not series[name].cuts]
        taken = take_turns([series[name].pieces() for name in names], number)
        for name, each in zip(names, taken, strict=True):
            found[name].append(each)
    for name, one in series.items():
        outcome.faults += one.faults
        decade.seconds[name] = () if one.cuts else tuple(found[name])


def crossing(at: Sequence[float], first: Sequence[float], second: Sequence[float]) -> float | None:
    """Where the first, faster at the beginning, becomes slower than the second; None if nowhere.

    Both are taken to be straight between two points of a plot with two logarithmic axes.

    >>> crossing([1, 100], [1.0, 16.0], [4.0, 4.0])
    10.0
    """
    ahead = [log(b / a) for a, b in zip(first, second, strict=True)]
    for (x, one), (y, other) in pairwise(zip(at, ahead, strict=True)):
        if one >= 0 > other:
            return round(10 ** (log10(x) + log10(y / x) * one / (one - other)), 9)
    return None


def counting(settings: Settings) -> Outcome:
    """The decades, their crossings, 39,168 grids, and a puzzle with many solutions."""
    outcome = Outcome()
    makers = {name: partial(get_counter, name) for name in NAMES}
    found = decades(settings, settings.few(10**16, 10**9))
    rounds, seconds = min(settings.rounds, 3), QUICK_SECONDS if settings.quick else SECONDS
    for decade in tqdm(found, desc="counting", unit="decade"):
        measure(decade, makers, rounds, seconds, outcome)
        outcome.comparisons += _ratios(decade)
    parts = [
        f"States of {settings.few(PUZZLES, 1)} minimal 9x9 puzzles (seed {SEED}) with givens taken "
        f"away one by one, {rounds} rounds, or one where only one engine is left; mean time of a "
        "state.",
        _decade_table(found, outcome.comparisons, seconds),
        _crossings(found),
    ]
    if settings.figures:
        table = scaling_table(_rows(found), "solutions")
        save(
            settings.figures / "counting.png",
            lambda ax: plot_scaling(table, x="solutions", ax=ax),
        )
        parts.append("![Seconds against number of solutions](counting.png)")
    parts += [_all_grids(settings, outcome), _one_puzzle(settings, outcome)]
    outcome.text = "\n\n".join(parts)
    return outcome


def _ratios(decade: Decade) -> list[Comparison]:
    """Others against the bands."""
    bands = decade.seconds["bands"]
    return [
        Comparison(
            f"counting, 10^{decade.exponent} solutions", "bands", name, len(decade.states),
            bands, each,
        )
        for name, each in decade.seconds.items()
        if name != "bands" and each and bands
    ]  # fmt: skip


def _decade_table(found: Sequence[Decade], comparisons: Sequence[Comparison], most: float) -> str:
    ratios = {(each.case, each.peer): each.text for each in comparisons}
    rows = []
    for decade in found:
        case = f"counting, 10^{decade.exponent} solutions"
        cells = [
            figure(median(decade.seconds[name])) + " s"
            if decade.seconds.get(name)
            else (f"> {most:g} s for some" if name in decade.seconds else "-")
            for name in NAMES
        ]
        givens = [state.placed.bit_count() for state in decade.states]
        rows.append(
            [
                f"10^{decade.exponent}",
                f"{len(decade.states)}",
                f"{min(givens)} to {max(givens)}",
                *cells,
                ratios.get((case, "kernel"), ""),
                ratios.get((case, "ganak"), ""),
            ]
        )
    head = ["solutions, from", "states", "givens", *NAMES, "kernel to bands", "ganak to bands"]
    return markdown(head, rows)


def _crossings(found: Sequence[Decade]) -> str:
    words = []
    for first, second in (("kernel", "ganak"), ("ganak", "bands"), ("kernel", "bands")):
        both = [each for each in found if each.seconds.get(first) and each.seconds.get(second)]
        at = crossing(
            [float(np.mean(each.numbers)) for each in both],
            [median(each.seconds[first]) for each in both],
            [median(each.seconds[second]) for each in both],
        )
        if at is None:
            words.append(f"{first} is not overtaken by {second} where both were measured")
        else:
            words.append(f"{first} is overtaken by {second} at about {figure(at)} solutions")
    return "; ".join(words).capitalize() + "."


def _rows(found: Sequence[Decade]) -> pd.DataFrame:
    """A row for each decade, engine and round."""
    return pd.DataFrame(
        [
            {"solutions": float(np.mean(each.numbers)), "engine": name, "seconds": seconds}
            for each in found
            for name, rounds in each.seconds.items()
            for seconds in rounds
        ],
        columns=["solutions", "engine", "seconds"],
    )


def _each(
    case: str,
    state: State,
    right: int,
    warm: State,
    names: Sequence[str],
    seconds: float,
    rounds: int,
    outcome: Outcome,
) -> str:
    """One state by many engines, each beside the kernel; what is cut short is asked once."""
    rows = []
    for name in tqdm(names, desc=case, unit="engine"):
        made = partial(get_counter, name)
        probe = series_of(made, [state], [right], [warm], seconds)
        probe.pieces()[0]()
        if probe.cuts:
            rows.append([name, f"> {figure(probe.mean)} s", probe.effort_text, "-"])
            outcome.faults += probe.faults
            continue
        # What takes long shows a disturbance less, and would take too long in many rounds.
        turns = 1 if probe.mean > LONG else rounds
        peer = series_of(made, [state], [right], [warm])
        own = series_of(KernelEngine, [state], [right], [warm])
        (ratio,) = peer.against(case, name, {"kernel": own}, turns)
        outcome.comparisons.append(ratio)
        outcome.faults += peer.faults + own.faults
        rows.append([name, figure(peer.mean) + " s", peer.effort_text, ratio.text])
    return markdown(["engine", "time", "effort", "to the kernel"], rows)


def _all_grids(settings: Settings, outcome: Outcome) -> str:
    state = state_of([*range(1, 7), *[0] * 30], boxes(2, 3))
    names = [*ENGINES, "ganak"] if not settings.quick else ["kernel", "sat", "cover"]
    (warm,) = partly_given(6, 20, 0)
    table = _each("6x6 grids", state, GRIDS, warm, names, 10, settings.rounds, outcome)
    return f"The {GRIDS:,} grids of 6x6 with the first row fixed:\n\n{table}"


def _with_about(low: int, high: int) -> tuple[State, int]:
    """The first state within two numbers of solutions, as puzzles lose givens at random."""
    engine = KernelEngine()
    for number, puzzle in enumerate(puzzles(200)):
        for state in taken_away(puzzle, np.random.default_rng([SEED, number])):
            count = engine.count(state, high)
            if count.complete and count.value >= low:
                return state, count.value
            if not count.complete:
                break
    raise ValueError(f"no state with {low:,} to {high:,} solutions among those of the seed")


def _one_puzzle(settings: Settings, outcome: Outcome) -> str:
    state, number = _with_about(*((5_000, 20_000) if settings.quick else (640_000, 660_000)))
    bands = BandCounter().count(state, NO_LIMIT)
    if fault := disagreement(bands, state, number):
        outcome.faults.append(fault)
    warm = state_of(puzzles(1, WARM_SEED)[0])
    names = SOME[:: settings.few(1, 4)]
    table = _each(
        "many solutions", state, number, warm, names, settings.few(20, 2), settings.rounds, outcome
    )
    return f"The {number:,} solutions of `{line_of(state)}`:\n\n{table}"
