"""Two sides that take turns in one run, and the ratio of their medians with an interval."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

Piece = Callable[[], int]
"""Does some work, and says of how many items."""

RESAMPLES, CONFIDENCE, SEED = 2_000, 0.95, 1
LEAST = 3
"""With fewer rounds there is no interval."""


def take_turns(sides: Sequence[Sequence[Piece]], first: int = 0) -> list[float]:
    """Seconds an item of each side in one round.

    The sides go through their pieces together, and each is in turn the one that begins, so that
    what disturbs the machine for a while disturbs them all.

    Parameters
    ----------
    sides : the pieces of each side, equally many.
    first : which side begins the first piece.
    """
    seconds, items = [0.0] * len(sides), [0] * len(sides)
    for number, pieces in enumerate(zip(*sides, strict=True), first):
        for turn in range(len(sides)):
            side = (number + turn) % len(sides)
            began = time.perf_counter()
            items[side] += pieces[side]()
            seconds[side] += time.perf_counter() - began
    return [each / count for each, count in zip(seconds, items, strict=True)]


def blocks(count: int, size: int) -> list[range]:
    """The numbers below `count` in runs of `size`, the last one perhaps shorter."""
    return [range(begin, min(begin + size, count)) for begin in range(0, count, size)]


def _ratio(ours: NDArray[np.float64], peer: NDArray[np.float64], axis: int = -1) -> Any:
    return np.median(peer, axis=axis) / np.median(ours, axis=axis)


@dataclass(frozen=True)
class Comparison:
    """How many times as long a peer takes.

    Attributes
    ----------
    case : what both sides were asked.
    ours, peer : names of the sides.
    items : on how many puzzles or states.
    ours_seconds, peer_seconds : seconds an item, in each round.
    """

    case: str
    ours: str
    peer: str
    items: int
    ours_seconds: tuple[float, ...]
    peer_seconds: tuple[float, ...]

    @property
    def ratio(self) -> float:
        """Median seconds of the peer, divided by ours."""
        return float(_ratio(np.array(self.ours_seconds), np.array(self.peer_seconds)))

    @cached_property
    def interval(self) -> tuple[float, float] | None:
        """Ends of the 95 % interval of the ratio by bootstrap over rounds; None if they are few."""
        if len(self.ours_seconds) < LEAST:
            return None
        from scipy.stats import bootstrap

        found = bootstrap(
            (np.array(self.ours_seconds), np.array(self.peer_seconds)),
            _ratio,
            paired=True,
            vectorized=True,
            n_resamples=RESAMPLES,
            confidence_level=CONFIDENCE,
            method="percentile",
            rng=np.random.default_rng(SEED),
        ).confidence_interval
        return float(found.low), float(found.high)

    @property
    def text(self) -> str:
        """The ratio as it stands in a table: ``181 (175 to 190)``."""
        if self.interval is None:
            return f"{figure(self.ratio)} (-)"
        low, high = map(figure, self.interval)
        return f"{figure(self.ratio)} ({low} to {high})"

    def row(self) -> dict[str, Any]:
        """As it is kept; figures to four digits."""
        return {
            "case": self.case,
            "ours": self.ours,
            "peer": self.peer,
            "items": self.items,
            "ours_seconds": [float(f"{each:.4g}") for each in self.ours_seconds],
            "peer_seconds": [float(f"{each:.4g}") for each in self.peer_seconds],
            "ratio": float(f"{self.ratio:.4g}"),
            "interval": self.interval and [float(f"{each:.4g}") for each in self.interval],
        }


def figure(value: float) -> str:
    """Three digits, or all that are before the point.

    >>> figure(0.012345), figure(12.345), figure(1234567.8)
    ('0.0123', '12.3', '1,234,568')
    """
    return f"{value:,.0f}" if value >= 100 else f"{value:.3g}"
