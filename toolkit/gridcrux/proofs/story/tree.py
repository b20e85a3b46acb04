"""A proof as a tree: what is supposed, what follows from what, and what it comes to.

It is put together from the ends back to the beginning, so that it holds only what is of use.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from gridcrux.grids.names import Claim
from gridcrux.grids.state import bits
from gridcrux.logic.following import World
from gridcrux.proofs.story.search import Split, broken_rule, case


@dataclass(frozen=True)
class Step:
    """A premise that has one candidate left, which is true.

    Attributes
    ----------
    because : what is known by which the premise has lost its others; nothing if the state had
        closed them.
    """

    rule: int
    candidate: int
    because: tuple[Claim, ...]


@dataclass(frozen=True)
class Node:
    """A part of a proof: what is supposed, what follows, and what it comes to.

    Attributes
    ----------
    assumed : what is supposed beside what is known already, or None.
    steps : what follows, in an order in which each can be seen from those before.
    rule : the premise that it comes to; None if the claim holds already as things stand.
    because : what is known by which this premise has lost what it has lost.
    left : the candidates that it has left.  If there are none, what is supposed cannot be;
        if there are some and no cases, each of them is the claim or excludes what the claim
        says to be false.
    cases : a part for each of them, or none.
    """

    assumed: Claim | None
    steps: tuple[Step, ...]
    rule: int | None
    because: tuple[Claim, ...]
    left: tuple[int, ...]
    cases: tuple[Node, ...]

    @property
    def size(self) -> int:
        """Number of steps, here and in all cases."""
        return len(self.steps) + sum(node.size for node in self.cases)

    @property
    def depth(self) -> int:
        """How many cases there are within each other."""
        return 1 + max(node.depth for node in self.cases) if self.cases else 0


def direct_proof(world: World, claim: Claim) -> Node | None:
    """A proof that supposes nothing and goes through no cases, if singles come to one.

    Parameters
    ----------
    world : the premises, with nothing known; it is settled here.
    """
    world.settle()
    shown = 1 << claim.candidate if claim.holds else world.layout.conflicts[claim.candidate]
    # A rule with nothing left is an end too: then nothing is possible, and any claim holds.
    ends = [_end(world, rule) for rule in world.rules if not world.left(rule) & ~shown]
    return min(ends, key=lambda node: (node.size, len(node.because)), default=None)


def _end(world: World, rule: int) -> Node:
    """What leads to all that a rule has left."""
    # If its last candidate became true by this very rule, that is the end and no step before it.
    before = next((n for n, fact in enumerate(world.facts) if fact.rule == rule), None)
    due = world.reasons(world.rules[rule], before)
    steps = _steps(world, world.trace(due), 0)
    return Node(None, steps, rule, _claims(world, due), tuple(bits(world.left(rule))), ())


def proof_by_contradiction(world: World, plan: Split | None, assumed: Claim | None) -> Node:
    """How a settled world is refuted by a plan.

    Parameters
    ----------
    assumed : what was supposed at first, if anything; the first fact of the world.
    """
    return _part(world, plan, assumed, 0 if assumed is None else 1, ())[0]


def _part(
    world: World, plan: Split | None, assumed: Claim | None, start: int, wanted: Collection[int]
) -> tuple[Node, set[int]]:
    """A part of the proof, and the numbers of all facts that it needs.

    Parameters
    ----------
    start : number of the first fact that follows from what this part supposes.
    wanted : facts that other parts need.
    """
    needed, cases = set[int](), list[Node]()
    if plan is None:
        rule = broken_rule(world, wanted)
    else:
        rule, here = plan.rule, len(world.facts)
        for candidate, way in zip(bits(world.left(rule)), plan.parts, strict=True):
            known = needed.union(wanted)
            supposed = Claim(candidate, True, world.layout)
            node, facts = _part(case(world, candidate), way, supposed, here + 1, known)
            cases.append(node)
            needed |= {number for number in facts if number < here}
    due = world.reasons(world.rules[rule], wanted=needed.union(wanted))
    found = world.trace(needed | due, wanted)
    left = tuple(bits(world.left(rule)))
    steps = _steps(world, found, start)
    return Node(assumed, steps, rule, _claims(world, due), left, tuple(cases)), set(found)


def _steps(world: World, found: dict[int, frozenset[int]], start: int) -> tuple[Step, ...]:
    """The singles among some facts, from one on."""
    return tuple(
        Step(fact.rule, fact.candidate, _claims(world, due))
        for number, due in found.items()
        if number >= start and (fact := world.facts[number]).rule is not None
    )


def _claims(world: World, numbers: Iterable[int]) -> tuple[Claim, ...]:
    facts = [world.facts[number] for number in sorted(numbers)]
    return tuple(Claim(fact.candidate, fact.holds, world.layout) for fact in facts)
