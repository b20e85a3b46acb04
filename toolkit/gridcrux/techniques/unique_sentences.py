"""Sentences of the unique family; what they say is read off the records.

The candidates that a premise may have, those that the record does not rely on being absent,
tell the two digits, the corners and the guards.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from gridcrux.grids.state import bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.wording import cells_in_words, houses_in_words, listing


def _left(step: Deduction, rule: int) -> set[int]:
    """The candidates that a premise may have."""
    return set(bits(step.layout.rules[rule].mask & ~step.relies))


def _cells(step: Deduction, candidates: set[int]) -> list[int]:
    return sorted({candidate % step.layout.cells for candidate in candidates})


def _digits(step: Deduction, candidates: set[int]) -> list[int]:
    return sorted({candidate // step.layout.cells + 1 for candidate in candidates})


def _pattern(step: Deduction) -> set[int]:
    """All candidates that the premises may have."""
    return set().union(*(_left(step, rule) for rule in step.premises))


def _falls(step: Deduction) -> str:
    names = step.elimination_names
    return f"{listing(names)} {'are' if len(names) > 1 else 'is'} false"


def _not_given(step: Deduction) -> str:
    return ", none of them given," if step.technique.startswith("avoidable") else ""


def exchange_sentence(step: Deduction) -> str:
    """Which premises would fill the rectangle with two digits, and with what candidate."""
    layout = step.layout
    digits = _digits(step, _pattern(step) | set(bits(step.removes)))
    corners = _cells(step, _pattern(step) | set(bits(step.removes)))
    bare = [rule for rule in step.premises if rule < layout.cells]
    seen = [
        f"{layout.rules[r].name} has places only in "
        f"{cells_in_words(layout, _cells(step, _left(step, r)))}"
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
        f"so {_falls(step)}."
    )


def guards_sentence(step: Deduction) -> str:
    """Which corners have a guard, all of one digit."""
    layout = step.layout
    (guard,) = _digits(step, set(bits(step.removes)))
    pattern = _pattern(step)
    digits = [digit for digit in _digits(step, pattern) if digit != guard]
    guarded = [c for c in pattern if c // layout.cells + 1 == guard]
    return (
        f"{listing(digits)} could be exchanged in {cells_in_words(layout, _cells(step, pattern))}"
        f"{_not_given(step)} if these held nothing else, so one of "
        f"{cells_in_words(layout, _cells(step, set(guarded)))} is {guard}, and {_falls(step)}."
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
    has = {cell: set(_digits(step, _left(step, cell))) for cell in step.premises}
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
        f"{listing(sorted(taken))} in {houses_in_words(homes)}, so {_falls(step)}."
    )


def grave_sentence(step: Deduction) -> str:
    """Without which candidates everything would have two places."""
    layout, pattern = step.layout, _pattern(step)
    rules = [rule.mask for rule in layout.rules]
    mask = sum(1 << candidate for candidate in pattern)
    spare = [
        c
        for c in sorted(pattern, key=lambda c: (c % layout.cells, c))
        if all((rule & mask).bit_count() > 2 for rule in rules if rule >> c & 1)
    ]
    names = [layout.candidate_name(candidate) for candidate in spare]
    one = f"{names[0]} is" if len(names) == 1 else f"one of {listing(names)} is"
    return (
        f"Without {listing(names)} every blank cell and every digit in every house would have "
        f"two places, and exchanging the true ones for the others would make a second "
        f"solution, so {one} true, and {_falls(step)}."
    )
