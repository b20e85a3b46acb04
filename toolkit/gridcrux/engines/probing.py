"""Support by trial: ask for a solution with a candidate that none has shown yet."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice

from gridcrux.grids.state import bits

_GROWTH = 4
"""How many times more candidates are tried at once after some were refuted."""


def probe(
    open_: int,
    ask: Callable[[Sequence[int], int], int | None],
    close: Callable[[Sequence[int]], None],
) -> tuple[int, int]:
    """Which of the open candidates occur in a solution, and which stayed undecided.

    Every solution settles all its candidates.  Refuted ones are closed for good, and the next
    trial asks for one of several at once; a success goes back to a single one.  With few
    solutions this takes far fewer calls than one a candidate, with many it takes no more.

    Parameters
    ----------
    open_ : mask of the open candidates.
    ask : the mask of a solution with at least one of these candidates (any solution, if there
        are none), 0 if there is no such solution, None if the time is up.  It is told the mask of
        what is undecided, as a solution with much of that saves calls.
    close : no later solution may contain these candidates.
    """
    occurs, undecided = 0, open_
    trial: list[int] = []
    together = 1
    while undecided:
        solution = ask(trial, undecided)
        if solution is None:
            break
        if solution:
            occurs |= solution
            undecided &= ~solution
            together = 1
        elif not trial:
            return 0, 0
        else:
            close(trial)
            undecided &= ~sum(1 << candidate for candidate in trial)
            together *= _GROWTH
        trial = list(islice(bits(undecided), together))
    return occurs, undecided
