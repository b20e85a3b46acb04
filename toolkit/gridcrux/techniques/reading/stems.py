"""Read a stem cell out of a bare premise set: what each digit of a cell leads to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits
from gridcrux.logic.wording import cells_in_words, listing
from gridcrux.techniques.reading.links import Link, rule_links, seen_from, set_links


@dataclass(frozen=True)
class Stem:
    """A cell, and for each of its digits (from 1) the link that excludes what falls, or None.

    None stands for a digit that excludes it as it stands.
    """

    layout: Layout = field(repr=False)
    cell: int
    branches: tuple[tuple[int, Link | None], ...]

    def sentence(self, shown: int) -> str:
        """The argument in plain English; `shown` are the candidates that fall."""
        cells = self.layout.cells
        digit = ((shown & -shown).bit_length() - 1) // cells + 1
        name = self.layout.cell_name(self.cell)
        ways = []
        for each, link in self.branches:
            if link is None:
                ways.append(f"if it is {each}, that is the {digit}")
                continue
            home = cells_in_words(self.layout, [rule for rule in link.premises])
            last = listing([self.layout.cell_name(c % cells) for c in bits(link.b)], "or")
            loses = "loses" if len(link.premises) == 1 else "lose"
            ways.append(f"if it is {each}, {home} {loses} it and {digit} is in {last}")
        fallen = [self.layout.cell_name(c % cells) for c in bits(shown)]
        is_not = "is" if len(fallen) == 1 else "are"
        return (
            f"{name} is {listing([each for each, _ in self.branches], 'or')}: {'; '.join(ways)}. "
            f"{listing(fallen)} would see it each time, so {listing(fallen)} {is_not} not {digit}."
        )


def read_stem(layout: Layout, open_: int, premises: tuple[int, ...], removes: int) -> Stem | None:
    """A stem cell among the premises whose digits all exclude a mask, or None.

    Parameters
    ----------
    open_ : mask of the open candidates.
    premises : rule numbers, all of them cells.
    removes : mask of what falls, candidates of one digit.
    """
    if any(rule >= layout.cells for rule in premises):
        return None
    for cell in premises:
        if (layout.rules[cell].mask & open_).bit_count() < 3:
            continue
        for branches in _branches(layout, open_, cell, premises, removes):
            used = [rule for _, link in branches if link for rule in link.premises]
            if sorted([*set(used), cell]) == list(premises):
                return Stem(layout, cell, branches)
    return None


def _branches(
    layout: Layout, open_: int, cell: int, premises: tuple[int, ...], removes: int
) -> Iterator[tuple[tuple[int, Link | None], ...]]:
    """Every choice of a link, or of none, for each digit of a cell."""
    digit = ((removes & -removes).bit_length() - 1) // layout.cells
    plane = ((1 << layout.cells) - 1) << digit * layout.cells
    common = seen_from(layout, removes)
    others = tuple(rule for rule in premises if rule != cell)
    links = [link for rule in others for link in rule_links(layout, open_, rule)]
    links += [link for _, link in set_links(layout, open_, others)]
    links = [way for link in links for way in (link, link.turned) if not way.b & ~(plane & common)]
    choices: list[tuple[int, list[Link | None]]] = []
    for candidate in bits(layout.rules[cell].mask & open_):
        own = seen_from(layout, 1 << candidate)
        each = candidate // layout.cells
        same = ((1 << layout.cells) - 1) << each * layout.cells
        fitting: list[Link | None] = [way for way in links if not way.a & ~(same & own)]
        if common >> candidate & 1:
            fitting = [None]
        choices.append((each + 1, fitting))
    if removes & ~plane or any(not fitting for _, fitting in choices):
        return
    picks: list[tuple[tuple[int, Link | None], ...]] = [()]
    for each, fitting in choices:
        picks = [(*pick, (each, way)) for pick in picks for way in fitting]
    yield from picks
