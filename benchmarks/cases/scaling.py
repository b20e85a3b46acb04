"""How time grows: with the size of the grid, the number of givens, and the size of a corpus."""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np
import pandas as pd
from tqdm import tqdm

from cases.material import SEED, partly_given
from cases.outcome import Outcome, Settings, markdown
from cases.pictures import save
from cases.series import Series
from cases.turns import Comparison, figure
from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study.run import study
from gridcrux.engines import get_engine
from gridcrux.engines.protocol import Count, Engine
from gridcrux.figures.scaling import plot_scaling, scaling_table
from gridcrux.grids.state import State

ENGINES = ("kernel", "sat", "cp", "cadical195", "cover")
SIZES = (4, 6, 8, 9, 10, 12, 16, 25)
GIVENS = (20, 22, 24, 26, 28, 30, 35, 40, 50, 60, 70)
SHARES = (0.4, 0.5)
"""Parts of the cells that are given, where the size of the grid grows."""

SECONDS = 5.0
UP_TO = {"cover": 12}
"""Largest grid that is put to an engine: xcover cannot be interrupted, so that it might not end."""

CORPORA = (100, 1_000, 10_000, 100_000)
ONCE = 100_000
"""A corpus of so many puzzles is studied once."""


@dataclass
class Place:
    """States at one place of the axis, and what each engine took.

    Attributes
    ----------
    at : size, or number of givens.
    states, warm : what is timed, and what is asked before.
    found : for each engine its series and its ratio to the kernel.
    """

    at: int
    states: Sequence[State]
    warm: State
    found: dict[str, tuple[Series, Comparison]] = field(default_factory=dict)

    def rows(self, x: str) -> list[dict[str, Any]]:
        """A row for each engine and round."""
        return [
            {x: self.at, "engine": name, "seconds": seconds, "cut": series.cuts > 0}
            for name, (series, ratio) in self.found.items()
            for seconds in ratio.peer_seconds
        ]


def _ask(engine: Engine, state: State) -> Count:
    return engine.count(state, 1, SECONDS)


def _cut(count: Count) -> bool:
    return count.stopped_by == "seconds"


def measure(case: str, place: Place, settings: Settings, outcome: Outcome) -> None:
    """Ask each engine whether the states have one solution; they must not contradict each other."""
    size = place.states[0].layout.size
    answers: dict[int, tuple[str, Count]] = {}
    for name in ENGINES:
        if size > UP_TO.get(name, size):
            continue

        def check(count: Count, number: int) -> str | None:
            if _cut(count):
                return None
            other, earlier = answers.setdefault(number, (count.engine, count))
            if (count.value, count.complete) == (earlier.value, earlier.complete):
                return None
            return (
                f"state {number} with {place.at} in {case}: {count.engine} says {count.value} "
                f"({count.stopped_by}), {other} {earlier.value} ({earlier.stopped_by})"
            )

        def series(engine: str, check: Any = check) -> Series:
            made = partial(get_engine, engine)
            return Series(made, _ask, check, place.states, [place.warm], 1, _cut)

        peer, own = series(name), series("kernel")
        (ratio,) = peer.against(f"{case} {place.at}", name, {"kernel": own}, settings.rounds)
        place.found[name] = peer, ratio
        outcome.comparisons.append(ratio)
        outcome.faults += peer.faults + own.faults


def scaling(settings: Settings) -> Outcome:
    """Three tables, each with its figure."""
    outcome = Outcome()
    count = settings.few(5, 2)
    parts = []
    for share in SHARES:
        case = f"grids with {share:.0%} given, size"
        sizes = SIZES if not settings.quick else (4, 9, 16)
        made = {n: partly_given(n, round(share * n * n), count) for n in sizes}
        parts.append(_places(case, "size", made, settings, outcome, f"scaling-size-{share:.0%}"))
    givens = GIVENS if not settings.quick else (24, 50)
    made = {each: partly_given(9, each, settings.few(20, 4)) for each in givens}
    parts.append(_places("9x9, givens", "givens", made, settings, outcome, "scaling-givens"))
    parts.append(_corpora(settings, outcome))
    outcome.text = "\n\n".join(parts)
    return outcome


