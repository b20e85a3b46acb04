"""Strong links: the ways to split a rule, or an almost locked set, into two nodes."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits


def seen_from(layout: Layout, candidates: int) -> int:
    """Mask of what conflicts with every candidate of a mask; everything, if that is empty."""
    common = layout.full
    conflicts = layout.conflicts
    while candidates and common:
        low = candidates & -candidates
        common &= conflicts[low.bit_length() - 1]
        candidates ^= low
    return common


@dataclass(frozen=True, slots=True)
class Link:
    """A strong link: some candidate of `a` or of `b` is true, because of `premises`.

    Attributes
    ----------
    premises : the rule, or the cells of an almost locked set, ascending.
    a, b : the two nodes, masks of candidates.
    kind : "cell" (two digits), "house" (two places), "group" (two groups of places) or "set".
    spare : candidates of a set that are of neither node's digit.
    """

    premises: tuple[int, ...]
    a: int
    b: int
    kind: str
    spare: int = 0

    @property
    def turned(self) -> Link:
        """The same link with the nodes exchanged."""
        return Link(self.premises, self.b, self.a, self.kind, self.spare)


def rule_links(layout: Layout, open_: int, rule: int) -> list[Link]:
    """The ways to split the open candidates of one rule into two nodes."""
    mask = layout.rules[rule].mask & open_
    count = mask.bit_count()
    low = mask & -mask
    if count == 2:
        kind = "cell" if rule < layout.cells else "house"
        return [Link((rule,), low, mask ^ low, kind)]
    if count < 3 or rule < layout.cells:
        return []
    cells = layout.cells
    house, digit = divmod(rule - cells, layout.size)
    first = cells + digit
    parts = {1 << place for place in bits(mask)}
    for other in range(len(layout.houses)):
        if other != house:
            part = layout.rules[first + other * layout.size].mask & mask
            if part and part != mask:
                parts.add(part)
    # The rest of the mask must be a node too; what lies in two parts belongs to either.
    nodes = {one for one in parts if any(one | two == mask for two in parts)}
    nodes |= {mask ^ node for node in nodes}
    return [
        Link((rule,), node, mask ^ node, "group")
        for node in sorted(nodes)
        if node & low and node != mask
    ]


def set_links(layout: Layout, open_: int, premises: tuple[int, ...]) -> list[tuple[int, Link]]:
    """Almost locked sets of two cells or more among the premises, with every pair of digits.

    Each comes with the mask over the positions of its premises.
    """
    found = []
    for used, cells, digits in almost_locked(layout, open_, premises):
        nodes = [nodes_of_digit(layout, open_, cells, digit) for digit in digits]
        every = sum(nodes)
        for a, b in combinations(nodes, 2):
            found.append((used, Link(cells, a, b, "set", every & ~a & ~b)))
    return found


def nodes_of_digit(layout: Layout, open_: int, cells: tuple[int, ...], digit: int) -> int:
    """Mask of the open candidates of a digit (from zero) in some cells."""
    shift = digit * layout.cells
    return open_ & sum(1 << (shift + cell) for cell in cells)


def almost_locked(
    layout: Layout, open_: int, premises: tuple[int, ...]
) -> list[tuple[int, tuple[int, ...], tuple[int, ...]]]:
    """The sets of k >= 2 cells in a house with k + 1 digits, of those among the premises.

    Each as a mask over the positions of its premises, the cells and the digits (from zero),
    both ascending; smaller sets first.
    """
    cells = [(place, cell) for place, cell in enumerate(premises) if cell < layout.cells]
    held = {
        cell: frozenset(
            digit for digit in range(layout.size) if open_ >> (digit * layout.cells + cell) & 1
        )
        for _, cell in cells
    }
    homes = {cell: frozenset(layout.houses_of[cell]) for _, cell in cells}
    found = []
    layer: list[tuple[int, int, tuple[int, ...], frozenset[int], frozenset[int]]]
    layer = [
        (i, 1 << place, (cell,), held[cell], homes[cell]) for i, (place, cell) in enumerate(cells)
    ]
    while layer:
        grown = []
        for last, used, members, digits, houses in layer:
            for i in range(last + 1, len(cells)):
                place, cell = cells[i]
                if common := houses & homes[cell]:
                    union = digits | held[cell]
                    grown.append((i, used | 1 << place, (*members, cell), union, common))
        found += [
            (used, tuple(sorted(members)), tuple(sorted(digits)))
            for _, used, members, digits, _ in grown
            if len(digits) == len(members) + 1
        ]
        layer = grown
    return found
