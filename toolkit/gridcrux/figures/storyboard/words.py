"""How a storyboard puts things: outcomes, times, and how long sentences are when spoken."""

from __future__ import annotations

import re

from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.route import Route
from gridcrux.logic.wording import listing, nothing_left
from gridcrux.proofs.counts import how_many

_CELL, _DIGIT = re.compile(r"r\d+c\d+"), re.compile(r"=\d+")
"""Names of cells, and what is said of one, in a sentence."""

_SECONDS = 2.0
"""How long it may take to count solutions where a walk gets stuck."""


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


def ending(found: Route) -> str:
    """Why a route does not reach the end of the puzzle, in sentences; empty if it does."""
    if found.solved:
        return ""
    end = found.end
    if found.status == "contradiction":
        said = nothing_left(end.layout, int(end.broken_rule or 0))
        bare = State.from_digits(found.start.puzzle, found.start.layout)
        here = "" if found.start.open == bare.open else " from these marks"
        return f"A contradiction: {said}. So there is no solution{here}."
    left = end.layout.cells - end.placed.bit_count()
    known = {
        "one": "There is one solution, so something else leads on: more techniques, or a search.",
        "several": "There are several solutions, so no argument leads to one of them.",
        "none": "There is no solution from here, which these techniques do not show.",
        "unknown": "How many solutions there are was not found out in time.",
    }
    return (
        f"These techniques find nothing more; {plural(left, 'cell')} are left. "
        f"{known[how_many(end, _SECONDS)]}"
    )


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


def plural(number: int, noun: str) -> str:
    """A number of things: ``"1 step"``, ``"2 steps"``."""
    return f"{number:,} {noun}{'' if number == 1 else 's'}"


def clock(seconds: float) -> str:
    """Minutes and seconds as a chapter list has them.

    >>> clock(75.4)
    '1:15'
    """
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02d}"
