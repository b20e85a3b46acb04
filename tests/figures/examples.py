"""Examples for every figure function: what the suite over all of them and the baselines draw.

`EXAMPLES` has for each function, by its name, examples by what is special about them.  A new
figure function needs at least one of few rows and, if it writes names, one of long names.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.axes import Axes

from figures.tables import (
    NARROWING,
    TITLES,
    card_givens,
    covered,
    funnel,
    grouped,
    levels,
    steps,
    told,
)
from gridcrux.corpus.contrast.outliers import rank_residuals
from gridcrux.corpus.statistics.comparison import compare_numbers, compare_shares
from gridcrux.corpus.statistics.cooccurrence import cooccurrence
from gridcrux.corpus.statistics.correlation import rank_correlations
from gridcrux.corpus.statistics.rates import means, rates
from gridcrux.corpus.statistics.regression import CONSTANT, coefficients, predictions
from gridcrux.corpus.statistics.survival import solved_curve, solving_times
from gridcrux.encodings import get_encoding
from gridcrux.encodings.sizes import sizes_table
from gridcrux.figures.board import plot_board, plot_scene
from gridcrux.figures.consistency import consistency_table, plot_consistency
from gridcrux.figures.contrast import plot_contrast
from gridcrux.figures.coverage import plot_coverage
from gridcrux.figures.crux import plot_crux
from gridcrux.figures.funnel import plot_funnel
from gridcrux.figures.needs import need_table, plot_needs
from gridcrux.figures.sampling import plot_givens, plot_weights, weight_table
from gridcrux.figures.scaling import plot_scaling, scaling_table
from gridcrux.figures.scene import board_scene
from gridcrux.figures.settling import plot_settling, settling_table
from gridcrux.figures.sizes import plot_sizes
from gridcrux.figures.statistics.comparison import plot_differences
from gridcrux.figures.statistics.cooccurrence import plot_cooccurrence
from gridcrux.figures.statistics.correlation import plot_correlations
from gridcrux.figures.statistics.rates import plot_means, plot_rates
from gridcrux.figures.statistics.regression import plot_coefficients, plot_predictions
from gridcrux.figures.statistics.survival import plot_solved
from gridcrux.figures.steps import plot_steps
from gridcrux.figures.storyboard.timeline import plot_timeline
from gridcrux.figures.studies import plot_techniques, technique_table
from gridcrux.figures.widths import plot_widths, width_table
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction
from gridcrux.proofs.explain.bottleneck import Bottleneck
from gridcrux.techniques.sketch import sketch
from gridcrux.techniques.solve import available

ROWS = 400
NAMES = ["claiming", "hidden-triple", "naked-quad", "swordfish", "two-string-kite", "x-wing"]
LONG = ["doubly-linked-almost-locked-sets", "finned-or-sashimi-mutant-swordfish", "x-wing"]
LEVELS = ["singles", "subsets", "fish", "almost-locked-sets"]
SOME = ["minimal", "extended", "dual", "dual-exact-cells", "minimal-product", "minimal-ladder"]
NUMBERS = ["hard_steps", "nodes", "log10(nodes)"]


@dataclass(frozen=True)
class Example:
    """What a figure function is called with."""

    plot: Callable[..., Axes]
    drawn: tuple[Any, ...]
    options: dict[str, Any] = field(default_factory=dict)

    def draw(self, **more: Any) -> Axes:
        return self.plot(*self.drawn, **self.options, **more)


def made_up(names: list[str], seed: int = 4, rows: int = ROWS) -> pd.DataFrame:
    """A study by chance, in which one technique comes mostly with another."""
    random = np.random.default_rng(seed)
    has = random.random((rows, len(names))) < [0.3, 0.1, 0.0, 0.04, 0.4, 0.02][: len(names)]
    has[:, -1] |= has[:, 0] & (random.random(rows) < 0.6)
    hard = random.poisson(2, rows)
    essential = has & (random.random(has.shape) < 0.5)
    lists = [", ".join(np.array(names)[each]) for each in essential]
    steps = {f"steps_{name.replace('-', '_')}": has[:, i] + 0 for i, name in enumerate(names)}
    return pd.DataFrame(has, columns=names).assign(
        **steps,
        essential_techniques=lists,
        id=[f"quay-{number:03d}" for number in range(1, rows + 1)],
        hard_steps=hard,
        nodes=1 + random.poisson(0.3 + hard),
        givens=random.integers(21, 30, rows),
        weight=random.lognormal(0, 1.5, rows).round(3),
        group=random.integers(0, 40, rows),
        open_after_singles=random.integers(0, 200, rows),
        solved_by=np.array([*LEVELS, None], object)[random.integers(0, 5, rows)],
        width=pd.array(random.integers(1, 6, rows), "Int64"),
    )  # fmt: skip


WEIGHTED = made_up(NAMES)
STUDY = WEIGHTED.drop(columns=["weight", "group"])
FIRST, SECOND = STUDY[: ROWS // 2], STUDY[ROWS // 2 :]
WORDY = made_up(LONG).drop(columns=["weight", "group"])
HALVES = WORDY[: ROWS // 2], WORDY[ROWS // 2 :]
WORDS = {f"{name}, of all steps above singles": name for name in NUMBERS}


def renamed(table: pd.DataFrame, *columns: str) -> pd.DataFrame:
    """A table whose rows have long names."""
    words = {number: text for text, number in WORDS.items()}
    return table.assign(**{column: table[column].map(words) for column in columns})


def curves(names: list[str]) -> pd.DataFrame:
    """Two curves, by level."""
    parts = {
        name: solved_curve(solving_times(half, "solved_by", levels=LEVELS), levels=LEVELS)
        for name, half in zip(names, (FIRST, SECOND), strict=True)
    }
    return pd.concat(parts, names=["curve"]).reset_index("curve")


def width_results(widths: list[int]) -> pd.DataFrame:
    state = State.empty()
    return width_table(Bottleneck(state, state, (), width, 0, None) for width in widths)


def profile(rows: int, hard: list[int], narrow: list[int]) -> pd.DataFrame:
    """A route of which some steps are hard, as `CruxProfile.table` has it."""
    step = np.arange(1, rows + 1)
    is_hard, is_narrow = np.isin(step, hard), np.isin(step, narrow)
    open_ = pd.array(np.where(is_narrow, 2, 5 + step % 4), "Int64")
    return pd.DataFrame(
        {
            "step": step,
            "left": (240 * (1 - step / (rows + 1)) ** 1.3).astype(int),
            "hard": is_hard,
            "open": open_.copy(),
            "leading": pd.array(np.where(is_narrow, 1, 3), "Int64"),
            "narrow": is_narrow,
        }
    )


def measured(engines: list[str], sizes: list[int]) -> pd.DataFrame:
    rows = [
        (engine, size, (1 + i) * size**2.5 * noise / 1e4, i == 1 and size > 9)
        for i, engine in enumerate(engines)
        for size in sizes
        for noise in (0.8, 1, 1.3)
    ]
    return scaling_table(pd.DataFrame(rows, columns=["engine", "size", "seconds", "cut"]), "size")


def ranked(rows: int, name: str = "quay") -> pd.DataFrame:
    random = np.random.default_rng(8)
    table = pd.DataFrame(
        {
            "id": [f"{name}-{number:03d}" for number in range(rows)],
            "source": "s.csv",
            "line": range(rows),
            "puzzle": "",
            "solutions": 1,
            "solutions_complete": True,
            "solved": True,
            "bottleneck_width": random.integers(1, 7, rows),
            "nodes": random.integers(1, 400, rows),
        }
    )
    return rank_residuals(table, "bottleneck_width", "nodes", top=4)


def givens(rows: int) -> pd.DataFrame:
    """As `givens_table` returns it."""
    number = np.arange(23, 23 + rows)
    share = np.exp(-((number - 26.5) ** 2) / 2.5)
    found = np.exp(-((number - 24.5) ** 2) / 2.5) * 900 + 1
    return pd.DataFrame(
        {
            "givens": number,
            "found": found.astype(int),
            "percent": 100 * share / share.sum(),
            "standard_error": 4 * np.sqrt(share) if rows > 1 else np.nan,
            "weight": share * 1e30,
        }
    )


@cache
def boards() -> dict[str, tuple[State, Deduction | None]]:
    """States of several sizes, and steps of several shapes."""
    puzzle = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."
    fish = sketch(NINE, "4 in row 2: r2c3 r2c8", "4 in row 7: r7c3 r7c8", "cell r5c5: 1 2")
    tall = sketch(NINE, "6 in row 1: r1c2 r1c7", "6 in row 8: r8c2 r8c9")
    # Rows of a grid that are moved along; two cells of nine are blank.
    pattern = [
        0 if (5 * row + column) % 9 < 2 else (4 * row + row // 4 + column) % 16 + 1
        for row in range(16)
        for column in range(16)
    ]
    single = sketch(NINE, "7 in row 4: r4c6")
    return {
        "puzzle": (read_puzzle(puzzle), None),
        "x-wing": (fish, available(fish, "x-wing")[0]),
        "chain": (tall, available(tall, "skyscraper")[0]),
        "placement": (single, available(single, "hidden-single")[0]),
        "4x4": (read_puzzle("4..1 .1.. ..1. 1..2"), None),
        "6x6": (State.empty(boxes(2, 3).with_diagonals()), None),
        "16x16": (State.from_digits(pattern, boxes(4, 4)), None),
    }


def _all() -> dict[str, dict[str, Example]]:
    flags, long_flags = STUDY[NAMES], WORDY[LONG]
    shares, numbers_, pairs = (
        compare_shares(FIRST, SECOND, {name: f"`{name}`" for name in NAMES}),
        compare_numbers(FIRST, SECOND, NUMBERS, resamples=200),
        cooccurrence(STUDY, flags, resamples=200),
    )
    known = rank_correlations(STUDY, NUMBERS, ["givens", "width"], resamples=200)
    average = means(STUDY, NUMBERS, resamples=200)
    effects = coefficients(STUDY, "log10(nodes)", ["givens", "hard_steps", "open_after_singles"])
    needs, widths = need_table(STUDY[:24]), solved_curve(solving_times(STUDY, "width"))
    unknown = need_table(
        STUDY[:9].assign(
            essential_techniques=[*STUDY["essential_techniques"][:5], *[None] * 4],
            steps_claiming=[None, *[1] * 8],
        )
    )
    wordy = WORDY[long_flags.sum(axis=1) > 1][:12].assign(id=[f"{LONG[0]}-{i}" for i in range(12)])
    predicted = predictions(STUDY, "nodes", ["hard_steps", "givens"])
    heavy = weight_table(WEIGHTED)
    found: dict[Callable[..., Axes], dict[str, Any]] = {
        plot_techniques: {
            "usual": technique_table(STUDY),
            "one row": technique_table(STUDY)[:1],
            "long names": technique_table(WORDY),
        },
        plot_needs: {
            "usual": needs,
            "together": need_table(STUDY[:80], together=True),
            "not known": unknown,
            "many": need_table(STUDY[:150]),
            "rare": need_table(STUDY, together=True),
            "one row": need_table(STUDY[flags.sum(axis=1) == 2][:1]),
            "none used": need_table(STUDY[~flags.any(axis=1)][:1]),
            "long names": need_table(wordy),
        },
        plot_rates: {
            "usual": rates(STUDY, flags),
            "rare": (rates(STUDY, flags), {"log": True}),
            "one row": rates(STUDY, flags[NAMES[:1]]),
            "never": (rates(STUDY, flags[NAMES[2:3]]), {"log": True}),
            "long names": rates(WORDY, long_flags),
        },
        plot_means: {
            "usual": average,
            "one row": average[:1],
            "long names": renamed(average, "column"),
        },
        plot_differences: {
            "usual": shares,
            "numbers": numbers_,
            "one row": shares[:1],
            "long names": (
                compare_shares(*HALVES, {name: f"`{name}`" for name in LONG}),
                {"names": ("lantern quay, the first thousand", "harbour tombola, all of it")},
            ),
        },
        plot_cooccurrence: {
            "usual": pairs,
            "one row": pairs[:1],
            "long names": cooccurrence(WORDY, long_flags, resamples=200),
        },
        plot_correlations: {
            "usual": known,
            "one row": known[:1],
            "long names": renamed(known, "first"),
        },
        plot_coefficients: {
            "usual": effects,
            "one row": effects[:1],
            "long names": effects.assign(feature=[*LONG, CONSTANT]),
        },
        plot_predictions: {"usual": predicted, "one row": predicted[:1]},
        plot_solved: {
            "usual": curves(["first half", "second half"]),
            "widths": widths,
            "one row": widths[:1],
            "long names": curves([f"{name}, {LONG[0]}" for name in ("one", "two")]),
        },
        plot_widths: {
            "usual": width_results([1] * 30 + [2] * 50 + [3] * 17 + [5]),
            "one row": width_results([2]),
            "none": width_results([]),
        },
        plot_crux: {
            "usual": profile(50, [8, 9, 20, 31, 44], [9, 44]),
            "in a row": profile(30, [5, 6, 7, 8, 15], [5, 6, 7, 8]),
            "easy": profile(30, [], []),
            "one row": profile(1, [1], [1]),
            "none": profile(0, [], []),
        },
        plot_steps: {
            "usual": steps([1] * 9 + [2, 3, 1, 1, 2, 4, 1, 3, 4, 4] + [1] * 30),
            "all alike": steps([1] * 60),
            "one row": steps([2]),
            "none": steps([]),
        },
        plot_scaling: {
            "usual": (measured(["kernel", "sat", "cover"], [4, 9, 16, 25]), {"x": "size"}),
            "one row": (measured(["kernel"], [9]), {"x": "size"}),
            "long names": (
                measured([f"cadical195/{name}/incremental" for name in LONG], [4, 9]),
                {"x": "size", "label": "cells of a row in a grid of the layout"},
            ),
            "none": (measured([], []), {"x": "size"}),
        },
        plot_contrast: {
            "usual": ranked(120),
            "one row": ranked(1),
            "long names": (
                ranked(120, LONG[0]),
                {"human": "bottleneck width", "machine": "conflicts of cadical195/minimal/fresh"},
            ),
        },
        plot_weights: {"usual": heavy, "one row": heavy[-1:], "of one": weight_table(WEIGHTED[:1])},
        plot_givens: {
            "usual": givens(9),
            "of a card": card_givens("3x3"),
            "weighted": card_givens("3x3", weighted=True),
            "layouts": card_givens("3x3", "3x3-diagonals", "latin-9", weighted=True),
            "one row": givens(1),
            "one layout": card_givens("3x3")[:1],
            "long names": card_givens("3x3-diagonals-without-one-box", "2x6-diagonals-windows"),
        },
        plot_settling: {
            "usual": settling_table(grouped(60)),
            "of large numbers": (settling_table(grouped(60)), {"quantity": "minimal puzzles"}),
            "one row": settling_table(grouped(2))[:1],
        },
        plot_funnel: {
            "usual": funnel(NARROWING),
            "wide": funnel([(*row[:3], float("nan")) for row in NARROWING[:3]]),
            "one row": funnel(NARROWING[:1]),
            "none left": funnel([("rows", 40, 40, 1), ("solved", 40, 0, 0), ("two", 0, 0, 0)]),
            "long names": funnel(
                [NARROWING[0], *((f"where solved and only {name} or `steps_{name}` > 2 "
                "and bottleneck_width >= 4", 9, 2, 0.1) for name in LONG)]
            ),
        },
        plot_consistency: {
            "usual": consistency_table(levels()),
            "one row": consistency_table(levels()[["shaving", "weakest"]]),
            "none": consistency_table(levels()[:0]),
            "long names": consistency_table(
                levels().rename(columns={"shaving": "shaving-with-all-different-in-each-house"})
            ),
        },
        plot_coverage: {
            "usual": covered([1, 2, 3, 4]),
            "one row": covered([2]),
            "none": covered([]),
        },
        plot_sizes: {
            "usual": sizes_table([NINE], map(get_encoding, SOME)),
            "layouts": sizes_table([boxes(2, 2), NINE], map(get_encoding, SOME[:3])),
            "one row": sizes_table([boxes(2, 2)], [get_encoding("dual")]),
            "none": sizes_table([], []),
            "long names": sizes_table(
                [boxes(2, 2), boxes(2, 3).with_diagonals()],
                [get_encoding("minimal-exact-houses-cardinality-network")],
            ),
        },
        plot_timeline: {
            "usual": told(TITLES),
            "one row": told(TITLES[:1]),
            "none": told([]),
            "long names": told([f"{name}: neither r10c12=15 nor r11c12=15" for name in LONG]),
        },
        plot_board: {name: board for name, board in boards().items()},
        plot_scene: {"one row": board_scene(*boards()["4x4"])},
    }  # fmt: skip
    return {
        plot.__name__: {name: _example(plot, what) for name, what in examples.items()}
        for plot, examples in found.items()
    }


def _example(plot: Callable[..., Axes], what: Any) -> Example:
    """Options come behind what is drawn; a board has two parts."""
    if not isinstance(what, tuple):
        return Example(plot, (what,))
    return Example(plot, (what[0],), what[1]) if isinstance(what[1], dict) else Example(plot, what)


EXAMPLES = _all()
