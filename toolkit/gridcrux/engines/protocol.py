"""What every engine can be asked, and how it says that it was cut short.

An engine decides and counts, a counter only counts; they know rules and candidates, and no
techniques.  A result says whether it is complete and, if not, which limit ended it; nothing is
ever reported as "no" because time ran out.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, NoReturn, Protocol, runtime_checkable

from gridcrux.grids.rich import facts
from gridcrux.grids.state import State


class ThreeValued(Enum):
    """What may be unknown; it has no truth value, so that "unknown" cannot pass for "no"."""

    def __bool__(self) -> NoReturn:
        words = ", ".join(each.value for each in type(self))
        raise TypeError(
            f"this is one of {words} and has no truth value; compare it: "
            f"answer is {type(self).__name__}.{self.name}"
        )


class Answer(ThreeValued):
    """An answer to a question."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Count:
    """How many solutions were found.

    Attributes
    ----------
    value : solutions found; the exact number if `complete`, a lower bound otherwise.
    complete : whether the search ended by itself.
    stopped_by : None, "limit" or "seconds".
    engine : name of the engine.
    effort : the engine's own measures of work, e.g. ``{"nodes": 3}``.
    """

    value: int
    complete: bool
    stopped_by: str | None
    engine: str
    effort: Mapping[str, int] = field(default_factory=dict)

    @property
    def unique(self) -> Answer:
        """Whether there is exactly one solution."""
        if self.value > 1:
            return Answer.NO
        if not self.complete:
            return Answer.UNKNOWN
        return Answer.YES if self.value == 1 else Answer.NO

    def row(self) -> dict[str, Any]:
        return {
            "count": self.value,
            "complete": self.complete,
            "stopped_by": self.stopped_by,
            "engine": self.engine,
            **self.effort,
        }

    def _repr_html_(self) -> str:
        return facts(self.row())


@dataclass(frozen=True)
class Support:
    """Which candidates occur in at least one solution.

    Attributes
    ----------
    occurs : mask of the candidates seen in some solution.
    undecided : mask of the candidates neither seen nor refuted; 0 if `complete`.
    complete : whether every candidate was decided.
    stopped_by : None or "seconds".
    """

    occurs: int = field(repr=False)
    undecided: int = field(repr=False)
    complete: bool
    stopped_by: str | None
    engine: str
    effort: Mapping[str, int] = field(default_factory=dict)

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "occurs": self.occurs.bit_count(),
            "undecided": self.undecided.bit_count(),
            "complete": self.complete,
            "stopped_by": self.stopped_by,
            "engine": self.engine,
            **self.effort,
        }

    def _repr_html_(self) -> str:
        return facts(self.row())


@runtime_checkable
class Counter(Protocol):
    """One way to count. States may have any marks and any contradiction."""

    @property
    def name(self) -> str:
        """Short name, as on the command line."""

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        """Count the solutions of a state, at most `limit` of them.

        After `limit` solutions one more is looked for, so that the result is the same whatever
        the counter: `complete` is true if and only if `value` is the exact number.  With limit 1,
        a state with one solution gives 1, complete; a state with two gives 1, not complete,
        stopped by "limit".  If `seconds` pass first, the result is not complete and stopped by
        "seconds"; with 0 seconds nothing is searched.

        Raises
        ------
        ValueError : `limit` is below 1, or the counter is not made for the layout.
        """


@runtime_checkable
class Engine(Counter, Protocol):
    """One way to decide and count. States may have any layout, any marks, any contradiction."""

    def solutions(self, state: State) -> Iterator[tuple[int, ...]]:
        """The solutions, lazily, each as n*n digits from 1; no repeats; order is fixed."""

    def support(self, state: State, seconds: float | None = None) -> Support:
        """Which open candidates occur in at least one solution."""
