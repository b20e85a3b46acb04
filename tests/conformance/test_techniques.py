"""Every technique on random states of many layouts, judged by a SAT solver that knows none."""

from __future__ import annotations

import doctest
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import Technique
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import available, route

JAGGED = regions(["111222", "113222", "133444", "333446", "555466", "555666"], "jagged-6")
STATES: dict[Layout, int] = {
    boxes(2, 2): 60,
    JAGGED: 60,
    boxes(2, 3): 60,
    latin(6): 60,
    boxes(2, 4): 60,
    NINE: 110,
    NINE.with_diagonals(): 60,
    boxes(3, 4): 8,
}
"""How many states of each layout."""

FISH = ("x-wing", "swordfish", "jellyfish")

MOST = 6
"""Deductions of one technique taken from one state, drawn at random if there are more."""

WANTED = 10_000

Found = list[tuple[Deduction, State, int]]


def _states(layout: Layout, count: int, seed: int) -> Iterator[tuple[State, int]]:
    """States somewhere on a route, with more of what is false excluded; and their solution.

    Half of them lose candidates of all digits alike, half most of one digit: that makes the
    wide fish, which a route hardly ever needs, as frequent as the rest.
    """
    random = np.random.default_rng(seed)
    for number, sampled in enumerate(minimal(count, seed, layout)):
        solution = sum(
            1 << ((int(digit) - 1) * layout.cells + cell)
            for cell, digit in enumerate(sampled.solution)
        )
        passed = list(route(State.from_digits(sampled.puzzle, layout)).states())
        state = passed[random.integers(1 + len(passed) // 2)]
        shares = np.full(layout.size, random.uniform(0, 0.5))
        if number % 2:
            shares[:] = random.uniform(0, 0.2)
            shares[random.integers(layout.size)] = random.uniform(0.3, 0.7)
        lost = random.random(layout.candidates) < shares.repeat(layout.cells)
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
            for deduction in available(state):
                offered.setdefault(deduction.technique, []).append(deduction)
            for deductions in offered.values():
                chosen = random.permutation(len(deductions))[:MOST]
                taken += [(deductions[i], state, solution) for i in chosen]
    return taken


@pytest.fixture(scope="module")
def sample(found: Found) -> Found:
    """Up to 30 of them for each technique, spread over the layouts."""
    chosen: Found = []
    for technique in FIRST_FAMILY:
        mine = [entry for entry in found if entry[0].technique == technique.name]
        chosen += mine[:: -(-len(mine) // 30)]
    return chosen


def test_every_technique_is_met_often_and_on_every_kind_of_layout(found: Found) -> None:
    assert len(found) >= WANTED
    met = Counter(deduction.technique for deduction, _, _ in found)
    assert set(met) == set(FIRST_FAMILY.names)
    assert min(met.values()) >= 50, met
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
        assert len(deduction.premises) == deduction.width
        assert deduction.width == FIRST_FAMILY[deduction.technique].width
        assert list(deduction.premises) == sorted(set(deduction.premises))


def _shares(entries: Iterable[tuple[Deduction, bool]]) -> dict[str, float]:
    """The share of each technique's deductions that are flagged."""
    all_, flagged = Counter[str](), Counter[str]()
    for deduction, flag in entries:
        all_[deduction.technique] += 1
        flagged[deduction.technique] += flag
    return {name: flagged[name] / all_[name] for name in all_}


def test_nearly_no_deduction_has_a_premise_to_spare(found: Found) -> None:
    """Judged by all that it removes, whether still open or not."""
    shares = _shares((d, irreducible(replace(d, eliminates=0))) for d, _, _ in found)
    assert set(shares) == set(FIRST_FAMILY.names)
    assert min(shares.values()) >= 0.95, shares


def test_nearly_no_premise_is_to_spare_for_what_is_still_open(found: Found) -> None:
    """Fish count on Latin squares only.

    Where boxes or diagonals cross the lines, a quarter to half of the fish offered in a state
    exclude nothing open that fewer lines and a box would not exclude too.
    """
    shares = _shares(
        (d, irreducible(d)) for d, _, _ in found if d.technique not in FISH or d.layout == latin(6)
    )
    assert set(shares) == set(FIRST_FAMILY.names)
    assert min(shares.values()) >= 0.95, shares


def test_a_wrong_elimination_is_refused(sample: Found) -> None:
    """What the premises have left is possible: a candidate of it is added to `removes`."""
    refused = 0
    for deduction, state, _ in sample:
        left = deduction.roles["base"] & state.open
        wrong = left & -left
        refused += not certify(replace(deduction, removes=deduction.removes | wrong)).holds
    assert refused >= 0.99 * len(sample)


def test_a_true_candidate_is_never_refuted(sample: Found) -> None:
    for deduction, _, solution in sample:
        true = next(bits(solution & deduction.layout.rules[deduction.premises[0]].mask))
        certificate = certify(replace(deduction, removes=deduction.removes | 1 << true))
        assert certificate.failures == (true,)


def test_a_missing_premise_is_noticed(sample: Found) -> None:
    tried = noticed = 0
    for deduction, _, _ in sample:
        for i in range(deduction.width):
            kept = deduction.premises[:i] + deduction.premises[i + 1 :]
            tried += 1
            noticed += not certify(replace(deduction, premises=kept)).holds
    assert noticed >= 0.99 * tried


def test_a_missing_absence_is_noticed(sample: Found) -> None:
    tried = noticed = 0
    for deduction, _, _ in sample:
        for absence in list(bits(deduction.relies))[:4]:
            tried += 1
            relies = deduction.relies & ~(1 << absence)
            noticed += not certify(replace(deduction, relies=relies)).holds
    assert noticed >= 0.95 * tried


@pytest.mark.parametrize("technique", FIRST_FAMILY, ids=str)
def test_the_doctest_of_every_technique_is_collected(technique: Technique) -> None:
    module = __import__(technique.__module__, fromlist=["module"])
    collected = {test.name: test for test in doctest.DocTestFinder().find(module)}
    assert collected[f"{technique.__module__}.{technique.__qualname__}"].examples
