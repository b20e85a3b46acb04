"""Follow singles among a few rules, and say afterwards what each came from.

A rule that has one candidate left, after all that conflicts with what is true is gone, makes
that one true.  Reasons are looked up backwards from what one wants to tell, so that as few facts
as may be are told: what is assumed is told anyway, so it is the first choice for a reason.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from copy import copy
from typing import NamedTuple, Self

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits


class Fact(NamedTuple):
    """That a candidate is true, or that it is false.

    Attributes
    ----------
    rule : the rule that has it as its last candidate, or None.
    due : the numbers of the facts that it comes from: none if it is assumed; None if they are
        those by which the rule has lost its other candidates.
    """

    candidate: int
    holds: bool
    rule: int | None
    due: frozenset[int] | None


class World:
    """What some rules have left, once some candidates are known to be true or false.

    Parameters
    ----------
    rules : for each rule number the candidates that the rule has at first.
    false : mask of what is false for a reason that need not be told.

    Attributes
    ----------
    facts : what came to be known, in order; their numbers are their places.
    false : mask of all that is false.
    broken : the rules that have nothing left, in their order.
    """

    def __init__(self, layout: Layout, rules: Mapping[int, int], false: int = 0) -> None:
        self.layout, self.rules = layout, rules
        self.given = self.false = false
        self.true = 0
        self.facts: list[Fact] = []
        self.broken: list[int] = []
        self._look()

    def copy(self) -> Self:
        """A world in which other things may be assumed too."""
        world = copy(self)
        world.facts = list(self.facts)
        return world

    def left(self, rule: int) -> int:
        """Mask of what a rule has left."""
        return self.rules[rule] & ~self.false

    def assume(self, candidate: int, holds: bool = True) -> None:
        """Take a candidate to be true, or false."""
        self.learn(Fact(candidate, holds, None, frozenset()))

    def learn(self, fact: Fact) -> None:
        self.facts.append(fact)
        if fact.holds:
            self.true |= 1 << fact.candidate
            self.false |= self.layout.conflicts[fact.candidate]
        else:
            self.false |= 1 << fact.candidate
        self._look()

    def _look(self) -> None:
        possible = ~self.false
        self.broken = [rule for rule, mask in self.rules.items() if not mask & possible]

    def settle(self) -> None:
        """Follow singles until a rule breaks or nothing is new."""
        going = True
        while going and not self.broken:
            going = False
            for rule, mask in self.rules.items():
                left = mask & ~self.false
                if left & left - 1 or left & self.true:
                    continue
                self.learn(Fact(left.bit_length() - 1, True, rule, None))
                going = True
                if self.broken:
                    break

    def reasons(
        self, lost: int, before: int | None = None, wanted: Collection[int] = ()
    ) -> frozenset[int]:
        """Numbers of few facts that make all candidates of a mask false.

        Parameters
        ----------
        before : only facts with smaller numbers are looked at.
        wanted : facts that will be told in any case.
        """
        among = self.facts[:before]
        ways = [
            [number for number, fact in enumerate(among) if self._excludes(fact, candidate)]
            for candidate in bits(lost & self.false & ~self.given)
        ]

        def price(number: int) -> tuple[bool, bool, int]:
            return among[number].due != frozenset(), number not in wanted, number

        chosen: set[int] = set()
        # What has one reason only comes first, as that one may do for others too.
        for way in sorted(ways, key=len):
            if chosen.isdisjoint(way):
                chosen.add(min(way, key=price))
        for number in sorted(chosen, key=price, reverse=True):
            if all(chosen.intersection(way) != {number} for way in ways):
                chosen.remove(number)
        return frozenset(chosen)

    def _excludes(self, fact: Fact, candidate: int) -> bool:
        if fact.holds:
            return bool(self.layout.conflicts[fact.candidate] >> candidate & 1)
        return fact.candidate == candidate

    def trace(self, due: Iterable[int], wanted: Collection[int] = ()) -> dict[int, frozenset[int]]:
        """Some facts and all that they come from, in order; for each what it is due to."""
        needed, found = set(due), dict[int, frozenset[int]]()
        for number in range(len(self.facts) - 1, -1, -1):
            if number not in needed:
                continue
            fact = self.facts[number]
            own = fact.due
            if own is None:
                assert fact.rule is not None
                own = self.reasons(self.rules[fact.rule], number, needed.union(wanted))
            found[number] = own
            needed |= own
        return dict(sorted(found.items()))
