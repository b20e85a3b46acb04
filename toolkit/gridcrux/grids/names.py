"""Cells, candidates and claims are named in decimal: `r10c12`, `r4c5=7`, `r4c5!=7`.

Of a claim `≠` is read as well.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from gridcrux.grids.layout import NINE, SYMBOLS, Layout

_SHOWN = 40


class NotationError(ValueError):
    """Text that names no cell, candidate or claim.

    Attributes
    ----------
    what : what is wrong.
    where : the kind of name and the text.
    expected : what would have been right.
    """

    def __init__(self, what: str, where: str, expected: str) -> None:
        super().__init__(what, where, expected)
        self.what, self.where, self.expected = what, where, expected

    def __str__(self) -> str:
        return f"{self.where}: {self.what}; expected {self.expected}"


@dataclass(frozen=True, slots=True)
class Claim:
    """That a candidate is true, or that it is false; `str` gives it back as text.

    >>> str(parse_claim(NINE, "r4c5!=7"))
    'r4c5!=7'
    """

    candidate: int
    holds: bool
    layout: Layout = field(default=NINE, repr=False)

    def __str__(self) -> str:
        name = self.layout.candidate_name(self.candidate)
        return name if self.holds else name.replace("=", "!=")


_PARTS = ("row", "column", "digit")
_CELL = r"r(\d{1,3})c(\d{1,3})"
_FORMS = {
    "cell": (re.compile(_CELL, re.ASCII | re.I), "a row and a column like r4c2"),
    "candidate": (re.compile(_CELL + r"\s*=\s*(\d{1,3})", re.ASCII | re.I), "one like r4c2=1"),
    "claim": (
        re.compile(_CELL + r"\s*(?:!?=|≠)\s*(\d{1,3})", re.ASCII | re.I),
        "one like r4c2=1 or r4c2!=1",
    ),
}
_LETTER = re.compile(_CELL + r"\s*(?:!?=|≠)\s*([a-z])", re.ASCII | re.I)
"""A digit above 9 as it stands on paper, which no name has."""


def _numbers(layout: Layout, text: str, kind: str) -> list[int]:
    """Row, column and digit of a name, from zero, as far as its kind has them."""
    where = f"{kind} {text if len(text) <= _SHOWN else text[:_SHOWN] + '...'!r}"
    form, like = _FORMS[kind]
    found = form.fullmatch(text.strip())
    if found is None:
        paper = _LETTER.fullmatch(text.strip())
        if paper is not None and kind != "cell" and paper[3].upper() in SYMBOLS[: layout.size]:
            number = SYMBOLS.index(paper[3].upper()) + 1
            raise NotationError("digits are named in decimal", where, f"{number} for {paper[3]}")
        raise NotationError(f"not the name of a {kind}", where, like)
    numbers = [int(part) for part in found.groups()]
    for part, number in zip(_PARTS, numbers, strict=False):
        if not 1 <= number <= layout.size:
            raise NotationError(f"there is no {part} {number}", where, f"1 to {layout.size}")
    return [number - 1 for number in numbers]


def parse_cell(layout: Layout, text: str) -> int:
    """The cell that has a name like 'r4c5'.

    Raises
    ------
    NotationError : it is no such name, or lies outside the layout.
    """
    row, column = _numbers(layout, text, "cell")
    return row * layout.size + column


def parse_candidate(layout: Layout, text: str) -> int:
    """The candidate that has a name like 'r4c5=7'.

    Raises
    ------
    NotationError : it is no such name, or lies outside the layout.

    >>> parse_candidate(NINE, "r1c2=3") == 2 * 81 + 1
    True
    """
    row, column, digit = _numbers(layout, text, "candidate")
    return digit * layout.cells + row * layout.size + column


def parse_claim(layout: Layout, text: str) -> Claim:
    """The claim written 'r4c5=7' (it is true) or 'r4c5!=7' (it is false).

    Raises
    ------
    NotationError : it is no such claim, or lies outside the layout.
    """
    row, column, digit = _numbers(layout, text, "claim")
    candidate = digit * layout.cells + row * layout.size + column
    return Claim(candidate, not {"!", "≠"} & set(text), layout)
