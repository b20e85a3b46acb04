"""Statuses against their definitions, worked out here by other means."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.arrays import to_words, word_count
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.records import new_records
from gridcrux.proofs.certified import certified
from gridcrux.proofs.essential import ESSENTIAL, IDLE, REPLACEABLE, crux, judge, reaches
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import tables
from gridcrux.techniques.policies import NOTHING
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import available, board_of, closure, route


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


def by_definition(found, repertoire=None, forbidden=0, barred=-1):
    """The status that a closure from the start tells, which knows nothing of the route."""
    layout, start = found.start.layout, board_of(found.start)
    reached = reaches(
        tables(layout),
        start.copy(),
        start,
        plan_of(repertoire or found.repertoire),
        to_words(forbidden, word_count(layout)) if forbidden else NOTHING,
        barred,
        board_of(found.end),
        new_records(1, layout),
    )
    return REPLACEABLE if reached else ESSENTIAL


@pytest.mark.parametrize(
    ("repertoire", "policy", "layout", "count"),
    [
        (FIRST_FAMILY, "easiest", NINE, 300),
        (FIRST_FAMILY.without("hidden-single"), "easiest", NINE, 100),
        (FIRST_FAMILY, "narrowest", NINE, 20),
        (FIRST_FAMILY, "easiest", latin(7), 20),
        (LEVELS["chains"], "easiest", boxes(2, 3), 20),
        (DEFAULT, "easiest", NINE, 24),
    ],
    ids=["fish", "no-hidden-single", "narrowest", "latin", "chains", "default"],
)
def test_ways_around_a_route_end_where_closures_from_the_start_do(
    repertoire, policy, layout, count
):
    """Where the order of techniques matters, a way counts that one of the two has found."""
    compared, differences = 0, []

    def compare(status, other):
        nonlocal compared
        compared += 1
        if status != other:
            differences.append((status, other))

    for state in starts(count, 21, layout):
        found = crux(state, repertoire, policy)
        for name, status in found.techniques.items():
            compare(status, by_definition(found.route, repertoire.without(name)))
        for k, (step, status) in enumerate(found):
            if status == IDLE:
                continue
            if step.places is None:
                compare(status, by_definition(found.route, forbidden=step.eliminates))
            elif k % 6 == 0:
                # Placements are many and mostly alike.
                compare(status, by_definition(found.route, barred=step.premises[0]))
    assert compared > 100
    assert set(differences) <= {(REPLACEABLE, ESSENTIAL)}
    if "hidden-single" in repertoire:
        assert len(differences) <= compared / 1000


def stands_without(kept, goal, number, candidate):
    """Whether kept steps stand, and leave what is given, if one of them spares a candidate."""
    closed = 0
    for k, step in enumerate(kept):
        if step.relies & kept[0].layout.full & ~closed & candidate:
            return False
        closed |= step.removes if k != number else step.removes & ~candidate
    return not goal & candidate or closed & candidate != 0


def test_eliminations_by_their_definition():
    seen = set()
    for state in starts(120, 22):
        found = crux(state, FIRST_FAMILY)
        layout = state.layout
        kept = [step for step, status in found if status != IDLE]
        closed = 0 if found.solved else layout.full & ~found.route.end.open
        for (step, whole), each in zip(found, found.eliminations, strict=True):
            assert len(each) == (step.eliminates.bit_count() if step.places is None else 0)
            if step.places is not None:
                continue
            for candidate, name in ((c, layout.candidate_name(c)) for c in bits(step.eliminates)):
                mask = 1 << candidate
                idle = whole == IDLE or stands_without(kept, closed, kept.index(step), mask)
                expected = IDLE if idle else by_definition(found.route, forbidden=mask)
                assert each[name] == expected
                seen.add((whole, each[name]))
            # A whole that can be replaced has no part that cannot.
            assert whole == ESSENTIAL or ESSENTIAL not in each.values()
    assert seen >= {
        (ESSENTIAL, ESSENTIAL),
        (ESSENTIAL, REPLACEABLE),
        (ESSENTIAL, IDLE),
    }


def test_a_slice_is_an_argument_that_a_sat_solver_accepts():
    short, unique = 0, 0
    for state in starts(24, 23):
        found = crux(state, LEVELS["uniqueness"])
        assert found.sliced.flaw is None
        assert len(found.sliced) == len(found.route) - found.idle
        short += found.idle > 0
        made = certified(found.sliced)
        assert len(made) == len(found.sliced)
        assert all(certificate.holds for certificate in made)
        unique += sum(certificate.reading == "unique" for certificate in made)
    assert short > 3
    assert unique > 0


def test_a_certificate_fails_where_a_step_says_too_much():
    found = route(starts(1, 24)[0], FIRST_FAMILY)
    table = found.records.table.copy()
    # The first step relies on nothing any more.
    table[0, 2 + found.records.words : 2 + 2 * found.records.words] = 0
    wrong = replace(found, records=replace(found.records, table=table))
    assert [certificate.holds for certificate in certified(wrong)].count(False) == 1


def test_a_contradiction_is_judged_by_reaching_any():
    """Another way to a contradiction is a way, though it leaves other candidates open."""
    line = "000005080000601043000000000010500000000106000300000005530000061000000004000000000"
    found = judge(route(State.from_digits([int(digit) for digit in line]), FIRST_FAMILY))
    assert found.route.status == "contradiction"
    assert REPLACEABLE in found.statuses
    for name, status in found.techniques.items():
        without = route(found.route.start, FIRST_FAMILY.without(name))
        assert (status == REPLACEABLE) == (without.status == "contradiction")
    with pytest.raises(ValueError, match="contradiction"):
        found.eliminations  # noqa: B018


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
