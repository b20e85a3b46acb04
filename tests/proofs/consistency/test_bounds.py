"""Bound consistency of one house against all fillings of its intervals."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State
from gridcrux.proofs.consistency import Outcome, consistent, solves


def bound_consistent(domains):
    """Domains of a row when no bound is without a filling of the intervals, or None.

    A digit written in one cell leaves the others, as on every level.
    """
    domains = [set(domain) for domain in domains]
    n = len(domains)
    while True:
        before = [set(domain) for domain in domains]
        for cell, domain in enumerate(domains):
            for other in range(n):
                if other != cell and len(domains[other]) == 1:
                    domain -= domains[other]
        if not all(domains):
            return None
        reached = [set() for _ in range(n)]
        for filling in permutations(range(1, n + 1)):
            if all(min(d) <= x <= max(d) for x, d in zip(filling, domains, strict=True)):
                for cell, digit in enumerate(filling):
                    reached[cell].add(digit)
        for domain, digits in zip(domains, reached, strict=True):
            for bound in (min(domain), max(domain)):
                if bound not in digits:
                    domain.discard(bound)
        if not all(domains):
            return None
        if domains == before:
            return domains


@pytest.mark.parametrize("n", [2, 3, 4, 5])
def test_bounds_have_fillings_of_the_intervals(n):
    layout = Layout(f"rows-{n}", n, latin(n).houses[:n])
    dead = lost = weaker = 0
    for seed in range(30):
        random = np.random.default_rng(seed)
        marks = []
        for _ in range(n):
            for digit in random.permutation(n):
                # A few rows cannot be filled.
                sure = int(digit if random.random() < 0.95 else random.integers(n)) + 1
                others = np.flatnonzero(random.random(n) < 0.3) + 1
                marks.append(sorted({sure, *others.tolist()}))
        state = State.from_marks(marks, layout)
        rows = [bound_consistent(marks[i : i + n]) for i in range(0, n * n, n)]
        found = consistent(state, "bounds")
        if None in rows:
            assert solves(state, "bounds") is Outcome.DEAD
            dead += 1
            continue
        kept = [set(found.digits_of(cell)) for cell in range(layout.cells)]
        assert kept == [domain for row in rows for domain in row]
        lost += found.open != state.open
        weaker += found.open != consistent(state, "all-different").open
    assert dead
    assert lost
    assert n < 4 or weaker


def test_holes_are_no_bounds():
    """Two cells with 1 and 3 are no Hall interval, which would need a third."""
    marks = [[1, 3], [1, 3], *[list(range(1, 10))] * 79]
    state = State.from_marks(marks, NINE)
    assert consistent(state, "bounds") == state
    assert consistent(state, "all-different").digits_of(5) == [2, 4, 5, 6, 7, 8, 9]


def test_a_hall_interval_in_the_middle_moves_no_bound():
    marks = [[2, 3], [2, 3], [1, 2, 3, 4], [1, 2, 3, 4], *[[1, 2, 3, 4]] * 12]
    found = consistent(State.from_marks(marks, boxes(2, 2)), "bounds")
    assert found.digits_of(2) == [1, 2, 3, 4]
    ends = [[1, 2], [1, 2], *marks[2:]]
    assert consistent(State.from_marks(ends, boxes(2, 2)), "bounds").digits_of(2) == [3, 4]
