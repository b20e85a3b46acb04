"""Which givens of a puzzle are superfluous, and how few of them still leave one solution.

A given is redundant if the puzzle has one solution without it.  Several may be redundant, each on
its own, and not together; what can be spared together is the question for a smallest subset.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from html import escape
from typing import Any

from gridcrux.engines import get_engine
from gridcrux.engines.limits import Deadline
from gridcrux.engines.protocol import Answer
from gridcrux.grids.state import State, bits
from gridcrux.logic.wording import listing
from gridcrux.proofs.explain.fewest import fewest
from gridcrux.proofs.explain.givens import FewGivens
from gridcrux.proofs.rivals import Rivals
from gridcrux.proofs.uniqueness import require_one_solution

SECONDS = 10.0
"""Time limit when nothing else is said."""


@dataclass(frozen=True)
class RedundantGivens:
    """For each given whether the puzzle still has one solution without it.

    Attributes
    ----------
    start : the puzzle.
    answers : for each given, ascending by cell: YES if it is redundant, UNKNOWN if the time was up.
    """

    start: State = field(repr=False)
    answers: tuple[Answer, ...]

    def _names(self, answer: Answer) -> tuple[str, ...]:
        layout, digits = self.start.layout, self.start.puzzle
        cells = bits(self.start.givens)
        return tuple(
            f"{layout.cell_name(cell)}={digits[cell]}"
            for cell, each in zip(cells, self.answers, strict=True)
            if each is answer
        )

    @property
    def redundant(self) -> tuple[str, ...]:
        """The givens that are redundant, each on its own: ``("r1c2=3",)``."""
        return self._names(Answer.YES)

    @property
    def needed(self) -> tuple[str, ...]:
        """The givens without which the puzzle has several solutions."""
        return self._names(Answer.NO)

    @property
    def undecided(self) -> tuple[str, ...]:
        """The givens that there was no time for."""
        return self._names(Answer.UNKNOWN)

    @property
    def complete(self) -> bool:
        """Whether everything was decided."""
        return Answer.UNKNOWN not in self.answers

    @property
    def minimal(self) -> Answer:
        """Whether no given is redundant."""
        if Answer.YES in self.answers:
            return Answer.NO
        return Answer.YES if self.complete else Answer.UNKNOWN

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "givens": len(self.answers),
            "redundant": len(self.redundant),
            "needed": len(self.needed),
            "undecided": len(self.undecided),
            "minimal": self.minimal.value,
            "names": " ".join(self.redundant),
        }

    def as_dict(self) -> dict[str, Any]:
        """The answers as JSON can hold them."""
        return {
            "redundant": list(self.redundant),
            "needed": list(self.needed),
            "undecided": list(self.undecided),
            "minimal": self.minimal.value,
        }

    def __str__(self) -> str:
        number, of = len(self.redundant), len(self.answers)
        said = f"{number} of {of} givens {'is' if number == 1 else 'are'} redundant"
        if number:
            said += f", each on its own: {listing(self.redundant)}"
        if self.undecided:
            said += f"; not found out in time: {listing(self.undecided)}"
        return said

    def _repr_html_(self) -> str:
        return f"<p>{escape(str(self))}</p>{self.start._repr_svg_()}"


@dataclass(frozen=True)
class SufficientGivens(FewGivens):
    """Givens that leave one solution, and a lower bound to the number of any that do.

    None of them can be spared, unless the time was up before that was found out.
    """

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "givens": self.start.givens.bit_count(),
            "suffice": self.size,
            "lower_bound": self.lower,
            "exact": self.exact,
            "names": " ".join(self.names),
        }

    def as_dict(self) -> dict[str, Any]:
        """The givens as JSON can hold them."""
        return {**super().as_dict(), "exact": self.exact, "puzzle": self.state.line}

    def __str__(self) -> str:
        said = f"{self.size} of {self.start.givens.bit_count()} givens suffice"
        bound = "and no fewer" if self.exact else f"at least {self.lower} are needed"
        return f"{said}, {bound}: {listing(self.names)}"


def redundant_givens(state: State, *, seconds: float | None = SECONDS) -> RedundantGivens:
    """Which givens of a puzzle it does not need to have one solution, each on its own.

    Parameters
    ----------
    state : a state that tells its givens; what it has excluded since plays no part.
    seconds : limit, after which givens are left undecided.

    Raises
    ------
    NotUnique : the puzzle does not have one solution, or this was not found out in time.
    """
    deadline = Deadline(seconds)
    require_one_solution(state, seconds)
    engine = get_engine("kernel")
    digits = list(state.puzzle)
    answers = []
    for cell in bits(state.givens):
        rest = [*digits[:cell], 0, *digits[cell + 1 :]]
        left = None if deadline.never else deadline.remaining
        answers.append(engine.count(State.from_digits(rest, state.layout), 2, left).unique)
    return RedundantGivens(State.from_digits(digits, state.layout), tuple(answers))


def sufficient_givens(state: State, *, seconds: float | None = SECONDS) -> SufficientGivens:
    """A smallest subset of a puzzle's givens that leaves it one solution.

    Parameters
    ----------
    state : a state that tells its givens; what it has excluded since plays no part.
    seconds : limit, after which the smallest set found and a lower bound are returned.

    Raises
    ------
    NotUnique : the puzzle does not have one solution, or this was not found out in time.
    """
    deadline = Deadline(seconds)
    require_one_solution(state, seconds)
    start = State.from_digits(state.puzzle, state.layout)
    solution = next(get_engine("kernel").solutions(start))
    against = Rivals(start.layout, solution, bits(start.givens), deadline)
    gaps: list[list[int]] = []
    try:
        gaps += ([cell] for cell in against.givens if against.exists(_without(against, cell)))
        gaps += against.gaps([cell for gap in gaps for cell in gap])
    except TimeoutError:
        pass
    best, lower = fewest(against, against.irreducible(against.givens), gaps)
    stopped = None if len(best) == lower else "seconds"
    return SufficientGivens(start, tuple(sorted(best)), lower, stopped)


def _without(against: Rivals, cell: int) -> list[int]:
    return [other for other in against.givens if other != cell]
