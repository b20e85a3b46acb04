"""Tables as results return them, of what nobody has measured, for pictures of them."""

from __future__ import annotations

import numpy as np
import pandas as pd

from gridcrux.corpus.shortlist.funnel import FUNNEL_COLUMNS
from gridcrux.proofs.consistency import CONSISTENCIES
from gridcrux.proofs.essential import ESSENTIAL, IDLE, REPLACEABLE
from gridcrux.proofs.explain.coverage import coverage_table


def funnel(rows: list[tuple[str, int, int, float]]) -> pd.DataFrame:
    """As `Shortlist.funnel` has it."""
    return pd.DataFrame(rows, columns=list(FUNNEL_COLUMNS))


NARROWING = [
    ("rows", 21_450, 21_450, 1.0),
    ("with one solution", 21_450, 21_450, 1.0),
    ("where solved and givens < 26", 21_450, 8_204, 0.31),
    ("with x-wing essential", 8_204, 37, 0.0021),
    ("with nothing harder than x-wing", 37, 12, 0.0004),
    ("of the first 12 in order unlike all 60 used before", 12, 9, float("nan")),
    ("of the first 9 unlike each other", 9, 8, float("nan")),
]


def levels(seed: int = 2, rows: int = 300) -> pd.DataFrame:
    """Outcomes by chance as `levels_of` has them; a puzzle is easy or hard on all levels."""
    random = np.random.default_rng(seed)
    hardness, strength = random.random(rows), np.array([0.05, 0.3, 0.5, 0.35, 0.6, 0.7, 0.97, 1])
    solved = hardness[:, None] < strength
    dead = solved & (random.random(rows) < 0.06)[:, None]
    outcomes = np.where(dead, "dead", np.where(solved, "solved", "open"))
    table = pd.DataFrame(outcomes, columns=list(CONSISTENCIES), dtype=object)
    found = table == "solved"
    return table.assign(weakest=found.idxmax(axis=1).where(found.any(axis=1)))


def covered(widths: list[int]) -> pd.DataFrame:
    """Eliminations as `coverage` has them, and of them the shares."""
    rows = [
        (width, "x-wing" if n % (width + 1) else None, width + (n % 3 == 0))
        for width in widths
        for n in range(60 * width)
    ]
    found = pd.DataFrame(rows, columns=["width", "found_by", "found_width"])
    found["found_width"] = found["found_width"].where(found["found_by"].notna()).astype("Int64")
    return coverage_table(found.assign(candidate="r1c1=1"))


def card_givens(*layouts: str, weighted: bool = False) -> pd.DataFrame:
    """As `Card.frame` returns it."""
    parts = []
    for place, layout in enumerate(layouts):
        number = np.arange(21 + 2 * place, 29 + 2 * place)
        puzzles = (400 * np.exp(-((number - 24 - 2 * place) ** 2) / 4)).astype(int) + 1
        weight = puzzles * (2.5 ** (number - 21) if weighted else 1)
        share, heavy = puzzles / puzzles.sum(), weight / weight.sum()
        rows = {"layout": layout, "givens": number, "puzzles": puzzles, "share": share}
        parts.append(pd.DataFrame(rows | {"weighted_share": heavy}))
    return pd.concat(parts, ignore_index=True)


def told(titles: list[str]) -> pd.DataFrame:
    """As `Storyboard.table` has it: the first part is easy, then one in four."""
    hard = np.arange(len(titles)) % 4 > 0
    seconds = np.where(hard, 25.0 + 7 * (np.arange(len(titles)) % 5), 48.0)
    statuses = np.array([None, ESSENTIAL, IDLE, REPLACEABLE], object)
    return pd.DataFrame(
        {
            "part": np.arange(1, len(titles) + 1),
            "begins": np.cumsum(seconds) - seconds,
            "seconds": seconds,
            "kind": np.where(hard, "hard", "easy"),
            "title": titles,
            "status": statuses[np.arange(len(titles)) % 4],
            "open": pd.array(np.where(hard, 30 - np.arange(len(titles)), 0), "Int64"),
            "narrow": hard & (np.arange(len(titles)) % 5 == 1),
        }
    ).assign(open=lambda table: table["open"].where(table["kind"] == "hard"))


def grouped(count: int) -> pd.DataFrame:
    """Groups of a weighted sample by chance, as `group_table` has them; some have no puzzles."""
    random = np.random.default_rng(5)
    rows: list[tuple[int, float, int, int, float]] = []
    for group in range(count):
        grids, puzzles = random.lognormal(50, 0.3), random.integers(0, 5, 4)
        weight = puzzles * random.lognormal(80, 1.0, 4)
        found = [(24 + i, int(n), w) for i, (n, w) in enumerate(zip(puzzles, weight, strict=True))]
        some = [each for each in found if each[1]] if group % 9 else []
        rows += [(group, grids, *each) for each in some or [(0, 0, 0.0)]]
    return pd.DataFrame(rows, columns=["group", "grids", "givens", "puzzles", "weight"])


def steps(widths: list[int]) -> pd.DataFrame:
    """Of a route with steps of these widths, as `step_table` has it: most of width 1 are digits."""
    width = np.array(widths, int)
    return pd.DataFrame(
        {
            "step": np.arange(1, len(width) + 1),
            "width": width,
            "writes": (width == 1) & (np.arange(len(width)) % 7 != 3),
            "technique": None,
            "widest": width == width.max(initial=0),
        }
    )


TITLES = [
    "15 digits",
    "pointing: neither r4c1=5 nor r9c1=5",
    "x-wing: 5 candidates",
    "xy-wing: neither r7c4=3 nor r9c7=3",
    "1 digit",
    "naked-pair: not r9c6=8",
    "claiming: neither r4c8=2 nor r5c8=2",
    "swordfish: 4 candidates",
    "39 digits",
]
