"""Bottleneck widths, against closures by brute force, and routes that can be replayed."""

from __future__ import annotations

from itertools import combinations

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.proofs.explain.bottleneck import bottleneck, conclusion
from samples import JAGGED, possible, thinned_or_ended

WIDE = ".....1.4....29..6.27.....3..5.68....9...3..523.6.....76.45..1......49....8......."
"""A minimal puzzle of our own sampler."""


def excluded_by(state: State, premises: tuple[int, ...], candidate: int) -> bool:
    """Whether every way to satisfy the premises is barred with a candidate true."""
    left = state.open & ~state.layout.conflicts[candidate]
    return not possible(state.layout, premises, left, 1 << candidate)


def left_by(state: State, width: int) -> int:
    """What steps of at most `width` premises leave open, all of them tried."""
    rules = range(len(state.layout.rules))
    going = True
    while going:
        gone = 0
        for size in range(1, width + 1):
            for premises in combinations(rules, size):
                for candidate in bits(state.open & ~gone):
                    if excluded_by(state, premises, candidate):
                        gone |= 1 << candidate
            if gone:
                break
        going = gone != 0
        state = state.without(gone)
    return state.open


@pytest.mark.parametrize(
    ("layout", "count", "seed"), [(boxes(2, 2), 8, 3), (latin(4), 8, 4)], ids=["2x2", "latin-4"]
)
def test_the_width_is_the_least_whose_closure_gets_there(layout, count, seed):
    seen = set()
    for item in minimal(count, seed, layout):
        # A given fewer, so that more than singles may be needed.
        digits = item.puzzle.tolist()
        state = State.from_digits(digits, layout)
        occurs = get_engine("kernel").support(state).occurs
        found = bottleneck(state)
        assert found.exact
        assert found.width is not None
        seen.add(found.width)
        assert left_by(state, found.width) == occurs
        if found.width > 1:
            assert left_by(state, found.width - 1) != occurs
    assert seen


@pytest.mark.parametrize("layout", [boxes(2, 3), latin(5), JAGGED, NINE], ids=lambda x: x.name)
def test_every_step_follows_from_its_premises_and_none_can_be_spared(layout: Layout):
    widths = set()
    for state, _ in thinned_or_ended(layout, 4, 71, 0.4):
        found = bottleneck(state)
        assert found.exact
        assert found.stopped_by is None
        widths |= set(found.counts())
        before = state
        for step in found:
            assert step.state == before
            assert certify(step.deduction, before).holds
            if step.size > 1:
                assert irreducible(step.deduction, before)
            before = (
                before.without(step.deduction.eliminates)
                if step.deduction.places is None
                else before.with_placed(step.deduction.places)
            )
        assert before == found.end
        assert found.end.open == get_engine("kernel").support(state).occurs
        assert max(found.counts(), default=0) == found.lower == found.width
    assert 1 in widths


def test_a_hard_puzzle_needs_wide_steps_and_its_route_begins_narrow():
    state = read_puzzle(WIDE)
    found = bottleneck(state)
    assert found.exact
    assert found.width == 5
    assert found.end.open.bit_count() == 81
    told = found.as_dict()
    assert told["bottleneck_width"] == found.width == found.row()["bottleneck_width"]
    assert len(told["steps"]) == len(found)
    assert told["open"] == found.end.marks
    assert conclusion(found.steps[0]) in found._repr_html_()


def test_the_width_is_that_of_the_widest_step():
    widths = set()
    for item in minimal(16, 5):
        found = bottleneck(State.from_digits(item.puzzle.tolist()))
        assert max(found.counts()) == found.lower == found.width
        widths.add(found.width)
    assert {1, 2, 3} <= widths


def test_with_several_solutions_it_ends_at_what_they_share():
    state = read_puzzle("4..1 .1.. ..1. ....")
    found = bottleneck(state)
    assert found.exact
    assert found.end.open == get_engine("kernel").support(state).occurs


def test_time_that_runs_out_leaves_a_bound():
    state = read_puzzle(WIDE)
    found = bottleneck(state, seconds=0)
    assert not found.exact
    assert found.width is None
    assert found.stopped_by == "seconds"
    assert found.lower <= bottleneck(state).lower
    assert "at least" in found._repr_html_()


@pytest.mark.parametrize("line", ["1.....2..3.....1", "12....3...4....."])
def test_without_a_solution_it_ends_with_the_rule_that_broke(line):
    found = bottleneck(read_puzzle(line), seconds=20)
    assert found.exact
    last = found.steps[-1]
    assert not last.state.layout.rules[last.premises[0]].mask & last.state.open
