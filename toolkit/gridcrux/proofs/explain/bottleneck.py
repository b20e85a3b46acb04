"""The bottleneck width of a puzzle: how many premises its hardest step needs at least.

Let a step be any elimination, whatever its shape.  The bottleneck width is the least k for which
steps of at most k premises, taken until there are none left, exclude all that no solution has.
Steps stay possible when more is excluded, so it does not matter which is taken first: a step that
is wider than all before it is taken only where no narrower one is left, and the widest of these is
the bottleneck width.  The route that comes of it is a step-wise explanation in which each step is
as small as can be (Bogaerts, Gamba and Guns, "A framework for step-wise explaining how to solve
constraint satisfaction problems", Artificial Intelligence 300, 2021), with no techniques needed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from html import escape
from typing import Any

from gridcrux.engines import get_engine
from gridcrux.engines.limits import Deadline
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits, expect_state
from gridcrux.proofs.explain.explanation import Explanation
from gridcrux.proofs.explain.narrow import narrow
from gridcrux.proofs.explain.smallest import Explainer

Progress = Callable[[int, int], None]
"""Told how many candidates still have to fall, and the widest step so far."""


@dataclass(frozen=True, eq=False)
class Bottleneck:
    """A route of narrowest steps, and what it says about the bottleneck width.

    Attributes
    ----------
    start, end : the states between which the route leads.
    steps : each excludes candidates, or writes a digit, by as few premises as any step could
        at its turn.
    lower : the bottleneck width is at least this.
    left : mask of what still had to fall when the time ran out, 0 if nothing had.
    stopped_by : None, or "seconds".
    """

    start: State
    end: State = field(repr=False)
    steps: tuple[Explanation, ...] = field(repr=False)
    lower: int
    left: int = field(repr=False)
    stopped_by: str | None

    @property
    def exact(self) -> bool:
        """Whether the width is known."""
        return self.left == 0

    @property
    def width(self) -> int | None:
        """The bottleneck width, or None if only a bound is known."""
        return self.lower if self.exact else None

    def __len__(self) -> int:
        return len(self.steps)

    def __iter__(self) -> Iterator[Explanation]:
        return iter(self.steps)

    def counts(self) -> dict[int, int]:
        """How many steps there are of each width, ascending."""
        sizes = [step.size for step in self.steps]
        return {size: sizes.count(size) for size in sorted(set(sizes))}

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "bottleneck_width": self.width,
            "lower_bound": self.lower,
            "steps": len(self),
            "widest_steps": self.counts().get(self.lower, 0),
            "stopped_by": self.stopped_by,
        }

    def as_dict(self) -> dict[str, Any]:
        """The route as JSON can hold it."""
        return {
            "bottleneck_width": self.width,
            "lower_bound": self.lower,
            "stopped_by": self.stopped_by,
            "steps": [
                {
                    "width": step.size,
                    "premises": list(step.premise_names),
                    "eliminates": list(step.deduction.elimination_names),
                    "places": step.deduction.placement_name,
                    "technique": step.technique,
                }
                for step in self
            ],
            "open": self.end.marks,
        }

    def _repr_html_(self) -> str:
        lines = "".join(
            f"<li>{escape(conclusion(step))} <small>by {escape(', '.join(step.premise_names))}"
            f"</small></li>"
            for step in self
        )
        what = str(self.width) if self.exact else f"at least {self.lower}"
        return f"<p>bottleneck width: {what}; {len(self)} steps</p><ol>{lines}</ol>"


def conclusion(step: Explanation) -> str:
    """What a step writes or excludes: ``"r4c5=7"``, or ``"r4c5=7 is false"``."""
    return step.deduction.placement_name or step.deduction.verdict


def bottleneck(
    state: State, seconds: float | None = None, progress: Progress | None = None
) -> Bottleneck:
    """The bottleneck width of a state, with a route of narrowest steps.

    Where there are several solutions, the route ends when all is excluded that none of them has.

    Parameters
    ----------
    seconds : limit, after which the route so far and a lower bound are returned.
    """
    expect_state(state)
    deadline = Deadline(seconds)
    support = get_engine("kernel").support(state, seconds)
    false = state.open & ~support.occurs & ~support.undecided
    way = _Way(state, false, deadline, progress)
    while way.false and way.step():
        if way.state.broken_rule is not None:
            way.end_by(way.state.broken_rule)
    done = not way.false and support.complete
    left = way.false | (0 if done else support.undecided)
    return Bottleneck(
        state, way.state, tuple(way.steps), way.lower, left, None if done else "seconds"
    )


class _Way:
    """A route under way."""

    def __init__(
        self, state: State, false: int, deadline: Deadline, progress: Progress | None
    ) -> None:
        self.state, self.false, self.deadline, self.progress = state, false, deadline, progress
        self.explainer = Explainer(state)
        self.steps: list[Explanation] = []
        self.lower = 0

    def step(self) -> bool:
        """Take the narrowest steps there are; False if the time ran out before one was found."""
        if self.progress is not None:
            self.progress(self.false.bit_count(), self.lower)
        singles = dict.fromkeys(narrow(self.state, 1).values())
        # A digit that can be written is what a person looks for first.
        for premises in [each for each in singles if self._writes(each)] or singles:
            self._take(premises)
        if singles:
            return not self.deadline.passed
        pairs = dict.fromkeys(narrow(self.state, 2).values())
        if pairs:
            self._take(max(pairs, key=lambda pair: self._falls(pair).bit_count()))
            return not self.deadline.passed
        return self._wide_step()

    def end_by(self, broken: int) -> None:
        """Exclude all that is left by a rule that has lost every candidate."""
        if self.false:
            layout = self.state.layout
            claims = tuple(Claim(candidate, False, layout) for candidate in bits(self.false))
            self.steps.append(Explanation(self.state, claims, (broken,), 1))
            self.state, self.false = self.state.without(self.false), 0

    def _wide_step(self) -> bool:
        """Take a step of three premises or more."""
        width = 3
        while True:
            self.lower = max(self.lower, width)
            for candidate in bits(self.false):
                if self.deadline.passed:
                    return False
                claim = Claim(candidate, False, self.state.layout)
                try:
                    found = self.explainer.within(width, claim, seconds=self.deadline.remaining)
                except TimeoutError:
                    return False
                if found is not None:
                    self._take(found.premises)
                    return True
            width += 1

    def _writes(self, premises: tuple[int, ...]) -> bool:
        """Whether one premise has one candidate left."""
        held = self.state.layout.rules[premises[0]].mask & self.state.open
        return len(premises) == 1 and held.bit_count() == 1

    def _falls(self, premises: tuple[int, ...]) -> int:
        return self.explainer.excluded(premises) & self.state.open

    def _take(self, premises: tuple[int, ...]) -> None:
        """Take the step with these premises, if it still excludes something."""
        layout, falls = self.state.layout, self._falls(premises)
        if not falls:
            return
        self.lower = max(self.lower, len(premises))
        if self._writes(premises):
            held = layout.rules[premises[0]].mask & self.state.open
            placed = held.bit_length() - 1
            claims: tuple[Claim, ...] = (Claim(placed, True, layout),)
            after = self.state.with_placed(placed)
        else:
            claims = tuple(Claim(candidate, False, layout) for candidate in bits(falls))
            after = self.state.without(falls)
        self.steps.append(Explanation(self.state, claims, premises, len(premises)))
        self.state = after
        self.false &= ~falls
        self.explainer.advance(after)
