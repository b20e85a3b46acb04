"""A storyboard: the parts of a walk, how long they take to say, and its chapters."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from html import escape
from itertools import groupby
from typing import Any

import pandas as pd

from gridcrux.figures.marks import Scene
from gridcrux.figures.scene import board_scene
from gridcrux.figures.storyboard.part import Part
from gridcrux.figures.storyboard.words import clock, plural
from gridcrux.grids.state import State
from gridcrux.logic.route import Route

NOTHING = "nothing"
"""In place of a level: no step counts as easy, each is told by itself."""

WORDS_PER_MINUTE = 130.0
"""A calm speed of speaking, for who points at things meanwhile."""

SHORTEST_CHAPTER = 10.0
"""Seconds: parts that are shorter share a chapter with what follows."""

PART_COLUMNS = {
    "part": "number of the part, from 1",
    "begins": "seconds after the beginning at which it begins, if all is said at the stated speed",
    "seconds": "how long it takes to say it",
    "kind": "easy (steps gathered) or hard (one step)",
    "hard_step": "number of a hard step among the hard ones of the whole walk, from 1",
    "title": "what the chapter is called",
    "first_step": "number of its first step in the route, from 1",
    "steps": "how many steps it has",
    "technique": "technique of a hard step",
    "status": "essential, replaceable or idle, of a hard step",
    "open": "hard deductions open before a hard step",
    "narrow": "whether no hard step has fewer open before it, if these are few and it is not idle",
}
"""Meaning of the columns of `Storyboard.table`."""


class NoSuchStep(ValueError):
    """A number of a hard step, or of another way, that there is not."""


@dataclass(frozen=True, eq=False)
class Storyboard:
    """The parts of a walk, and how fast they are spoken.

    Attributes
    ----------
    route : the route that is told.
    above : the level that counts as easy, or `NOTHING`.
    parts : in order.
    hard_steps : how many steps of the route are hard, told by themselves or not.
    words_per_minute : the speed of speaking.
    """

    route: Route
    above: str
    parts: tuple[Part, ...] = field(repr=False)
    hard_steps: int
    words_per_minute: float = WORDS_PER_MINUTE

    def __iter__(self) -> Iterator[Part]:
        return iter(self.parts)

    def __len__(self) -> int:
        return len(self.parts)

    @cached_property
    def opening(self) -> Scene:
        """The puzzle before the walk; without candidates, unless it begins with marks."""
        start = self.route.start
        bare = State.from_digits(start.puzzle, start.layout)
        return board_scene(start, candidates=start.open != bare.open)

    def seconds(self, part: Part) -> float:
        """How long it takes to say a part."""
        return 60 * part.words / self.words_per_minute

    def timed(self) -> Iterator[tuple[float, Part]]:
        """The parts, each with the seconds after the beginning at which it begins."""
        begins = 0.0
        for part in self.parts:
            yield begins, part
            begins += self.seconds(part)

    @property
    def duration(self) -> float:
        """Seconds for all parts."""
        return sum(map(self.seconds, self.parts))

    @property
    def table(self) -> pd.DataFrame:
        """(parts, columns) a row a part; `PART_COLUMNS` says what they mean."""
        rows: list[dict[str, Any]] = []
        for begins, part in self.timed():
            rows.append(
                {
                    "part": part.number,
                    "begins": begins,
                    "seconds": self.seconds(part),
                    "kind": "hard" if part.hard else "easy",
                    "hard_step": part.hard_number,
                    "title": part.title,
                    "first_step": part.first,
                    "steps": len(part.steps),
                    "technique": part.steps[0].technique if part.hard else None,
                    "status": part.status,
                    "open": part.open,
                    "narrow": part.narrow,
                }
            )
        return pd.DataFrame(rows, columns=list(PART_COLUMNS)).astype(
            {"hard_step": "Int64", "open": "Int64"}
        )

    @property
    def chapters(self) -> str:
        """The chapter list: a time and a title a line.

        A chapter lasts `SHORTEST_CHAPTER` seconds at least, if all do; so it may hold several
        parts, and is then called after the hard ones.
        """
        chapters: list[tuple[float, list[Part]]] = []
        for begins, part in self.timed():
            short = chapters and begins - chapters[-1][0] < SHORTEST_CHAPTER
            rest = self.duration - begins < SHORTEST_CHAPTER
            if chapters and (short or rest):
                chapters[-1][1].append(part)
            else:
                chapters.append((begins, [part]))
        return "\n".join(f"{clock(begins)} {_chapter_title(parts)}" for begins, parts in chapters)

    @property
    def headline(self) -> str:
        """What there is, in a sentence."""
        shown = sum(part.hard for part in self.parts)
        told = "" if shown == self.hard_steps else f", {shown} of them told by themselves"
        told = f"{plural(self.hard_steps, 'hard step')} above {self.above}{told}"
        if self.above == NOTHING and shown == self.hard_steps:
            told = "each by itself"
        return (
            f"{plural(len(self.route), 'step')}, {self.route.status}; {told}; about "
            f"{clock(self.duration)} at {self.words_per_minute:g} words a minute"
        )

    def chosen(self, hard: Iterable[int]) -> Storyboard:
        """The same walk with only some hard steps told by themselves, the others gathered.

        Parameters
        ----------
        hard : numbers of hard steps, counted from 1 among the hard ones.

        Raises
        ------
        NoSuchStep : there is no hard step of a number.
        """
        wanted = set(hard)
        told = [part for part in self.parts if part.hard]
        if missing := sorted(wanted - set(range(1, len(told) + 1))):
            raise NoSuchStep(
                f"there are {plural(len(told), 'hard step')}, and none has the number {missing[0]}"
            )
        kept = {part.number for number, part in enumerate(told, 1) if number in wanted}
        parts: list[Part] = []
        for alone, group in groupby(self.parts, key=lambda part: part.number in kept):
            members = list(group)
            parts += members if alone else [_gathered(members)]
        numbered = (replace(part, number=number) for number, part in enumerate(parts, 1))
        return replace(self, parts=tuple(numbered))

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "status": self.route.status,
            "parts": len(self.parts),
            "hard_parts": sum(part.hard for part in self.parts),
            "above": self.above,
            "seconds": self.duration,
            "words_per_minute": self.words_per_minute,
        }

    def __str__(self) -> str:
        lines = (f"{clock(begins)} {part.title}" for begins, part in self.timed())
        return "\n".join((self.headline, *lines))

    def _repr_html_(self) -> str:
        items = "".join(f"<li>{escape(part.title)}</li>" for part in self.parts)
        return f"<p>{escape(self.headline)}</p><ol>{items}</ol>"


def _chapter_title(parts: list[Part]) -> str:
    """The hard parts of a chapter or, if it has none, all."""
    return "; ".join(part.title for part in [p for p in parts if p.hard] or parts)


def _gathered(parts: list[Part]) -> Part:
    """Parts told as one."""
    steps = tuple(step for part in parts for step in part.steps)
    if len(parts) == 1:
        return replace(
            parts[0],
            hard=False,
            hard_number=None,
            status=None,
            open=None,
            narrow=False,
            same=(),
            others=(),
            opens="",
        )
    first, last = parts[0], parts[-1]
    return Part(
        first.number, first.first, first.before, last.after, steps, False, ending=last.ending
    )
