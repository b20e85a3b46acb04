"""Sentences of the unique family; what they say is read off the records.

The candidates that a premise may have, those that the record does not rely on being absent,
tell the two digits, the corners and the guards.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from itertools import combinations
from operator import or_

from gridcrux.grids.state import bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.wording import (
    candidate_names,
    cells_in_words,
    cells_of,
    digits_of,
    houses_in_words,
    listing,
)


def _left(step: Deduction, rule: int) -> int:
    """Mask of the candidates that a premise may have."""
    return step.layout.rules[rule].mask & ~step.relies


def _pattern(step: Deduction) -> int:
    """Mask of all candidates that the premises may have."""
    return reduce(or_, (_left(step, rule) for rule in step.premises))


def _not_given(step: Deduction) -> str:
    return ", none of them given," if step.technique.startswith("avoidable") else ""


def exchange_sentence(step: Deduction) -> str:
    """Which premises would fill the rectangle with two digits, and with what candidate."""
    layout = step.layout
    filled = _pattern(step) | step.removes
    digits, corners = digits_of(layout, filled), cells_of(layout, filled)
    bare = [rule for rule in step.premises if rule < layout.cells]
    seen = [
        f"{layout.rules[r].name} has places only in "
        f"{cells_in_words(layout, cells_of(layout, _left(step, r)))}"
        for r in step.premises
        if r >= layout.cells
    ]
    if bare:
        verb = "holds" if len(bare) == 1 else "hold"
        seen.insert(0, f"{cells_in_words(layout, bare)} {verb} only {listing(digits, 'or')}")
    tried = listing(step.elimination_names, "or")
    return (
        f"{listing(seen)}; with {tried} only {listing(digits)} would be in "
        f"{cells_in_words(layout, corners)}{_not_given(step)} and could be exchanged there, "
        f"so {step.verdict}."
    )


def guards_sentence(step: Deduction) -> str:
    """Which corners have a guard, all of one digit."""
    layout = step.layout
    (guard,) = digits_of(layout, step.removes)
    pattern = _pattern(step)
    digits = [digit for digit in digits_of(layout, pattern) if digit != guard]
    guarded = pattern & ((1 << layout.cells) - 1) << (guard - 1) * layout.cells
    corners = cells_in_words(layout, cells_of(layout, pattern))
    return (
        f"{listing(digits)} could be exchanged in {corners}"
        f"{_not_given(step)} if these held nothing else, so one of "
        f"{cells_in_words(layout, cells_of(layout, guarded))} is {guard}, and {step.verdict}."
    )


def _rectangles(step: Deduction) -> Iterator[tuple[list[int], list[int]]]:
    """Four premises that are two rows crossed by two columns, and the rest of the premises."""
    for corners in combinations(step.premises, 4):
        lines = [{cell // step.layout.size for cell in corners}]
        lines.append({cell % step.layout.size for cell in corners})
        if all(len(line) == 2 for line in lines):
            yield list(corners), [cell for cell in step.premises if cell not in corners]


def subset_sentence(step: Deduction) -> str:
    """Which cells make a naked subset with the guards of two corners."""
    layout = step.layout
    has = {cell: set(digits_of(layout, _left(step, cell))) for cell in step.premises}
    for corners, others in _rectangles(step):
        bare = min((has[cell] for cell in corners), key=len)
        guarded = [cell for cell in corners if has[cell] != bare]
        taken = has[others[0]]
        homes = [h for h in layout.houses if {*guarded, *others} <= set(h.cells)]
        if len(bare) == len(guarded) == 2 and homes and len(taken) == len(others) + 1:
            break
    guards = listing(sorted(taken - bare), "or")
    return (
        f"{listing(sorted(bare))} could be exchanged in {cells_in_words(layout, corners)}"
        f"{_not_given(step)} if these held nothing else, so one of "
        f"{cells_in_words(layout, guarded)} is {guards}; "
        f"with {cells_in_words(layout, others)} that uses up "
        f"{listing(sorted(taken))} in {houses_in_words(homes)}, so {step.verdict}."
    )


def grave_sentence(step: Deduction) -> str:
    """Without which candidates everything would have two places."""
    layout, pattern = step.layout, _pattern(step)
    rules = [rule.mask for rule in layout.rules]
    spare = sum(
        1 << c
        for c in bits(pattern)
        if all((rule & pattern).bit_count() > 2 for rule in rules if rule >> c & 1)
    )
    names = candidate_names(layout, spare)
    one = f"{names[0]} is" if len(names) == 1 else f"one of {listing(names)} is"
    return (
        f"Without {listing(names)} every blank cell and every digit in every house would have "
        f"two places, and exchanging the true ones for the others would make a second "
        f"solution, so {one} true, and {step.verdict}."
    )
