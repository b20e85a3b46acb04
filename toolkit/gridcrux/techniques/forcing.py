"""Last resorts: follow an assumption by singles to what cannot be.

Theorem.  Assume a candidate.  A rule that has one candidate left, after all that conflicts
with what is true is gone, makes that one true.  If some rule ends without any, the candidate is
false.  If all that a rule has left leads to the same exclusion, that candidate is false.

Why.  The first is reductio ad absurdum: the rule has a true candidate.  The second is a proof by
cases: one of the candidates of the rule is true, whichever it is.

The premises are the rules that became single, the one that broke, and the one whose candidates
were gone through.  Nothing is guessed: what is found is what follows from the premises, whatever
the rest of the grid is.  As few premises as may be are looked for, and none is kept to spare.
Where singles stall within an assumption, a candidate may be refuted there in the same way: a
nested contradiction.

Forcing is reported only where no contradiction does with fewer premises, and a nested
contradiction only where there is no plain one.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import partial

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.following import Fact, World
from gridcrux.logic.technique import technique
from gridcrux.logic.wording import (
    candidates_in_words,
    listing,
    nothing_left,
    single_in_words,
    verdict_in_words,
)
from gridcrux.techniques.compiled import shapes

_forcing = partial(technique, "forcing", any_length=True)

_CANNOT = "which cannot be"


class _World(World):
    """What the premises have left under assumptions, where others may be refuted within."""

    def __init__(self, layout: Layout, rules: Mapping[int, int], false: int = 0) -> None:
        super().__init__(layout, rules, false)
        self.refuted: dict[int, str] = {}

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
                    denied = verdict_in_words(self.layout, candidate, False)
                    self.refuted[len(self.facts)] = f"{denied} (or else {world.story()})"
                    # Whatever the world was told may have been of use.
                    self.learn(Fact(candidate, False, None, frozenset(range(len(self.facts)))))
                    return True
        return False

    def story(self) -> str:
        """How a rule lost every candidate."""
        broken = self.broken[0]
        told = self.told(self.reasons(self.rules[broken]))
        return listing([*told, nothing_left(self.layout, broken)])

    def told(self, due: Iterable[int]) -> Iterator[str]:
        """Facts in words, with those that they are due to, in order."""
        for number in self.trace(due):
            fact = self.facts[number]
            if fact.rule is not None:
                yield single_in_words(self.layout, fact.rule, fact.candidate)
            elif number in self.refuted:
                yield self.refuted[number]


def _world(step: Deduction) -> _World:
    """The premises before anything is assumed."""
    rules = step.layout.rules
    return _World(step.layout, {r: rules[r].mask & step.roles["base"] for r in step.premises})


def _contradiction_sentence(step: Deduction, levels: int) -> str:
    candidate = next(bits(step.eliminates or step.removes))
    digit, cell = divmod(candidate, step.layout.cells)
    world = _world(step).within(candidate)
    world.follow(levels)
    if not world.broken:
        return step.plain_sentence
    name = step.layout.cell_name(cell)
    return f"If {name} were {digit + 1}: {world.story()}. So {name} is not {digit + 1}."


def _forcing_sentence(step: Deduction, houses: bool) -> str:
    layout, shown = step.layout, step.eliminates or step.removes
    for start in step.premises:
        if (start >= layout.cells) != houses:
            continue
        ways = [_way(step, start, branch) for branch in bits(_world(step).left(start))]
        if None not in ways:
            denials = listing(verdict_in_words(layout, c, False) for c in bits(shown))
            cases = "; ".join(map(str, ways))
            when = "In each case that is possible" if _CANNOT in cases else "Each time"
            return f"{layout.rules[start].name.capitalize()}: {cases}. {when} {denials}."
    return step.plain_sentence


def _way(step: Deduction, start: int, branch: int) -> str | None:
    """What a candidate leads to, if it excludes all that falls or cannot be."""
    world = _world(step).within(branch)
    world.follow(0)
    shown = step.eliminates or step.removes
    case = f"if {candidates_in_words(step.layout, start, 1 << branch)}"
    if shown & ~world.false:
        return f"{case}, {world.story()}, {_CANNOT}" if world.broken else None
    told = list(world.told(world.reasons(shown)))
    return f"{case}, {listing(told)}" if told else f"{case}, it is seen at once"


@_forcing("cell-forcing", shapes.CELL_FORCING, 2)
def cell_forcing(step: Deduction) -> str:
    """If every digit of a cell leads to the same exclusion, by singles, it holds.

    The cell holds one of its digits.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.forcing import cell_forcing
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "cell r2c4: 2 3", "cell r4c4: 2 3")
    >>> print(available(state, Repertoire((cell_forcing,)))[0])
    Cell r2c4: if 2, r4c4 can only be 3; if 3, r4c4 can only be 2. Each time r1c4 is not 2,
    r3c4 is not 2, r1c4 is not 3 and r3c4 is not 3.
    """
    return _forcing_sentence(step, houses=False)


@_forcing("house-forcing", shapes.HOUSE_FORCING, 2)
def house_forcing(step: Deduction) -> str:
    """If every place of a digit in a house leads to the same exclusion, by singles, it holds.

    The digit has one of its places.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.forcing import house_forcing
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "cell r4c4: 2 3", "3 in box 3: r4c1 r4c2")
    >>> print(available(state, Repertoire((house_forcing,)))[0])
    3 in row 3: if r3c3, r4c4 can only be 2; if r3c4, r4c4 can only be 2. Each time r1c4 is
    not 2, r2c4 is not 2, r3c3 is not 2, r3c4 is not 2, r4c1 is not 2, r4c2 is not 2, r4c3 is
    not 2, r4c3 is not 3 and r4c4 is not 3.
    """
    return _forcing_sentence(step, houses=True)


@_forcing("contradiction", shapes.CONTRADICTION, 1)
def contradiction(step: Deduction) -> str:
    """A candidate is false if singles lead from it to a rule without any candidate.

    Each rule has a true candidate.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.forcing import contradiction
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "cell r1c3: 1 4", "cell r2c3: 1 4")
    >>> print(available(state, Repertoire((contradiction,)))[0])
    If r1c4 were 1: r1c3 can only be 4 and cell r2c3 has no digit left. So r1c4 is not 1.
    """
    return _contradiction_sentence(step, 0)


@_forcing("nested-contradiction", shapes.NESTED_CONTRADICTION, 2)
def nested_contradiction(step: Deduction) -> str:
    """As a contradiction, with others within the assumption where singles stall.

    What is refuted under the assumption is false under the assumption.  Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.forcing import nested_contradiction
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(boxes(2, 2), "2 in row 1: r1c2 r1c3 r1c4", "2 in row 2: r2c3 r2c4")
    >>> print(available(state, Repertoire((nested_contradiction,)))[0])
    If r1c2 were 1: r1c3 is not 2 (or else 2 in row 2 has no place left), 2 in row 1 can only
    be in r1c4 and 2 in row 2 has no place left. So r1c2 is not 1.
    """
    return _contradiction_sentence(step, 1)


TECHNIQUES = (cell_forcing, house_forcing, contradiction, nested_contradiction)
