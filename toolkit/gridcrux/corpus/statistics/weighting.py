"""How much each puzzle counts, and which puzzles depend on each other."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.rows import UnknownColumn
from gridcrux.corpus.statistics.features import numbers
from gridcrux.grids.rich import facts

UNITS = 10_000
"""Most units that are resampled: groups beyond that number are joined at random into as many
blocks of equal numbers of groups."""


@dataclass(frozen=True)
class Weighting:
    """Weights and groups of the rows of a study.

    Groups are what is independent: the puzzles of the column `group`, else (and where it is
    missing) single puzzles.  They
    are resampled as they are up to `UNITS` of them.  Where there are more they are joined into
    blocks first, which are as independent as the groups and whose sums say as much of the variance
    ("random groups": Wolter, "Introduction to Variance Estimation", 1985, chapter 2; from memory).

    Attributes
    ----------
    weight : (n,) how much each row counts.
    group : (n,) number of the group of each row, from 0.
    unit : (n,) number of the unit that is resampled of each row, from 0.
    plain : whether every row counts the same and is a group of its own.
    """

    weight: NDArray[np.float64]
    group: NDArray[np.int64]
    unit: NDArray[np.int64]
    plain: bool

    @classmethod
    def of(
        cls, study: pd.DataFrame, weights: str | None, groups: str | None, seed: int
    ) -> Weighting:
        """What the columns of a study say.

        Parameters
        ----------
        weights, groups : names of columns.  `weight` and `group` may be missing from the study;
            None leaves them out where they are there.
        seed : for the blocks.

        Raises
        ------
        UnknownColumn : another column is asked for, and missing.
        ValueError : a weight is missing or not above 0.
        """
        heavy = _column(study, weights, "weight")
        shared = _column(study, groups, "group")
        weight: NDArray[np.float64] = np.ones(len(study))
        group: NDArray[np.int64] = np.arange(len(study))
        if heavy is not None:
            weight = numbers(study, [str(weights)])[str(weights)].to_numpy()
            bad = int(np.count_nonzero(~(np.isfinite(weight) & (weight > 0))))
            if bad:
                raise ValueError(f"{bad} of {len(weight)} weights are not numbers above 0")
        if shared is not None:
            group = pd.factorize(shared)[0].astype(np.int64)
            # Whoever has no group is one alone.
            alone = group < 0
            group[alone] = group.max(initial=-1) + 1 + np.arange(np.count_nonzero(alone))
        count = int(group.max(initial=-1)) + 1
        plain = bool((weight == weight[:1]).all()) and count == len(study)
        unit = group
        if count > UNITS:
            order = np.random.default_rng(seed).permutation(count)
            unit = (order % UNITS)[group]
        return cls(weight, group, unit, plain)

    @cached_property
    def units(self) -> int:
        """Units that are resampled."""
        return int(self.unit.max(initial=-1)) + 1

    @cached_property
    def groups(self) -> int:
        """Groups, each independent of the others."""
        return int(self.group.max(initial=-1)) + 1

    @property
    def method(self) -> str:
        """How intervals come about that are resampled."""
        return "bootstrap" if self.units == self.groups else "bootstrap of blocks"

    def totals(self, values: NDArray[Any]) -> NDArray[np.float64]:
        """(units,) the weighted sum of a value (n,) in each unit."""
        return _sums(self.unit, self.weight * values, self.units)

    def group_totals(self, values: NDArray[Any]) -> NDArray[np.float64]:
        """(groups,) the weighted sum of a value (n,) in each group."""
        return _sums(self.group, self.weight * values, self.groups)

    def effective(self, rows: NDArray[np.bool_]) -> float:
        """Effective size of the sample of some rows: as many groups of equal weight say as much.

        It is the square of the sum of weights by the sum of squares, taken over groups (Kish,
        "Survey Sampling", 1965, 11.7; from memory), as if puzzles of a group were all alike.
        """
        weight = self.group_totals(rows)
        return float(weight.sum() ** 2 / (weight**2).sum()) if weight.any() else 0.0

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "rows": len(self.weight),
            "groups": len(np.unique(self.group)),
            "resampled": len(np.unique(self.unit)),
            "plain": self.plain,
        }

    def _repr_html_(self) -> str:
        return facts(self.row())


def _sums(place: NDArray[np.int64], values: NDArray[np.float64], count: int) -> NDArray[np.float64]:
    return np.bincount(place, values, count).astype(np.float64)


def _column(study: pd.DataFrame, name: str | None, usual: str) -> pd.Series | None:
    if name is None or (name == usual and name not in study.columns):
        return None
    if name not in study.columns:
        raise UnknownColumn(name, study.columns)
    return study[name]
