"""What leads from candidate to candidate in a step, as a picture shows it: chains and stages.

A chain is read out of the premises alone (`techniques.reading`), so whatever has the shape of one
gets its links, also where a person named it otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from math import hypot

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits
from gridcrux.logic.deduction import Deduction
from gridcrux.techniques.reading import Chain, read_chain
from gridcrux.techniques.stages import Stage, stages

FAMILIES = ("chain", "almost locked set")
"""Families of techniques that are looked at as chains."""

MOST_FALLING = 3
"""Of more excluded candidates none is joined to the chain: they are struck, and lines would hide
the chain."""

Pair = tuple[int, int]


@dataclass(frozen=True)
class Links:
    """A chain, or what is followed from assumptions, as it is drawn.

    Attributes
    ----------
    first, second : masks of the candidates in the first and in the second node of each strong
        link.  In a colouring these are the two colours.  Of assumptions the second are what is
        assumed, the first what is true then.
    strong, weak : pairs of candidates, in the order of the chain; the nearest two where a node has
        several.
    together : pairs of candidates of one node, each with the next.
    falling : pairs of a candidate at an end of the chain and one that falls because of both ends;
        none where more than `MOST_FALLING` fall.
    follows : pairs of an assumption, or what is true then, and what is told as true next.
    broken : rules that lose every candidate under an assumption.
    """

    first: int
    second: int
    strong: tuple[Pair, ...]
    weak: tuple[Pair, ...]
    together: tuple[Pair, ...]
    falling: tuple[Pair, ...]
    follows: tuple[Pair, ...] = ()
    broken: tuple[int, ...] = ()


def links_of(deduction: Deduction) -> Links | None:
    """What leads from candidate to candidate; None where nothing does, or in no single order."""
    if told := stages(deduction):
        return _followed(deduction, told)
    chain = chain_of(deduction)
    if chain is None:
        return None
    layout = deduction.layout
    first = second = 0
    for link in chain.links:
        first |= link.a
        second |= link.b
    nodes = dict.fromkeys(node for link in chain.links for node in (link.a, link.b))
    return Links(
        first,
        second,
        tuple(_nearest(layout, link.a, link.b) for link in chain.links),
        tuple(_nearest(layout, one, two) for one, two in chain.weak_links),
        tuple(pair for node in nodes for pair in _along(layout, node)),
        tuple(_falling(chain, deduction.eliminates)),
    )


def chain_of(deduction: Deduction) -> Chain | None:
    """The chain that excludes all of it or, failing that, the first candidate alone.

    None for techniques that are no chains, and where the premises have no single order.
    """
    theorem = deduction.theorem
    if theorem is None or theorem.family not in FAMILIES or deduction.width < 2:
        return None
    falls = deduction.eliminates
    for removes in dict.fromkeys((falls, falls & -falls)):
        chain = read_chain(
            deduction.layout, deduction.roles.get("base", 0), deduction.premises, removes
        )
        if chain is not None:
            return chain
    return None


def _followed(deduction: Deduction, told: tuple[Stage, ...]) -> Links:
    """The stages of a forcing step: from each assumption along what is told to its end."""
    conflicts, falls = deduction.layout.conflicts, deduction.eliminates
    first = second = 0
    follows: list[Pair] = []
    falling: list[Pair] = []
    for stage in told:
        way = [stage.assumed, *(each.candidate for each in stage.follows if each.holds)]
        second |= 1 << stage.assumed
        first |= sum(1 << candidate for candidate in set(way[1:]))
        follows += pairwise(way)
        if falls.bit_count() <= MOST_FALLING:
            for gone in bits(stage.excludes & falls):
                causes = [candidate for candidate in way if conflicts[candidate] >> gone & 1]
                falling += [(causes[-1], gone)] if causes else []
    broken = dict.fromkeys(stage.broken for stage in told if stage.broken is not None)
    return Links(
        first & ~falls,
        second & ~falls,
        (),
        (),
        (),
        tuple(dict.fromkeys(falling)),
        tuple(dict.fromkeys(follows)),
        tuple(broken),
    )


def _falling(chain: Chain, eliminates: int) -> Iterator[Pair]:
    """What falls by both ends of a chain, with the nearest candidate of either end."""
    falls = eliminates & chain.falls
    if chain.closed or falls.bit_count() > MOST_FALLING:
        return
    for candidate in bits(falls):
        # A chain that ends where it begins has one end.
        for end in dict.fromkeys((chain.links[0].a, chain.links[-1].b)):
            yield _nearest(chain.layout, end, 1 << candidate)


def _nearest(layout: Layout, one: int, two: int) -> Pair:
    """The two candidates of two nodes whose cells are the nearest; the lowest of equal ones."""
    pairs = ((a, b) for a in bits(one) for b in bits(two))
    return min(pairs, key=lambda pair: (_distance(layout, *pair), pair))


def _along(layout: Layout, node: int) -> Iterator[Pair]:
    """The candidates of a node, each with the next in reading order."""
    members = list(bits(node))
    yield from pairwise(members)


def _distance(layout: Layout, one: int, two: int) -> float:
    (row, column), (other_row, other_column) = (
        divmod(candidate % layout.cells, layout.size) for candidate in (one, two)
    )
    return hypot(row - other_row, column - other_column)
