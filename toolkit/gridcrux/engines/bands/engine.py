"""Exact counts of 9x9 states with any number of solutions, behind the counter protocol."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from os import cpu_count
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.engines.bands.fillings import Band
from gridcrux.engines.bands.join import (
    add_up,
    pairs_in_order,
    previous_alike,
    representatives,
    third,
)
from gridcrux.engines.bands.plan import Plan, plan
from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.protocol import Count
from gridcrux.grids.state import State

_TERMS_IN_A_PIECE = 400_000_000
"""Products added up in one go by one thread: between two looks at the clock, some 0.1 s."""

Progress = Callable[[int, int], None]


class BandCounter:
    """Counts by joining the bands of a state.

    Parameters
    ----------
    threads : how many; all processors if None.  What is found does not depend on it.
    progress : is told how many products have been added up, and of how many.

    It takes a tenth of a second for a puzzle with 16 givens, some 10 s for the worst ones, which
    have about five, and 3 s for the empty grid.  Counting to the end is all that it can, so a
    limit saves nothing.  Where candidates are closed at random in an otherwise empty grid it may
    be too much work: `plan.Plan.feasible`.  `effort` has the products added up ("terms") and the
    fillings of single bands gone through.
    """

    name = "bands"

    def __init__(self, threads: int | None = None, progress: Progress | None = None) -> None:
        self._threads = threads or cpu_count() or 1
        self._progress = progress

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        """Count the solutions of a 9x9 state.

        Raises
        ------
        ValueError : the limit is below 1, the layout is another, or it would take too long.
        """
        check_limit(limit)
        deadline = Deadline(seconds)
        effort = {"terms": 0, "fillings": 0}
        value = None if deadline.passed else self._value(plan(state), deadline, effort)
        if value is None:
            return Count(0, False, "seconds", self.name, effort)
        stopped_by = "limit" if value > limit else None
        return Count(min(value, limit), stopped_by is None, stopped_by, self.name, effort)

    def _value(self, work: Plan, deadline: Deadline, effort: dict[str, int]) -> int | None:
        """The number of solutions, or None if the time is up first."""
        if not work.terms:
            return 0
        if not work.feasible:
            raise ValueError(
                f"too much to join: about {work.terms:.1e} products, {work.entries:.1e} numbers "
                f"of {work.fillings:.1e} fillings; another engine is needed"
            )
        with ThreadPoolExecutor(self._threads) as pool:
            bands = tuple(pool.map(lambda each: each.count(deadline), work.outlines))
            if None in bands:
                return None
            effort["fillings"] = work.fillings
            return self._sum(work, bands, pool, deadline, effort)

    def _sum(
        self,
        work: Plan,
        bands: tuple[Band | None, ...],
        pool: ThreadPoolExecutor,
        deadline: Deadline,
        effort: dict[str, int],
    ) -> int | None:
        first, second, last = work.stacks
        previous = previous_alike(work.treatment)
        chosen = representatives(first, previous)
        inner = third(last)
        lengths = pairs_in_order(first, chosen, second, previous) * len(last.triples)
        total, value = int(lengths.sum()), 0
        pieces = _pieces(chosen, lengths, len(second.triples))
        waiting: dict[Future[tuple[int, int]], int] = {}
        try:
            while True:
                # Two pieces a thread: enough to do, and soon at an end if the time is up.
                while len(waiting) < 2 * self._threads and (piece := next(pieces, None)):
                    future = pool.submit(
                        add_up, bands, first, piece.first, second, piece.begin, piece.end, inner,
                        previous,
                    )  # fmt: skip
                    waiting[future] = piece.terms
                if not waiting:
                    return value
                if deadline.passed:
                    return None
                for future in wait(waiting, return_when=FIRST_COMPLETED).done:
                    high, low = future.result()
                    value += (int(high) << 32) + int(low)
                    effort["terms"] += waiting.pop(future)
                if self._progress:
                    self._progress(effort["terms"], total)
        finally:
            for future in waiting:
                future.cancel()


class _Piece(NamedTuple):
    """Some first triples, and the range of second ones that each is looked at with."""

    first: NDArray[np.int64]
    begin: int
    end: int
    terms: int


def _pieces(
    chosen: NDArray[np.int64], lengths: NDArray[np.int64], seconds: int
) -> Iterator[_Piece]:
    """The sum in pieces of about the same work: several first triples, or a part of one."""
    begin, terms = 0, 0
    for number, length in enumerate(lengths.tolist()):
        if length <= _TERMS_IN_A_PIECE:
            terms += length
            if terms > _TERMS_IN_A_PIECE:
                yield _Piece(chosen[begin : number + 1], 0, seconds, terms)
                begin, terms = number + 1, 0
            continue
        if begin < number:
            yield _Piece(chosen[begin:number], 0, seconds, terms)
        parts = -(-length // _TERMS_IN_A_PIECE)
        for part in range(parts):
            yield _Piece(
                chosen[number : number + 1],
                seconds * part // parts,
                seconds * (part + 1) // parts,
                length * (part + 1) // parts - length * part // parts,
            )
        begin, terms = number + 1, 0
    if begin < len(chosen):
        yield _Piece(chosen[begin:], 0, seconds, terms)
