"""The shortest proof by cases: which rule to go through where singles stall.

What is counted is what has to be told: a case, and a fact that follows in it.  Where singles
stall every premise is tried, and what is left of all premises says how much is still to come, so
that it is worked out once.  Of the facts between two splits all are counted, though some may
turn out to be of no use; of those that end a case only the ones that it needs.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field

from gridcrux.grids.state import bits
from gridcrux.logic.following import World

LIMIT = 3000
"""Cases that are looked into until the best proof so far is taken."""


@dataclass(frozen=True)
class Split:
    """A rule to go through, and for each candidate that it has left how its case goes on.

    Attributes
    ----------
    cost : number of cases and of facts in them.
    parts : by candidate, ascending; None where singles break a rule.
    """

    cost: int
    rule: int
    parts: tuple[Split | None, ...]


class Satisfied(Exception):
    """Every rule has a true candidate, and no two of them conflict; `world` says which."""

    def __init__(self, world: World) -> None:
        super().__init__()
        self.world = world


def shortest(world: World) -> Split | None:
    """How to refute a settled world; None if one of its rules is broken already.

    Raises
    ------
    Satisfied : it cannot be refuted.
    """
    if world.broken:
        return None
    first = _Search(1).split(world, None)
    assert first is not None
    return _Search(len(world.rules)).split(world, first.cost) or first


def case(world: World, candidate: int) -> World:
    """What follows by singles once one more candidate is assumed."""
    inner = world.copy()
    inner.assume(candidate)
    inner.settle()
    return inner


def story_of(world: World, rule: int, wanted: Collection[int] = ()) -> dict[int, frozenset[int]]:
    """The facts by which a rule has lost what it has lost, as `World.trace` gives them."""
    return world.trace(world.reasons(world.rules[rule], wanted=wanted), wanted)


def broken_rule(world: World, wanted: Collection[int] = ()) -> int:
    """The broken rule that takes the fewest facts beside those that are wanted anyway."""
    return min(
        world.broken,
        key=lambda rule: sum(n not in wanted for n in story_of(world, rule, wanted)),
    )


@dataclass
class _Search:
    """Depth first, with a bound on what may still be told.

    Attributes
    ----------
    width : how many rules are tried where singles stall, those with the fewest left first.
    known : by all that is left: a bound for which the search was done, and what it found.
    """

    width: int
    known: dict[int, tuple[int | None, Split | None]] = field(default_factory=dict)
    spent: int = 0

    def split(self, world: World, bound: int | None) -> Split | None:
        """The cheapest way on from a settled world, or None if it costs `bound` or more."""
        left = {rule: mask for rule in world.rules if (mask := world.left(rule)) & mask - 1}
        if not left:
            raise Satisfied(world)
        key = 0
        for mask in left.values():
            key |= mask
        if key in self.known:
            searched, found = self.known[key]
            if found is not None:
                return found if bound is None or found.cost < bound else None
            if searched is not None and bound is not None and bound <= searched:
                return None
        best, below = None, bound
        by_size = sorted(left, key=lambda rule: (left[rule].bit_count(), rule))
        for rule in by_size[: self.width]:
            if self.spent > LIMIT and self.width > 1:
                break
            tried = self._through(world, rule, left[rule], below)
            if tried is not None:
                best, below = tried, tried.cost
        self.known[key] = bound, best
        return best

    def _through(self, world: World, rule: int, mask: int, bound: int | None) -> Split | None:
        """A proof that goes through one rule, if it costs less than `bound`."""
        cost, waiting = 0, mask.bit_count()
        parts: list[Split | None] = []
        for candidate in bits(mask):
            if bound is not None and cost + waiting >= bound:
                return None
            self.spent += 1
            inner, part = case(world, candidate), None
            waiting -= 1
            facts = len(inner.facts) - len(world.facts)
            if inner.broken:
                told = story_of(inner, broken_rule(inner))
                facts = 1 + sum(number > len(world.facts) for number in told)
            else:
                allowed = None if bound is None else bound - cost - facts - waiting
                part = self.split(inner, allowed)
                if part is None:
                    return None
                facts += part.cost
            cost += facts
            parts.append(part)
        return None if bound is not None and cost >= bound else Split(cost, rule, tuple(parts))
