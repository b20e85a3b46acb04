"""Almost locked sets, joined in pairs, in chains or round a cell, told by their premises."""

from __future__ import annotations

from collections.abc import Iterator

from gridcrux.grids.state import bits
from gridcrux.techniques.reading import Chain, seen_from
from gridcrux.techniques.reading.links import almost_locked
from gridcrux.techniques.recognise.evidence import Evidence


def set_pairs(e: Evidence) -> Iterator[str]:
    """Two sets with one digit that only one of them can hold, or with two of these."""
    if not e.all_cells:
        return
    if any(len(chain.links) == 2 and _one_digit_falls(e, chain) for chain in e.set_chains):
        yield "als-xz"
    if any(len(chain.links) == 2 for chain in e.set_loops):
        yield "als-loop"


def set_rows(e: Evidence) -> Iterator[str]:
    """Sets, each with a digit that it and the next one cannot both hold."""
    if e.all_cells and any(_one_digit_falls(e, chain) for chain in (*e.set_chains, *e.chains)):
        yield "als-chain"


def _one_digit_falls(e: Evidence, chain: Chain) -> bool:
    """Whether the two ends of a chain are the same digit."""
    return len(e.digits_of(chain.links[0].a | chain.links[-1].b)) == 1


def stem_cells(e: Evidence) -> Iterator[str]:
    """A cell each of whose digits takes that digit from a set, where all sets share another.

    The shared digit may be in the cell too; sets may overlap, as one case excludes the others.
    """
    digits = e.digits_of(e.removes)
    if not e.all_cells or len(e.premises) < 3 or len(digits) != 1:
        return
    common = seen_from(e.layout, e.removes)
    shared = e.plane << digits[0] * e.layout.cells
    sets = [(1 << place, mask) for place, mask in enumerate(e.masks) if mask.bit_count() == 2]
    for used, cells, _ in almost_locked(e.layout, e.open, e.premises):
        mask = 0
        for cell in cells:
            mask |= e.masks[e.premises.index(cell)]
        sets.append((used, mask))
    # Whatever place the shared digit takes in a set, it excludes what falls.
    sets = [(used, mask) for used, mask in sets if mask & shared and not mask & shared & ~common]
    stems = [place for place, mask in enumerate(e.masks) if not mask & shared & ~common]
    if any(_is_stem(e, place, sets, shared) for place in stems):
        yield "stem-cell"


def _is_stem(e: Evidence, place: int, sets: list[tuple[int, int]], shared: int) -> bool:
    """Whether each digit of a cell has a set that loses it, all of them using every premise."""
    if e.masks[place].bit_count() < 2:
        return False
    unions = {1 << place}
    for candidate in bits(e.masks[place]):
        if shared >> candidate & 1:
            continue
        digit = e.plane << candidate // e.layout.cells * e.layout.cells
        sees = e.layout.conflicts[candidate]
        lost = [
            used
            for used, mask in sets
            if not used >> place & 1 and mask & digit and not mask & digit & ~sees
        ]
        unions = {union | used for union in unions for used in lost}
    return (1 << len(e.premises)) - 1 in unions


def any_sets(e: Evidence) -> Iterator[str]:
    """Chains and loops with an almost locked set in them, whatever the other links are."""
    if e.set_chains:
        yield "set-chain"
    if e.set_loops:
        yield "set-loop"
