"""The rows of a study that meet all conditions, found in one pass, and how many each one left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa
from numpy.typing import NDArray
from tqdm import tqdm

from gridcrux.corpus.rows import Rows
from gridcrux.corpus.shortlist.wishes import Condition

Numbers = NDArray[np.int64]

FUNNEL_COLUMNS = {
    "condition": "what was asked for",
    "looked_at": "rows that had met all conditions before it; once the list is full, none of "
    "those that are left is compared with other puzzles",
    "left": "rows of these that meet it too",
    "weighted_share": "their part of the weight of all rows, where the study has a column "
    "`weight`; missing for the comparisons with other puzzles",
}
"""Meaning of the columns of `Shortlist.funnel`."""


@dataclass(frozen=True)
class Found:
    """The rows that meet all conditions: their numbers and what orders them; and the funnel."""

    numbers: Numbers
    keys: pd.DataFrame
    stages: list[dict[str, Any]]


def narrowed(
    rows: Rows, conditions: Sequence[Condition], order_by: Sequence[str], progress: bool
) -> Found:
    """Go once through the study, reading only the columns that are looked at."""
    weighted = _is_number(rows, "weight")
    keys = list(dict.fromkeys(name.removeprefix("-") for name in order_by))
    needed = {*keys, *(name for each in conditions for name in each.columns)}
    needed |= {"weight"} if weighted else {"puzzle"} if not needed else set()
    left = np.zeros(len(conditions) + 1, np.int64)
    weight = np.zeros(len(conditions) + 1)
    numbers, ordering = [np.zeros(0, np.int64)], [rows.schema.empty_table().select(keys)]
    first, low, high = 0, np.inf, -np.inf
    bar = bar_of(len(rows), "row", progress)
    for batch in rows.batches(rows.having(*needed)):
        which = np.arange(first, first + batch.num_rows)
        first += batch.num_rows
        weights = np.ones(batch.num_rows)
        if weighted:
            weights = np.nan_to_num(np.asarray(batch.column("weight"), np.float64))
        low, high = weights.min(initial=low), weights.max(initial=high)
        for stage in range(len(left)):
            if stage:
                held = conditions[stage - 1].holds(batch)
                batch, which, weights = batch.filter(pa.array(held)), which[held], weights[held]
            left[stage] += batch.num_rows
            weight[stage] += weights.sum()
        numbers.append(which)
        ordering.append(pa.Table.from_batches([batch]).select(keys))
        bar.update(first - bar.n)
    bar.close()
    shares = weight / weight[0] if low < high else np.full(len(weight), np.nan)
    says = ["rows", *(each.says for each in conditions)]
    looked_at = [left[0], *left[:-1]]
    stages = [
        stage_of(each, int(at), int(rest), float(share))
        for each, at, rest, share in zip(says, looked_at, left, shares, strict=True)
    ]
    return Found(np.concatenate(numbers), pa.concat_tables(ordering).to_pandas(), stages)


def ordered(found: Found, order_by: Sequence[str], seed: int) -> Numbers:
    """Positions in `found`, the best first; what is missing comes last, equals as the seed says."""
    shuffled = np.random.default_rng(seed).permutation(len(found.numbers))
    if not order_by:
        return shuffled
    mixed = found.keys.iloc[shuffled].set_axis(shuffled)
    # Sorting by the last column first keeps each sort stable, whatever its direction.
    for name in reversed(order_by):
        column = name.removeprefix("-")
        mixed = mixed.sort_values(column, ascending=column == name, kind="stable")
    return mixed.index.to_numpy(np.int64)


def stage_of(
    condition: str, looked_at: int, left: int, weighted_share: float = float("nan")
) -> dict[str, Any]:
    """A row of the funnel."""
    values = (condition, int(looked_at), int(left), float(weighted_share))
    return dict(zip(FUNNEL_COLUMNS, values, strict=True))


def _is_number(rows: Rows, name: str) -> bool:
    if name not in rows.schema.names:
        return False
    kind = rows.schema.field(name).type
    return bool(pa.types.is_integer(kind) or pa.types.is_floating(kind))


def bar_of(total: int, unit: str, progress: bool) -> tqdm[Any]:
    """A progress bar on a terminal, which goes when it is done."""
    return tqdm(total=total, unit=unit, leave=False, disable=None if progress else True)
