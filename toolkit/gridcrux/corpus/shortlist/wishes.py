"""The conditions that a row of a study can be asked to meet, each in words and as a test."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from gridcrux.corpus.columns import steps_column
from gridcrux.corpus.rows import Rows, by_layout, symmetries_of
from gridcrux.corpus.sample import SYMMETRIES
from gridcrux.corpus.shortlist.queries import read_query
from gridcrux.logic.repertoire import Repertoire, UnknownTechnique
from gridcrux.techniques.repertoires import EVERYTHING, LEVELS

ANY = "any"
"""Any symmetry of the givens but none."""

Flags = NDArray[np.bool_]


class BadWish(ValueError):
    """A wish that this study cannot tell anything about."""


@dataclass(frozen=True)
class Wishes:
    """What puzzles are looked for; the parameters of `shortlist.choose` say what each means."""

    where: str | None = None
    essential: tuple[str, ...] = ()
    none_harder: bool = False
    one_crux: bool = False
    no_uniqueness: bool = False
    symmetric: str | None = None


@dataclass(frozen=True)
class Condition:
    """Something that a row must meet.

    Attributes
    ----------
    says : what, in words that follow a number of puzzles.
    columns : what it looks at.
    test : of some rows whether each meets it, for all alike or (N,); missing if it is unknown.
    """

    says: str
    columns: tuple[str, ...]
    test: Callable[[pa.RecordBatch], Any]

    def holds(self, rows: pa.RecordBatch) -> Flags:
        """(N,) for each row whether it is known to meet the condition."""
        held = self.test(rows)
        if isinstance(held, pa.Scalar):
            return np.full(rows.num_rows, bool(held.as_py()))
        return held if isinstance(held, np.ndarray) else np.asarray(pc.fill_null(held, False))


def conditions_of(rows: Rows, wishes: Wishes) -> list[Condition]:
    """The conditions of some wishes, in the order in which they are looked at.

    Raises
    ------
    BadQuery, UnknownColumn, UnknownTechnique, BadWish : what the study cannot tell, and why.
    """
    query = None if wishes.where is None else read_query(wishes.where, rows.schema)
    found = []
    if "solutions" in rows.schema.names and not (query and "solutions" in query.columns):
        found.append(_one_solution(rows))
    if query is not None:
        found.append(Condition(f"where {query.text.strip()}", query.columns, query.holds))
    found += [_essential(rows, name) for name in wishes.essential]
    if wishes.none_harder:
        found.append(_none_harder(rows, wishes.essential))
    if wishes.one_crux:
        found.append(_one_crux(rows))
    if wishes.no_uniqueness:
        found.append(_no_uniqueness(rows))
    if wishes.symmetric is not None:
        found.append(_symmetric(rows, wishes.symmetric))
    return found


def techniques_of(rows: Rows) -> Repertoire:
    """What the study knew, in its order."""
    known = {steps_column(technique): technique for technique in EVERYTHING}
    return Repertoire(tuple(known[name] for name in rows.schema.names if name in known))


def _one_solution(rows: Rows) -> Condition:
    columns = tuple(n for n in ("solutions", "solutions_complete") if n in rows.schema.names)

    def test(batch: pa.RecordBatch) -> Any:
        one = pc.equal(batch.column("solutions"), 1)
        return pc.and_kleene(one, batch.column(columns[1])) if len(columns) == 2 else one

    return Condition("with one solution", columns, test)


def _essential(rows: Rows, name: str) -> Condition:
    if name not in EVERYTHING.names:
        raise UnknownTechnique(name, EVERYTHING.names)
    if name not in techniques_of(rows).names:
        level = next(level for level, each in LEVELS.items() if name in each.names)
        raise BadWish(
            f"this study did not use {name}; it comes with 'gridcrux study --level {level}'"
        )
    pattern = f"(^|, ){name}(,|$)"
    return Condition(
        f"with {name} essential",
        rows.checked("essential_techniques"),
        lambda batch: pc.match_substring_regex(batch.column("essential_techniques"), pattern),
    )


def _none_harder(rows: Rows, names: Sequence[str]) -> Condition:
    techniques = techniques_of(rows).names
    steps = tuple(steps_column(technique) for technique in techniques_of(rows))
    if names:
        last = max(techniques.index(name) for name in names)
        harder = steps[last + 1 :]
        says = f"with nothing harder than {techniques[last]}"
        return Condition(says, harder, lambda batch: _unused(batch, harder))

    def test(batch: pa.RecordBatch) -> Flags:
        hardest = np.full(batch.num_rows, -1)
        for place, name in enumerate(steps):
            hardest[_flags(pc.greater(batch.column(name), 0))] = place
        # The names are in the order of the study, so the last one is the hardest.
        essential = batch.column("essential_techniques").to_pandas().str.rsplit(", ", n=1).str[-1]
        return (hardest >= 0) & (essential.to_numpy() == np.array([*techniques, ""])[hardest])

    columns = (*rows.checked("essential_techniques"), *steps)
    return Condition("whose hardest technique is essential", columns, test)


def _flags(held: Any) -> Flags:
    return np.asarray(pc.fill_null(held, False))


def _unused(batch: pa.RecordBatch, steps: Sequence[str]) -> Any:
    """Whether there is no step of some kinds."""
    held: Any = pa.scalar(True)
    for name in steps:
        held = pc.and_kleene(held, pc.equal(batch.column(name), 0))
    return held


def _one_crux(rows: Rows) -> Condition:
    columns = rows.checked("hard_steps")
    says = "with one hard step"
    if "crux_steps" in rows.schema.names:
        columns, says = (*columns, "crux_steps"), "with one hard step or one narrow place"

    def test(batch: pa.RecordBatch) -> Any:
        held: Any = pa.scalar(False)
        for name in columns:
            held = pc.or_kleene(held, pc.equal(batch.column(name), 1))
        return held

    return Condition(says, columns, test)


def _no_uniqueness(rows: Rows) -> Condition:
    steps = tuple(steps_column(each) for each in techniques_of(rows) if each.assumes_unique)
    says = "without a step that assumes one solution"
    if not steps:
        says += " (no technique of this study does)"
    return Condition(says, steps, lambda batch: _unused(batch, steps))


def _symmetric(rows: Rows, symmetry: str) -> Condition:
    if symmetry not in (*SYMMETRIES, ANY):
        known = ", ".join(SYMMETRIES)
        raise BadWish(f"no symmetry is called {symmetry!r}; there are {known}, and {ANY}")

    def test(batch: pa.RecordBatch) -> Flags:
        held = np.zeros(batch.num_rows, np.bool_)
        for _, which, digits in by_layout(batch):
            found = symmetries_of(digits)
            found[ANY] = np.any(list(found.values()), axis=0)
            found[SYMMETRIES[0]] = ~found[ANY]
            held[which] = found[symmetry]
        return held

    words = {ANY: "with symmetric givens", SYMMETRIES[0]: "without symmetry of the givens"}
    says = words.get(symmetry, f"with {symmetry} symmetry of the givens")
    return Condition(says, tuple(rows.having("layout", "puzzle")), test)
