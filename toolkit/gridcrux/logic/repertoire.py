"""A repertoire is a value: techniques in the order in which they are tried."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property
from html import escape

import numpy as np
from numpy.typing import NDArray

from gridcrux.logic.technique import Technique

UNLIMITED = 1 << 20
"""A width that no deduction reaches."""


class UnknownTechnique(ValueError):
    """A name that is not in the repertoire."""

    def __init__(self, name: str, known: Iterable[str]) -> None:
        known = list(known)
        close = get_close_matches(name.lower().replace(" ", "-").replace("_", "-"), known, 3, 0.5)
        hint = f"did you mean {' or '.join(close)}?" if close else f"known: {', '.join(known)}"
        super().__init__(f"no technique {name!r} in this repertoire; {hint}")


@dataclass(frozen=True)
class Repertoire:
    """Techniques, the easiest to spot first; every change makes a new repertoire.

    Attributes
    ----------
    limit : most premises that a deduction may have.

    Raises
    ------
    ValueError : the same technique twice.
    """

    techniques: tuple[Technique, ...]
    limit: int = UNLIMITED

    def __post_init__(self) -> None:
        object.__setattr__(self, "techniques", tuple(self.techniques))
        names = self.names
        for name in names:
            if names.count(name) > 1:
                raise ValueError(f"technique {name!r} is twice in the repertoire; name it once")

    @property
    def names(self) -> tuple[str, ...]:
        return tuple(technique.name for technique in self.techniques)

    @cached_property
    def order(self) -> NDArray[np.int64]:
        """The technique numbers in order, for the compiled driver."""
        order = np.array([technique.number for technique in self.techniques], np.int64)
        order.setflags(write=False)
        return order

    @cached_property
    def by_number(self) -> dict[int, Technique]:
        return {technique.number: technique for technique in self.techniques}

    def __iter__(self) -> Iterator[Technique]:
        return iter(self.techniques)

    def __len__(self) -> int:
        return len(self.techniques)

    def __contains__(self, technique: object) -> bool:
        return technique in self.names or technique in self.techniques

    def __getitem__(self, name: str) -> Technique:
        for technique in self.techniques:
            if technique.name == name:
                return technique
        raise UnknownTechnique(name, self.names)

    def without(self, *names: str) -> Repertoire:
        """This repertoire with some techniques taken out.

        Raises
        ------
        UnknownTechnique : one of them is not in it.
        """
        dropped = {self[name].name for name in names}
        return self._with(t for t in self.techniques if t.name not in dropped)

    def only(self, *names: str) -> Repertoire:
        """Just the named techniques, in the order of this repertoire.

        Raises
        ------
        UnknownTechnique : one of them is not in it.
        """
        kept = {self[name].name for name in names}
        return self._with(t for t in self.techniques if t.name in kept)

    def plus(self, *techniques: Technique, before: str | None = None) -> Repertoire:
        """This repertoire with further techniques, tried last or right before a named one.

        Raises
        ------
        UnknownTechnique : there is none of the name `before` in it.
        ValueError : one of them is in it already.
        """
        place = len(self) if before is None else self.names.index(self[before].name)
        return self._with((*self.techniques[:place], *techniques, *self.techniques[place:]))

    def widest(self, width: int) -> Repertoire:
        """Just the deductions with at most `width` premises."""
        kept = tuple(t for t in self.techniques if t.width <= width)
        return Repertoire(kept, min(width, self.limit))

    @property
    def assuming_unique(self) -> tuple[str, ...]:
        """The names of the techniques that hold only in puzzles with exactly one solution."""
        return tuple(technique.name for technique in self.techniques if technique.assumes_unique)

    @property
    def assumes_unique(self) -> bool:
        """Whether there are such techniques in it."""
        return bool(self.assuming_unique)

    def without_uniqueness(self) -> Repertoire:
        """This repertoire without the techniques that assume that there is one solution."""
        return self.without(*self.assuming_unique)

    def _with(self, techniques: Iterable[Technique]) -> Repertoire:
        return Repertoire(tuple(techniques), self.limit)

    def __reduce__(self) -> tuple[type, tuple[tuple[Technique, ...], int]]:
        # Without what is cached: a user's own technique has another number in another process.
        return type(self), (self.techniques, self.limit)

    def __str__(self) -> str:
        return ", ".join(self.names)

    def __repr__(self) -> str:
        return f"Repertoire({self})"

    def _repr_html_(self) -> str:
        lines = "".join(f"<li><b>{escape(t.name)}</b>: {escape(t.fact)}</li>" for t in self)
        limit = "" if self.limit == UNLIMITED else f"; at most {self.limit} premises"
        return f"<p>{len(self)} techniques{limit}</p><ol>{lines}</ol>"
