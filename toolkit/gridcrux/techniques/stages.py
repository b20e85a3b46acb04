"""What a forcing deduction assumes, and what becomes true one after the other, as data.

Its sentence is made of these stages (`forcing`), and so may a picture be.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.following import Fact, World


@dataclass(frozen=True)
class Consequence:
    """What comes of an assumption: a candidate is true, or it is false.

    Attributes
    ----------
    rule : the rule that has no other candidate left, if the candidate is true; else None.
    refutation : what the candidate would lead to, if it is false; else None.
    """

    candidate: int
    rule: int | None
    refutation: Stage | None = field(default=None, repr=False)

    @property
    def holds(self) -> bool:
        """Whether the candidate is true."""
        return self.rule is not None


@dataclass(frozen=True)
class Stage:
    """One assumption, and how it ends.

    Attributes
    ----------
    assumed : the candidate that is assumed to be true.
    start : the rule whose candidates are gone through, a stage for each, or None.
    follows : what comes of it, in order, as far as it is of use.
    broken : the rule that loses every candidate, or None.
    excludes : mask of what falls that is excluded then; 0 where a rule is broken.
    """

    assumed: int
    start: int | None
    follows: tuple[Consequence, ...]
    broken: int | None
    excludes: int


def stages(step: Deduction) -> tuple[Stage, ...]:
    """The stages of a deduction in the order of its sentence; none if it is no forcing one.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "cell r2c4: 2 3", "cell r4c4: 2 3")
    >>> one, two = stages(available(state, "cell-forcing")[0])
    >>> one.assumed, one.start, one.follows, one.broken
    (23, 7, (Consequence(candidate=47, rule=15),), None)
    """
    match step.technique:
        case "cell-forcing":
            return _cases(step, houses=False)
        case "house-forcing":
            return _cases(step, houses=True)
        case "contradiction":
            return _refutation(step, levels=0)
        case "nested-contradiction":
            return _refutation(step, levels=1)
    return ()


class _World(World):
    """What the premises have left under assumptions, where others may be refuted within."""

    def __init__(self, layout: Layout, rules: Mapping[int, int], false: int = 0) -> None:
        super().__init__(layout, rules, false)
        self.refuted: dict[int, Stage] = {}

    def within(self, candidate: int) -> _World:
        """A world in which a candidate is assumed too; what was known needs no reason there."""
        world = _World(self.layout, self.rules, self.false)
        world.assume(candidate)
        return world

    def follow(self, levels: int) -> None:
        """Follow singles, then contradictions within, until a rule breaks or nothing is new."""
        self.settle()
        while levels and not self.broken and self._refute_one(levels - 1):
            self.settle()

    def _refute_one(self, levels: int) -> bool:
        """Refute a candidate by as few levels as may be; whether there is one."""
        left = map(self.left, self.rules)
        tried = sorted({c for mask in left if mask & mask - 1 for c in bits(mask)})
        for depth in range(levels + 1):
            for candidate in tried:
                world = self.within(candidate)
                world.follow(depth)
                if world.broken:
                    self.refuted[len(self.facts)] = world.broken_stage(candidate)
                    # Whatever the world was told may have been of use.
                    self.learn(Fact(candidate, False, None, frozenset(range(len(self.facts)))))
                    return True
        return False

    def broken_stage(self, assumed: int, start: int | None = None) -> Stage:
        """How a rule lost every candidate."""
        broken = self.broken[0]
        told = tuple(self._told(self.reasons(self.rules[broken])))
        return Stage(assumed, start, told, broken, 0)

    def excluding_stage(self, assumed: int, start: int, shown: int) -> Stage:
        """How all of a mask came to be false."""
        return Stage(assumed, start, tuple(self._told(self.reasons(shown))), None, shown)

    def _told(self, due: Iterable[int]) -> Iterator[Consequence]:
        """Facts with those that they are due to, in order, but for what is assumed."""
        for number in self.trace(due):
            fact = self.facts[number]
            if fact.rule is not None or number in self.refuted:
                yield Consequence(fact.candidate, fact.rule, self.refuted.get(number))


def _world(step: Deduction) -> _World:
    """The premises before anything is assumed."""
    rules = step.layout.rules
    return _World(step.layout, {r: rules[r].mask & step.roles["base"] for r in step.premises})


def _refutation(step: Deduction, levels: int) -> tuple[Stage, ...]:
    candidate = next(bits(step.eliminates or step.removes))
    world = _world(step).within(candidate)
    world.follow(levels)
    return (world.broken_stage(candidate),) if world.broken else ()


def _cases(step: Deduction, houses: bool) -> tuple[Stage, ...]:
    """A stage for each candidate of the first premise that leads to what falls in each case."""
    for start in step.premises:
        if (start >= step.layout.cells) == houses:
            ways = [_case(step, start, branch) for branch in bits(_world(step).left(start))]
            known = tuple(way for way in ways if way is not None)
            if len(known) == len(ways):
                return known
    return ()


def _case(step: Deduction, start: int, branch: int) -> Stage | None:
    """What a candidate leads to, if it excludes all that falls or cannot be."""
    world = _world(step).within(branch)
    world.follow(0)
    shown = step.eliminates or step.removes
    if not shown & ~world.false:
        return world.excluding_stage(branch, start, shown)
    return world.broken_stage(branch, start) if world.broken else None
