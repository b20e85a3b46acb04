"""What can be counted of many puzzles as they pass: givens, solutions, symmetry, minimality.

Everything that is fast is counted for all puzzles.  Whether a given can be spared, and which
puzzles are alike up to symmetry, is asked of a random sample where there are very many.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from functools import lru_cache
from hashlib import blake2b

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.rows import Digits, layout_of, symmetries_of
from gridcrux.corpus.sample.deletion import Workbench
from gridcrux.corpus.shortlist.used import has_symmetries
from gridcrux.engines.kernel import search
from gridcrux.grids.arrays import Geometry
from gridcrux.grids.canonical import canonical_batch
from gridcrux.grids.layout import Layout

NODES = 200_000
"""Nodes that one count of solutions may take before it is given up."""

NONE, ONE, SEVERAL, UNKNOWN = range(4)
SOLUTIONS = ("none", "one", "several", "not found out")
NO, YES, MAYBE = range(3)
SPARE = ("none can be spared", "some can be spared", "not found out")


@dataclass
class Survey:
    """Counts puzzles; the sample is the same however they are cut into batches.

    Attributes
    ----------
    most : puzzles of the sample, if there are more.
    seed : which sample.
    puzzles : how many have passed.
    weight, weighted_givens : sum of the weights, and of weight times number of givens.
    weighted : whether the weights differ.
    givens : weight and number of puzzles by layout and number of givens.
    solutions : puzzles by layout and number of solutions, a place in `SOLUTIONS`.
    symmetries : puzzles by symmetry of the pattern of givens; `asymmetric` have none.
    """

    most: int
    seed: int
    puzzles: int = 0
    weight: float = 0.0
    weighted_givens: float = 0.0
    weighted: bool = False
    givens: dict[tuple[str, int], list[float]] = field(default_factory=dict)
    solutions: Counter[tuple[str, int]] = field(default_factory=Counter)
    symmetries: Counter[str] = field(default_factory=Counter)
    asymmetric: int = 0
    _first_weight: float | None = None
    _known: list[NDArray[np.void]] = field(default_factory=list)
    _draws: NDArray[np.float64] = field(default_factory=lambda: np.zeros(0))
    _drawn: list[tuple[str, bytes, int]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._random = np.random.default_rng(self.seed)

    def add(self, name: str, digits: Digits, weights: NDArray[np.float64]) -> None:
        """Count puzzles of the layout of that name.

        Parameters
        ----------
        digits : (N, n*n) givens, 0 for a blank.
        weights : (N,) how much each counts in its sample.
        """
        if not len(digits):
            return
        self.puzzles += len(digits)
        first = weights[0] if self._first_weight is None else self._first_weight
        self._first_weight = first
        self.weighted |= bool((weights != first).any())
        number = np.count_nonzero(digits, axis=1)
        self.weight += float(weights.sum())
        self.weighted_givens += float(weights @ number)
        counts = np.bincount(number)
        sums = np.bincount(number, weights)
        for givens in np.flatnonzero(counts).tolist():
            entry = self.givens.setdefault((name, givens), [0, 0.0])
            entry[0] += int(counts[givens])
            entry[1] += float(sums[givens])
        solutions = solutions_of(digits, name)
        for kind, count in enumerate(np.bincount(solutions, minlength=len(SOLUTIONS)).tolist()):
            self.solutions[name, kind] += count
        symmetries = symmetries_of(digits)
        for symmetry, flags in symmetries.items():
            self.symmetries[symmetry] += int(flags.sum())
        self.asymmetric += int((~np.any(list(symmetries.values()), axis=0)).sum())
        texts = [row.tobytes() for row in np.ascontiguousarray(digits)]
        hashes = [blake2b(text, digest_size=16, key=name.encode()[:64]).digest() for text in texts]
        self._known.append(np.frombuffer(b"".join(hashes), "V16"))
        self._draw(name, texts, solutions)

    def _draw(self, name: str, texts: list[bytes], solutions: NDArray[np.int64]) -> None:
        """Keep the puzzles with the least random numbers."""
        draws = self._random.random(len(texts))
        limit = self._draws.max() if len(self._drawn) == self.most else np.inf
        which = np.flatnonzero(draws < limit)
        self._draws = np.concatenate((self._draws, draws[which]))
        self._drawn += [(name, texts[i], int(solutions[i])) for i in which.tolist()]
        if len(self._drawn) > self.most:
            kept = np.sort(np.argsort(self._draws, kind="stable")[: self.most])
            self._draws = self._draws[kept]
            self._drawn = [self._drawn[i] for i in kept.tolist()]

    @property
    def repeated(self) -> int:
        """Puzzles that are the same as one before them."""
        if not self._known:
            return 0
        return self.puzzles - len(np.unique(np.concatenate(self._known).view("S16")))

    def sampled(self) -> Sampled:
        """The slow questions, for the sample."""
        found = Sampled(len(self._drawn))
        for name in dict.fromkeys(name for name, _, _ in self._drawn):
            same = [(text, kind) for each, text, kind in self._drawn if each == name]
            digits = np.frombuffer(b"".join(text for text, _ in same), np.int8)
            digits = digits.reshape(len(same), -1)
            one = digits[np.array([kind == ONE for _, kind in same])]
            spare = np.bincount(spare_of(one, name), minlength=len(SPARE))
            found.spare = [a + b for a, b in zip(found.spare, spare.tolist(), strict=True)]
            layout = layout_of(name)
            if layout is None or not has_symmetries(layout):
                found.not_compared.append(name)
                continue
            forms, automorphisms = canonical_batch(digits, layout)
            found.compared += len(digits)
            found.alike += len(digits) - len(np.unique(forms, axis=0))
            found.symmetric += int((automorphisms != 1).sum())
        return found


@dataclass
class Sampled:
    """What was found of a sample.

    Attributes
    ----------
    puzzles : of the sample.
    spare : of its puzzles with one solution, how many by whether a given can be spared (`SPARE`).
    compared : puzzles whose layout has known symmetries; the layouts `not_compared` have not.
    alike : of these, how many are like one before them up to symmetry.
    symmetric : how many a symmetry of the layout maps to itself, but for the names of digits.
    """

    puzzles: int
    spare: list[int] = field(default_factory=lambda: [0, 0, 0])
    compared: int = 0
    alike: int = 0
    symmetric: int = 0
    not_compared: list[str] = field(default_factory=list)


@lru_cache(maxsize=8)
def _bench(layout: Layout) -> tuple[int, Geometry, search.Stack]:
    bench = Workbench(layout)
    return bench.kind, bench.tables, bench.stack


def solutions_of(digits: Digits, name: str, nodes: int = NODES) -> NDArray[np.int64]:
    """(N,) for each puzzle whether it has no, one or several solutions, a place in `SOLUTIONS`."""
    found = np.full(len(digits), UNKNOWN)
    layout = layout_of(name)
    if layout is not None:
        _count(*_bench(layout), np.ascontiguousarray(digits), nodes, found)
    return found


def spare_of(digits: Digits, name: str, nodes: int = NODES) -> NDArray[np.int64]:
    """(N,) for puzzles with one solution whether some given can be spared, a place in `SPARE`."""
    found = np.full(len(digits), MAYBE)
    layout = layout_of(name)
    if layout is not None:
        _spare(*_bench(layout), np.array(digits), nodes, found)
    return found


@njit(cache=True)
def _solutions(
    kind: int,
    tables: Geometry,
    stack: NDArray[np.uint32],
    control: NDArray[np.int64],
    puzzle: NDArray[np.int8],
    nodes: int,
) -> int:
    """How many solutions a puzzle has, if that is found out in so many nodes."""
    control[:] = 0
    search.load_givens(kind, tables, stack[0], puzzle)
    ended = search.count(kind, tables, stack, control, 2, nodes)
    if control[search.FOUND] >= 2:
        return SEVERAL
    if ended != search.EXHAUSTED:
        return UNKNOWN
    return ONE if control[search.FOUND] else NONE


@njit(cache=True, nogil=True)
def _count(
    kind: int,
    tables: Geometry,
    stack: NDArray[np.uint32],
    puzzles: NDArray[np.int8],
    nodes: int,
    found: NDArray[np.int64],
) -> None:
    control = np.zeros(search.CONTROLS, np.int64)
    for i in range(puzzles.shape[0]):
        found[i] = _solutions(kind, tables, stack, control, puzzles[i], nodes)


@njit(cache=True, nogil=True)
def _spare(
    kind: int,
    tables: Geometry,
    stack: NDArray[np.uint32],
    puzzles: NDArray[np.int8],
    nodes: int,
    found: NDArray[np.int64],
) -> None:
    control = np.zeros(search.CONTROLS, np.int64)
    for i in range(puzzles.shape[0]):
        found[i] = NO
        for cell in range(puzzles.shape[1]):
            digit = puzzles[i, cell]
            if digit == 0:
                continue
            puzzles[i, cell] = 0
            number = _solutions(kind, tables, stack, control, puzzles[i], nodes)
            puzzles[i, cell] = digit
            if number == ONE:
                found[i] = YES
                break
            if number == UNKNOWN:
                found[i] = MAYBE
