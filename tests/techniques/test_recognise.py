"""Shapes made by hand and the same spoiled, with a SAT solver as the judge."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import SimpleNamespace

import pytest

from gridcrux.grids.layout import named
from gridcrux.grids.names import parse_candidate
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.proofs.certify import certify
from gridcrux.techniques.recognise import names, recognise
from gridcrux.techniques.sketch import sketch
from samples import JAGGED


@dataclass(frozen=True)
class Shape:
    """A premise set made by hand: in words, its state and what it concludes."""

    name: str
    state: State
    deduction: Deduction

    @classmethod
    def parse(cls, text: str) -> Shape:
        """Read "name layout: conclusions", then what each premise has left.

        A line that begins with "also" is a fact of the state and no premise.
        """
        head, *lines = text.strip().split("\n")
        title, _, conclusions = head.partition(":")
        name, size = title.split()
        layout = JAGGED if size == JAGGED.name else named(size)
        facts = [line.strip() for line in lines]
        state = sketch(layout, *(fact.removeprefix("also ") for fact in facts))
        rules = [
            layout.rule_numbers[fact.partition(":")[0]]
            for fact in facts
            if not fact.startswith("also")
        ]
        candidates = [parse_candidate(layout, candidate) for candidate in conclusions.split()]
        return cls(name, state, _deduction(state, tuple(sorted(rules)), candidates))

    def __str__(self) -> str:
        return self.name


def _deduction(state: State, rules: tuple[int, ...], removes: list[int]) -> Deduction:
    """What a record of these premises would say, with every closed candidate relied on."""
    mask = sum(1 << candidate for candidate in removes)
    every = 0
    for rule in rules:
        every |= state.layout.rules[rule].mask
    relies = every & ~state.open
    return Deduction(
        state.layout, "made by hand", len(rules), rules, mask, relies, mask & state.open, None
    )


TEXT = """
pointing 2x2: r1c3=1 r1c4=1
    1 in box 1: r1c1 r1c2

pointing jagged-6: r1c5=1
    1 in region 1: r1c1 r1c3

claiming 2x2: r2c1=1 r2c2=1
    1 in row 1: r1c1 r1c2

claiming jagged-6: r1c2=1
    1 in column 1: r1c1 r2c1

naked-pair 2x2: r1c3=1 r2c1=2
    cell r1c1: 1 2
    cell r1c2: 1 2

naked-triple 3x3: r1c9=2 r1c8=1
    cell r1c1: 1 2
    cell r1c2: 2 3
    cell r1c5: 1 3

naked-quad 3x3: r3c1=1
    cell r1c1: 1 2 3 4
    cell r2c2: 1 2 3 4
    cell r3c3: 1 2 3 4
    cell r1c2: 3 4

hidden-pair 2x3: r1c1=3
    1 in row 1: r1c1 r1c5
    2 in row 1: r1c1 r1c5

hidden-triple latin-6: r1c1=4 r1c5=6
    1 in row 1: r1c1 r1c5
    2 in row 1: r1c1 r1c6
    3 in row 1: r1c5 r1c6

hidden-quad 3x3: r1c1=5 r3c3=9
    1 in box 1: r1c1 r1c2 r2c1 r3c3
    2 in box 1: r1c1 r1c2 r2c1 r3c3
    3 in box 1: r1c1 r1c2 r2c1 r3c3
    4 in box 1: r1c1 r1c2 r2c1 r3c3

x-wing 2x3: r2c1=1 r6c5=1
    1 in row 1: r1c1 r1c5
    1 in row 4: r4c1 r4c5

x-wing latin-4: r1c2=1
    1 in column 1: r1c1 r3c1
    1 in column 4: r1c4 r3c4

swordfish 3x3: r2c1=1 r9c7=1
    1 in row 1: r1c1 r1c4
    1 in row 4: r4c4 r4c7
    1 in row 7: r7c1 r7c7

jellyfish 3x3: r1c2=1 r9c9=1
    1 in column 1: r1c1 r4c1 r7c1 r9c1
    1 in column 4: r1c4 r4c4 r7c4 r9c4
    1 in column 5: r1c5 r4c5 r7c5 r9c5
    1 in column 8: r1c8 r4c8 r7c8 r9c8

skyscraper 3x3: r2c9=5 r6c8=5
    5 in row 1: r1c2 r1c8
    5 in row 4: r4c2 r4c9

skyscraper 2x3: r5c2=5
    5 in column 1: r2c1 r6c1
    5 in column 4: r2c4 r5c4

two-string-kite 3x3: r7c8=5
    5 in row 1: r1c2 r1c8
    5 in column 1: r2c1 r7c1

two-string-kite 2x2: r4c4=1
    1 in row 1: r1c2 r1c4
    1 in column 1: r2c1 r4c1

