"""Placements, locked candidates, naked and hidden sets and fish, told by their premises."""

from __future__ import annotations

from collections.abc import Iterator

from gridcrux.techniques.recognise.evidence import Evidence

SIZED = {2: "pair", 3: "triple", 4: "quad"}
FISH = {2: "x-wing", 3: "swordfish", 4: "jellyfish"}
BOXED = ("box", "region")
CROSSING = {"row": "column", "column": "row"}


def placements(e: Evidence) -> Iterator[str]:
    """One rule has one candidate left, and it is written."""
    if e.places is None or len(e.premises) != 1 or e.masks[0] != 1 << e.places:
        return
    if e.removes & ~e.layout.conflicts[e.places]:
        return
    if e.all_cells:
        yield "naked-single"
        return
    blank = e.rule((e.premises[0] - e.layout.cells) // e.layout.size, 0) & ~e.written
    if blank == 1 << e.places % e.layout.cells:
        yield "full-house"
    yield "hidden-single"


def locked(e: Evidence) -> Iterator[str]:
    """A digit of a house has all its places, two or more, in another house."""
    if len(e.premises) != 1 or e.digit < 0 or not e.base & e.base - 1:
        return
    home = (e.premises[0] - e.layout.cells) // e.layout.size
    cover = 0
    for house in e.houses_around(e.cells_of(e.digit, e.base)):
        if house != home:
            cover |= e.rule(house, e.digit)
    if not e.removes & ~(cover & ~e.base):
        yield "pointing" if e.house(0).kind in BOXED else "claiming"


def subsets(e: Evidence) -> Iterator[str]:
    """As many cells of a house as digits in them; as many digits of a house as places."""
    size = len(e.premises)
    if size not in SIZED or any(not mask & mask - 1 for mask in e.masks):
        return
    if e.all_cells:
        digits = e.digits_of(e.base)
        if len(digits) != size:
            return
        cells = sum(1 << cell for cell in e.premises)
        cover = 0
        for house in e.houses_around(cells):
            for digit in digits:
                cover |= e.rule(house, digit)
        if not e.removes & ~(cover & ~e.base):
            yield f"naked-{SIZED[size]}"
    elif e.premises[0] >= e.layout.cells:
        homes = {(rule - e.layout.cells) // e.layout.size for rule in e.premises}
        cells = e.on_cells(e.base)
        if len(homes) != 1 or cells.bit_count() != size:
            return
        rest, digits = e.removes & ~e.base, e.digits_of(e.base)
        kept = any(e.cells_of(digit, rest) for digit in digits)
        if rest == e.removes and not kept and not e.on_cells(rest) & ~cells:
            yield f"hidden-{SIZED[size]}"


def fish(e: Evidence) -> Iterator[str]:
    """A digit in parallel lines has all its places in as many crossing lines."""
    size = len(e.premises)
    if size not in FISH or e.digit < 0 or any(not mask & mask - 1 for mask in e.masks):
        return
    kinds = {e.house(place).kind for place in range(size)}
    if len(kinds) != 1 or (kind := kinds.pop()) not in CROSSING:
        return
    cover = lines = 0
    for number, house in enumerate(e.layout.houses):
        if house.kind == CROSSING[kind] and (mask := e.rule(number, e.digit)) & e.base:
            lines += 1
            cover |= mask
    if lines == size and not e.removes & ~(cover & ~e.base):
        yield FISH[size]
