"""Fish with fins, fish of mixed houses and sets in two sectors, told by their premises."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from gridcrux.grids.layout import House
from gridcrux.techniques.reading import seen_from
from gridcrux.techniques.recognise.cover import BOXED, CROSSING, FISH
from gridcrux.techniques.recognise.evidence import Evidence


def finned_fish(e: Evidence) -> Iterator[str]:
    """A digit in parallel lines lies in as many crossing lines, but for fins.

    What falls lies in one of these and sees all fins.  Finned, if each line keeps two places
    or more without the fins; sashimi, if one does not.
    """
    size = len(e.premises)
    if size not in FISH or e.digit < 0:
        return
    kinds = {e.house(place).kind for place in range(size)}
    if len(kinds) != 1 or (kind := kinds.pop()) not in CROSSING:
        return
    covers = [
        mask
        for number, house in enumerate(e.layout.houses)
        if house.kind == CROSSING[kind] and (mask := e.rule(number, e.digit)) & e.base
    ]
    whole = sashimi = False
    for chosen in _covers(e, covers, size):
        if not e.base & ~chosen:
            continue
        if all((mask & chosen).bit_count() > 1 for mask in e.masks):
            whole = True
        else:
            sashimi = True
    if whole:
        yield f"finned-{FISH[size]}"
    if sashimi:
        yield f"sashimi-{FISH[size]}"


def mixed_fish(e: Evidence) -> Iterator[str]:
    """A digit in houses of any kind, no two sharing a place, lies in as many others."""
    size = len(e.premises)
    if size not in FISH or e.digit < 0 or not _disjoint(e):
        return
    homes = [e.layout.rules[rule].mask for rule in e.premises]
    covers = [
        mask
        for number in range(len(e.layout.houses))
        if (mask := e.rule(number, e.digit)) & e.base and mask not in homes
    ]
    names = set()
    for chosen in _covers(e, covers, size):
        names.add("finned-mixed" if e.base & ~chosen else "mixed")
    for name in sorted(names, reverse=True):
        yield f"{name}-{FISH[size]}"


def _disjoint(e: Evidence) -> bool:
    return sum(mask.bit_count() for mask in e.masks) == e.base.bit_count()


def _covers(e: Evidence, covers: list[int], size: int) -> Iterator[int]:
    """Unions of so many covers that hold what falls, and all bases but for fins that it sees."""
    seen = seen_from(e.layout, e.removes)
    if e.removes & e.base or e.removes & ~(e.plane << e.digit * e.layout.cells):
        return
    required = e.base & ~seen | e.removes

    def search(chosen: int, start: int, left: int) -> Iterator[int]:
        missing = required & ~chosen
        if missing:
            low = missing & -missing
            if left:
                for cover in covers:
                    if cover & low:
                        yield from search(chosen | cover, 0, left - 1)
        elif left:
            for index in range(start, len(covers)):
                if covers[index] & ~chosen:
                    yield from search(chosen | covers[index], index + 1, left - 1)
        else:
            yield chosen

    yield from search(0, 0, size)


def two_sectors(e: Evidence) -> Iterator[str]:
    """As many digits as cells of a line and a box, each digit confined to one of the two."""
    if not e.all_cells or len(e.premises) < 3:
        return
    digits = e.digits_of(e.base)
    if len(digits) != len(e.premises):
        return
    cells = sum(1 << cell for cell in e.premises)
    for one, two in combinations(range(len(e.layout.houses)), 2):
        pair = e.rule(one, 0), e.rule(two, 0)
        if cells & ~(pair[0] | pair[1]) or not _line_and_box(
            e.layout.houses[one], e.layout.houses[two]
        ):
            continue
        if not (cells & pair[0] & pair[1] and cells & ~pair[0] and cells & ~pair[1]):
            continue
        cover = confined = 0
        for digit in digits:
            places = e.cells_of(digit, e.base)
            homes = [house for house in (one, two) if not places & ~e.rule(house, 0)]
            confined += bool(homes)
            for house in homes:
                cover |= e.rule(house, digit)
        if confined == len(digits) and not e.removes & ~(cover & ~e.base):
            yield "two-sector-set"
            return


def _line_and_box(one: House, two: House) -> bool:
    return (one.kind in BOXED) != (two.kind in BOXED)
