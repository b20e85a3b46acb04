"""Minimal sufficient and blocking sets against their definitions, over all subsets."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import UnknownTechnique
from gridcrux.proofs.closures import Closures
from gridcrux.proofs.essential import crux
from gridcrux.proofs.monotone import monotone_exceptions
from gridcrux.proofs.sufficient import technique_sets
from gridcrux.proofs.uniqueness import NotUnique
from gridcrux.techniques.repertoires import DEFAULT, EVERYTHING, FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import closure
from samples import JAGGED

CUT = FIRST_FAMILY.only(
    *SINGLES.names, "pointing", "claiming", "naked-pair", "hidden-pair", "naked-triple"
)
UNIQUE = LEVELS["uniqueness"]
VARIED = DEFAULT.only(
    *("full-house", "hidden-single", "naked-single", "pointing", "claiming", "naked-pair"),
    *("x-wing", "skyscraper", "xy-wing", "w-wing"),
)


def starts(count, seed, layout=NINE):
    for item in minimal(count, seed, layout):
        yield State.from_digits(item.puzzle.tolist(), layout)


def subsets(names):
    for size in range(len(names) + 1):
        yield from map(frozenset, combinations(names, size))


def all_sets(state, repertoire):
    """Both kinds by trying all subsets, smallest first; a set with a sufficient part is sufficient.

    Knows `solve.closure` and nothing else; also whether some larger set reaches less.
    """
    goal = closure(state, repertoire, unique=True)
    reach = {}
    for names in subsets(repertoire.names):
        end = closure(state, repertoire.only(*names), unique=True)
        reach[names] = not end.open & ~goal.open and not goal.placed & ~end.placed
    sufficient = []
    lost = False
    for names, reached in reach.items():
        known = any(each <= names for each in sufficient)
        lost |= known and not reached
        if reached and not known:
            sufficient.append(names)
    blocking = []
    for names in reach:
        if all(names & each for each in sufficient) and not any(b <= names for b in blocking):
            blocking.append(names)
    return set(sufficient), set(blocking), lost


def sets(listed):
    found = set(map(frozenset, listed))
    assert len(found) == len(listed)
    return found


CASES = [
    (NINE, CUT, 8, 21),
    (NINE, VARIED, 6, 22),
    (boxes(2, 2), CUT, 6, 23),
    (boxes(2, 3), CUT, 8, 24),
    (latin(6), FIRST_FAMILY.without("naked-quad", "hidden-quad", "jellyfish"), 3, 25),
    (JAGGED, VARIED, 6, 26),
]


@pytest.mark.parametrize(
    ("layout", "repertoire", "count", "seed"), CASES, ids=lambda x: getattr(x, "name", "")
)
def test_both_kinds_against_all_subsets(layout, repertoire, count, seed):
    for state in starts(count, seed, layout):
        found = technique_sets(state, repertoire)
        assert found.complete
        sufficient, blocking, _ = all_sets(state, repertoire)
        assert sets(found.sufficient) == sufficient
        assert sets(found.blocking) == blocking


@pytest.mark.parametrize("index", [4, 11, 17])
def test_sets_are_right_where_more_techniques_reach_less(index):
    repertoire = FIRST_FAMILY.without("full-house", "naked-quad", "hidden-quad", "jellyfish")
    state = State.from_digits(next(minimal(1, 91, start=index)).puzzle.tolist())
    sufficient, blocking, lost = all_sets(state, repertoire)
    found = technique_sets(state, repertoire)
    assert lost
    assert found.exceptions
    assert (sets(found.sufficient), sets(found.blocking)) == (sufficient, blocking)


def test_the_kinds_are_the_minimal_sets_that_meet_each_other():
    sizes = []
    for state in starts(12, 27):
        found = technique_sets(state, always=SINGLES.names)
        few, block = sets(found.sufficient), sets(found.blocking)
        assert all(one & other for one in few for other in block)
        for mine, others in ((few, block), (block, few)):
            for one in mine:
                # Each member is there for a set of the other kind that only it meets.
                alone = {next(iter(one & other)) for other in others if len(one & other) == 1}
                assert alone == set(one)
        sizes.append(len(few))
    assert max(sizes) > 30


def test_every_minimal_set_that_meets_the_other_kind_is_listed():
    checked = 0
    for state in starts(25, 28):
        found = technique_sets(state, VARIED)
        for mine, others in (
            (found.sufficient, found.blocking),
            (found.blocking, found.sufficient),
        ):
            meeting = []
            for names in subsets(VARIED.names):
                if all(names & set(o) for o in others) and not any(m <= names for m in meeting):
                    meeting.append(names)
            # Nothing is sufficient by itself where there is no blocking set, and no set blocks.
            assert sets(mine) == (set(meeting) if set(others) != {()} else set())
            checked += len(meeting) > 1
    assert checked > 5


def test_closures_are_those_of_the_solver():
    random = np.random.default_rng(29)
    for state in starts(5, 29):
        closures = Closures(state, UNIQUE)
        chosen = random.random((12, len(UNIQUE))) < random.random((12, 1))
        ends = closures.ends(chosen)
        for flags, end in zip(chosen, ends, strict=True):
            names = [name for name, flag in zip(UNIQUE.names, flags, strict=True) if flag]
            expected = closure(state, UNIQUE.only(*names), unique=True)
            assert closures.open_of(end) == expected.open
        assert len(closures) > 20


def test_a_small_store_of_states_is_enlarged(monkeypatch):
    state = list(starts(4, 77))[3]
    expected = technique_sets(state, always=SINGLES.names, limit=60)
    monkeypatch.setattr("gridcrux.proofs.closures.ROOM", 1)
    found = technique_sets(state, always=SINGLES.names, limit=60)
    assert (found.sufficient, found.blocking) == (expected.sufficient, expected.blocking)


def test_essential_techniques_are_those_that_alone_are_blocking():
    met = 0
    for state in starts(30, 30):
        found = technique_sets(state, FIRST_FAMILY, limit=None)
        if not found.exceptions:
            assert set(crux(state, FIRST_FAMILY).essential) == set(found.essential)
            met += bool(found.essential)
    assert met > 3


def test_order_and_names():
    repertoire = list(DEFAULT.names)
    for state in starts(4, 31):
        found = technique_sets(state, always=SINGLES.names)
        assert found.always == SINGLES.names
        for listed in (found.sufficient, found.blocking):
            keys = [(len(names), [repertoire.index(name) for name in names]) for names in listed]
            assert keys == sorted(keys)
            assert not set(SINGLES.names) & {name for names in listed for name in names}


def test_what_is_listed_when_a_limit_ends_the_search_is_right():
    met = 0
    for state in starts(8, 32):
        whole = technique_sets(state, VARIED)
        total = len(whole.sufficient) + len(whole.blocking)
        for limit in range(1, total):
            part = technique_sets(state, VARIED, limit=limit)
            if whole.exceptions:
                continue
            assert (part.complete, part.stopped_by) == (False, "limit")
            assert len(part.sufficient) + len(part.blocking) == limit
            assert set(part.sufficient) <= set(whole.sufficient)
            assert set(part.blocking) <= set(whole.blocking)
            met += 1
        assert technique_sets(state, VARIED, limit=total + 1).complete
    assert met > 20
    none = technique_sets(state, DEFAULT, seconds=0)
    assert (none.complete, none.stopped_by) == (False, "seconds")
    with pytest.raises(ValueError, match="at least 1"):
        technique_sets(state, limit=0)


SMALL = FIRST_FAMILY.only(
    *SINGLES.names, "pointing", "claiming", "naked-pair", "hidden-pair", "x-wing"
)
"""With all singles the closure of no part of it depends on the order of the steps."""


def test_transposed_and_relabelled_puzzles_have_the_same_sets():
    some = 0
    for state in starts(40, 33):
        digits = np.array(state.puzzle).reshape(9, 9)
        names = np.array([0, 4, 7, 1, 9, 2, 8, 3, 6, 5])
        turned = State.from_digits(names[digits.T].reshape(-1).tolist())
        one = technique_sets(state, SMALL, always=SINGLES.names)
        assert one.as_dict() == technique_sets(turned, SMALL, always=SINGLES.names).as_dict()
        some += len(one.sufficient) > 1
    assert some > 3


def test_nothing_is_needed_where_the_repertoire_makes_no_step():
    state = next(starts(1, 34))
    end = closure(state)
    found = technique_sets(end)
    assert (found.sufficient, found.blocking, found.essential) == (((),), (), ())
    assert found.row()["smallest_blocking"] is None
    empty = technique_sets(State.from_digits([0] * 81))
    assert (empty.sufficient, empty.blocking) == (((),), ())


def test_digits_have_to_be_written_too():
    solution = next(minimal(1, 38)).solution.astype(int) - 1
    left = sum(1 << c for c in (81 * solution + np.arange(81)).tolist())
    found = technique_sets(State.from_digits([0] * 81).without(NINE.full & ~left), CUT)
    # Nowhere is a house with a single blank cell, but every cell and house has one candidate.
    assert found.sufficient == (("hidden-single",), ("naked-single",))
    assert found.blocking == (("hidden-single", "naked-single"),)


def test_a_goal_short_of_the_solution():
    few = VARIED.without("xy-wing", "w-wing")
    stuck = [state for state in starts(60, 35) if not closure(state, few).is_solved][:6]
    met = 0
    for state in stuck:
        found = technique_sets(state, few)
        sufficient, blocking, _ = all_sets(state, few)
        assert (sets(found.sufficient), sets(found.blocking)) == (sufficient, blocking)
        met += found.sufficient != ((),)
    assert met > 2


def test_a_contradiction_is_reached_by_what_finds_one():
    digits = [0] * 16
    digits[0], digits[1], digits[6], digits[11] = 1, 2, 3, 4
    state = State.from_digits(digits, boxes(2, 2))
    # The four cells leave r1c3 and r1c4 with what the other digits take away.
    state = state.without(sum(1 << c for c in range(64) if c % 16 == 15 and c // 16 < 3))
    found = technique_sets(state, CUT)
    ends = closure(state, CUT)
    assert ends.broken_rule is not None
    for names in subsets(CUT.names):
        broken = closure(state, CUT.only(*names)).broken_rule is not None
        assert broken == any(set(each) <= names for each in found.sufficient)


def test_what_assumes_one_solution_is_refused_where_there_are_several():
    open_grid = State.from_digits([0] * 81)
    with pytest.raises(NotUnique):
        technique_sets(open_grid, EVERYTHING)
    with pytest.raises(NotUnique):
        monotone_exceptions(open_grid, EVERYTHING, 1, 1)
    with pytest.raises(UnknownTechnique):
        technique_sets(open_grid, always=("no-such",))


def test_exceptions_are_what_they_say():
    met = lost = 0
    for number, state in enumerate(starts(40, 36)):
        for each in monotone_exceptions(state, FIRST_FAMILY, 60, number):
            assert set(each.smaller) < set(each.larger)
            few, many = (closure(state, FIRST_FAMILY.only(*n)) for n in (each.smaller, each.larger))
            assert each.open == many.open & ~few.open
            met += 1
            lost += each.reaches
        for smaller, larger in technique_sets(state, FIRST_FAMILY).exceptions:
            assert set(smaller) < set(larger)
            goal = closure(state, FIRST_FAMILY)
            assert not closure(state, FIRST_FAMILY.only(*smaller)).open & ~goal.open
            assert closure(state, FIRST_FAMILY.only(*larger)).open & ~goal.open
    assert met > 3


def test_results_read_well():
    state = next(starts(1, 37))
    calls = []
    found = technique_sets(state, VARIED, progress=lambda *counts: calls.append(counts))
    assert calls[-1] == (len(found.sufficient), len(found.blocking))
    assert set(found.as_dict()) >= {
        "minimal_sufficient",
        "minimal_blocking",
        "complete",
        "stopped_by",
    }
    assert found.row()["minimal_sufficient"] == len(found.sufficient)
    assert found._repr_html_().count("<li>") == len(found.sufficient) + len(found.blocking)
