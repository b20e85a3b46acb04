"""A deduction: these premises, given these absences, exclude these candidates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from html import escape
from operator import index
from typing import Any

from gridcrux.grids.arrays import from_words
from gridcrux.grids.layout import House, Layout
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits
from gridcrux.logic.records import Records
from gridcrux.logic.technique import Technique
from gridcrux.logic.wording import candidate_names, falsehood, listing

UNNAMED = "explanation"
"""What a deduction is called that has the shape of no technique."""


@dataclass(frozen=True, repr=False)
class Deduction:
    """One step of an argument, in terms that need no technique to be checked.

    Of every premise (a rule) at least one candidate is true; those in `relies` are absent;
    so, candidates in conflict excluding each other, everything in `removes` is false.

    Attributes
    ----------
    layout : what the numbers refer to.
    technique : name of the technique.
    width : number of premises.
    premises : rule numbers, ascending.
    removes : mask of all that the premises exclude, whether it was still open or not.
    relies : mask of the candidates that must be absent.
    eliminates : mask of the candidates that were open and are now excluded.
    places : the candidate that is written, or None.
    roles : masks for drawing, outside equality: "base" holds the candidates that the
        premises had left, "written" those of them whose cells were written, "cover" what
        they exclude, "absent" the same as `relies`.
    theorem : the technique, which knows how to put the deduction into words.
    """

    layout: Layout
    technique: str
    width: int
    premises: tuple[int, ...]
    removes: int
    relies: int
    eliminates: int
    places: int | None
    roles: Mapping[str, int] = field(default_factory=dict, compare=False)
    theorem: Technique | None = field(default=None, compare=False)

    @property
    def premise_names(self) -> tuple[str, ...]:
        """The premises in words: ``("cell r4c5", "7 in row 3")``."""
        return tuple(self.layout.rules[rule].name for rule in self.premises)

    @property
    def elimination_names(self) -> tuple[str, ...]:
        """The excluded candidates by cell: ``("r4c5=7",)``."""
        return candidate_names(self.layout, self.eliminates)

    @property
    def placement_name(self) -> str | None:
        """The candidate that is written, ``"r4c5=7"``, or None."""
        return None if self.places is None else self.layout.candidate_name(self.places)

    @property
    def sentence(self) -> str:
        """The deduction as an English sentence, in the words of its technique."""
        return self.plain_sentence if self.theorem is None else self.theorem.explain(self)

    @property
    def plain_sentence(self) -> str:
        """Premises and conclusion as an English sentence, whatever the technique."""
        conclusion = f"{self.placement_name} is true" if self.placement_name else self.verdict
        return f"By {listing(self.premise_names)}, {conclusion}."

    @property
    def verdict(self) -> str:
        """What falls: ``"r4c5=7 is false"``."""
        return falsehood(self.layout, self.eliminates)

    @property
    def looked_at(self) -> State:
        """A state of all that the deduction itself tells of the one in which it was found.

        Open are the candidates that its premises had left and those that it excludes; of all
        else, digits too, it knows nothing, so there it is bare.  A picture of it leaves out
        what the step does not look at.
        """
        placed = 0 if self.places is None else 1 << self.places
        return State(self.layout, self.roles.get("base", 0) | self.eliminates | placed)

    @property
    def base_houses(self) -> list[House]:
        """The houses in which premises look up a digit, ascending."""
        layout = self.layout
        numbers = {(r - layout.cells) // layout.size for r in self.premises if r >= layout.cells}
        return [layout.houses[number] for number in sorted(numbers)]

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "technique": self.technique,
            "width": self.width,
            "premises": "; ".join(self.premise_names),
            "places": self.placement_name,
            "eliminated": self.eliminates.bit_count(),
            "absences": self.relies.bit_count(),
        }

    def as_dict(self) -> dict[str, Any]:
        """The deduction as JSON can hold it, every name in full."""
        return {
            "technique": self.technique,
            "width": self.width,
            "premises": list(self.premise_names),
            "eliminates": list(self.elimination_names),
            "places": self.placement_name,
            "sentence": self.sentence,
        }

    def __str__(self) -> str:
        return self.sentence

    def __repr__(self) -> str:
        told = self.placement_name or self.verdict
        return f"Deduction({self.technique}: {told}, by {'; '.join(self.premise_names)})"

    def _repr_html_(self) -> str:
        from gridcrux.figures.svg import step_svg

        return (
            f"<p><b>{escape(self.technique)}</b> (width {self.width}): {escape(self.sentence)}"
            f"<br><small>premises: {escape('; '.join(self.premise_names))}; excludes: "
            f"{escape(', '.join(self.elimination_names)) or 'nothing more'}</small></p>"
            f"{step_svg(self)}"
        )


def from_record(records: Records, row: int, before: State, technique: Technique) -> Deduction:
    """The deduction that a record stands for, in the state in which it was found."""
    layout = before.layout
    premises = tuple(bits(from_words(records.premises[row])))
    removes, relies = from_words(records.removes[row]), from_words(records.relies[row])
    places = int(records.places[row])
    base = 0
    for rule in premises:
        base |= layout.rules[rule].mask
    base &= before.open
    written = sum(before.placed << digit * layout.cells for digit in range(layout.size))
    return Deduction(
        layout=layout,
        technique=technique.name,
        width=len(premises),
        premises=premises,
        removes=removes,
        relies=relies,
        eliminates=removes & before.open,
        places=None if places < 0 else places,
        roles={"base": base, "written": base & written, "cover": removes, "absent": relies},
        theorem=technique,
    )


class NoDeduction(ValueError):
    """Claims or premises of which no deduction can be made, as the layout has no such things."""


def bare(state: State, claims: Iterable[Claim], premises: Iterable[int]) -> Deduction:
    """The deduction of some claims from some premises, without a name.

    It writes a digit if that is all that is claimed.

    Raises
    ------
    NoDeduction : what is claimed is no candidate of the layout, or a premise none of its rules.
    """
    layout, every, removes = state.layout, 0, 0
    premises = rule_numbers(layout, premises)
    for rule in premises:
        every |= layout.rules[rule].mask
    claims = _listed(claims, "claims")
    claimed = [_candidate(layout, claim) for claim in claims]
    for candidate, claim in zip(claimed, claims, strict=True):
        removes |= layout.conflicts[candidate] if claim.holds else 1 << candidate
    alone = len(claims) == 1 and claims[0].holds
    return Deduction(
        layout=layout,
        technique=UNNAMED,
        width=len(premises),
        premises=premises,
        removes=removes,
        relies=every & ~state.open,
        eliminates=removes & state.open,
        places=claimed[0] if alone else None,
        roles={"base": every & state.open, "cover": removes, "absent": every & ~state.open},
    )


def rule_numbers(layout: Layout, premises: Iterable[int]) -> tuple[int, ...]:
    """Premises as plain integers, which those of arrays are not.

    Raises
    ------
    NoDeduction : one is not the number of a rule.
    """
    return tuple(
        _number(each, len(layout.rules), "premise", 'layout.rule_numbers["cell r1c1"] is one')
        for each in _listed(premises, "premises")
    )


def _listed(given: Iterable[Any], what: str) -> list[Any]:
    """What was given as several things, as a list."""
    if not isinstance(given, Iterable):
        raise NoDeduction(f"{given!r} was given as {what}; expected a list, even of a single one")
    return list(given)


def _candidate(layout: Layout, claim: Claim) -> int:
    """The number of the candidate of a claim."""
    if not isinstance(claim, Claim):
        raise NoDeduction(
            f"{claim!r} is no claim; expected a Claim, e.g. that of "
            'names.parse_claim(layout, "r1c1!=2")'
        )
    known = 'names.parse_candidate(layout, "r1c1=2") is one'
    return _number(claim.candidate, layout.candidates, "candidate", known)


def _number(given: object, end: int, what: str, like: str) -> int:
    """A number below `end`, if it is one."""
    try:
        number = index(given)  # type: ignore[arg-type]
    except TypeError:
        number = -1
    if not 0 <= number < end:
        raise NoDeduction(f"{given!r} is no {what}; expected a number from 0 to {end - 1}; {like}")
    return number
