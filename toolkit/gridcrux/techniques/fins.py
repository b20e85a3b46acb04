"""Fish with fins, fish of mixed houses, and sets in two sectors: cover arguments that go further.

Theorem.  Take k bases, parallel lines for a digit, and k crossing lines as covers.  Places of
the bases outside the covers are fins.  Then a candidate that lies in a cover and in no base,
and that conflicts with every fin, is false.

Why.  If a fin is true, it excludes the candidate.  If none is, the cover theorem holds
(`cover`).  To conflict with a place in another line and another cover is to share a box or
region with it, or a diagonal; so mostly all fins lie in one box.

The cover theorem itself needs neither lines nor one digit.  Bases and covers of a digit may be
of any kind (mixed fish), and the bases may be cells, each of whose digits has all of its
places among the cells in one house (sets in two sectors).  An argument that needs fewer bases
counts as the smaller one.
"""

from __future__ import annotations

from functools import partial
from itertools import combinations

from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import technique
from gridcrux.logic.wording import (
    cells_in_words,
    cells_of,
    digits_of,
    houses_in_words,
    listing,
)
from gridcrux.techniques.compiled.shapes import FINNED, MIXED, SASHIMI, TWO_SECTOR_SET

_fins = partial(technique, "fins")


def _finned_sentence(step: Deduction) -> str:
    layout = step.layout
    n, bases = layout.size, step.base_houses
    digit = (step.premises[0] - layout.cells) % n + 1
    places = set(cells_of(layout, step.roles["base"]))
    fallen = set(cells_of(layout, step.eliminates))
    crossing = layout.houses[n : 2 * n] if bases[0] in layout.houses[:n] else layout.houses[:n]
    others = [set(house.cells) for house in layout.houses[2 * n :]]
    for cell in sorted(fallen):
        # What the cell leaves of the bases, and the cell itself, take up all covers.
        seen = {other for house in others if cell in house for other in house}
        covers = [house for house in crossing if ((places - seen) | {cell}) & set(house.cells)]
        fins = places - {other for house in covers for other in house.cells}
        if len(covers) != len(bases) or not fins or not fins <= seen:
            continue
        named = cells_in_words(layout, sorted(fins))
        homes = [h.name for h in layout.houses[2 * n :] if fins | fallen <= set(h.cells)]
        where = f" in {homes[0]}" if homes else ""
        return (
            f"In {houses_in_words(bases)}, {digit} has places only in "
            f"{houses_in_words(covers)}, but for {named}{where}. Either {digit} is there, or "
            f"{houses_in_words(covers)} have it in {houses_in_words(bases)}: {step.verdict}."
        )
    return step.plain_sentence


def _mixed_sentence(step: Deduction) -> str:
    layout, bases = step.layout, step.base_houses
    digit = (step.premises[0] - layout.cells) % layout.size + 1
    places = set(cells_of(layout, step.roles["base"]))
    fallen = set(cells_of(layout, step.eliminates))
    met = [h for h in layout.houses if places & set(h.cells) and h not in bases]
    for covers in combinations(met, len(bases)):
        covered = {cell for house in covers for cell in house.cells}
        if places | fallen <= covered:
            return (
                f"In {houses_in_words(bases)}, {digit} has places only in "
                f"{houses_in_words(covers)}, so these have it nowhere else: {step.verdict}."
            )
    return step.plain_sentence


@_fins("finned-x-wing", FINNED + 2, 2)
def finned_x_wing(step: Deduction) -> str:
    """An x-wing but for some more places of its lines, all of which exclude what falls.

    Either one of these places is true, or it is an x-wing; what both exclude is false.  Two
    lines of two places each are a skyscraper.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "1 in row 2: r2c3 r2c4 r2c5",
    ...     "1 in row 5: r5c3 r5c5",
    ... )
    >>> print(available(state, "finned-x-wing")[0])
    In rows 2 and 5, 1 has places only in columns 3 and 5, but for r2c4 in box 2. Either 1 is
    there, or columns 3 and 5 have it in rows 2 and 5: r1c5=1 is false.
    """
    return _finned_sentence(step)


