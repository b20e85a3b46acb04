"""Puzzles in the making: the fewest further givens with which they have one solution.

One more given is enough if its candidate occurs in exactly one solution, two are if their
candidates occur together in exactly one.  Both are counted: for each candidate that occurs in a
solution at all, and for each pair of them.  Beyond two, candidates are added one by one, those that
leave the fewest solutions first, until two are enough or all have been tried.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from html import escape
from typing import Any

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines import get_engine
from gridcrux.engines.kernel import search
from gridcrux.engines.limits import Deadline
from gridcrux.grids.arrays import Geometry, geometry
from gridcrux.grids.names import parse_candidate
from gridcrux.grids.state import State, bits, expect_state
from gridcrux.logic.wording import listing
from gridcrux.proofs.uniqueness import NotUnique

SECONDS = 20.0

LISTED = 1_000
"""Sets of further givens that are listed; all are counted."""

LEFT = 500
"""Solutions counted at most to compare candidates, where further givens are chosen greedily."""

NODES = 20_000_000
"""Nodes that a single count may cost before it is given up."""

Digits = NDArray[np.int8]

Progress = Callable[[str], None]


@njit(cache=True, nogil=True)
def solutions_with(
    kind: int,
    tables: Geometry,
    stack: search.Stack,
    digits: Digits,
    candidates: NDArray[np.int64],
    limit: int,
) -> NDArray[np.int64]:
    """(K,) how many solutions have each of some candidates, up to a limit; -1 if not found out.

    Parameters
    ----------
    digits : (C,) givens, 0 for a blank.
    candidates : (K,) of cells without a given.
    """
    found = np.empty(candidates.shape[0], np.int64)
    control = np.empty(search.CONTROLS, np.int64)
    cells = digits.shape[0]
    with_it = digits.copy()
    for i in range(candidates.shape[0]):
        cell = candidates[i] % cells
        with_it[cell] = candidates[i] // cells + 1
        control[:] = 0
        search.load_givens(kind, tables, stack[0], with_it)
        ended = search.count(kind, tables, stack, control, limit, NODES)
        number = control[search.FOUND]
        found[i] = number if ended == search.EXHAUSTED or number >= limit else -1
        with_it[cell] = digits[cell]
    return found


@dataclass(frozen=True)
class FurtherGivens:
    """How many further givens make a puzzle unique, and which.

    Attributes
    ----------
    start : the puzzle.
    lower : no fewer are enough.
    names : further givens after which there is one solution: ``("r1c2=3",)``.
    choices : where the number is exact and at most two, all sets of that many, as far as they
        are listed.
    number : how many such sets there are; None if that was not found out.
    stopped_by : None if the number is exact, else "seconds".
    """

    start: State = field(repr=False)
    lower: int
    names: tuple[str, ...]
    choices: tuple[tuple[str, ...], ...] = field(repr=False)
    number: int | None
    stopped_by: str | None

    @property
    def upper(self) -> int:
        return len(self.names)

    @property
    def exact(self) -> bool:
        """Whether no fewer further givens are enough."""
        return self.lower == self.upper

    @property
    def state(self) -> State:
        """The puzzle with the further givens."""
        digits, layout = list(self.start.puzzle), self.start.layout
        for candidate in _candidates(self.start, self.names):
            digits[candidate % layout.cells] = candidate // layout.cells + 1
        return State.from_digits(digits, layout)

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "givens": self.start.givens.bit_count(),
            "further": self.upper if self.exact else None,
            "lower_bound": self.lower,
            "upper_bound": self.upper,
            "choices": self.number,
            "names": " ".join(self.names),
            "stopped_by": self.stopped_by,
        }

    def as_dict(self) -> dict[str, Any]:
        """The answer as JSON can hold it."""
        return {
            "upper": self.upper,
            "lower": self.lower,
            "givens": list(self.names),
            "choices": [list(names) for names in self.choices],
            "number": self.number,
            "stopped_by": self.stopped_by,
            "puzzle": self.state.line,
        }

    def __str__(self) -> str:
        if self.upper == 0:
            return "the puzzle has one solution as it is"
        if not self.exact:
            return (
                f"at least {self.lower} further givens are needed, and {self.upper} are enough: "
                f"{listing(self.names)}"
            )
        more = f"{self.upper} further given{'' if self.upper == 1 else 's'}"
        ways = "" if self.number is None else f" ({self.number:,} in all)"
        return f"{more} must be added, for example {listing(self.names)}{ways}"

    def _repr_html_(self) -> str:
        return f"<p>{escape(str(self))}</p>{self.state._repr_svg_()}"


def further_givens(
    state: State, *, seconds: float | None = SECONDS, progress: Progress | None = None
) -> FurtherGivens:
    """The fewest further givens with which a puzzle has exactly one solution.

    All sets of one or two are counted.  Where more are needed one smallest set is looked for; if
    the time runs out, there is a lower bound, and givens that are enough, none of them to spare.

    Parameters
    ----------
    state : a state that tells its givens; what it has excluded since plays no part.
    seconds : limit, after which bounds are returned.
    progress : told now and then what is being done.

    Raises
    ------
    NotUnique : the puzzle has no solution.
    TimeoutError : not even a solution was found in time.
    """
    expect_state(state)
    start = State.from_digits(state.puzzle, state.layout)
    deadline = Deadline(seconds)
    number = get_engine("kernel").count(start, 2, seconds)
    if number.value == 0:
        if not number.complete:
            raise TimeoutError("whether the puzzle has a solution was not found out in time")
        raise NotUnique("the puzzle has no solution", 0, "no further givens can help")
    if number.value == 1 and number.complete:
        return FurtherGivens(start, 0, (), ((),), 1, None)
    return _Adding(start, deadline, progress or (lambda text: None)).answer()


def _candidates(start: State, names: tuple[str, ...]) -> list[int]:
    """The candidates with some names."""
    return [parse_candidate(start.layout, name) for name in names]


class _Adding:
    """The search for further givens."""

    def __init__(self, start: State, deadline: Deadline, progress: Progress) -> None:
        self.start, self.deadline, self.progress = start, deadline, progress
        self.layout = start.layout
        self.kind = search.kind_of(self.layout)
        self.tables = geometry(self.layout)
        self.stack = search.new_stack(self.kind, self.tables)
        self.digits = np.array(start.puzzle, np.int8)

    def answer(self) -> FurtherGivens:
        """One if that is enough, else two, else as few as can be found."""
        self.progress("one further given")
        support = get_engine("kernel").support(self.start, self.remaining)
        occur = self.blank(support.occurs | support.undecided)
        one = self.with_each(self.digits, occur, 2)
        whole = not (one < 0).any()
        singles: list[tuple[int, ...]] = [(int(candidate),) for candidate in occur[one == 1]]
        if singles:
            return self.found(1, singles, whole)
        pairs, decided = self.pairs(self.digits, occur[one != 0]) if whole else ([], False)
        if pairs:
            return self.found(2, pairs, decided)
        return self.many(occur, 3 if decided else 2 if whole else 1)

    @property
    def remaining(self) -> float | None:
        return None if self.deadline.never else self.deadline.remaining

    def blank(self, candidates: int) -> NDArray[np.int64]:
        """Candidates of cells without a given."""
        cells = self.layout.cells
        blank = (c for c in bits(candidates) if not self.digits[c % cells])
        return np.array(list(blank), np.int64)

    def with_each(
        self, digits: Digits, candidates: NDArray[np.int64], limit: int
    ) -> NDArray[np.int64]:
        """How many solutions have each of some candidates; -1 where the time was up."""
        found = np.full(len(candidates), -1, np.int64)
        for begin in range(0, len(candidates), 64):
            if self.deadline.passed:
                break
            part = candidates[begin : begin + 64]
            found[begin : begin + 64] = solutions_with(
                self.kind, self.tables, self.stack, digits, part, limit
            )
        return found

    def pairs(
        self, digits: Digits, occur: NDArray[np.int64], some: bool = False
    ) -> tuple[list[tuple[int, ...]], bool]:
        """Pairs of candidates that together leave one solution, and whether these are all.

        Parameters
        ----------
        some : be content with the first few.
        """
        found: list[tuple[int, ...]] = []
        cells = self.layout.cells
        for place, first in enumerate(occur.tolist()):
            if self.deadline.passed:
                return found, False
            if some and found:
                return found, False
            if not some:
                self.progress(f"two further givens: {place} of {len(occur)}")
            with_first = self.with_digit(digits, first)
            others = occur[place + 1 :]
            others = others[others % cells != first % cells]
            numbers = self.with_each(with_first, others, 2)
            if (numbers < 0).any():
                return found, False
            found += [(first, int(second)) for second in others[numbers == 1]]
        return found, True

    def found(self, size: int, sets: list[tuple[int, ...]], whole: bool) -> FurtherGivens:
        """The answer where one or two are enough."""
        named = sorted(tuple(map(self.layout.candidate_name, each)) for each in sets)
        number = len(named) if whole else None
        return FurtherGivens(self.start, size, named[0], tuple(named[:LISTED]), number, None)

    def many(self, occur: NDArray[np.int64], lower: int) -> FurtherGivens:
        """The answer where more are needed, or where it was not found out."""
        best = self.greedy()
        while 2 < lower < len(best):
            self.progress(f"{lower} further givens; {len(best)} are enough")
            chosen, decided = self.some(self.digits, occur, lower)
            if chosen is not None:
                best = list(chosen)
            elif not decided:
                break
            else:
                lower += 1
        stopped = None if len(best) == lower else "seconds"
        names = tuple(sorted(map(self.layout.candidate_name, best)))
        return FurtherGivens(self.start, lower, names, (), None, stopped)

    def some(
        self, digits: Digits, occur: NDArray[np.int64], size: int
    ) -> tuple[tuple[int, ...] | None, bool]:
        """That many of some candidates that leave one solution, or None; and whether that is sure.

        The time being up, it is not.
        """
        if size == 2:
            pairs, decided = self.pairs(digits, occur, some=True)
            return (pairs[0] if pairs else None), decided or bool(pairs)
        numbers = self.with_each(digits, occur, LEFT)
        if (numbers < 0).any():
            return None, False
        order = occur[np.argsort(numbers, kind="stable")]
        order = order[np.sort(numbers, kind="stable") > 0]
        for place, first in enumerate(order.tolist()):
            rest = order[place + 1 :]
            rest = rest[rest % self.layout.cells != first % self.layout.cells]
            chosen, decided = self.some(self.with_digit(digits, first), rest, size - 1)
            if chosen is not None:
                return (first, *chosen), True
            if not decided:
                return None, False
        return None, True

    def with_digit(self, digits: Digits, candidate: int) -> Digits:
        """Givens and one more."""
        more = digits.copy()
        more[candidate % self.layout.cells] = candidate // self.layout.cells + 1
        return more

    def greedy(self) -> list[int]:
        """Givens that are enough, each chosen so that few solutions are left; none to spare."""
        digits, cells = self.digits, self.layout.cells
        solution = next(get_engine("kernel").solutions(self.start))
        chosen: list[int] = []
        while get_engine("kernel").count(self.state(digits), 2).value > 1:
            support = get_engine("kernel").support(self.state(digits), self.remaining)
            free = [c for c in bits(support.occurs) if not digits[c % cells]]
            options = np.array(free, np.int64)
            numbers = self.with_each(digits, options, LEFT)
            if not free or (numbers <= 0).any():
                # No time to compare: the digits of one solution are enough in the end.
                options = np.array(
                    [(d - 1) * cells + c for c, d in enumerate(solution) if not digits[c]]
                )
                numbers = np.zeros(len(options), np.int64)
            best = int(options[np.argmin(numbers)])
            if not self.agrees(solution, best):
                having = self.state(self.with_digit(digits, best))
                solution = next(get_engine("kernel").solutions(having))
            digits = self.with_digit(digits, best)
            chosen.append(best)
        return self.reduced(chosen)

    def agrees(self, solution: tuple[int, ...], candidate: int) -> bool:
        """Whether a solution has a candidate."""
        return solution[candidate % self.layout.cells] == candidate // self.layout.cells + 1

    def reduced(self, chosen: list[int]) -> list[int]:
        """Chosen givens without those that can be spared."""
        kept = list(chosen)
        for candidate in chosen:
            rest = [other for other in kept if other != candidate]
            if self.unique_with(rest):
                kept = rest
        return kept

    def unique_with(self, chosen: list[int]) -> bool:
        """Whether the puzzle has one solution with some further givens."""
        digits = self.digits
        for candidate in chosen:
            digits = self.with_digit(digits, candidate)
        number = get_engine("kernel").count(self.state(digits), 2)
        return number.value == 1 and number.complete

    def state(self, digits: Digits) -> State:
        """The puzzle with those givens."""
        return State.from_digits(digits.tolist(), self.layout)
