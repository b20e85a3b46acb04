"""Smallest sets that meet all gaps, against all sets."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from pysat.examples.hitman import Hitman

from gridcrux.proofs.explain.covering import Meeting, smallest_meeting


def test_small_families_by_trying_all_sets():
    random = np.random.default_rng(11)
    for _ in range(30):
        gaps = [
            sorted(random.choice(10, random.integers(1, 5), False).tolist())
            for _ in range(random.integers(1, 12))
        ]
        size = next(
            k
            for k in range(11)
            if any(all(set(gap) & set(c) for gap in gaps) for c in combinations(range(10), k))
        )
        found = smallest_meeting(gaps, 0, 10)
        assert found.exact
        assert len(found.elements) == found.lower == size
        assert all(set(gap) & set(found.elements) for gap in gaps)
        assert smallest_meeting(gaps, size, 10).lower == size


def test_larger_families_against_python_sat():
    random = np.random.default_rng(12)
    for _ in range(5):
        gaps = [sorted(random.choice(60, 8, False).tolist()) for _ in range(60)]
        with Hitman(bootstrap_with=gaps) as other:
            assert smallest_meeting(gaps, 0, 30).lower == len(other.get())


def test_without_time_the_bound_is_one():
    random = np.random.default_rng(13)
    gaps = [sorted(random.choice(200, 9, False).tolist()) for _ in range(900)]
    hasty = smallest_meeting(gaps, 3, 0)
    assert hasty.lower >= 3
    patient = smallest_meeting(gaps, 3, 2)
    assert patient.elements is not None
    assert hasty.lower <= len(patient.elements)
    assert patient.lower <= len(patient.elements)


def test_whenever_it_is_stopped_no_set_is_smaller_than_the_bound():
    random = np.random.default_rng(14)
    gaps = [sorted(random.choice(60, 6, False).tolist()) for _ in range(110)]
    whole = smallest_meeting(gaps, 0, 60)
    assert whole.exact
    stopped = 0
    for seconds in (0.01, 0.02, 0.03, 0.05, 0.08, 0.12, 0.2, 0.3):
        found = smallest_meeting(gaps, 0, seconds)
        stopped += not found.exact
        assert found.lower <= whole.lower
        if found.elements is not None:
            assert len(found.elements) >= whole.lower
            assert all(set(gap) & set(found.elements) for gap in gaps)
    assert stopped


def test_nothing_to_meet_is_met_by_nothing():
    assert smallest_meeting([], 0, 1) == Meeting((), 0)
    assert not Meeting(None, 3).exact
