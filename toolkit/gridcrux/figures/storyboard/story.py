"""The walk through a puzzle in parts: easy steps gathered, each hard step by itself.

A hard part says what to look at, why it holds, what falls and what it opens; what else could be
done there, whether the route is narrow there, and whether the step is essential.  How long it
takes to say all this is reckoned from the number of words and a speed of speaking.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from html import escape
from itertools import groupby
from typing import Any

import pandas as pd

from gridcrux.figures.links import chain_of
from gridcrux.figures.scene import Scene, board_scene
from gridcrux.figures.svg import scene_svg
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.logic.wording import candidate_names, listing
from gridcrux.proofs.essential import ESSENTIAL, IDLE, REPLACEABLE, judge
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.proofs.uniqueness import require_unique
from gridcrux.techniques.alternatives import alternatives
from gridcrux.techniques.repertoires import DEFAULT, level_named
from gridcrux.techniques.solve import route
from gridcrux.techniques.swapping import swapped

ABOVE = "singles"
"""The level that counts as easy unless it is told."""

_CELL, _DIGIT = re.compile(r"r\d+c\d+"), re.compile(r"=\d+")
"""Names of cells, and what is said of one, in a sentence."""

WORDS_PER_MINUTE = 130.0
"""A calm speed of speaking, for who points at things meanwhile."""

MOST_NAMED = 3
"""Excluded candidates that a title names; of more it tells the number."""

NO_MORE = "These techniques find nothing more."

STATUS_WORDS = {
    ESSENTIAL: "Essential: without it these techniques do not get as far.",
    REPLACEABLE: "Replaceable: there is another way round.",
    IDLE: "Idle: nothing that follows rests on it.",
}
"""What the status of a step means."""

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
    "narrow": "whether no hard step has fewer open before it",
}
"""Meaning of the columns of `Storyboard.table`."""


@dataclass(frozen=True, eq=False)
class Part:
    """One picture of the walk, and what is said with it.

    Attributes
    ----------
    number : of the part, from 1.
    first : number of its first step in the route, from 1.
    before, after : the states.
    steps : its steps; one, if it is hard.
    hard : whether it is above what counts as easy.
    status : of a hard step: essential, replaceable or idle.
    hard_number : of a hard step: its number among the hard ones of the whole walk, from 1.
    open : of a hard step: how many hard deductions were open before it.
    narrow : whether no hard step of the route has fewer open.
    others : what else could be done instead of a hard step, in the order in which it can be
        chosen.
    opens : what it makes possible, in a sentence.
    """

    number: int
    first: int
    before: State
    after: State
    steps: tuple[Deduction, ...]
    hard: bool
    status: str | None = None
    hard_number: int | None = None
    open: int | None = None
    narrow: bool = False
    others: tuple[Deduction, ...] = ()
    opens: str = ""

    @property
    def step(self) -> Deduction | None:
        """The step of a hard part."""
        return self.steps[0] if self.hard else None

    @property
    def title(self) -> str:
        """What a chapter list calls it."""
        if self.hard:
            step = self.steps[0]
            many = step.places is None and step.eliminates.bit_count() > MOST_NAMED
            falls = f"{step.eliminates.bit_count()} candidates" if many else outcome(step)
            return f"{step.technique}: {falls}"
        if not self.steps:
            return "nothing to do"
        written = sum(step.places is not None for step in self.steps)
        rest = len(self.steps) - written
        parts = [_plural(written, "digit")] if written else []
        parts += [_plural(rest, "exclusion")] if rest else []
        return listing(parts)

    @property
    def look(self) -> str:
        """What to look at."""
        if not self.hard:
            return ""
        step = self.steps[0]
        chain = chain_of(step)
        # Along a chain in its order, as the sentence goes.
        along = [rule for link in chain.links for rule in link.premises] if chain else []
        order = along if sorted(along) == list(step.premises) else list(step.premises)
        names = (step.layout.rules[rule].name.removeprefix("cell ") for rule in order)
        return f"Look at {listing(names)}."

    @property
    def why(self) -> str:
        """Why it holds, in the words of its technique; of easy steps, what they are."""
        if self.hard:
            return self.steps[0].sentence
        if not self.steps:
            return ""
        times = Counter(step.technique for step in self.steps)
        return f"By {listing(f'{name} ({count})' for name, count in times.items())}."

    @property
    def falls(self) -> str:
        """What is known after it."""
        if self.hard:
            step = self.steps[0]
            known = step.verdict if step.places is None else str(step.placement_name)
            # Most techniques end with what falls.
            return "" if known in step.sentence else f"So {known}."
        layout = self.before.layout
        written = [layout.candidate_name(s.places) for s in self.steps if s.places is not None]
        said = f"Written: {', '.join(written)}." if written else ""
        gone = self.before.open & ~self.after.open
        for step in self.steps:
            if step.places is not None:
                gone &= ~step.eliminates & ~layout.conflicts[step.places]
        excluded = f"Excluded: {', '.join(candidate_names(layout, gone))}." if gone else ""
        return " ".join(filter(None, (said, excluded)))

    @property
    def beside(self) -> str:
        """How much depends on a hard step."""
        if not self.hard:
            return ""
        said = STATUS_WORDS[str(self.status)]
        if self.open is not None:
            where = "the route is at its narrowest" if self.narrow else "there is a choice"
            said += f" {_plural(self.open, 'hard deduction')} open here; {where}."
        return said

    @cached_property
    def scene(self) -> Scene:
        """The picture: a hard step over the state before it, or what easy steps wrote."""
        if self.hard:
            return board_scene(self.before, self.steps[0])
        return board_scene(self.after, fresh=self.after.placed & ~self.before.placed)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is said, in order."""
        return tuple(filter(None, (self.look, self.why, self.falls, self.opens)))

    def _repr_html_(self) -> str:
        said = "".join(f"<p>{escape(text)}</p>" for text in (*self.sentences, self.beside) if text)
        return f"<h4>{escape(self.title)}</h4>{scene_svg(self.scene)}{said}"

    @property
    def words(self) -> int:
        """How many words are said; names of cells count as they are spoken."""
        return sum(map(spoken_words, self.sentences))