turbot-chain 3x3: r1c8=5
    5 in row 5: r5c2 r5c8
    5 in box 1: r2c2 r1c3

turbot-chain 3x3-diagonals: r7c9=5
    5 in diagonal 1: r2c2 r7c7
    5 in row 3: r3c1 r3c9

empty-rectangle 3x3: r2c8=5
    5 in box 1: r2c1 r2c2 r1c3 r3c3
    5 in row 7: r7c3 r7c8

empty-rectangle 3x3: r7c3=5
    5 in box 1: r2c1 r2c3 r3c3
    5 in column 8: r2c8 r7c8

simple-colouring 3x3: r2c3=5
    5 in row 1: r1c2 r1c8
    5 in row 4: r4c8 r4c5
    5 in row 7: r7c5 r7c3
    also 5 in column 8: r1c8 r4c8
    also 5 in column 5: r4c5 r7c5

multi-colouring 3x3: r2c3=5
    5 in row 1: r1c2 r1c8
    5 in row 4: r4c8 r4c5
    5 in row 7: r7c5 r7c3
    also 5 in column 8: r1c8 r4c8

x-chain 3x3: r2c3=5
    5 in row 1: r1c2 r1c8
    5 in row 4: r4c8 r4c5
    5 in row 7: r7c5 r7c3

grouped-x-chain 3x3: r1c4=5
    5 in box 1: r1c1 r1c2 r2c1 r2c2
    5 in box 3: r2c7 r2c8 r1c9

xy-wing 3x3: r5c5=3
    cell r1c1: 1 2
    cell r1c5: 1 3
    cell r5c1: 2 3

xyz-wing 3x3: r1c2=3 r1c3=3
    cell r1c1: 1 2 3
    cell r1c5: 1 3
    cell r2c2: 2 3

w-wing 3x3: r1c8=2 r5c1=2
    cell r1c1: 1 2
    cell r5c8: 1 2
    1 in row 3: r3c1 r3c8

remote-pair 3x3: r1c8=1 r1c8=2 r5c1=2
    cell r1c1: 1 2
    cell r1c5: 1 2
    cell r5c5: 1 2
    cell r5c8: 1 2

xy-chain 3x3: r1c8=1 r5c1=1
    cell r1c1: 1 2
    cell r1c5: 2 3
    cell r5c5: 3 4
    cell r5c8: 1 4

alternating-chain 3x3: r1c1=2
    1 in row 1: r1c1 r1c8
    2 in column 8: r1c8 r6c8
    2 in column 5: r1c5 r6c5

alternating-loop 3x3: r1c8=3 r6c4=2 r1c1=4
    1 in row 1: r1c1 r1c8
    2 in column 8: r1c8 r6c8
    2 in column 1: r6c1 r1c1

grouped-chain 3x3: r1c1=2
    1 in row 1: r1c1 r1c8
    2 in column 8: r1c8 r5c8 r6c8
    2 in column 7: r4c7 r1c7

grouped-loop 3x3: r1c8=3 r2c4=2 r3c2=1
    1 in row 1: r1c1 r1c8
    2 in box 3: r1c8 r2c7 r2c9
    cell r2c1: 1 2

als-xz 3x3: r2c2=4 r3c2=4
    cell r1c1: 1 2 4
    cell r1c2: 2 4
    cell r5c1: 1 5
    cell r5c2: 4 5

als-loop 3x3: r1c5=1 r2c5=4 r3c1=2 r3c9=5
    cell r1c1: 1 2 3
    cell r2c2: 2 3 4
    cell r3c3: 2 3
    cell r1c8: 1 5 6
    cell r2c9: 4 5 6
    cell r3c7: 5 6

als-chain 3x3: r2c3=4
    cell r1c1: 1 2 4
    cell r1c2: 2 4
    cell r5c1: 1 6 7
    cell r5c2: 6 7
    cell r5c3: 5 6 7
    cell r8c3: 4 5

stem-cell 3x3: r1c1=9
    cell r5c5: 1 2 3
    cell r5c1: 1 9
    cell r1c5: 2 9
    cell r4c5: 3 7
    cell r4c1: 7 9

set-chain 3x3: r7c1=1
    cell r1c1: 1 2 3
    cell r1c2: 2 3
    3 in column 5: r1c5 r7c5
    cell r7c4: 1 3

set-loop 3x3: r1c7=3 r2c1=1 r1c9=2
    cell r1c1: 1 2 3
    cell r1c2: 2 3
    3 in column 5: r1c5 r7c5
    cell r7c1: 1 3

finned-x-wing 3x3: r4c8=5 r6c8=5
    5 in row 1: r1c2 r1c8
    5 in row 5: r5c2 r5c8 r5c9

