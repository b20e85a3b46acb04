"""Statuses against their definitions, worked out here by other means."""

from __future__ import annotations

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State
from gridcrux.proofs.essential import ESSENTIAL, IDLE, REPLACEABLE, crux, judge
from gridcrux.techniques.repertoires import FIRST_FAMILY, SINGLES
from gridcrux.techniques.solve import available, closure, route


def gets_as_far(end, goal):
    return end.open & ~goal.open == 0 and end.placed & goal.placed == goal.placed


def starts(count, seed, layout=NINE):
    puzzles = [item.puzzle.tolist() for item in minimal(count, seed, layout)]
    return [State.from_digits(digits, layout) for digits in puzzles]


def slow_closure(state, forbidden=0, barred=None):
    """The closure by listing what is available, again and again; knows no records and no boards."""
    while True:
        for step in available(state, FIRST_FAMILY):
            if step.places is not None:
                if step.premises == (barred,):
                    continue
                state = state.without(step.removes).with_placed(step.places)
                break
            if step.eliminates & ~forbidden:
                state = state.without(step.eliminates & ~forbidden)
                break
        else:
            return state


@pytest.mark.parametrize("layout", [boxes(2, 2), boxes(2, 3), latin(5)], ids=lambda x: x.name)
def test_steps_by_their_definition_on_small_layouts(layout):
    for state in starts(2, 5, layout):
        found = crux(state, FIRST_FAMILY)
        for step, status in found:
            if status == IDLE:
                continue
            if step.places is None:
                end = slow_closure(state, forbidden=step.eliminates)
            else:
                end = slow_closure(state, barred=step.premises[0])
            reached = gets_as_far(end, found.route.end)
            assert status == (REPLACEABLE if reached else ESSENTIAL)


def test_placements_by_their_definition():
    checked = []
    for state in starts(2, 8):
        found = crux(state, FIRST_FAMILY)
        for step, status in list(found)[::9]:
            if step.places is not None:
                end = slow_closure(state, barred=step.premises[0])
                reached = gets_as_far(end, found.route.end)
                assert status == (REPLACEABLE if reached else ESSENTIAL)
                checked.append(status)
    assert len(checked) > 8


def test_who_looks_at_cells_only_can_spare_no_cell():
    for state in starts(20, 15):
        found = crux(state, FIRST_FAMILY.only("naked-single"))
        assert set(found.statuses) <= {ESSENTIAL}
        assert set(found.techniques.values()) <= {ESSENTIAL}


def test_hard_steps_by_their_definition():
    checked = 0
    for state in starts(16, 9):
        found = crux(state, FIRST_FAMILY)
        hard = [(step, status) for step, status in found if step.places is None and status != IDLE]
        for step, status in hard[:2]:
            reached = gets_as_far(slow_closure(state, step.eliminates), found.route.end)
            assert status == (REPLACEABLE if reached else ESSENTIAL)
            checked += 1
    assert checked > 8


def test_techniques_by_their_definition():
    statuses = set()
    for state in starts(60, 10):
        found = crux(state, FIRST_FAMILY)
        used = {step.technique for step in found.route}
        assert set(found.techniques) == used
        for name, status in found.techniques.items():
            end = closure(state, FIRST_FAMILY.without(name))
            assert (status == ESSENTIAL) == (not gets_as_far(end, found.route.end))
            statuses.add(status)
    assert statuses == {ESSENTIAL, REPLACEABLE}


def test_idle_steps_can_all_go_at_once():
    idle = 0
    for state in starts(80, 11):
        found = crux(state, FIRST_FAMILY)
        if not found.solved:
            continue
        idle += found.idle
        short = found.route.sliced()
        assert short.flaw is None
        assert short.end.is_solved
        assert len(short) == len(found.route) - found.idle
    assert idle > 5


def test_a_route_that_gets_stuck_is_judged_by_what_it_leaves():
    stuck = [found for found in map(crux, starts(60, 12)) if not found.solved]
    assert stuck
    for found in stuck:
        short = found.route.sliced()
        assert short.flaw is None
        assert short.end.open == found.route.end.open
        assert found.as_dict()["open"] == found.route.end.marks


def test_a_step_that_alone_opens_the_way_is_essential():
    """Where one hard step is all there is, nothing replaces it."""
    met = 0
    few = FIRST_FAMILY.only(*SINGLES.names, "pointing")
    for state in starts(400, 13):
        found = route(state, few)
        if not found.solved or all(step.places is not None for step in found):
            continue
        if len(available(closure(state, SINGLES), few)) == 1:
            judged = judge(found)
            first = next(i for i, step in enumerate(found.steps) if step.places is None)
            assert judged.statuses[first] == ESSENTIAL
            assert judged.techniques[found.steps[first].technique] == ESSENTIAL
            met += 1
    assert met > 2


def test_results_read_well():
    found = crux(starts(1, 14)[0], FIRST_FAMILY)
    assert found.row()["steps"] == len(found.route)
    assert "<ol>" in found._repr_html_()
    step = found.as_dict()["steps"][0]
    keys = {"technique", "width", "premises", "eliminates", "places", "sentence", "status"}
    assert set(step) == keys
