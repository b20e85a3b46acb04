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

from collections.abc import Iterable, Iterator
from functools import partial

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import technique
from gridcrux.logic.wording import listing
from gridcrux.techniques.compiled import shapes

Facts = dict[int, tuple[str, frozenset[int]]]
"""What came to be known, in order: in words, and the numbers of the facts that it is due to."""


_forcing = partial(technique, "forcing", any_length=True)


class _World:
    """What the premises have left under assumptions, and why."""

    def __init__(self, layout: Layout, left: dict[int, int]) -> None:
        self.layout = layout
        self.left = dict(left)
        self.facts: Facts = {}
        self.because: dict[int, frozenset[int]] = {}
        self.broken: int | None = None

    def within(self, candidate: int) -> _World:
        """A world in which a candidate is assumed too; what was known needs no reason there."""
        world = _World(self.layout, self.left)
        world.because = {c: frozenset() for c in self.because}
        world.make_true(candidate, frozenset())
        return world

    def make_true(self, candidate: int, due: frozenset[int]) -> None:
        for rival in bits(self.layout.conflicts[candidate]):
            self.exclude(rival, due)

    def exclude(self, candidate: int, due: frozenset[int]) -> None:
        if candidate in self.because:
            return
        self.because[candidate] = due
        for rule, mask in self.left.items():
            self.left[rule] = mask & ~(1 << candidate)
            if not self.left[rule] and self.broken is None:
                self.broken = rule

    def reasons(self, rule: int) -> frozenset[int]:
        """The facts by which a rule has lost what it has lost."""
        lost = [self.because.get(c, frozenset()) for c in bits(self.layout.rules[rule].mask)]
        return frozenset().union(*lost)

    def settle(self, levels: int) -> None:
        """Follow singles, then contradictions within, until a rule breaks or nothing is new."""
        used: set[int] = set()
        going = True
        while going and self.broken is None:
            going = False
            for rule, mask in self.left.items():
                if mask.bit_count() == 1 and rule not in used and self.broken is None:
                    used.add(rule)
                    candidate = mask.bit_length() - 1
                    self.make_true(candidate, self._note(self._single(rule, candidate), rule))
                    going = True
            if not going and levels and self.broken is None:
                going = self._refute_one(levels - 1)

    def _note(self, text: str, rule: int) -> frozenset[int]:
        self.facts[len(self.facts)] = (text, self.reasons(rule))
        return frozenset({len(self.facts) - 1})

    def _refute_one(self, levels: int) -> bool:
        """Refute a candidate by as few levels as may be; whether there is one."""
        tried = sorted({c for m in self.left.values() if m.bit_count() > 1 for c in bits(m)})
        for depth in range(levels + 1):
            for candidate in tried:
                world = self.within(candidate)
                world.settle(depth)
                if world.broken is not None:
                    text = f"{_denial(self.layout, candidate)} (or else {world.story()})"
                    # Whatever the world was told may have been of use.
                    self.facts[len(self.facts)] = (text, frozenset(self.facts))
                    self.exclude(candidate, frozenset({len(self.facts) - 1}))
                    return True
        return False

    def _single(self, rule: int, candidate: int) -> str:
        digit, cell = divmod(candidate, self.layout.cells)
        name = self.layout.cell_name(cell)
        if rule < self.layout.cells:
            return f"{name} can only be {digit + 1}"
        return f"{self.layout.rules[rule].name} can only be in {name}"

    def story(self) -> str:
        """How a rule lost every candidate."""
        assert self.broken is not None
        name = self.layout.rules[self.broken].name
        end = (
            f"{name} has no digit left" if name.startswith("cell ") else f"{name} has no place left"
        )
        return listing([*self.told(self.reasons(self.broken)), end])

    def told(self, due: Iterable[int]) -> Iterator[str]:
        """Facts in words, with those that they are due to, in order."""
        needed, waiting = set[int](), list(due)
        while waiting:
            fact = waiting.pop()
            if fact not in needed:
                needed.add(fact)
                waiting += self.facts[fact][1]
        for fact in sorted(needed):
            yield self.facts[fact][0]


def _world(step: Deduction) -> _World:
    """The premises before anything is assumed."""
    rules = step.layout.rules
    return _World(step.layout, {r: rules[r].mask & step.roles["base"] for r in step.premises})


def _denial(layout: Layout, candidate: int) -> str:
    digit, cell = divmod(candidate, layout.cells)
    return f"{layout.cell_name(cell)} is not {digit + 1}"


def _shown(step: Deduction) -> list[int]:
    return list(bits(step.eliminates or step.removes))


def _contradiction_sentence(step: Deduction, levels: int) -> str:
    candidate = _shown(step)[0]
    digit, cell = divmod(candidate, step.layout.cells)
    world = _world(step).within(candidate)
    world.settle(levels)
    if world.broken is None:
        return step.plain_sentence
    name = step.layout.cell_name(cell)
    return f"If {name} were {digit + 1}: {world.story()}. So {name} is not {digit + 1}."


def _forcing_sentence(step: Deduction, houses: bool) -> str:
    layout = step.layout
    for start in step.premises:
        if (start >= layout.cells) != houses:
            continue
        ways = [_way(step, start, branch) for branch in bits(_world(step).left[start])]
        if None not in ways:
            denials = listing(_denial(layout, candidate) for candidate in _shown(step))
            return f"{layout.rules[start].name.capitalize()}: {'; '.join(map(str, ways))}. " + (
                f"Each time {denials}."
            )
    return step.plain_sentence


def _way(step: Deduction, start: int, branch: int) -> str | None:
    """What a candidate leads to, if it excludes all that falls."""
    world = _world(step).within(branch)
    world.settle(0)
    digit, cell = divmod(branch, step.layout.cells)
    case = f"if {digit + 1}" if start < step.layout.cells else f"if {step.layout.cell_name(cell)}"
    shown = _shown(step)
    if any(candidate not in world.because for candidate in shown):
        return None
    told = list(world.told(frozenset().union(*(world.because[c] for c in shown))))
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
