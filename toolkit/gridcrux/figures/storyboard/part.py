"""A part of a walk: one picture, and what is said with it."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from html import escape

from gridcrux.figures.links import chain_of
from gridcrux.figures.marks import Scene
from gridcrux.figures.scene import board_scene
from gridcrux.figures.storyboard.words import outcome, plural, spoken_words
from gridcrux.figures.svg import scene_svg
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.wording import candidate_names, listing, verdict_in_words
from gridcrux.proofs.essential import ESSENTIAL, IDLE, REPLACEABLE

MOST_NAMED = 3
"""Excluded candidates that a title names; of more it tells the number."""

STATUS_WORDS = {
    ESSENTIAL: "Essential: without it these techniques do not get as far.",
    REPLACEABLE: "Replaceable: there is another way round.",
    IDLE: "Idle: nothing that follows rests on it.",
}
"""What the status of a step means."""


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
    same : other ways to the same conclusion as that of a hard step.
    others : for each other conclusion that a hard step could come to here, the narrowest way.
    opens : what it makes possible, in a sentence.
    ending : of the last part, why the walk ends before the puzzle is solved, if it does.
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
    same: tuple[Deduction, ...] = ()
    others: tuple[Deduction, ...] = ()
    opens: str = ""
    ending: str = ""

    @property
    def step(self) -> Deduction | None:
        """The step of a hard part."""
        return self.steps[0] if self.hard else None

    @property
    def ways(self) -> tuple[Deduction, ...]:
        """What else could be done instead of a hard step, as it is numbered where one chooses."""
        return self.same + self.others

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
        parts = [plural(written, "digit")] if written else []
        parts += [plural(rest, "exclusion")] if rest else []
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
            # Most techniques end with what falls, some in other words.
            if step.eliminates.bit_count() == 1:
                gone = step.eliminates.bit_length() - 1
                if step.sentence.endswith(f"{verdict_in_words(step.layout, gone, False)}."):
                    return ""
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
            said += f" {plural(self.open, 'hard deduction')} open here; {where}."
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
        return tuple(filter(None, (self.look, self.why, self.falls, self.opens, self.ending)))

    def _repr_html_(self) -> str:
        said = "".join(f"<p>{escape(text)}</p>" for text in (*self.sentences, self.beside) if text)
        return f"<h4>{escape(self.title)}</h4>{scene_svg(self.scene)}{said}"

    @property
    def words(self) -> int:
        """How many words are said; names of cells count as they are spoken."""
        return sum(map(spoken_words, self.sentences))
