"""Random minimal puzzles with weights that stand for all minimal puzzles of a layout.

`minimal` prefers puzzles with few givens.  Here each puzzle has a weight, and weighted sums
estimate sums over all minimal puzzles without bias: their number, how many have 26 givens, the
share of any property.  Deleting random givens one after another, without going back, meets a
minimal puzzle of n givens with a probability that depends on n alone (Berthier, "Unbiased
statistics of a CSP: a controlled-bias generator", 2009), but only one attempt in 250,000 ends in
one.  `descent` follows such deletions where they lead to minimal puzzles, with weights for it.

Everything comes in *groups*: a filling of some houses, the grids drawn from it (`uniform`), and
the minimal puzzles found in them.  Puzzles of a group resemble each other, so errors are estimated
from groups (`estimates`).  Group number i of a seed depends on the seed and i alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from math import comb
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.stats import betabinom

from gridcrux.corpus.sample.deletion import Givens, Sampled, Workbench, generator
from gridcrux.corpus.sample.descent import deletable, descend, survey, threshold
from gridcrux.corpus.sample.uniform import fill
from gridcrux.grids.layout import NINE, Layout
from gridcrux.grids.rich import facts

COLUMNS = {
    "group": "number of the group that the puzzle comes from",
    "puzzle": "givens row by row, '.' for a blank",
    "givens": "number of givens",
    "weight": "how many minimal puzzles it stands for, if its group were the only one",
}
"""Meaning of the columns of `Weighted.row`."""

SURVEYS = 300
"""Top-down deletions from which the plan for a layout is made."""

SOUND = 0.03
"""Share of random sets of givens, of the size that descents start from, that have one solution."""

STARTS = 400
"""Descents from each grid, on average.  Puzzles with many givens lie under few starts: with fewer
and longer descents one of them now and then outweighs thousands of others."""

DELETIONS = 6.0
"""Deletions tried in the puzzle that a descent starts from, if it has as many deletable givens as
usual."""

MOST = 100
"""Puzzles drawn from a group when nothing else is said."""

ALIKE = 15.0
"""How alike the deletable givens of a puzzle are in what happens to them; infinite means not.

