"""What finders find has the name of its technique; spoiled, it has none unless it holds."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.certify import certify
from gridcrux.techniques.recognise import names, recognise
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY
from gridcrux.techniques.solve import available, route
from samples import JAGGED

LAYOUTS = [boxes(2, 2), JAGGED, boxes(2, 3), latin(6), NINE, NINE.with_diagonals(), boxes(3, 4)]
MOST = 6
"""Deductions of one technique taken from one state."""


def _offered(
    layout: Layout, count: int, seed: int, repertoire: Repertoire
) -> Iterator[tuple[Deduction, State]]:
    """What is found in puzzles on their way, with more of what is false excluded."""
    random = np.random.default_rng(seed)
    for sampled in minimal(count, seed, layout):
        true = (sampled.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        passed = list(route(State.from_digits(sampled.puzzle, layout), FIRST_FAMILY).states())
        lost = random.random(layout.candidates) < random.uniform(0, 0.5)
        lost[true] = False
        state = passed[random.integers(1 + len(passed) // 2)].without(
            sum(1 << candidate for candidate in np.flatnonzero(lost).tolist())
        )
        found: dict[str, list[Deduction]] = {}
        for deduction in available(state, repertoire):
            found.setdefault(deduction.technique, []).append(deduction)
        for deductions in found.values():
            for i in random.permutation(len(deductions))[:MOST]:
                yield deductions[i], state


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_the_first_family_has_its_names_and_they_come_first(layout: Layout) -> None:
    met = Counter[str]()
    for deduction, state in _offered(layout, 4 if layout.size > 9 else 40, 5, FIRST_FAMILY):
        assert recognise(deduction, state) == deduction.technique
        met[deduction.technique] += 1
    assert len(met) > (4 if layout.size == 4 else 8), met


def test_what_later_families_find_is_a_case_of_their_technique() -> None:
    met, agreed = Counter[str](), Counter[str]()
    for layout in (JAGGED, boxes(2, 3), latin(6), NINE, NINE.with_diagonals()):
        for deduction, state in _offered(layout, 12, 7, DEFAULT):
            found = names(deduction, state)
            met[deduction.technique] += 1
            agreed[deduction.technique] += deduction.technique in found
            assert found
    shares = {name: agreed[name] / met[name] for name in met if met[name] >= 10}
    assert len(shares) > 20
    assert min(shares.values()) > 0.99, shares


def _relying(state: State, deduction: Deduction) -> Deduction:
    """A deduction that relies on whatever is closed in its premises."""
    every = 0
    for rule in deduction.premises:
        every |= state.layout.rules[rule].mask
    return replace(deduction, relies=every & ~state.open)


def _spoiled(state: State, made: Deduction, seed: int) -> Iterator[tuple[State, Deduction]]:
    """A deduction with a premise dropped or swapped, a candidate reopened or another target."""
    random = np.random.default_rng(seed)
    rules = list(made.premises)
    for i in range(len(rules)):
        yield state, replace(made, premises=tuple(rules[:i] + rules[i + 1 :]))
    other = int(random.integers(len(made.layout.rules)))
    swapped = {*rules[1:], other}
    yield state, replace(made, premises=tuple(sorted(swapped)))
    closed = list(bits(_relying(state, made).relies))
    for i in random.permutation(len(closed))[:3]:
        yield State(state.layout, state.open | 1 << closed[i], state.placed), made
    near = [c for c in bits(state.open) if made.layout.conflicts[c] & made.roles["base"]]
    for i in random.permutation(len(near))[:3]:
        yield state, replace(made, removes=1 << near[i])


@pytest.mark.parametrize("layout", [JAGGED, NINE], ids=lambda layout: layout.name)
def test_what_is_spoiled_has_names_only_if_it_still_holds(layout: Layout) -> None:
    verdicts = Counter[tuple[bool, bool]]()
    for seed, (deduction, state) in enumerate(_offered(layout, 5, 9, DEFAULT)):
        if deduction.places is not None:
            continue
        for spoiled, made in _spoiled(state, deduction, seed):
            holds = certify(_relying(spoiled, made)).holds
            verdicts[bool(names(made, spoiled)), holds] += 1
    assert not verdicts[True, False]
    assert verdicts[False, False] > 500
    assert verdicts[True, True] > 100
    # Propagation of depth two is not complete, but nearly so here.
    assert verdicts[False, True] <= 0.02 * verdicts[True, True]


def test_a_wrong_placement_has_no_name() -> None:
    tried = 0
    for deduction, state in _offered(boxes(2, 3), 10, 6, FIRST_FAMILY):
        if deduction.places is not None:
            more = replace(deduction, removes=deduction.removes | 1 << deduction.places)
            assert names(more, state) == ()
            for other in list(bits(deduction.removes & state.open))[:1]:
                assert names(replace(deduction, places=other), state) == ()
                tried += 1
    assert tried
