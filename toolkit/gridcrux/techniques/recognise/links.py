"""Chains of rules with two candidates, or with two groups of them, told by their premises."""

from __future__ import annotations

from collections.abc import Iterator

from gridcrux.techniques.reading import Chain, chains, seen_from
from gridcrux.techniques.recognise.cover import BOXED
from gridcrux.techniques.recognise.evidence import Evidence

LINES = ("row", "column")


def two_houses(e: Evidence) -> Iterator[str]:
    """A digit in two houses, with two places each, or with the places of a box crosswise."""
    if len(e.premises) != 2 or e.digit < 0 or not e.chains:
        return
    kinds = tuple(e.house(place).kind for place in (0, 1))
    if e.masks[0].bit_count() == e.masks[1].bit_count() == 2:
        if kinds[0] == kinds[1] and kinds[0] in LINES:
            yield "skyscraper"
        elif set(kinds) == set(LINES):
            yield "two-string-kite"
        else:
            yield "turbot-chain"
    elif any(_crosswise(e, chain) for chain in e.chains):
        yield "empty-rectangle"


def _crosswise(e: Evidence, chain: Chain) -> bool:
    """Whether a link is a box split into a row and a column, and the other one is a line's."""
    for link, other in (chain.links, chain.links[::-1]):
        kind, across = (
            e.house(e.premises.index(rule)).kind for rule in (link.premises[0], other.premises[0])
        )
        if kind in BOXED and link.kind == "group" and across in LINES:
            first, second = _lines(e, link.a), _lines(e, link.b)
            if ("row" in first and "column" in second) or ("column" in first and "row" in second):
                return True
    return False


def _lines(e: Evidence, node: int) -> set[str]:
    """The kinds of line that contain a node."""
    houses = e.layout.houses
    return {houses[number].kind for number in e.houses_around(e.on_cells(node))}


def wings(e: Evidence) -> Iterator[str]:
    """Three cells with two digits, or one of them with three, or two of them and a house."""
    if len(e.premises) != 3:
        return
    counts = sorted(mask.bit_count() for mask in e.masks)
    if counts == [2, 2, 2]:
        cells = sum(rule < e.layout.cells for rule in e.premises)
        if cells == 3 and e.chains:
            yield "xy-wing"
        elif (
            cells == 2
            and e.digits_of(e.masks[0]) == e.digits_of(e.masks[1])
            and any(chain.links[1].kind == "house" for chain in e.chains)
        ):
            yield "w-wing"
    elif e.all_cells and counts == [2, 2, 3] and _three_cells(e):
        yield "xyz-wing"


def _three_cells(e: Evidence) -> bool:
    """Whether a cell with three digits sees two that share one of them and have one more each."""
    masks = sorted(e.masks, key=int.bit_count)
    one, two, all_ = (frozenset(e.digits_of(mask)) for mask in masks)
    cells = [e.premises[e.masks.index(mask)] for mask in masks]
    if one == two or not (one < all_ and two < all_):
        return False
    if not {cells[0], cells[1]} <= e.layout.peers[cells[2]]:
        return False
    (shared,) = one & two
    common = e.base & e.plane << shared * e.layout.cells
    return not e.removes & ~seen_from(e.layout, common)


def one_digit(e: Evidence) -> Iterator[str]:
    """Three houses or more in which a digit has two places, by how these are joined."""
    if e.digit < 0 or len(e.premises) < 3 or any(mask.bit_count() != 2 for mask in e.masks):
        return
    loose = {
        sum(not _only_places(e, one | two) for one, two in chain.weak_links) for chain in e.chains
    }
    if 0 in loose:
        yield "simple-colouring"
    if 1 in loose:
        yield "multi-colouring"
    if loose:
        yield "x-chain"


def _only_places(e: Evidence, pair: int) -> bool:
    """Whether two candidates of a digit are the only places that it has in some house."""
    cells = e.cells_of(e.digit, pair)
    return any(e.rule(house, e.digit) & e.open == pair for house in e.houses_around(cells))


def one_digit_grouped(e: Evidence) -> Iterator[str]:
    """Two houses or more in which a digit has two places or two groups of places."""
    if e.digit >= 0 and e.chains:
        yield "grouped-x-chain"


def two_digit_cells(e: Evidence) -> Iterator[str]:
    """Four cells or more with two digits each."""
    size = len(e.premises)
    if not e.all_cells or size < 4 or any(mask.bit_count() != 2 for mask in e.masks):
        return
    if len(e.digits_of(e.base)) == 2 and _remote(e):
        yield "remote-pair"
    if e.chains:
        yield "xy-chain"


def _remote(e: Evidence) -> bool:
    """Whether cells with the same two digits make a chain whose two ends exclude both digits."""
    first, second = e.digits_of(e.base)
    shifts = (first * e.layout.cells, second * e.layout.cells)
    here = [e.removes & e.plane << shift for shift in shifts]
    if here[0] | here[1] != e.removes:
        return False
    # Read for one of the digits, the cells of a chain serve the other digit too.
    for chain in chains(e.layout, e.open, e.premises, here[0] or here[1]):
        ends = 0
        for link in (chain.links[0], chain.links[-1]):
            ends |= e.masks[e.premises.index(link.premises[0])]
        if all(
            not part & ~seen_from(e.layout, ends & e.plane << shift)
            for part, shift in zip(here, shifts, strict=True)
        ):
            return True
    return False


def any_links(e: Evidence) -> Iterator[str]:
    """Cells and houses in any order, as a chain or as a loop."""
    grouped = any(
        mask.bit_count() > 2
        for rule, mask in zip(e.premises, e.masks, strict=True)
        if rule >= e.layout.cells
    )
    kind = "grouped" if grouped else "alternating"
    if e.chains:
        yield f"{kind}-chain"
    if e.loops:
        yield f"{kind}-loop"
