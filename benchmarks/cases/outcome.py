"""What a case is given, and what it hands back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from cases.turns import Comparison, figure


@dataclass(frozen=True)
class Settings:
    """How much is to be done.

    Attributes
    ----------
    quick : little of everything, in minutes.
    rounds : how often both sides of a ratio take their turns.
    figures : folder for the pictures; None for none.
    """

    quick: bool
    rounds: int
    figures: Path | None = None

    def few(self, all_: int, quick: int) -> int:
        """The first number, or the second one if it is to be quick."""
        return quick if self.quick else all_


@dataclass
class Outcome:
    """What a case found.

    Attributes
    ----------
    text : Markdown for its section.
    comparisons : ratios, for the history.
    faults : wrong or contradictory answers, each as a sentence; they end the run with status 1.
    """

    text: str = ""
    comparisons: list[Comparison] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)

    @property
    def report(self) -> str:
        """The text, with the faults above it."""
        told = dict.fromkeys(self.faults)
        return "\n".join([*(f"**DISAGREEMENT: {fault}**\n" for fault in told), self.text])


def markdown(head: Sequence[str], rows: Iterable[Sequence[str]], words: int = 1) -> str:
    """A table whose first columns are words and whose others are figures."""
    marks = ["---" if column < words else "---:" for column in range(len(head))]
    lines = ["| " + " | ".join(line) + " |" for line in [head, *rows]]
    return "\n".join([lines[0], "|" + "|".join(marks) + "|", *lines[1:]])


def ahead(what: str, peers: Sequence[Comparison], bar: float) -> str:
    """Whether something is ahead of all peers by a bar, by the lower ends of the intervals."""
    below = [each for each in peers if (each.interval or (each.ratio,))[0] < bar]
    if below:
        named = ", ".join(f"{each.peer} {figure(each.ratio)}" for each in below)
        return (
            f"{what} is {bar:g} times or more ahead of {len(peers) - len(below)} of {len(peers)} "
            f"(lower end of the interval), but not of {named}."
        )
    least = min(peers, key=lambda each: each.ratio)
    return (
        f"{what} is at least {bar:g} times ahead of all {len(peers)}; the nearest is {least.peer}, "
        f"{least.text}."
    )
