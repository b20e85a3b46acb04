"""An engine that is asked the same of many states, round after round, beside others."""

from __future__ import annotations

import time
from collections import Counter as Tally
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cases.turns import Comparison, Piece, blocks, figure, take_turns
from gridcrux.grids.state import State

BLOCK = 25
"""States between two turns, where each takes little time."""

_TOLD = ("nodes", "conflicts", "decisions", "branches", "options", "variables", "terms", "calls")


def _never(_: Any) -> bool:
    return False


@dataclass
class Series:
    """An engine on states.

    Attributes
    ----------
    made : the engine anew; each round has its own, so that nothing learnt from a state in one
        round helps with it in the next.
    ask : puts the question; the answer has `effort`.
    check : what is wrong with the answer for the state of a number; None if it is right.
    states, warm : what is timed, and what is asked before.
    block : states between two turns.
    cut : whether an answer was cut short.
    times : for each round the seconds of each state.
    effort : sums over the states of the first round.
    faults : what `check` said.
    cuts : how many answers were cut short, so that their times are lower bounds.
    """

    made: Callable[[], Any]
    ask: Callable[[Any, State], Any]
    check: Callable[[Any, int], str | None]
    states: Sequence[State]
    warm: Sequence[State] = ()
    block: int = BLOCK
    cut: Callable[[Any], bool] = _never
    times: list[NDArray[np.float64]] = field(default_factory=list)
    effort: Tally[str] = field(default_factory=Tally)
    faults: list[str] = field(default_factory=list)
    cuts: int = 0

    def pieces(self) -> list[Piece]:
        """The work of another round."""
        engine = self.made()
        for state in self.warm:
            self.ask(engine, state)
        times = np.zeros(len(self.states))
        self.times.append(times)
        return [self._piece(engine, each, times) for each in blocks(len(times), self.block)]

    def _piece(self, engine: Any, block: range, times: NDArray[np.float64]) -> Piece:
        def work() -> int:
            for number in block:
                began = time.perf_counter()
                answer = self.ask(engine, self.states[number])
                times[number] = time.perf_counter() - began
                fault = self.check(answer, number)
                if fault and fault not in self.faults:
                    self.faults.append(fault)
                self.cuts += self.cut(answer)
                if len(self.times) == 1:
                    self.effort.update(answer.effort)
            return len(block)

        return work

    @property
    def mean(self) -> float:
        """Seconds of a state on average, by the median round."""
        return float(np.median([each.mean() for each in self.times]))

    @property
    def median(self) -> float:
        """Seconds of the median state, each by its median round."""
        return float(np.median(np.median(self.times, axis=0)))

    @property
    def effort_text(self) -> str:
        """The two measures of effort that say most, for a state."""
        told = [name for name in _TOLD if name in self.effort][:2]
        return ", ".join(f"{n} {figure(self.effort[n] / len(self.states))}" for n in told) or "-"

    def against(
        self, case: str, peer: str, ours: Mapping[str, Series | Piece], rounds: int
    ) -> list[Comparison]:
        """The ratios of this engine to others, which take their turns beside it.

        Parameters
        ----------
        peer : how this one is called.
        ours : the others; what is not a series is one piece, and is done at each turn.
        """
        found = []
        for number in range(rounds):
            theirs = self.pieces()
            sides = [
                each.pieces() if isinstance(each, Series) else [each] * len(theirs)
                for each in ours.values()
            ]
            found.append(take_turns([*sides, theirs], number))
        *columns, last = (tuple(column) for column in zip(*found, strict=True))
        return [
            Comparison(case, name, peer, len(self.states), column, last)
            for name, column in zip(ours, columns, strict=True)
        ]