sashimi-x-wing 3x3: r4c8=5 r6c8=5
    5 in row 1: r1c2 r1c8
    5 in row 5: r5c2 r5c7 r5c9

finned-swordfish 3x3: r8c7=5
    5 in row 1: r1c1 r1c4
    5 in row 4: r4c4 r4c7
    5 in row 7: r7c1 r7c7 r7c8

two-sector-set 3x3: r1c5=1 r3c3=3 r3c1=4
    cell r1c1: 1 2 3 4
    cell r1c2: 1 2 3 4
    cell r1c8: 1 2
    cell r2c2: 3 4

cell-forcing 3x3: r1c1=9
    cell r5c5: 1 2 3
    cell r5c1: 1 9
    cell r1c5: 2 9
    3 in column 9: r5c9 r1c9
    cell r1c3: 3 9

house-forcing 3x3: r1c1=9
    1 in row 5: r5c1 r5c5 r5c9
    cell r3c1: 1 9
    cell r1c5: 1 9
    cell r4c9: 1 7
    cell r1c9: 7 9
"""
SHAPES = [Shape.parse(block) for block in TEXT.split("\n\n")]
each_shape = pytest.mark.parametrize("shape", SHAPES, ids=str)


@each_shape
def test_a_shape_is_named_and_its_name_comes_first(shape: Shape) -> None:
    assert certify(shape.deduction).holds
    assert names(shape.deduction, shape.state)[0] == shape.name
    assert recognise(shape.deduction, shape.state) == shape.name


@each_shape
def test_nothing_but_the_bare_premises_is_looked_at(shape: Shape) -> None:
    made = shape.deduction
    bare = SimpleNamespace(
        layout=made.layout, premises=made.premises[::-1], removes=made.removes, places=None
    )
    assert names(bare, shape.state) == names(made, shape.state)


@each_shape
def test_a_shape_with_a_premise_missing_has_lost_its_name(shape: Shape) -> None:
    made = shape.deduction
    for rule in made.premises:
        left = tuple(other for other in made.premises if other != rule)
        named_still = names(replace(made, premises=left), shape.state)
        assert not named_still or certify(replace(made, premises=left)).holds


def _reopened(shape: Shape) -> Iterator[tuple[State, Deduction]]:
    """A shape with one more candidate open in a premise, in every way."""
    made = shape.deduction
    removes = list(bits(made.removes))
    for candidate in bits(made.relies):
        state = State(made.layout, shape.state.open | 1 << candidate)
        yield state, _deduction(state, made.premises, removes)


@each_shape
def test_a_shape_with_a_premise_spoiled_has_names_only_if_it_still_holds(shape: Shape) -> None:
    lost = 0
    for state, made in _reopened(shape):
        found = names(made, state)
        holds = certify(made).holds
        assert holds or not found, (found, made.premise_names)
        lost += not holds
    assert lost > 0


@each_shape
def test_what_has_a_name_follows_and_what_follows_has_a_name(shape: Shape) -> None:
    """Every candidate of the grid as the conclusion; a SAT solver says whether it follows."""
    verdicts = Counter[tuple[bool, bool]]()
    for candidate in bits(shape.state.open):
        made = _deduction(shape.state, shape.deduction.premises, [candidate])
        verdicts[bool(names(made, shape.state)), certify(made).holds] += 1
    assert not verdicts[True, False]
    assert verdicts[True, True]
    assert verdicts[False, False]
    # Depth two is enough for premise sets as small as these.
    assert not verdicts[False, True]


LENIENT = ("cell-forcing", "house-forcing")
"""What is named by what follows, whether or not every premise is needed for it."""


@each_shape
def test_every_premise_takes_part(shape: Shape) -> None:
    """With one more cell that has nothing to do with it, the shape is another one."""
    made, state = shape.deduction, shape.state
    layout = state.layout
    for cell in range(layout.cells - 1, -1, -1):
        if cell not in made.premises and (layout.rules[cell].mask & made.relies) == 0:
            break
    two = layout.rules[cell].mask & ~sum(1 << (cell + d * layout.cells) for d in (0, 1))
    more = replace(made, premises=tuple(sorted({*made.premises, cell})))
    found = names(more, state.without(two))
    assert shape.name in LENIENT or shape.name not in found


SPOILED = """
skyscraper 3x3: r2c9=5
    5 in row 1: r1c2 r1c5 r1c8
    5 in row 4: r4c2 r4c9

x-wing 3x3: r2c1=1
    1 in row 1: r1c1 r1c5
    1 in row 4: r4c1 r4c6

empty-rectangle 3x3: r2c8=5
    5 in box 1: r2c1 r2c2 r1c3 r3c1
    5 in row 7: r7c3 r7c8

