"""How a corpus of random puzzles is made, as a value that tells it and makes any part of it."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

from gridcrux.corpus.sample import deletion, patterns
from gridcrux.corpus.sample import weighted as weights
from gridcrux.corpus.sample.deletion import symmetric_cells
from gridcrux.corpus.sample.exchange import Outcome
from gridcrux.corpus.sample.featured import KIN, LIMIT, SEARCHES, Feature
from gridcrux.corpus.sample.patterns import ATTEMPTS
from gridcrux.grids.layout import NINE, Layout
from gridcrux.grids.rich import facts
from gridcrux.logic.repertoire import UNLIMITED, Repertoire
from gridcrux.techniques.repertoires import DEFAULT

COLUMNS = {
    "index": "number of the puzzle in the sample of its seed",
    "puzzle": "givens row by row, '.' for a blank",
    "givens": "number of givens",
    "attempts": "how many grids were tried for it, or puzzles tested",
}
"""Meaning of the columns of a corpus; weighted ones have those of `weighted.COLUMNS`."""

FEW_GIVENS = (
    "Top-down deletion prefers few givens: the mean over all minimal 9x9 puzzles is 26.58, its "
    'own is near 24.4 (Berthier, "Unbiased statistics of a CSP: a controlled-bias generator", '
    "2009). Shares measured here are shares of this sample."
)


@dataclass(frozen=True)
class Recipe(ABC):
    """How the puzzles of a seed are made.

    Attributes
    ----------
    seed : which corpus.
    layout : of the puzzles.
    unit : what is counted: each item is a puzzle, or something with several or none.
    chunk : how many items are made at once.
    """

    seed: int
    layout: Layout = NINE

    unit: ClassVar[str] = "puzzle"
    chunk: ClassVar[int] = 4

    @property
    def bias(self) -> str:
        """What shares measured on the puzzles are shares of."""
        return FEW_GIVENS

    @property
    @abstractmethod
    def method(self) -> str:
        """What is drawn, in a line."""

    @abstractmethod
    def outcomes(
        self, count: int, start: int = 0, tell: Callable[[int], object] = bool
    ) -> Iterator[Outcome]:
        """Items `start` to `start + count - 1`, in order.

        Parameters
        ----------
        tell : called now and then with how many more puzzles were tested, or grids tried.
        """

    @property
    def columns(self) -> dict[str, str]:
        """The columns of `row` with their meaning."""
        return COLUMNS

    def row(self, outcome: Outcome) -> dict[str, Any]:
        """An item that was found, as a row of a table with these columns."""
        assert outcome.sampled is not None
        values = {**outcome.sampled.row(), "attempts": outcome.attempts}
        return {name: value for name, value in values.items() if name in self.columns}

    @property
    def settings(self) -> dict[str, Any]:
        """All that the puzzles depend on beside the seed, in plain values."""
        return {"layout": self.layout.name}

    def _repr_html_(self) -> str:
        return facts({"method": self.method, "seed": self.seed, **self.settings})


@dataclass(frozen=True)
class ByDeletion(Recipe):
    """Minimal puzzles by top-down deletion (`deletion.minimal`)."""

    symmetry: str = "none"
    chunk: ClassVar[int] = 64

    @property
    def method(self) -> str:
        return "minimal puzzles by top-down deletion from random full grids"

    @property
    def columns(self) -> dict[str, str]:
        return {name: meaning for name, meaning in COLUMNS.items() if name != "attempts"}

    @property
    def settings(self) -> dict[str, Any]:
        return {**super().settings, "symmetry": self.symmetry}

    def outcomes(
        self, count: int, start: int = 0, tell: Callable[[int], object] = bool
    ) -> Iterator[Outcome]:
        for item in deletion.minimal(count, self.seed, self.layout, self.symmetry, start):
            yield Outcome(item.index, item, 1)


@dataclass(frozen=True)
class ByWeight(Recipe):
    """Minimal puzzles with weights that stand for all of them (`weighted`)."""

    unit: ClassVar[str] = "group"

    @property
    def bias(self) -> str:
        return (
            "None in weighted sums: divided by the number of groups, sums of weights estimate "
            "numbers of minimal puzzles of the layout. Unweighted shares mean nothing."
        )

    @property
    def method(self) -> str:
        return "minimal puzzles with weights, in groups: weighted sums stand for all of them"

    @property
    def columns(self) -> dict[str, str]:
        return weights.COLUMNS

    def outcomes(
        self, count: int, start: int = 0, tell: Callable[[int], object] = bool
    ) -> Iterator[Outcome]:
        for item in weights.weighted(count, self.seed, self.layout, start):
            yield Outcome(item.index, item, 1)


@dataclass(frozen=True)
class ByGivens(Recipe):
    """Puzzles with an exact number of givens (`patterns.with_givens`)."""

    givens: int = 0
    symmetry: str = "none"
    minimal: bool = False
    attempts: int = ATTEMPTS

    def __post_init__(self) -> None:
        patterns.check_givens(self.layout, self.givens, self.symmetry)

    @property
    def bias(self) -> str:
        return (
            "Where deletion alone arrives at the number of givens: its distribution, given that. "
            "Else the search prefers grids with many puzzles of that size. Shares measured here "
            "are shares of this sample."
        )

    @property
    def method(self) -> str:
        kind = "minimal puzzles" if self.minimal else "puzzles, minimal or not,"
        return (
            f"{kind} with {self.givens} givens, by top-down deletion from random full grids that "
            "stops there, and by exchanging givens where it does not get there"
        )

    @property
    def settings(self) -> dict[str, Any]:
        return {
            **super().settings,
            "givens": self.givens,
            "symmetry": self.symmetry,
            "minimal": self.minimal,
            "attempts": self.attempts,
        }

    def outcomes(
        self, count: int, start: int = 0, tell: Callable[[int], object] = bool
    ) -> Iterator[Outcome]:
        return patterns.with_givens(
            count,
            self.seed,
            self.givens,
            self.layout,
            self.symmetry,
            minimal=self.minimal,
            attempts=self.attempts,
            start=start,
            tell=tell,
        )


@dataclass(frozen=True)
class ByPattern(Recipe):
    """Puzzles with givens exactly in some cells (`patterns.with_pattern`)."""

    pattern: tuple[int, ...] = ()
    attempts: int = ATTEMPTS

    def __post_init__(self) -> None:
        patterns.check_pattern(self.layout, self.pattern)

    @property
    def bias(self) -> str:
        return (
            "The search prefers fillings of the pattern that are soonest come to by exchanging "
            "digits for those of other solutions. Shares measured here are shares of this sample."
        )

    @property
    def method(self) -> str:
        return (
            f"puzzles, minimal or not, with givens exactly in {len(self.pattern)} given cells, by "
            "exchanging digits until one solution is left"
        )

    @property
    def settings(self) -> dict[str, Any]:
        cells = set(self.pattern)
        marks = "".join("x" if cell in cells else "." for cell in range(self.layout.cells))
        return {**super().settings, "pattern": marks, "attempts": self.attempts}

    def outcomes(
        self, count: int, start: int = 0, tell: Callable[[int], object] = bool
    ) -> Iterator[Outcome]:
        return patterns.with_pattern(
            count,
            self.seed,
            self.pattern,
            self.layout,
            attempts=self.attempts,
            start=start,
            tell=tell,
        )


@dataclass(frozen=True)
class ByFeature(Recipe):
    """Puzzles in which a technique is essential (`featured`)."""

    technique: str = ""
    repertoire: Repertoire = DEFAULT
    symmetry: str = "none"
    givens: int | None = None
    none_harder: bool = False
    search: str = "rejection"
    attempts: int = LIMIT

    chunk: ClassVar[int] = KIN

    def __post_init__(self) -> None:
        if self.search not in SEARCHES:
            raise ValueError(f"no search {self.search!r}; known: {', '.join(SEARCHES)}")
        symmetric_cells(self.layout, self.symmetry)
        _ = self.feature

    @property
    def feature(self) -> Feature:
        return Feature(
            self.technique,
            self.repertoire,
            self.layout,
            self.symmetry,
            self.givens,
            self.none_harder,
        )

    @property
    def method(self) -> str:
        base = "minimal puzzles" if self.givens is None else f"puzzles with {self.givens} givens"
        how = {
            "rejection": "each the first of puzzles drawn by top-down deletion",
            "near": f"found by varying near misses, and {KIN - 1} more by varying each of them",
        }
        return f"{base} in which {self.technique} is essential, {how[self.search]}"

    @property
    def bias(self) -> str:
        if self.search == "rejection":
            return f"That of deletion, given that the technique is essential. {FEW_GIVENS}"
        return (
            "Towards grids with many puzzles in which the technique is nearly essential, and "
            "towards what is soonest come upon from there: no share measured here is one of all "
            "puzzles, nor of those that rejection draws. Puzzles of a group depend on each other."
        )

    @property
    def columns(self) -> dict[str, str]:
        if self.search == "rejection":
            return COLUMNS
        return COLUMNS | {"group": "number of the family, in which each puzzle comes of another"}

    def row(self, outcome: Outcome) -> dict[str, Any]:
        family = {} if self.search == "rejection" else {"group": outcome.index // KIN}
        return super().row(outcome) | family

    @property
    def settings(self) -> dict[str, Any]:
        return {
            **super().settings,
            "technique": self.technique,
            "repertoire": list(self.repertoire.names),
            "widest": None if self.repertoire.limit == UNLIMITED else self.repertoire.limit,
            "symmetry": self.symmetry,
            "givens": self.givens,
            "none_harder": self.none_harder,
            "search": self.search,
            "attempts": self.attempts,
        }

    def outcomes(
        self, count: int, start: int = 0, tell: Callable[[int], object] = bool
    ) -> Iterator[Outcome]:
        search = SEARCHES[self.search]
        return search(count, self.seed, self.feature, limit=self.attempts, start=start, tell=tell)