def _places(
    case: str,
    x: str,
    made: Mapping[int, Sequence[State]],
    settings: Settings,
    outcome: Outcome,
    picture: str,
) -> str:
    """Measure at each place; table, and figure."""
    places = [Place(at, states, warm) for at, (*states, warm) in made.items()]
    for place in tqdm(places, desc=case, unit="place"):
        measure(case, place, settings, outcome)
    rows = []
    for place in places:
        cells = []
        for name in ENGINES:
            series, ratio = place.found.get(name, (None, None))
            if series is None or ratio is None:
                cells.append("-")
                continue
            words = f"{figure(1e3 * series.mean)} ms"
            words += "" if name == "kernel" else f"; {ratio.text}"
            words += f" [{series.cuts} cut]" if series.cuts else ""
            cells.append(words)
        rows.append([f"{place.at}", f"{len(place.states)}", *cells])
    text = (
        f"**{case[0].upper()}{case[1:]}**: random cells of random grids are given (seed {SEED}); "
        f"whether there is one solution; mean of a state, and the ratio to the kernel:\n\n"
    )
    text += markdown([x, "states", *ENGINES], rows)
    if any(series.cuts for place in places for series, _ in place.found.values()):
        text += (
            f"\n\nIn brackets: answers cut short after {SECONDS:g} s, over all rounds; the true "
            "mean is above, and a ratio of which one side was cut short is no more than a bound."
        )
    if settings.figures:
        table = scaling_table(pd.DataFrame([row for each in places for row in each.rows(x)]), x)
        name = picture.replace("%", "") + ".png"
        save(settings.figures / name, lambda ax: plot_scaling(table, x=x, ax=ax))
        text += f"\n\n![Seconds against {x}]({name})"
    return text


def _corpora(settings: Settings, outcome: Outcome) -> str:
    """Studies of more and more puzzles, by one process and by two."""
    sizes = CORPORA[: settings.few(len(CORPORA), 2)]
    puzzles = [item.line for item in minimal(sizes[-1], SEED)]
    study(puzzles[:100], workers=2)
    measured, rows = [], []
    for size in tqdm(sizes, desc="studies", unit="size"):
        taken: dict[int, list[float]] = {1: [], 2: []}
        for number in range(min(settings.rounds, 3) if size < ONCE else 1):
            for workers in (1, 2) if number % 2 else (2, 1):
                began = time.perf_counter()
                table = study(puzzles[:size], workers=workers)
                taken[workers].append(time.perf_counter() - began)
                if len(table) != size:
                    outcome.faults.append(f"a study of {size:,} puzzles has {len(table):,} rows")
        one, two = (tuple(each / size for each in taken[workers]) for workers in (1, 2))
        ratio = Comparison(f"study of {size}", "2 processes", "1 process", size, two, one)
        outcome.comparisons.append(ratio)
        measured += [
            {"puzzles": size, "engine": f"{workers} process{'es'[: 2 * workers - 2]}", "seconds": s}
            for workers, each in taken.items()
            for s in each
        ]
        cells = [f"{figure(float(np.median(taken[workers])))} s" for workers in (1, 2)]
        rows.append([f"{size:,}", *cells, ratio.text])
    text = f"**Studies of minimal 9x9 puzzles** (seed {SEED}), all default columns:\n\n" + markdown(
        ["puzzles", "1 process", "2 processes", "1 to 2"], rows, words=0
    )
    if settings.figures:
        table = scaling_table(pd.DataFrame(measured), "puzzles")
        save(
            settings.figures / "scaling-corpus.png",
            lambda ax: plot_scaling(table, x="puzzles", ax=ax),
        )
        text += "\n\n![Seconds against number of puzzles](scaling-corpus.png)"
    return text
