"""Sentences of the unique family; what they are about is read off the records (`deadly`)."""

from __future__ import annotations

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
from gridcrux.techniques.deadly import Pattern, all_left, exchanged, guarded, left, subset


def _not_given(step: Deduction) -> str:
    return ", none of them given," if step.technique.startswith("avoidable") else ""


def _written(step: Deduction) -> list[int]:
    """The premises that are cells written before."""
    written, rules = step.roles.get("written", 0), step.layout.rules
    return [r for r in step.premises if r < step.layout.cells and rules[r].mask & written]


def _told_written(step: Deduction) -> list[str]:
    """Which digits are written in corners, if any."""
    written = _written(step)
    if not written:
        return []
    rules = step.layout.rules
    held = sum(rules[cell].mask & step.roles["written"] for cell in written)
    verb = "is" if len(written) == 1 else "are"
    return [f"{listing(candidate_names(step.layout, held))} {verb} written and not given"]


def exchange_sentence(step: Deduction) -> str:
    """Which premises would fill the rectangle with two digits, and with what candidate."""
    layout, rectangle = step.layout, exchanged(step)
    written = _written(step)
    bare = [rule for rule in step.premises if rule < layout.cells and rule not in written]
    seen = _told_written(step)
    if bare:
        verb = "holds" if len(bare) == 1 else "hold"
        pair = listing(rectangle.digits, "or")
        seen.append(f"{cells_in_words(layout, bare)} {verb} only {pair}")
    seen += [
        f"{layout.rules[r].name} has places only in "
        f"{cells_in_words(layout, cells_of(layout, left(step, r)))}"
        for r in step.premises
        if r >= layout.cells
    ]
    tried = listing(step.elimination_names, "or")
    return (
        f"{listing(seen)}; with {tried} only {listing(rectangle.digits)} would be in "
        f"{cells_in_words(layout, rectangle.cells)}{_not_given(step)} and could be exchanged "
        f"there, so {step.verdict}."
    )


def _could_be_exchanged(step: Deduction, rectangle: Pattern) -> str:
    seen = "".join(f"{told}; " for told in _told_written(step))
    corners = f"{cells_in_words(step.layout, rectangle.cells)}{_not_given(step)}"
    return (
        f"{seen}{listing(rectangle.digits)} could be exchanged in {corners} if these held "
        f"nothing else"
    )


def guards_sentence(step: Deduction) -> str:
    """Which corners have a guard, all of one digit."""
    layout, rectangle = step.layout, guarded(step)
    guards = all_left(step) & ~rectangle.candidates
    (name,) = digits_of(layout, guards)
    return (
        f"{_could_be_exchanged(step, rectangle)}, so one of "
        f"{cells_in_words(layout, cells_of(layout, guards))} is {name}, and {step.verdict}."
    )


def subset_sentence(step: Deduction) -> str:
    """Which cells make a naked subset with the guards of two corners."""
    layout, told = step.layout, subset(step)
    rectangle = told.rectangle
    guards = listing(sorted(told.taken.difference(rectangle.digits)), "or")
    return (
        f"{_could_be_exchanged(step, rectangle)}, so one of "
        f"{cells_in_words(layout, told.guarded)} is {guards}; "
        f"with {cells_in_words(layout, told.others)} that uses up "
        f"{listing(sorted(told.taken))} in {houses_in_words(told.homes)}, so {step.verdict}."
    )


def grave_sentence(step: Deduction) -> str:
    """Without which candidates everything would have two places."""
    layout, pattern = step.layout, all_left(step)
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
