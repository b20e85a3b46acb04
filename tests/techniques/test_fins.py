"""Fish with fins, mixed fish and sets in two sectors, by brute force from their definitions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.techniques import fins
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.sketch import sketch
from gridcrux.techniques.solve import available, closure
from samples import JAGGED

LAYOUTS = {boxes(2, 2): 20, JAGGED: 10, boxes(2, 3): 10, boxes(2, 3).with_diagonals(): 10, NINE: 4}
Found = set[tuple[str, tuple[int, ...], int]]
NAMES = {2: "x-wing", 3: "swordfish", 4: "jellyfish"}

each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


def _states(layout: Layout) -> Iterator[State]:
    """Where the first family ends, and with much of what is false gone from the start."""
    random = np.random.default_rng(5)
    for item in minimal(LAYOUTS[layout], 8, layout):
        start = State.from_digits(item.puzzle.tolist(), layout)
        true = (item.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        lost = random.random(layout.candidates) < random.uniform(0.2, 0.5)
        lost[true] = False
        yield closure(start, FIRST_FAMILY)
        yield State.empty(layout).without(sum(1 << c for c in np.flatnonzero(lost).tolist()))


def _places(state: State, house: int, digit: int) -> frozenset[int]:
    """The open places of a digit in a house."""
    layout = state.layout
    mask = layout.rules[layout.cells + house * layout.size + digit].mask & state.open
    return frozenset(candidate % layout.cells for candidate in bits(mask))


def _peers(layout: Layout) -> list[set[int]]:
    """For each cell the cells that share a house with it."""
    return [
        {other for house in layout.houses if cell in house.cells for other in house.cells}
        for cell in range(layout.cells)
    ]


def _stands(bases: list[frozenset[int]], peers: list[set[int]]) -> bool:
    """Whether each base can have a place, none in conflict with another."""
    return not bases or any(
        _stands([base - peers[cell] for base in bases[1:]], peers) for cell in bases[0]
    )


def _needed(bases: list[frozenset[int]], cell: int, peers: list[set[int]]) -> list[bool]:
    """For each base, whether a cell could have the digit if that base were not there."""
    left = [base - peers[cell] for base in bases]
    return [_stands(left[:i] + left[i + 1 :], peers) for i in range(len(left))]


def finned(state: State, size: int) -> Found:
    layout, n = state.layout, state.layout.size
    cells, peers = [set(house.cells) for house in layout.houses], _peers(layout)
    found: Found = set()
    for digit in range(n):
        for across in (0, n):
            lines = [h for h in range(across, across + n) if len(_places(state, h, digit)) > 1]
            for chosen in combinations(lines, size):
                bases = [_places(state, h, digit) for h in chosen]
                if size == 2 and max(map(len, bases)) == 2:
                    continue
                for crossing in combinations(range(n - across, 2 * n - across), size):
                    covers = [cells[h] for h in crossing]
                    covered = set().union(*covers)
                    extra = frozenset().union(*bases) - covered
                    inside = [len(base & covered) for base in bases]
                    meets = all(any(base & cover for base in bases) for cover in covers)
                    if not extra or not min(inside) or not meets:
                        continue
                    name = ("sashimi-" if min(inside) < 2 else "finned-") + NAMES[size]
                    fallen = {
                        cell
                        for cell in covered - set().union(*(cells[h] for h in chosen))
                        if state.is_open(digit * layout.cells + cell) and extra <= peers[cell]
                    }
                    if any(all(_needed(bases, cell, peers)) for cell in fallen):
                        rules = tuple(layout.cells + h * n + digit for h in chosen)
                        mask = sum(1 << digit * layout.cells + cell for cell in fallen)
                        found.add((name, rules, mask))
    return found


def mixed(state: State, size: int) -> Found:
    layout, n = state.layout, state.layout.size
    peers = _peers(layout)
    found: Found = set()
    for digit in range(n):
        places = [_places(state, h, digit) for h in range(len(layout.houses))]
        for across in (0, 1):
            own = [h for h in range(len(places)) if h // n != 1 - across and len(places[h]) > 1]
            others = [h for h in range(len(places)) if h // n != across and places[h]]
            for chosen in combinations(own, size):
                bases = [places[h] for h in chosen]
                union = frozenset().union(*bases)
                if len(union) < sum(map(len, bases)):
                    continue
                for crossing in combinations([h for h in others if h not in chosen], size):
                    covers = [set(places[h]) for h in crossing]
                    lines = max(*chosen, *crossing) < 2 * n
                    if lines or not union <= set().union(*covers):
                        continue
                    whole = all(
                        sum(any(base & cover for base in part) for cover in covers) > few
                        for few in range(1, size)
                        for part in combinations(bases, few)
                    )
                    fallen = set().union(*covers) - union
                    needed = [_needed(bases, cell, peers) for cell in fallen] if whole else []
                    if all(any(flags) for flags in zip(*needed, strict=True)) and needed:
                        rules = tuple(layout.cells + h * n + digit for h in chosen)
                        mask = sum(1 << digit * layout.cells + cell for cell in fallen)
                        found.add((f"mixed-{NAMES[size]}", rules, mask))
    return found


def two_sector(state: State) -> Found:
    layout, n = state.layout, state.layout.size
    found: Found = set()
    for line in layout.houses[: 2 * n]:
        for box in layout.houses[2 * n :]:
            pool = [
                c for c in sorted(set(line.cells) | set(box.cells)) if not state.placed >> c & 1
            ]
            digits = {c: set(state.digits_of(c)) for c in pool}
            both = set(line.cells) & set(box.cells)
            for size in range(4, min(len(pool), 8) + 1):
                for some in combinations(pool, size):
                    parts = [
                        [c for c in some if c in both],
                        [c for c in some if c not in box.cells],
                        [c for c in some if c not in line.cells],
                    ]
                    if len(parts[0]) < 2 or not parts[1] or not parts[2]:
                        continue
                    held = set().union(*(digits[c] for c in some))
                    outer = set().union(*(digits[c] for c in parts[1]))
                    inner = set().union(*(digits[c] for c in parts[2]))
                    tied = all(
                        len(set().union(*(digits[c] for c in part))) > few
                        for few in range(1, size)
                        for part in combinations(some, few)
                    )
                    if len(held) != size or outer & inner or not tied:
                        continue
                    fallen = {
                        (d - 1) * layout.cells + c
                        for d in held
                        for house, bad in ((line, inner), (box, outer))
                        if d not in bad
                        for c in house.cells
                        if c not in some and state.is_open((d - 1) * layout.cells + c)
                    }
                    if fallen:
                        found.add(("two-sector-set", some, sum(1 << c for c in fallen)))
    return found


@each_layout
def test_all_that_the_definitions_say_is_found(layout: Layout) -> None:
    met = Counter[str]()
    largest = 3 if layout == NINE else 4
    for state in _states(layout):
        expected = mixed(state, 2) | mixed(state, 3)
        for size in range(2, largest + 1):
            expected |= finned(state, size)
        names = {name for name in fins.TECHNIQUES if largest == 4 or "jelly" not in name.name}
        if layout != NINE:
            expected |= two_sector(state)
        else:
            names -= {fins.two_sector_set}
        got = {
            (step.technique, step.premises, step.eliminates)
            for technique in names
            for step in available(state, Repertoire((technique,)))
        }
        assert got == expected
        met.update(name for name, _, _ in got)
    assert len(met) >= (6 if layout.size == 6 else 3), met


@each_layout
def test_they_are_certified_and_have_no_premise_to_spare(layout: Layout) -> None:
    for state in _states(layout):
        for step in available(state, Repertoire(fins.TECHNIQUES)):
            assert certify(step).holds
            assert certify(step, state).holds
            assert irreducible(step, state)


@each_layout
def test_planted_faults_are_refused(layout: Layout) -> None:
    """A place of a base that is left, and any premise dropped; of few, the place falls too."""
    planted = refused = 0
    for state in _states(layout):
        for step in available(state, Repertoire(fins.TECHNIQUES)):
            left = step.roles["base"] & state.open & ~step.removes
            wrong = replace(step, removes=step.removes | left & -left)
            refused += not certify(wrong).holds
            planted += 1
            for i in range(step.width):
                kept = step.premises[:i] + step.premises[i + 1 :]
                assert not certify(replace(step, premises=kept)).holds
    assert planted
    assert refused >= 0.95 * planted


def test_fins_may_lie_in_different_houses_if_what_falls_conflicts_with_all() -> None:
    layout = NINE.with_diagonals()
    state = sketch(layout, "1 in row 2: r2c3 r2c7", "1 in row 9: r9c1 r9c7 r9c9")
    steps = available(state, "finned-x-wing") + available(state, "sashimi-x-wing")
    assert steps
    for step in steps:
        assert certify(step).holds
    both = [step for step in steps if "r1c1=1" in step.elimination_names]
    assert both
    assert all("but for" in step.sentence for step in steps)


def test_without_boxes_there_is_nothing() -> None:
    layout = latin(6)
    state = sketch(layout, "1 in row 1: r1c1 r1c2 r1c3", "1 in row 2: r2c1 r2c2")
    assert not available(state, Repertoire(fins.TECHNIQUES))


def test_two_lines_of_two_places_are_left_to_the_skyscraper() -> None:
    state = sketch(NINE, "1 in row 1: r1c1 r1c5", "1 in row 5: r5c2 r5c5")
    assert not available(state, Repertoire((fins.finned_x_wing, fins.sashimi_x_wing)))
    assert available(state, "skyscraper")


def test_sentences_name_lines_and_fins() -> None:
    state = sketch(NINE, "1 in row 1: r1c1 r1c5 r1c6", "1 in row 5: r5c1 r5c5")
    (step,) = available(state, "finned-x-wing")
    assert "rows 1 and 5" in step.sentence
    assert "columns 1 and 5" in step.sentence
    assert "r1c6 in box 2" in step.sentence
    assert step.elimination_names == ("r2c5=1", "r3c5=1")
