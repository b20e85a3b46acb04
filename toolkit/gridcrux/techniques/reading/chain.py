"""The search for an order of links that use every premise once, and the chain that it gives."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from gridcrux.grids.layout import Layout
from gridcrux.techniques.reading.links import Link, rule_links, seen_from, set_links
from gridcrux.techniques.reading.words import long_sentence, loop_sentence, short_sentence

PATIENCE = 20_000
"""Links that may be tried for one premise set, after which it counts as no chain."""


@dataclass(frozen=True)
class Chain:
    """Strong links, each joined to the next by a weak link from its `b` to the other's `a`.

    Attributes
    ----------
    links : in order, read from the candidates that fall and back to them.
    removes : mask of what the chain was read for.
    closed : whether it takes the weak link from the last node to the first to exclude these.
    """

    layout: Layout = field(repr=False)
    links: tuple[Link, ...]
    removes: int = field(repr=False)
    closed: bool = False

    @property
    def is_loop(self) -> bool:
        """Whether the last node conflicts with the first, all with all."""
        return not self.links[0].a & ~seen_from(self.layout, self.links[-1].b)

    @property
    def weak_links(self) -> tuple[tuple[int, int], ...]:
        """The pairs of nodes that exclude each other; the closing pair last, if closed."""
        after = self.links[1:] + (self.links[:1] if self.closed else ())
        return tuple((one.b, two.a) for one, two in zip(self.links, after, strict=False))

    @property
    def falls(self) -> int:
        """Mask of all that the chain excludes."""
        if not self.closed:
            return seen_from(self.layout, self.links[0].a | self.links[-1].b)
        return _falls(self.layout, self.links)

    def sentence(self, shown: int | None = None) -> str:
        """The argument in plain English.

        Parameters
        ----------
        shown : mask of the excluded candidates to be named; all of `removes` if None.
        """
        if shown is None:
            shown = self.removes
        if self.closed:
            return loop_sentence(self, shown)
        if len(self.links) == 2:
            return short_sentence(self, shown)
        return long_sentence(self, shown)


def read_chain(layout: Layout, open_: int, premises: tuple[int, ...], removes: int) -> Chain | None:
    """A chain or loop that uses every premise once and excludes all of a mask, or None.

    Chains come before loops, and both before those that go through almost locked sets; among
    the latter the one with the fewest links is taken.  What is taken depends on nothing else.

    Parameters
    ----------
    open_ : mask of the open candidates.
    premises : rule numbers.
    removes : mask of what is to be excluded: one candidate, or all that a deduction removes.

    >>> from gridcrux.grids.state import State
    >>> marks = [[1, 2, 3, 4]] * 16
    >>> marks[0] = marks[2] = marks[8] = [2, 3, 4]
    >>> state = State.from_marks(marks)
    >>> rules = state.layout.rule_numbers
    >>> kite = rules["1 in row 1"], rules["1 in column 1"]
    >>> print(read_chain(state.layout, state.open, kite, 1 << 15).sentence())
    In row 1, 1 is in r1c2 or r1c4; in column 1, 1 is in r2c1 or r4c1.  r1c2 and r2c1 are not
    both 1, so r1c4 is 1 or r4c1 is 1: r4c4=1 is false.
    >>> print(read_chain(state.layout, state.open, kite, 1 << 14))
    None
    """
    for sets in (False, True):
        for search in (chains, loops):
            for chain in search(layout, open_, premises, removes, sets=sets):
                return chain
    return None


def chains(
    layout: Layout, open_: int, premises: tuple[int, ...], removes: int, *, sets: bool = False
) -> Iterator[Chain]:
    """All readings as a chain, but for the direction, those with the fewest links first.

    Parameters
    ----------
    sets : whether to read only chains with an almost locked set in them, or only those without.
    """
    search = _Search.of(layout, open_, premises, sets)
    if search is None or not removes:
        return
    common = seen_from(layout, removes)
    starts = [i for i, side in enumerate(search.sides) if not side.link.a & ~common]
    for length in search.lengths:
        for path in search.paths(starts, length):
            # The same chain is met from both ends; a side and its turned one differ in bit 0.
            if path[0] < path[-1] ^ 1 and not search.sides[path[-1]].link.b & ~common:
                yield Chain(layout, search.links(path), removes)


def loops(
    layout: Layout, open_: int, premises: tuple[int, ...], removes: int, *, sets: bool = False
) -> Iterator[Chain]:
    """All readings as a loop; parameters and order as for `chains`."""
    search = _Search.of(layout, open_, premises, sets)
    if search is None or not removes:
        return
    starts = [i for i, side in enumerate(search.sides) if side.used & 1 and not i & 1]
    for length in search.lengths:
        for path in search.paths(starts, length):
            if search.sides[path[0]].link.a & ~search.sides[path[-1]].from_b:
                continue
            links = search.links(path)
            if not removes & ~_falls(layout, links):
                yield Chain(layout, links, removes, closed=True)


class _Side(NamedTuple):
    """A way to go through a link; `used` is a mask over the positions of the premises."""

    used: int
    link: Link
    from_b: int


class _Search:
    """Orders of links that use every premise once.  Sides 2i and 2i + 1 are a link both ways."""

    def __init__(self, layout: Layout, links: list[tuple[int, Link]], count: int) -> None:
        self.sides = [
            _Side(used, link, seen_from(layout, link.b))
            for used, forward in links
            for link in (forward, forward.turned)
        ]
        self.all = (1 << count) - 1
        self.widest = max((used.bit_count() for used, _ in links), default=1)
        # A chain of n premises has n links, or fewer if one of the links is a set.
        self.lengths: tuple[int, ...] = (count,)
        self.left = PATIENCE
        self.after: dict[int, list[int]] = {}

    @classmethod
    def of(
        cls, layout: Layout, open_: int, premises: tuple[int, ...], sets: bool
    ) -> _Search | None:
        """None if some premise can be no link, or there are fewer than two premises."""
        if len(premises) < 2:
            return None
        links: list[tuple[int, Link]] = []
        for place, rule in enumerate(premises):
            single = rule_links(layout, open_, rule)
            if not single and not (sets and rule < layout.cells):
                return None
            links += [(1 << place, link) for link in single]
        if sets:
            found = set_links(layout, open_, premises)
            reached = 0
            for used, _ in links + found:
                reached |= used
            if not found or reached != (1 << len(premises)) - 1:
                return None
            links += found
        search = cls(layout, links, len(premises))
        if sets:
            search.lengths = tuple(range(2, len(premises)))
        return search

    def links(self, path: list[int]) -> tuple[Link, ...]:
        return tuple(self.sides[i].link for i in path)

    def following(self, number: int) -> list[int]:
        """The sides whose first node is excluded by the last node of this one."""
        found = self.after.get(number)
        if found is None:
            used, _, from_b = self.sides[number]
            found = self.after[number] = [
                i
                for i, side in enumerate(self.sides)
                if not side.used & used and not side.link.a & ~from_b
            ]
        return found

    def paths(self, starts: list[int], length: int) -> Iterator[list[int]]:
        """Paths of so many links that use all premises, in lexicographic order."""
        stack = [iter(starts)]
        path: list[int] = []
        used = [0]
        while stack:
            step = next(stack[-1], None)
            if step is None:
                stack.pop()
                if path:
                    path.pop()
                    used.pop()
                continue
            now = used[-1] | self.sides[step].used
            missing, coming = (self.all & ~now).bit_count(), length - len(path) - 1
            # The links to come must have room for the missing premises, one at least for each.
            if self.sides[step].used & used[-1] or not coming <= missing <= coming * self.widest:
                continue
            self.left -= 1
            if self.left < 0:
                return
            if not coming:
                yield [*path, step]
            else:
                path.append(step)
                used.append(now)
                stack.append(iter(self.following(step)))


def _falls(layout: Layout, links: tuple[Link, ...]) -> int:
    """What a loop excludes: what sees both nodes of a weak link, or a digit that a set keeps."""
    falls, plane = 0, (1 << layout.cells) - 1
    for one, two in zip(links, links[1:] + links[:1], strict=True):
        falls |= seen_from(layout, one.b | two.a)
        spare = one.spare
        while spare:
            digit = ((spare & -spare).bit_length() - 1) // layout.cells
            same = spare & plane << digit * layout.cells
            falls |= seen_from(layout, same)
            spare ^= same
    return falls
