"""Every technique on random states of many layouts, judged by a SAT solver that knows none."""

from __future__ import annotations

import doctest
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.technique import Technique
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.techniques.repertoires import EVERYTHING, FIRST_FAMILY
from gridcrux.techniques.solve import available, route
from samples import JAGGED

STATES: dict[Layout, int] = {
    boxes(2, 2): 60,
    JAGGED: 50,
    boxes(2, 3): 50,
    latin(6): 60,
    boxes(2, 4): 40,
    NINE: 80,
    NINE.with_diagonals(): 40,
    boxes(3, 4): 4,
}
"""How many states of each layout."""

RULES = Repertoire(tuple(t for t in EVERYTHING if t.family != "forcing" and not t.assumes_unique))
"""What follows from premises; forcing is in too few states, see its own tests."""

NARROW = 4
"""Width up to which nearly no premise may be to spare."""

MOST = 4
"""Deductions of one technique taken from one state, drawn at random if there are more."""

WANTED = 20_000

Found = list[tuple[Deduction, State, int]]


def _states(layout: Layout, count: int, seed: int) -> Iterator[tuple[State, int]]:
    """States somewhere on a route, with more of what is false excluded; and their solution.

    Some lose candidates of all digits alike; some most of one digit, which makes the wide fish
    as frequent as the rest; in some many cells of two digits keep these two, which makes remote
    pairs.
    """
    random = np.random.default_rng(seed)
    for number, sampled in enumerate(minimal(count, seed, layout)):
        solution = sum(
            1 << ((int(digit) - 1) * layout.cells + cell)
            for cell, digit in enumerate(sampled.solution)
        )
        passed = list(route(State.from_digits(sampled.puzzle, layout), FIRST_FAMILY).states())
        state = passed[random.integers(1 + len(passed) // 2)]
        shares = np.full(layout.size, random.uniform(0, 0.5))
        if number % 3 == 1:
            shares[:] = random.uniform(0, 0.2)
            shares[random.integers(layout.size)] = random.uniform(0.3, 0.7)
        lost = random.random(layout.candidates) < shares.repeat(layout.cells)
        if number % 3 == 2:
            two = random.permutation(layout.size)[:2]
            paired = np.isin(sampled.solution, two + 1) & (random.random(layout.cells) < 0.7)
            grid = lost.reshape(layout.size, layout.cells)
            grid[:, paired] = True
            grid[np.ix_(two, paired)] = False
        excluded = sum(1 << candidate for candidate in np.flatnonzero(lost).tolist())
        yield state.without(excluded & ~solution), solution


@pytest.fixture(scope="module")
def found() -> Found:
    """Deductions, the states in which they are offered, and the masks of their solutions."""
    taken: Found = []
    random = np.random.default_rng(1)
    for place, (layout, count) in enumerate(STATES.items()):
        for state, solution in _states(layout, count, seed=100 + place):
            offered: dict[str, list[Deduction]] = {}
            for deduction in available(state, RULES):
                offered.setdefault(deduction.technique, []).append(deduction)
            for deductions in offered.values():
                chosen = random.permutation(len(deductions))[:MOST]
                taken += [(deductions[i], state, solution) for i in chosen]
    return taken


@pytest.fixture(scope="module")
def sample(found: Found) -> Found:
    """Up to 30 of them for each technique, spread over the layouts."""
    chosen: Found = []
    for technique in RULES:
        mine = [entry for entry in found if entry[0].technique == technique.name]
        chosen += mine[:: -(-len(mine) // 30)]
    return chosen


def test_every_technique_is_met_often_and_on_every_kind_of_layout(found: Found) -> None:
    assert len(found) >= WANTED
    met = Counter(deduction.technique for deduction, _, _ in found)
    assert set(met) == set(RULES.names)
    assert min(met.values()) >= 3, met
    assert {deduction.layout for deduction, _, _ in found} == set(STATES)


def test_every_deduction_is_certified_strictly(found: Found) -> None:
    failed = [certificate.row() for d, _, _ in found if not (certificate := certify(d)).holds]
    assert not failed, failed[:5]


def test_every_deduction_is_certified_in_its_state(sample: Found) -> None:
    failed = [certificate.row() for d, s, _ in sample if not (certificate := certify(d, s)).holds]
    assert not failed, failed[:5]


def test_what_a_record_says_fits_its_state_and_its_technique(found: Found) -> None:
    for deduction, state, solution in found:
        assert not deduction.relies & state.open, "relies on what is open"
        assert deduction.eliminates == deduction.removes & state.open
        assert deduction.eliminates or deduction.places is not None, "says nothing new"
        assert not deduction.removes & solution, "removes the solution"
        if deduction.places is not None:
            assert solution >> deduction.places & 1
            assert not state.placed >> deduction.places % deduction.layout.cells & 1
        technique = RULES[deduction.technique]
        assert len(deduction.premises) == deduction.width
        assert deduction.width >= technique.width
        assert deduction.width == technique.width or technique.any_length
        assert list(deduction.premises) == sorted(set(deduction.premises))


def _spared(entries: Iterable[tuple[Deduction, bool]]) -> tuple[float, dict[str, float]]:
    """The share of irreducible deductions, of all and by technique."""
    all_, kept = Counter[str](), Counter[str]()
    for deduction, flag in entries:
        all_[deduction.technique] += 1
        kept[deduction.technique] += flag
    return kept.total() / all_.total(), {name: kept[name] / all_[name] for name in all_}


def test_nearly_no_premise_of_the_first_family_is_to_spare(found: Found) -> None:
    """Judged by all that it removes, whether still open or not."""
    _, shares = _spared(
        (d, irreducible(replace(d, eliminates=0)))
        for d, _, _ in found
        if d.technique in FIRST_FAMILY.names
    )
    assert set(shares) == set(FIRST_FAMILY.names)
    assert min(shares.values()) >= 0.95, shares


def test_nearly_no_premise_of_a_step_is_to_spare() -> None:
    """Of the narrow steps of routes, judged by what they exclude that was open."""
    steps = []
    for item in minimal(250, 19):
        way = route(State.from_digits(item.puzzle.tolist()), RULES)
        for state, step in zip(way.states(), way, strict=False):
            if step.places is None and 1 < step.width <= NARROW:
                steps.append((step, irreducible(step, state)))
    share, shares = _spared(steps)
    assert len(steps) > 400
    assert share >= 0.95, shares


def test_a_wrong_elimination_is_refused(sample: Found) -> None:
    """What the premises have left is possible: a candidate of it is added to `removes`."""
    refused = 0
    for deduction, state, _ in sample:
        left = deduction.roles["base"] & state.open & ~deduction.removes
        wrong = left & -left
        refused += not certify(replace(deduction, removes=deduction.removes | wrong)).holds
    assert refused >= 0.95 * len(sample)


def test_a_true_candidate_is_never_refuted(sample: Found) -> None:
    for deduction, _, solution in sample:
        true = next(bits(solution & deduction.layout.rules[deduction.premises[0]].mask))
        certificate = certify(replace(deduction, removes=deduction.removes | 1 << true))
        assert certificate.failures == (true,)


def test_a_missing_premise_is_noticed(sample: Found) -> None:
    """Of chains, which may be long ways round in a state with much to find, less often."""
    tried, noticed = Counter[bool](), Counter[bool]()
    for deduction, _, _ in sample:
        first = deduction.technique in FIRST_FAMILY.names
        for i in range(deduction.width):
            kept = deduction.premises[:i] + deduction.premises[i + 1 :]
            tried[first] += 1
            noticed[first] += not certify(replace(deduction, premises=kept)).holds
    assert noticed[True] >= 0.99 * tried[True]
    assert noticed[False] >= 0.85 * tried[False]


def test_a_missing_absence_is_noticed(sample: Found) -> None:
    tried, noticed = Counter[bool](), Counter[bool]()
    for deduction, _, _ in sample:
        first = deduction.technique in FIRST_FAMILY.names
        for absence in list(bits(deduction.relies))[:4]:
            tried[first] += 1
            relies = deduction.relies & ~(1 << absence)
            noticed[first] += not certify(replace(deduction, relies=relies)).holds
    assert noticed[True] >= 0.95 * tried[True]
    assert noticed[False] >= 0.75 * tried[False]


@pytest.mark.parametrize("technique", EVERYTHING, ids=str)
def test_the_doctest_of_every_technique_is_collected(technique: Technique) -> None:
    module = __import__(technique.__module__, fromlist=["module"])
    collected = {test.name: test for test in doctest.DocTestFinder().find(module)}
    assert collected[f"{technique.__module__}.{technique.__qualname__}"].examples