The number of them that stay so after a deletion is beta-binomial, with this as the sum of its two
parameters: fitted to 9x9, where it is 12 to 30 at all levels."""


@dataclass(frozen=True)
class Weighted(Sampled):
    """A minimal puzzle that stands for others; `index` is the number of its group.

    Attributes
    ----------
    weight : the sum of the weights of a group is an unbiased estimate of the number of all minimal
        puzzles of the layout; so with several groups, divide by how many they are.
    """

    weight: float

    @property
    def group(self) -> int:
        return self.index

    def row(self) -> dict[str, Any]:
        return {
            "group": self.group,
            "puzzle": self.line,
            "givens": self.givens,
            "weight": self.weight,
        }


@dataclass(frozen=True)
class Group:
    """What comes from one filling.

    Attributes
    ----------
    index : its number among those of its seed.
    grids : unbiased estimate of the number of complete grids (`uniform.Filling.weight`).
    puzzles : the minimal puzzles found; there may be none.
    """

    index: int
    grids: float
    puzzles: tuple[Weighted, ...]

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        weight = sum(puzzle.weight for puzzle in self.puzzles)
        return {"group": self.index, "puzzles": len(self.puzzles), "weight": weight}

    def _repr_html_(self) -> str:
        return facts(self.row())


@dataclass(frozen=True)
class Plan:
    """Where descents start in a layout, and how much work a puzzle on the way is worth.

    No choice here biases anything: a poor one makes weights vary more.

    Attributes
    ----------
    level : number of givens that descents start from.
    attempts : random sets of so many givens that are tried in each grid.
    value : (C + 1, C + 1) deletions tried, by givens and deletable givens; see `descent.descend`.
    """

    level: int
    attempts: int
    value: NDArray[np.float64]


@lru_cache(maxsize=16)
def plan(layout: Layout) -> Plan:
    """The plan for a layout, made from some top-down deletions, always the same."""
    bench = Workbench(layout)
    random = np.random.default_rng(0)
    kept = np.zeros((layout.cells + 1, 2), np.int64)
    ends = np.empty((SURVEYS, 2), np.int64)
    for i in range(SURVEYS):
        ends[i] = survey(
            bench.kind, bench.tables, bench.stack, bench.control, bench.grid(random), random, kept
        )
    enough, left = ends.T
    level = min(layout.cells, max(int(np.quantile(enough, SOUND)), int(left.max()) + 2))
    value = _worth(layout.cells, level, kept)
    passed = np.count_nonzero((enough >= level) & (left < level))
    usual = 1 + round(kept[level, 0] / max(1, passed))
    attempts = round(STARTS / np.mean(enough <= level))
    return Plan(level, attempts, value * (DELETIONS / value[level, usual]))


def _worth(cells: int, level: int, kept: NDArray[np.int64]) -> NDArray[np.float64]:
    """How much a visit is worth, up to a factor: what lies below it, and what a look costs.

    Expected is the sum of the weights of the minimal puzzles below a visit of weight 1, if the
    deletable givens of a puzzle behave as those of the survey did.  Each deletion costs as many
    searches as there are deletable givens, so they are fewer by the square root of that.
    """
    expected = np.zeros((cells + 1, cells + 1))
    expected[:, 0] = 1.0
    stay = _fitted(kept)
    free = np.arange(1, level + 1)
    for m in range(1, level + 1):
        chances = betabinom.pmf(
            np.arange(level), free[:, None] - 1, ALIKE * stay[m], ALIKE * (1 - stay[m])
        )
        below = chances @ expected[m - 1, :level]
        expected[m, 1 : level + 1] = free / (cells - m + 1) * below
    return expected / np.sqrt(np.maximum(1, np.arange(cells + 1)))


def _fitted(kept: NDArray[np.int64]) -> NDArray[np.float64]:
    """The share of deletable givens that stay so, by level: its log-odds as a straight line."""
    levels = np.flatnonzero(kept[:, 0])
    tried = kept[levels, 0] + 1.0
    share = (kept[levels, 1] + 0.5) / tried
    certainty = np.sqrt(tried * share * (1 - share))
    line = np.polyfit(levels, np.log(share / (1 - share)), 1, w=certainty)
    odds = np.exp(np.polyval(line, np.arange(len(kept))))
    return np.clip(odds / (1 + odds), 0.01, 0.99)


def puzzles_of(
    bench: Workbench, grid: Givens, plan: Plan, random: np.random.Generator
) -> tuple[Givens, NDArray[np.float64]]:
    """Minimal puzzles (N, C) of a grid, and weights (N,) that stand for all that it has."""
    compiled = (bench.kind, bench.tables, bench.stack, bench.control, grid)
    puzzles, weights, found = descend(*compiled, plan.level, plan.attempts, plan.value, random)
    puzzles, weights = puzzles[:found], weights[:found]
    weights *= comb(grid.size, plan.level) / plan.attempts
    # More givens than descents start from are as good as never found, but for the average to be
    # exact they must have a chance: one random deletion without a choice of where it leads.
    order, free = np.arange(grid.size), np.empty(grid.size, np.int64)
    puzzle = np.empty_like(grid)
    givens = threshold(*compiled, order, random, puzzle)
    if givens > plan.level and not deletable(*compiled[:4], puzzle, order[:givens], free):
        puzzles = np.concatenate((puzzles, puzzle[None]))
        weights = np.append(weights, float(comb(grid.size, givens)))
    return puzzles, weights


def groups(count: int, seed: int, layout: Layout = NINE, start: int = 0) -> Iterator[Group]:
    """Groups of weighted minimal puzzles, numbers `start` to `start + count - 1` of a seed.

    Raises
    ------
    ValueError : the layout is too large for `uniform.fillings`.
    """
    bench = Workbench(layout)
    for index in range(start, start + count):
        random = generator(seed, index)
        filling = fill(bench, index, random)
        found = []
        for grid in filling.grids:
            share = filling.weight / len(filling.grids)
            puzzles, weights = puzzles_of(bench, grid, plan(layout), random)
            found += [
                Weighted(index, puzzle, grid, weight)
                for puzzle, weight in zip(puzzles, (share * weights).tolist(), strict=True)
            ]
        yield Group(index, filling.weight, tuple(found))


def weighted(
    count: int, seed: int, layout: Layout = NINE, start: int = 0, most: int = MOST
) -> Iterator[Weighted]:
    """Some puzzles of `groups`: of `count` groups, not `count` puzzles.

    A group finds thousands of puzzles that resemble each other, so a part of them says nearly as
    much: about `most` are drawn, those of small weight by chance, and weigh more for it.  Divided
    by `count`, sums of weights estimate numbers of minimal puzzles; some groups may have none.
    The same puzzle may come up several times, and counts as often.

    Parameters
    ----------
    count, start : how many groups, and the number of the first.
    seed : which corpus.
    most : about how many puzzles of a group are drawn, if it has more.

    Raises
    ------
    ValueError : the layout is too large for `uniform.fillings`.
    """
    for group in groups(count, seed, layout, start):
        # A source of randomness beside those of the groups, which are as they are without it.
        yield from thinned(group.puzzles, most, generator(seed, group.index).spawn(1)[0])


def thinned(
    puzzles: tuple[Weighted, ...], most: int, random: np.random.Generator
) -> Iterator[Weighted]:
    """About `most` of some puzzles, with weights under which the expected sums are the same.

    A puzzle that has the `most`-th part of all weight is kept as it is.  Of the others each is
    kept in proportion to its weight, and has that part then: systematic sampling, which is as even
    as can be (Madow, "On the theory of systematic sampling, II", Annals of Mathematical
    Statistics 20, 1949; from memory).
    """
    if len(puzzles) <= most:
        yield from puzzles
        return
    weights = np.array([puzzle.weight for puzzle in puzzles])
    part = weights.sum() / most
    small = np.where(weights < part, weights, 0.0)
    before = np.cumsum(small) - small + random.random() * part
    kept = np.floor((before + small) / part) > np.floor(before / part)
    for puzzle, heavy, drawn in zip(puzzles, weights >= part, kept, strict=True):
        if heavy:
            yield puzzle
        elif drawn:
            yield replace(puzzle, weight=float(part))
