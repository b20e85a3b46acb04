"""How many solutions a state has in all, by the cheapest way that gets to the end.

Few solutions are enumerated, of those that differ by exchanging digits one each; a 9x9 state with
more is cut into its bands, whose fillings are joined (`engines.bands`), and the blank 8x8 grid
into its stacks; any other layout is left to a model counter.  Where none of these ends in time an
estimate with a guarantee is tried, and what remains are bounds.  The result says which.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from math import prod
from typing import Any

import numpy as np

from gridcrux.engines import get_counter
from gridcrux.engines.limits import Deadline
from gridcrux.engines.protocol import Count
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.rich import facts
from gridcrux.grids.state import State, expect_state
from gridcrux.proofs.counts import NO_LIMIT

ENUMERATED = 200_000
"""Solutions found one by one before bands are joined, which takes a tenth of a second at least."""

TWO_ROWS, TWO_ROWS_TAKE = 4, 10.0
"""The width of boxes with two rows of which all grids are counted by joining stacks, as narrower
ones are soon enumerated and wider ones take too long; and how many seconds this may take."""

LARGEST_PERMANENT = 16
"""The largest layout whose houses are filled independently for an upper bound."""

Progress = Callable[[int, int], None]


@dataclass(frozen=True)
class Total:
    """The number of solutions of a state, or what is known of it.

    Attributes
    ----------
    value : the exact number, the estimate, or None.
    exact : whether `value` is the exact number.
    lower, upper : bounds.  With an estimate those of its guarantee; otherwise they are certain.
        `upper` is None where none is known.
    confidence : the probability, at least, with which the bounds hold: 1 unless estimated.
    method : "enumeration", "joining bands", "joining stacks", "model counting", "hashing", or
        "bounds".
    stopped_by : None, or "seconds" where nothing ended in time.
    effort : measures of work of the last method.
    """

    value: int | None
    exact: bool
    lower: int
    upper: int | None
    confidence: float
    method: str
    stopped_by: str | None = None
    effort: dict[str, int] = field(default_factory=dict)

    @property
    def source(self) -> str:
        """What the method does, in a few words."""
        few = self.exact and self.method == "enumeration" and self.lower < 2
        return "by search" if few else METHODS[self.method]

    def row(self) -> dict[str, Any]:
        return {
            "solutions": self.value,
            "exact": self.exact,
            "lower": self.lower,
            "upper": self.upper,
            "confidence": self.confidence,
            "method": self.method,
        }

    def _repr_html_(self) -> str:
        return facts(self.row())


METHODS = {
    "enumeration": "every solution was visited, or another that differs by exchanging digits",
    "joining bands": "the fillings of the three bands were joined, after Felgenhauer and Jarvis",
    "joining stacks": "the fillings of the two stacks of boxes were joined",
    "model counting": "by the exact model counter Ganak",
    "hashing": "estimated by ApproxMC, with a guarantee",
    "bounds": "counting did not end in time",
}
"""What each method does."""


def total(
    state: State,
    seconds: float = 60.0,
    *,
    seed: int = 1,
    begins: Callable[[str], None] | None = None,
    progress: Progress | None = None,
) -> Total:
    """Count all solutions of a state.

    A 9x9 state whose closed candidates come from givens is counted to the end in a tenth of a
    second to some 20 seconds, whatever the number.

    Parameters
    ----------
    seconds : after these bounds are good enough; three ways may share them.
    seed : of the estimate.
    begins : is told the name of each method that begins.
    progress : is told how many products of bands are added up, and of how many.
    """
    expect_state(state)
    deadline = Deadline(seconds)
    tell = begins or (lambda _: None)
    tell("enumeration")
    if state.layout == NINE:
        found = get_counter("kernel").count(state, ENUMERATED, deadline.remaining)
        if found.complete:
            return _exact(found, "enumeration")
        from gridcrux.engines.bands.plan import plan

        tell("joining bands")
        if plan(state).feasible:
            from gridcrux.engines.bands.engine import BandCounter

            count = BandCounter(progress=progress).count(state, NO_LIMIT, deadline.remaining)
            if count.complete:
                return _exact(count, "joining bands")
    else:
        if seconds >= TWO_ROWS_TAKE and _joins_stacks(state):
            from gridcrux.engines.bands.two_rows import grids_with_two_rows

            tell("joining stacks")
            number = grids_with_two_rows(TWO_ROWS)
            return Total(number, True, number, number, 1.0, "joining stacks")
        found = _enumerated(state, Deadline(seconds / 2))
        if found.complete:
            return _exact(found, "enumeration")
    counted = _by_libraries(state, deadline, seed, tell)
    if counted is not None:
        return counted
    upper = upper_bound(state)
    return Total(None, False, found.value, upper, 1.0, "bounds", "seconds", dict(found.effort))


def _joins_stacks(state: State) -> bool:
    """Whether a state is the blank grid with boxes of two rows or columns, `TWO_ROWS` wide."""
    like = (boxes(2, TWO_ROWS), boxes(TWO_ROWS, 2))
    return state.open == state.layout.full and state.layout in like


_MOST = 10**18
"""As high as the kernel counts."""


def _exact(count: Count, method: str) -> Total:
    value = count.value
    return Total(value, True, value, value, 1.0, method, effort=dict(count.effort))


def _enumerated(state: State, deadline: Deadline) -> Count:
    """The solutions visited one by one, of those that differ by exchanging digits one each."""
    engine = get_counter("kernel")
    value = nodes = 0
    for weight, part in _parts(state, state.layout.houses[0].cells):
        count = engine.count(part, _MOST, deadline.remaining)
        value += weight * count.value
        nodes += count.effort["nodes"]
        if not count.complete:
            return Count(value, False, "seconds", engine.name, {"nodes": nodes})
    return Count(value, True, None, engine.name, {"nodes": nodes})


def _parts(state: State, cells: tuple[int, ...]) -> Iterator[tuple[int, State]]:
    """States that together have the solutions of this one, and how often each counts.

    Along some cells: digits that the state treats alike are as good as each other in a cell, so
    only the first of them is written there.
    """
    layout = state.layout
    plane = (1 << layout.cells) - 1
    planes = [state.open >> digit * layout.cells & plane for digit in range(layout.size)]
    if not cells or len(set(planes)) == layout.size:
        yield 1, state
        return
    cell, rest = cells[0], cells[1:]
    alike = Counter(planes[digit - 1] for digit in state.digits_of(cell))
    for open_, number in alike.items():
        digit = planes.index(open_)
        for weight, part in _parts(state.with_placed(digit * layout.cells + cell), rest):
            yield number * weight, part


def _by_libraries(
    state: State, deadline: Deadline, seed: int, tell: Callable[[str], None]
) -> Total | None:
    """What a model counter, then an approximate one says; None if neither is there or ends."""
    from gridcrux.engines.approximate import approximate_count

    if deadline.passed:
        return None
    try:
        tell("model counting")
        count = get_counter("ganak").count(state, NO_LIMIT, deadline.remaining / 2)
        if count.complete:
            return _exact(count, "model counting")
        tell("hashing")
        about = approximate_count(state, seed=seed, seconds=deadline.remaining)
    except ModuleNotFoundError:
        return None
    if about.value is None or about.lower is None or about.confidence is None:
        return None
    return Total(about.value, about.exact, about.lower, about.upper, about.confidence, "hashing")


def upper_bound(state: State) -> int | None:
    """No more solutions than there are ways to fill all rows, each by itself, or columns, or boxes.

    The ways to fill a house are a permanent.  None for layouts larger than `LARGEST_PERMANENT`.

    >>> from gridcrux.grids.layout import boxes
    >>> upper_bound(State.empty(boxes(2, 2)))
    331776
    """
    layout = state.layout
    if layout.size > LARGEST_PERMANENT:
        return None
    bounds = []
    known: dict[tuple[tuple[int, ...], ...], int] = {}

    def ways(cells: tuple[int, ...]) -> int:
        # Most houses of a grid with few givens are filled in the same number of ways.
        digits = tuple(tuple(state.digits_of(cell)) for cell in cells)
        if digits not in known:
            known[digits] = _ways(digits, layout.size)
        return known[digits]

    for kind in dict.fromkeys(house.kind for house in layout.houses):
        houses = [house.cells for house in layout.houses if house.kind == kind]
        if len(houses) == layout.size and len(set().union(*houses)) == layout.cells:
            bounds.append(prod(map(ways, houses)))
    return min(bounds)


def _ways(digits: tuple[tuple[int, ...], ...], size: int) -> int:
    """In how many ways cells can take different digits, each one of its own, cell by cell."""
    used = np.arange(1 << size)
    ways = np.zeros(1 << size, np.int64)
    ways[0] = 1
    for cell in digits:
        further = np.zeros_like(ways)
        for digit in cell:
            without = used[used >> digit - 1 & 1 == 0]
            further[without | 1 << digit - 1] += ways[without]
        ways = further
    return int(ways[-1])