@_fins("sashimi-x-wing", SASHIMI + 2, 2)
def sashimi_x_wing(step: Deduction) -> str:
    """A finned x-wing in which one line would have a single place without its fins.

    As the finned x-wing: without the fins that single place would be true, and the argument
    holds all the more.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "2 in column 1: r1c1 r3c1 r4c1",
    ...     "2 in column 2: r1c2 r4c2",
    ... )
    >>> print(available(state, "sashimi-x-wing")[0])
    In columns 1 and 2, 2 has places only in rows 1 and 3, but for r4c1 and r4c2 in box 3.
    Either 2 is there, or rows 1 and 3 have it in columns 1 and 2: r3c3=2 is false.
    """
    return _finned_sentence(step)


@_fins("mixed-x-wing", MIXED + 2, 2)
def mixed_x_wing(step: Deduction) -> str:
    """A digit whose places in two houses lie in two others, lines and boxes being mixed.

    Cover theorem with k = 2, for houses of any kind that have no place in common.  Bases are
    rows or boxes and covers columns or boxes, or the other way round.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "1 in row 1: r1c2 r1c4",
    ...     "1 in row 2: r2c1 r2c4",
    ... )
    >>> print(available(state, "mixed-x-wing")[0])
    In rows 1 and 2, 1 has places only in column 4 and box 1, so these have it nowhere else:
    r3c4=1 and r4c4=1 are false.
    """
    return _mixed_sentence(step)


@_fins("finned-swordfish", FINNED + 3, 3)
def finned_swordfish(step: Deduction) -> str:
    """A swordfish but for some more places of its lines, all of which exclude what falls.

    As the finned x-wing, with three lines.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "4 in row 2: r2c3 r2c5 r2c6",
    ...     "4 in row 3: r3c4 r3c5",
    ...     "4 in row 5: r5c3 r5c5",
    ... )
    >>> print(available(state, "finned-swordfish")[0])
    In rows 2, 3 and 5, 4 has places only in columns 3, 4 and 5, but for r2c6 in box 2. Either 4
    is there, or columns 3, 4 and 5 have it in rows 2, 3 and 5: r1c4=4 and r1c5=4 are false.
    """
    return _finned_sentence(step)


@_fins("sashimi-swordfish", SASHIMI + 3, 3)
def sashimi_swordfish(step: Deduction) -> str:
    """A finned swordfish in which some line would have a single place without its fins.

    As the sashimi x-wing, with three lines.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "3 in column 2: r1c2 r3c2",
    ...     "3 in column 3: r2c3 r5c3",
    ...     "3 in column 5: r3c5 r5c5",
    ... )
    >>> print(available(state, "sashimi-swordfish")[0])
    In columns 2, 3 and 5, 3 has places only in rows 1, 3 and 5, but for r2c3 in box 1. Either 3
    is there, or rows 1, 3 and 5 have it in columns 2, 3 and 5: r1c1=3 is false.
    """
    return _finned_sentence(step)


@_fins("mixed-swordfish", MIXED + 3, 3)
def mixed_swordfish(step: Deduction) -> str:
    """A digit whose places in three houses lie in three others, lines and boxes being mixed.

    As the mixed x-wing, with k = 3.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "3 in column 1: r2c1 r4c1",
    ...     "3 in column 3: r2c3 r3c3",
    ...     "3 in column 4: r3c4 r4c4",
    ... )
    >>> print(available(state, "mixed-swordfish")[0])
    In columns 1, 3 and 4, 3 has places only in rows 2, 3 and 4, so these have it nowhere else:
    r2c2=3 and r4c2=3 are false.
    """
    return _mixed_sentence(step)