@dataclass(frozen=True, eq=False)
class Storyboard:
    """The parts of a walk, and how fast they are spoken.

    Attributes
    ----------
    route : the route that is told.
    above : the level that counts as easy.
    parts : in order.
    words_per_minute : the speed of speaking.
    """

    route: Route
    above: str
    parts: tuple[Part, ...] = field(repr=False)
    words_per_minute: float = WORDS_PER_MINUTE

    def __iter__(self) -> Iterator[Part]:
        return iter(self.parts)

    def __len__(self) -> int:
        return len(self.parts)

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
        """The chapter list: a time and a title a line."""
        return "\n".join(f"{clock(begins)} {part.title}" for begins, part in self.timed())

    @property
    def headline(self) -> str:
        """What there is, in a sentence."""
        hard = sum(part.hard for part in self.parts)
        return (
            f"{_plural(len(self.route), 'step')}, {self.route.status}; "
            f"{_plural(hard, 'hard step')} above {self.above}; about {clock(self.duration)} at "
            f"{self.words_per_minute:g} words a minute"
        )

    def chosen(self, hard: Iterable[int]) -> Storyboard:
        """The same walk with only some hard steps told by themselves, the others gathered.

        Parameters
        ----------
        hard : numbers of hard steps, counted from 1 among the hard ones.

        Raises
        ------
        ValueError : there is no hard step of a number.
        """
        wanted = set(hard)
        told = [part for part in self.parts if part.hard]
        if missing := sorted(wanted - set(range(1, len(told) + 1))):
            raise ValueError(
                f"there are {_plural(len(told), 'hard step')}, and none has the number {missing[0]}"
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
        return f"{self.headline}\n{self.chapters}"

    def _repr_html_(self) -> str:
        items = "".join(f"<li>{escape(part.title)}</li>" for part in self.parts)
        return f"<p>{escape(self.headline)}</p><ol>{items}</ol>"


def storyboard(
    state: State,
    repertoire: Repertoire = DEFAULT,
    *,
    above: str = ABOVE,
    policy: str = "easiest",
    swaps: Mapping[int, int] | None = None,
    words_per_minute: float = WORDS_PER_MINUTE,
) -> Storyboard:
    """The walk from a state as far as a repertoire goes, in parts.

    Parameters
    ----------
    above : the level of which all techniques count as easy.
    policy : how the steps of the route are chosen (`techniques.policies`).
    swaps : for the number of a hard step (from 1 among the hard ones) the number of the
        alternative to take instead, as the part before the exchange lists them; carried out in
        the order of the steps.

    Raises
    ------
    NotUnique : the repertoire assumes that there is one solution, and there is not.
    UnknownLevel, UnknownPolicy : there is no such level or policy.
    ValueError : there is no such hard step or alternative, or the speed is not above 0.
    """
    if not words_per_minute > 0:
        raise ValueError(f"{words_per_minute:g} words a minute: expected a number above 0")
    easy = {technique.name for technique in level_named(above)}
    require_unique(state, repertoire)
    found = route(state, repertoire, policy, unique=True)
    for number, choice in sorted((swaps or {}).items()):
        hard = [i for i, step in enumerate(found, 1) if step.technique not in easy]
        if not 1 <= number <= len(hard):
            raise ValueError(
                f"there are {_plural(len(hard), 'hard step')}, and none has the number {number}"
            )
        before = list(found.states())[hard[number - 1] - 1]
        others = _others(before, found.steps[hard[number - 1] - 1], found.repertoire, easy)
        if not 1 <= choice <= len(others):
            raise ValueError(
                f"hard step {number} has {_plural(len(others), 'alternative')}, and none has the "
                f"number {choice}"
            )
        found = swapped(found, hard[number - 1], others[choice - 1])
    return Storyboard(found, above, tuple(_parts(found, easy, above)), words_per_minute)


def _parts(found: Route, easy: set[str], above: str) -> list[Part]:
    judged = judge(found)
    profile = crux_profile(found, above)
    moments = {moment.step: moment for moment in profile.moments}
    narrow = set(profile.crux)
    states = list(found.states())
    parts: list[Part] = []
    numbers = range(1, len(found) + 1)
    for hard, group in groupby(numbers, key=lambda n: found.steps[n - 1].technique not in easy):
        members = list(group)
        for chunk in [[n] for n in members] if hard else [members]:
            first, last = chunk[0], chunk[-1]
            part = Part(
                len(parts) + 1,
                first,
                states[first - 1],
                states[last],
                found.steps[first - 1 : last],
                hard,
            )
            if hard:
                part = replace(
                    part,
                    status=judged.statuses[first - 1],
                    hard_number=sum(each.hard for each in parts) + 1,
                    open=moments[first].open,
                    narrow=first in narrow,
                    others=_others(part.before, part.steps[0], found.repertoire, easy),
                )
            parts.append(part)
    told = [
        replace(part, opens=_opens(parts[i + 1 :])) if part.hard else part
        for i, part in enumerate(parts)
    ]
    if not told:
        # The board is shown all the same.
        told = [Part(1, 1, found.start, found.start, (), False)]
    if not found.solved and not told[-1].hard:
        told[-1] = replace(told[-1], opens=NO_MORE)
    return told


def _others(
    before: State, taken: Deduction, repertoire: Repertoire, easy: set[str]
) -> tuple[Deduction, ...]:
    """The narrowest hard deduction for each other conclusion, and other ways to the same one."""
    hard = repertoire.without(*(name for name in repertoire.names if name in easy))
    others = []
    for group in alternatives(before, hard, unique=True):
        ways = [step for step in group if step != taken]
        same = (group.places, group.eliminates) == (taken.places, taken.eliminates)
        others += ways if same else ways[:1]
    return tuple(others)


def _opens(rest: list[Part]) -> str:
    """What a hard step makes possible, by what comes next."""
    if not rest:
        return NO_MORE
    following = rest[0]
    if following.hard:
        return f"Nothing easy follows; next comes a hard step: {following.steps[0].technique}."
    written = [step for step in following.steps if step.places is not None]
    if not written:
        return f"It opens {_plural(len(following.steps), 'easy step')}."
    layout = following.before.layout
    first = layout.candidate_name(int(written[0].places or 0))
    end = ", and the puzzle is solved" if following.after.is_solved else ""
    return f"It opens {_plural(len(written), 'digit')}, {first} first{end}."


def _gathered(parts: list[Part]) -> Part:
    """Parts told as one."""
    steps = tuple(step for part in parts for step in part.steps)
    if len(parts) == 1:
        return replace(parts[0], hard=False, hard_number=None)
    return Part(parts[0].number, parts[0].first, parts[0].before, parts[-1].after, steps, False)


def outcome(step: Deduction) -> str:
    """What a step comes to, short: ``"r1c2=3"``, ``"neither r1c2=4 nor r1c3=4"``."""
    names = step.elimination_names
    if step.placement_name:
        return step.placement_name
    if len(names) == 1:
        return f"not {names[0]}"
    if len(names) == 2:
        return f"neither {names[0]} nor {names[1]}"
    return f"none of {listing(names)}"


def spoken_words(text: str) -> int:
    """How many words it takes to say a text: a name like r1c2!=3 is said in seven.

    >>> spoken_words("So r1c2=3 is true.")
    9
    """
    total = 0
    for word in text.split():
        cells = len(_CELL.findall(word))
        digits = len(_DIGIT.findall(word))
        # "row 1 column 2", "is 3" or "is not 3"; any other word is one.
        total += 4 * cells + 2 * digits + word.count("!=") if cells else 1
    return total


def _plural(number: int, noun: str) -> str:
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def clock(seconds: float) -> str:
    """Minutes and seconds as a chapter list has them.

    >>> clock(75.4)
    '1:15'
    """
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"
