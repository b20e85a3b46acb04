"""The rules as an exact cover, for the dancing cells of xcover.

An open candidate is an option and a rule an item that exactly one chosen option covers.  The
solver enumerates by depth-first search, takes an item with the fewest options next, and learns
nothing.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Sequence

from gridcrux.encodings.cover import exact_cover
from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.probing import probe
from gridcrux.engines.protocol import Count, Support
from gridcrux.engines.solution import as_digits
from gridcrux.grids.state import State

with warnings.catch_warnings():
    # While numba compiles it, it warns of a cast in a part that is not used here.
    warnings.simplefilter("ignore")
    from xcover import covers


class CoverEngine:
    """Decides and counts by xcover.

    The limit in seconds is looked at between two solutions: a search for the next one cannot be
    interrupted, not even by Ctrl-C, so a state whose solutions are few and far between may
    overrun it by any time.  xcover is compiled by numba when it is first imported (some ten
    seconds) and kept beside its source for later processes.

    `effort` has what there is to see from outside: searches begun, the options of the first one,
    and solutions found.  Nodes are not reported.
    """

    name = "cover"

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        check_limit(limit)
        deadline = Deadline(seconds)
        effort = _effort(state)
        if state.broken_rule is not None:
            return Count(0, True, None, self.name, effort)
        stopped_by = None
        value = 0
        search = _solutions(state, effort)
        while True:
            if deadline.passed:
                stopped_by = "seconds"
                break
            if next(search, None) is None:
                break
            if value == limit:
                stopped_by = "limit"
                break
            value += 1
        return Count(value, stopped_by is None, stopped_by, self.name, effort)

    def solutions(self, state: State) -> Iterator[tuple[int, ...]]:
        if state.broken_rule is not None:
            return
        for solution in _solutions(state, _effort(state)):
            yield as_digits(solution, state.layout)

    def support(self, state: State, seconds: float | None = None) -> Support:
        deadline = Deadline(seconds)
        effort = _effort(state)
        if state.broken_rule is not None:
            return Support(0, 0, True, None, self.name, effort)
        left = state

        def ask(trial: Sequence[int], _: int) -> int | None:
            # An exact cover cannot say "one of these", so they are written one after the other.
            for start in [left.with_placed(candidate) for candidate in trial] or [left]:
                if deadline.passed:
                    return None
                if start.broken_rule is None and (found := next(_solutions(start, effort), 0)):
                    return found
            return 0

        def close(trial: Sequence[int]) -> None:
            nonlocal left
            left = left.without(sum(1 << candidate for candidate in trial))

        occurs, undecided = probe(state.open, ask, close)
        stopped_by = "seconds" if undecided else None
        return Support(occurs, undecided, not undecided, stopped_by, self.name, effort)


def _effort(state: State) -> dict[str, int]:
    return {"searches": 0, "options": state.open.bit_count(), "solutions": 0}


def _solutions(state: State, effort: dict[str, int]) -> Iterator[int]:
    """The masks of the solutions of a state without a broken rule."""
    effort["searches"] += 1
    problem = exact_cover(state)
    for chosen in covers(problem.options, primary=range(len(problem.columns))):
        effort["solutions"] += 1
        yield problem.solution(chosen)
