"""A technique is a theorem with a name: which premises, of which shape, exclude what."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from html import escape
from inspect import cleandoc
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from gridcrux.logic.deduction import Deduction


@dataclass(frozen=True)
class Technique:
    """What is known of a technique beside its finder.

    Attributes
    ----------
    name : as on the command line and in tables.
    number : as in records; no two techniques share one.
    width : how many premises its deductions have; at least so many, if it is of any length.
    any_length : whether some deductions have more.
    family : the theorem that it is a case of.
    assumes_unique : whether it holds only in puzzles that have exactly one solution.
    explain : puts a deduction into words.  Its docstring states the theorem, why it holds,
        the smallest example and the source; it is the docstring of the technique too.
    """

    name: str
    number: int
    width: int
    family: str
    explain: Callable[[Deduction], str] = field(compare=False, repr=False)
    any_length: bool = False
    assumes_unique: bool = False

    def __post_init__(self) -> None:
        # Being a wrapper of `explain` is what lets doctest and help() find its docstring.
        for name in ("__module__", "__name__", "__qualname__", "__doc__"):
            object.__setattr__(self, name, getattr(self.explain, name))
        object.__setattr__(self, "__wrapped__", self.explain)

    @property
    def fact(self) -> str:
        """What the technique says, in a sentence: the first line of its docstring."""
        return " ".join(cleandoc(self.__doc__ or "").split("\n\n")[0].split())

    @property
    def reason(self) -> str:
        """Why it holds, and its source: the rest of its docstring, without the examples."""
        parts = cleandoc(self.__doc__ or "").split("\n\n")[1:]
        return "\n\n".join(" ".join(part.split()) for part in parts if part[:3] != ">>>")

    def __reduce__(self) -> str:
        return self.explain.__qualname__

    def __str__(self) -> str:
        return self.name

    def _repr_html_(self) -> str:
        reason = "".join(f"<p>{escape(part)}</p>" for part in self.reason.split("\n\n") if part)
        return f"<p><b>{escape(self.name)}</b>: {escape(self.fact)}</p>{reason}"


def technique(
    family: str,
    name: str,
    number: int,
    width: int,
    *,
    any_length: bool = False,
    assumes_unique: bool = False,
) -> Callable[[Callable[[Deduction], str]], Technique]:
    """Make a technique of the function that explains it; parameters as its attributes."""
    return lambda explain: Technique(
        name, number, width, family, explain, any_length, assumes_unique
    )
