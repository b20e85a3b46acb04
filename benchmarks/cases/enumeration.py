"""All solutions of states that have several: engines that are asked to count to the end."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from cases.material import line_of
from cases.series import Series
from gridcrux.engines.protocol import Count, Counter
from gridcrux.grids.state import State

NO_LIMIT = 10**30


def series_of(
    made: Callable[[], Counter],
    states: Sequence[State],
    right: Sequence[int],
    warm: Sequence[State] = (),
    seconds: float | None = None,
    block: int = 1,
) -> Series:
    """A counter that is asked for the number of solutions, of which the right one is known.

    Parameters
    ----------
    seconds : a count may take no longer; its times are then lower bounds, and `cut` counts them.
    """

    def ask(counter: Counter, state: State) -> Count:
        return counter.count(state, NO_LIMIT, seconds)

    def check(count: Count, number: int) -> str | None:
        return disagreement(count, states[number], right[number])

    def cut(count: Count) -> bool:
        return not count.complete

    return Series(made, ask, check, states, warm, block, cut)


def disagreement(count: Count, state: State, right: int) -> str | None:
    """What is wrong with a count; a count that was cut short is a lower bound."""
    if count.value == right if count.complete else count.value <= right:
        return None
    bound = "" if count.complete else "at least "
    return (
        f"{count.engine} counts {bound}{count.value:,} solutions of {line_of(state)}, not {right:,}"
    )