w-wing 3x3: r1c8=2
    cell r1c1: 1 2
    cell r5c8: 1 3
    1 in row 3: r3c1 r3c8

xyz-wing 3x3: r1c4=3
    cell r1c1: 1 2 3
    cell r1c5: 1 3
    cell r2c2: 2 3

remote-pair 3x3: r4c1=1
    cell r1c1: 1 2
    cell r1c5: 1 2
    cell r5c5: 1 2
    cell r4c8: 1 2

remote-pair 3x3: r6c1=1 r6c1=2
    cell r1c1: 1 2
    cell r1c5: 1 2
    cell r5c5: 1 2
    cell r5c8: 1 2
    cell r6c9: 1 2

als-xz 3x3: r2c2=4
    cell r1c1: 1 2 4
    cell r1c2: 1 2 4
    cell r5c1: 1 5
    cell r5c2: 4 5

set-loop 3x3: r2c9=2
    cell r1c1: 1 2 3
    cell r1c2: 2 3
    3 in column 5: r1c5 r7c5
    cell r7c1: 1 3

two-sector-set 3x3: r3c3=3
    cell r1c1: 1 2 3 4
    cell r1c2: 1 2 3 4
    cell r1c8: 1 2 3
    cell r2c2: 3 4

stem-cell 3x3: r1c1=9
    cell r5c5: 1 2 3 4
    cell r5c1: 1 9
    cell r1c5: 2 9
    cell r4c5: 3 7
    cell r4c1: 7 9
"""


@pytest.mark.parametrize("shape", [Shape.parse(block) for block in SPOILED.split("\n\n")], ids=str)
def test_what_only_looks_like_a_shape_has_no_name(shape: Shape) -> None:
    assert names(shape.deduction, shape.state) == ()
    assert not certify(shape.deduction).holds


def test_two_sets_are_the_shortest_chain_of_sets_and_no_loop() -> None:
    two = """
        als-xz 3x3: r2c2=4
            cell r1c1: 1 2 4
            cell r1c2: 2 4
            cell r5c1: 1 5 6
            cell r5c2: 4 5 6
            cell r6c1: 5 6
    """
    shape = Shape.parse(two)
    found = names(shape.deduction, shape.state)
    assert found[0] == "als-xz"
    assert "als-chain" in found
    assert "als-loop" not in found


def test_two_naked_pairs_are_no_set_in_two_sectors() -> None:
    apart = """
        none 3x3: r1c5=1 r3c3=3
            cell r1c7: 1 2
            cell r1c8: 1 2
            cell r2c1: 3 4
            cell r2c2: 3 4
    """
    shape = Shape.parse(apart)
    assert certify(shape.deduction).holds
    assert "two-sector-set" not in names(shape.deduction, shape.state)


LOCKED_IN = """
none 3x3: r1c9=5
    cell r2c1: {0}
    cell r2c2: {0}
    cell r3c3: {0}
    cell r1c1: {0} 4
    cell r1c5: 4 5
"""


def test_contradictions_within_contradictions() -> None:
    """Three cells take three digits from a fourth, and no single guess shows that."""
    shape = Shape.parse(LOCKED_IN.format("1 2 3"))
    assert certify(shape.deduction).holds
    assert names(shape.deduction, shape.state) == ("two-sector-set", "deep-contradiction")
    shape = Shape.parse(LOCKED_IN.format("1 2").replace("    cell r3c3: 1 2\n", ""))
    found = names(shape.deduction, shape.state)
    assert "nested-contradiction" in found
    assert "contradiction" not in found


def test_names_follow_the_details() -> None:
    """What tells similar shapes apart: a weak link that is a pair, a third place."""
    coloured = """
        simple-colouring 3x3: r2c3=5
            5 in row 1: r1c2 r1c8
            5 in row 4: r4c8 r4c5
            5 in row 7: r7c5 r7c3
            also 5 in column 5: r4c5 r7c5
    """
    shape = Shape.parse(coloured)
    found = names(shape.deduction, shape.state)
    assert found[0] == "multi-colouring"
    assert "simple-colouring" not in found
    assert {"x-chain", "alternating-chain"} < set(found)
    in_turn = Shape.parse(coloured.replace("r1c8\n", "r1c8 r1c9\n"))
    assert "x-chain" not in names(in_turn.deduction, in_turn.state)


def test_no_finder_and_no_solver_is_loaded() -> None:
    code = (
        "import sys; import gridcrux.techniques.recognise; "
        "print([m for m in sys.modules if m.startswith(('numba', 'pysat', 'ortools', "
        "'gridcrux.techniques.compiled', 'gridcrux.techniques.cover', 'gridcrux.engines'))])"
    )
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
