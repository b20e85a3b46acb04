"""A route: what a repertoire does to a state, step by step, kept as records."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from html import escape
from typing import Any

import numpy as np
from numpy.typing import NDArray

from gridcrux.grids.arrays import from_words, state_words
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction, from_record
from gridcrux.logic.records import SOLVED, STATUS_NAMES, Records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.slicing import needed


@dataclass(frozen=True, eq=False)
class Route:
    """A start, the steps taken from it, and how it ended.

    Attributes
    ----------
    start : the state at which the route begins.
    repertoire : the techniques that were tried, in their order.
    records : the S steps as arrays.
    ending : `records.SOLVED`, `STUCK` or `CONTRADICTION`.
    policy : how each step was chosen from what there was (`techniques.policies`).
    """

    start: State
    repertoire: Repertoire = field(repr=False)
    records: Records = field(repr=False)
    ending: int = field(repr=False)
    policy: str = "easiest"

    @property
    def status(self) -> str:
        """ "solved", "stuck" (nothing applies) or "contradiction" (a rule lost every candidate)."""
        return STATUS_NAMES[self.ending]

    @property
    def solved(self) -> bool:
        return self.ending == SOLVED

    def __len__(self) -> int:
        return len(self.records)

    def __iter__(self) -> Iterator[Deduction]:
        return iter(self.steps)

    def states(self) -> Iterator[State]:
        """The states passed through: the start, then one after each step."""
        state = self.start
        yield state
        for step in range(len(self)):
            state = _after(state, self.records, step)
            yield state

    @cached_property
    def steps(self) -> tuple[Deduction, ...]:
        """The steps as deductions; built when first asked for."""
        techniques = self.repertoire.by_number
        return tuple(
            from_record(self.records, step, state, techniques[int(number)])
            for step, (state, number) in enumerate(
                zip(self.states(), self.records.techniques, strict=False)
            )
        )

    @cached_property
    def end(self) -> State:
        """The state at which the route ends."""
        *_, last = self.states()
        return last

    @cached_property
    def needed(self) -> NDArray[np.bool_]:
        """(S,) flags of the steps that the end needs (`slicing.needed`).

        The end of a solved route is its placements, of any other all that it excluded.
        """
        return needed(
            self.records.removes.view(np.int64),
            self.records.relies.view(np.int64),
            self.records.places,
            state_words(self.start).view(np.int64),
            None if self.solved else state_words(self.end).view(np.int64),
        )

    def sliced(self) -> Route:
        """This route without its idle steps: every placement, and what they rest on."""
        kept = self.records.select(self.needed)
        return Route(self.start, self.repertoire, kept, self.ending, self.policy)

    @property
    def flaw(self) -> str | None:
        """Why the route is no argument: the first step that does not stand in its turn, or None.

        A step stands if what it relies on is absent and what it writes is open.
        """
        for step, state in enumerate(self.states()):
            if step == len(self):
                break
            missing = from_words(self.records.relies[step]) & state.open
            if missing:
                name = self.start.layout.candidate_name((missing & -missing).bit_length() - 1)
                return f"step {step + 1} relies on the absence of {name}, which is open"
            places = int(self.records.places[step])
            if places >= 0 and not state.is_open(places):
                name = self.start.layout.candidate_name(places)
                return f"step {step + 1} writes {name}, which is excluded"
        if self.solved and not (self.end.is_solved and self.end.broken_rule is None):
            return "the route counts as solved, but its end is not a solution"
        return None

    def counts(self) -> dict[str, int]:
        """How often each technique of the repertoire was used."""
        used = Counter(self.records.techniques.tolist())
        return {technique.name: used[technique.number] for technique in self.repertoire}

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "status": self.status,
            "steps": len(self),
            "placements": int((self.records.places >= 0).sum()),
            "eliminations": int((self.records.places < 0).sum()),
            "idle": int((~self.needed).sum()),
            "width": int(self.records.widths.max(initial=0)),
        }

    def as_dict(self) -> dict[str, Any]:
        """The route as JSON has it: how it ended, its steps, and what is open at the end."""
        return {
            "solved": self.solved,
            "status": self.status,
            "policy": self.policy,
            "steps": [step.as_dict() for step in self],
            "open": self.end.marks,
        }

    def __repr__(self) -> str:
        return f"Route({self.start.line!r}, {len(self)} steps, {self.status})"

    def _repr_html_(self) -> str:
        lines = "".join(
            f"<li><b>{escape(step.technique)}</b>: {escape(step.sentence)}</li>" for step in self
        )
        return f"<p>{len(self)} steps, {self.status}</p><ol>{lines}</ol>"


def _after(state: State, records: Records, step: int) -> State:
    """The state after a recorded step."""
    places = int(records.places[step])
    state = state.without(from_words(records.removes[step]))
    return state if places < 0 else state.with_placed(places)
