"""Choose puzzles of a study for a lesson or a series, and tell how many each wish leaves over."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
import pyarrow as pa

from gridcrux.corpus.columns import steps_column
from gridcrux.corpus.rows import Rows, Study, by_layout, layout_of, records_of, symmetries_of
from gridcrux.corpus.shortlist.funnel import (
    FUNNEL_COLUMNS,
    Found,
    Numbers,
    bar_of,
    narrowed,
    ordered,
    stage_of,
)
from gridcrux.corpus.shortlist.used import Alike, Used
from gridcrux.corpus.shortlist.wishes import (
    BadWish,
    Wishes,
    conditions_of,
    techniques_of,
)
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.wording import listing

FIRST_LOOK, MOST = 256, 1 << 16
"""Puzzles compared with others in the first go; each further go takes four times as many, up to
a limit."""

Files = str | os.PathLike[str] | Sequence[str | os.PathLike[str]]


@dataclass(frozen=True)
class Shortlist:
    """The puzzles chosen, the best first, and how the choice narrowed.

    Attributes
    ----------
    table : a row a puzzle: `why` it is here, and then the columns of the study.
    funnel : a row a condition, in their order, with the columns of `FUNNEL_COLUMNS`; the first
        is the study as a whole.
    notes : what one should know of the study and the comparisons, in a sentence each.
    """

    table: pd.DataFrame
    funnel: pd.DataFrame = field(repr=False)
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.table)

    def frame(self) -> pd.DataFrame:
        return self.table

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {"rows": int(self.funnel["left"].iloc[0]), "chosen": len(self)}

    def as_dict(self) -> dict[str, Any]:
        """Everything as JSON can hold it."""
        return {
            "puzzles": records_of(self.table),
            "funnel": records_of(self.funnel),
            "notes": list(self.notes),
        }

    def __str__(self) -> str:
        rows = self.funnel.to_dict("records")
        parts = [f"{rows[0]['left']:,} rows"]
        for row in rows[1:]:
            share = row["weighted_share"]
            weighted = "" if pd.isna(share) else f" (weighted: {share:.2%})"
            parts.append(f"{row['left']:,} {row['condition']}{weighted}")
        return "; ".join(parts)

    def _repr_html_(self) -> str:
        return self.table.to_html() + self.funnel.to_html()


def shortlist(study: Study, **wishes: Any) -> pd.DataFrame:
    """The puzzles of a study that meet all wishes, and why; `choose` lists the wishes."""
    return choose(study, **wishes).table


def choose(
    study: Study,
    *,
    where: str | None = None,
    essential: str | Sequence[str] | None = None,
    none_harder: bool = False,
    one_crux: bool = False,
    no_uniqueness: bool = False,
    symmetric: str | None = None,
    used: Files | None = None,
    order_by: str | Sequence[str] | None = None,
    top: int = 10,
    seed: int = 0,
    progress: bool = False,
) -> Shortlist:
    """Choose the puzzles of a study that meet all wishes; no two of them are alike.

    Puzzles are alike if a symmetry of the layout, with one of the digits, maps one to the
    other.  Only puzzles with one solution are chosen, unless `where` speaks of `solutions`.

    Parameters
    ----------
    study : the table, or the folder that `gridcrux study` made.
    where : a condition on the columns; see `queries`.
    essential : techniques that the repertoire of the study cannot do without in the puzzle.
    none_harder : no step is by a technique that comes, in the order of the study, after the
        last of `essential`; if none is named, after the last essential one of the puzzle.
    one_crux : one step that is no placement; or, where the study asked for needs, one narrow
        place (`crux_steps`).
    no_uniqueness : no step assumes that there is one solution.
    symmetric : one of `corpus.sample.SYMMETRIES` that the pattern of givens has as it is
        printed, or 'any' for any of them but 'none'.
    used : files of puzzles used before; what is like one of them is left out.
    order_by : columns, the first counts most; '-' before a name for descending.
    top : how many to choose at most.
    seed : which of those that are equal in the order come first.
    progress : show a progress bar on standard error, if that is a terminal.

    Raises
    ------
    NoStudy, BadQuery, UnknownColumn, UnknownTechnique, BadWish : what cannot be used, and why.
    PuzzleError : a file of used puzzles is missing or damaged.
    """
    rows = Rows(study)
    wishes = Wishes(
        where, tuple(_several(essential)), none_harder, one_crux, no_uniqueness, symmetric
    )
    conditions = conditions_of(rows, wishes)
    order_by = _several(order_by)
    rows.checked(*(name.removeprefix("-") for name in order_by))
    if top < 1:
        raise BadWish(f"--top {top}: expected 1 or more")
    before = _before(rows, _several(used))
    found = narrowed(rows, conditions, order_by, progress)
    return _picked(rows, found, ordered(found, order_by, seed), before, top, progress)


def _several(value: Any) -> list[Any]:
    """A list of what may be none, one or several."""
    if value is None:
        return []
    return [value] if isinstance(value, str | os.PathLike) else list(value)


def _before(rows: Rows, files: Sequence[str | os.PathLike[str]]) -> Used | None:
    """The puzzles of the files, None if there are no files."""
    if not files:
        return None
    used = Used()
    layouts = [layout_of(name) for name in rows.layouts()]
    for file in files:
        used.read(os.fspath(file), [each for each in layouts if each is not None])
    return used


def _picked(
    rows: Rows, found: Found, order: Numbers, before: Used | None, top: int, progress: bool
) -> Shortlist:
    """Take the best, without those like a used puzzle or like a better one."""
    alike = Alike()
    known: dict[str, set[bytes]] = {}
    seen: set[bytes] = set()
    chosen: list[int] = []
    looked = fresh = start = 0
    size = max(FIRST_LOOK, 2 * top)
    bar = bar_of(len(order), "puzzle", progress)
    while start < len(order) and len(chosen) < top:
        part = found.numbers[order[start : start + size]]
        start, size = start + size, min(4 * size, MOST)
        bar.update(len(part))
        keys = [b""] * len(part)
        spent = np.zeros(len(part), np.bool_)
        for name, which, digits in by_layout(rows.take(part, rows.having("layout", "puzzle"))):
            if name not in known:
                known[name] = before.keys(name, digits.shape[1], alike) if before else set()
            for place, key in zip(which.tolist(), alike.keys(name, digits), strict=True):
                keys[place], spent[place] = key, key in known[name]
        for place, number in enumerate(part.tolist()):
            looked += 1
            fresh += not spent[place]
            if not spent[place] and keys[place] not in seen:
                seen.add(keys[place])
                chosen.append(number)
                if len(chosen) == top:
                    break
    bar.close()
    stages = list(found.stages)
    notes = list(before.notes) if before else []
    if rows.manifest.get("finished") is False:
        notes.insert(0, "the study is not finished; these are its rows so far")
    if before is not None:
        says = f"of the first {looked:,} in order unlike all {before.number:,} used before"
        stages.append(stage_of(says, looked, fresh))
    says = f"of the first {fresh:,} unlike each other"
    stages.append(stage_of(says, fresh, len(chosen)))
    if alike.exactly:
        names = listing(sorted(alike.exactly))
        notes.append(f"puzzles of layout {names} are compared as they are, not up to symmetry")
    taken = rows.take(np.array(chosen, np.int64))
    table = taken.to_pandas()
    table.insert(0, "why", pd.array(_reasons(techniques_of(rows), taken), dtype="str"))
    return Shortlist(table, pd.DataFrame(stages, columns=list(FUNNEL_COLUMNS)), tuple(notes))


def _reasons(techniques: Repertoire, chosen: pa.Table) -> list[str]:
    """For each chosen row what is special about it, in a few words."""
    hard = {each.name: steps_column(each) for each in techniques if each.family != "single"}
    found = []
    for row in chosen.to_pylist():
        parts = []
        if row.get("essential_techniques"):
            parts.append(f"essential: {row['essential_techniques']}")
        steps = {name: row[column] or 0 for name, column in hard.items()}
        used = [name if n == 1 else f"{n} {name}" for name, n in steps.items() if n]
        if used:
            parts.append(f"steps beside placements: {', '.join(used)}")
        elif row.get("steps"):
            parts.append("placements only")
        if row.get("status", "solved") != "solved":
            parts.append(f"the route is {row['status']}" if row["status"] else "no route")
        found.append(parts)
    for _, which, digits in by_layout(chosen):
        for name, flags in symmetries_of(digits).items():
            for place in which[flags].tolist():
                found[place].append(f"{name} symmetry")
    return ["; ".join(parts) for parts in found]