@_fins("finned-jellyfish", FINNED + 4, 4)
def finned_jellyfish(step: Deduction) -> str:
    """A jellyfish but for some more places of its lines, all of which exclude what falls.

    As the finned x-wing, with four lines.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "1 in row 1: r1c1 r1c2 r1c4",
    ...     "1 in row 3: r3c3 r3c4",
    ...     "1 in row 5: r5c4 r5c6",
    ...     "1 in row 6: r6c3 r6c6",
    ... )
    >>> print(available(state, "finned-jellyfish")[0])
    In rows 1, 3, 5 and 6, 1 has places only in columns 1, 3, 4 and 6, but for r1c2 in box 1.
    Either 1 is there, or columns 1, 3, 4 and 6 have it in rows 1, 3, 5 and 6: r2c1=1 and r2c3=1
    are false.
    """
    return _finned_sentence(step)


@_fins("sashimi-jellyfish", SASHIMI + 4, 4)
def sashimi_jellyfish(step: Deduction) -> str:
    """A finned jellyfish in which some line would have a single place without its fins.

    As the sashimi x-wing, with four lines.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "1 in row 1: r1c2 r1c5",
    ...     "1 in row 2: r2c2 r2c6",
    ...     "1 in row 3: r3c3 r3c5",
    ...     "1 in row 6: r6c1 r6c6",
    ... )
    >>> print(available(state, "sashimi-jellyfish")[0])
    In rows 1, 2, 3 and 6, 1 has places only in columns 1, 2, 5 and 6, but for r3c3 in box 3.
    Either 1 is there, or columns 1, 2, 5 and 6 have it in rows 1, 2, 3 and 6: r4c1=1 and r4c2=1
    are false.
    """
    return _finned_sentence(step)


@_fins("two-sector-set", TWO_SECTOR_SET, 4, any_length=True)
def two_sector_set(step: Deduction) -> str:
    """Cells of a line and a box that cross, with as many digits, each confined to one of the two.

    Two cells or more in the crossing, with others of the line and of the box.  Each digit has
    at most one place among the cells, as they lie in one house for it, and each cell takes a
    digit; so each digit is among the cells, and elsewhere in its house it is false.  Cover
    theorem with cells as bases and a digit in a house as covers.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "cell r3c3: 3 5",
    ...     "cell r5c2: 2 4",
    ...     "cell r5c3: 2 3 4",
    ...     "cell r6c3: 2 3 4 5",
    ... )
    >>> print(available(state, "two-sector-set")[0])
    r3c3, r5c2, r5c3 and r6c3 hold only 2, 3, 4 and 5, as many digits as cells, and each digit
    has its places among them in column 3 or in box 5. So each is in one of them: r1c3=3, r1c3=5,
    r2c3=3, r2c3=5, r4c3=3, r4c3=5, r5c1=2, r5c1=4, r6c1=2, r6c1=4, r6c2=2 and r6c2=4 are false.
    """
    layout = step.layout
    cells = set(step.premises)
    digits = digits_of(layout, step.roles["base"])
    # Several lines may have the cells together with the box; the falls tell which is meant.
    concerned = cells | set(cells_of(layout, step.eliminates))
    lines = layout.houses[: 2 * layout.size]
    for line in lines:
        for box in layout.houses[2 * layout.size :]:
            if concerned <= set(line.cells) | set(box.cells):
                return (
                    f"{cells_in_words(layout, sorted(cells))} hold only {listing(digits)}, as many "
                    f"digits as cells, and each digit has its places among them in {line.name} or "
                    f"in {box.name}. So each is in one of them: {step.verdict}."
                )
    return step.plain_sentence


TECHNIQUES = (
    finned_x_wing,
    sashimi_x_wing,
    mixed_x_wing,
    finned_swordfish,
    sashimi_swordfish,
    mixed_swordfish,
    finned_jellyfish,
    sashimi_jellyfish,
    two_sector_set,
)
