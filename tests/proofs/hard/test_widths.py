"""Least widths, against a search over all ways."""

from __future__ import annotations

from gridcrux.corpus.sample import minimal
from gridcrux.grids.state import State
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.widths import least_total_width, least_widest_step
from gridcrux.techniques.repertoires import FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import available, closure, route


def starts(count, seed):
    return [State.from_digits(item.puzzle.tolist()) for item in minimal(count, seed)]


def by_brute_force(state, repertoire, most=150):
    """The least total width by trying states in the order of what is spent; None if too many."""
    hard = repertoire.without(*SINGLES.names)
    waiting, seen = {0: [closure(state, SINGLES)]}, set()
    while waiting:
        spent = min(waiting)
        for each in waiting.pop(spent):
            if each.is_solved:
                return spent
            if each.open in seen:
                continue
            seen.add(each.open)
            if len(seen) > most:
                return None
            for step in available(each, hard):
                after = closure(each.without(step.eliminates), SINGLES)
                waiting.setdefault(spent + step.width, []).append(after)
    return "not solved"


def test_total_width_as_by_brute_force():
    found = []
    for state in starts(25, 41):
        expected = by_brute_force(state, FIRST_FAMILY)
        if expected is None:
            continue
        least = least_total_width(state, FIRST_FAMILY)
        assert least.exact
        assert least.upper == (None if expected == "not solved" else expected), state.line
        found.append(expected)
    assert len(set(found)) > 3


def test_the_way_has_that_width():
    for state in starts(12, 42):
        least = least_total_width(state, seconds=1)
        if least.route is None:
            continue
        assert least.route.flaw is None
        assert least.route.solved
        assert sum(least.route.steps[place].width for place in least.hard) == least.upper
        fewest = fewest_hard_steps(state, seconds=1)
        if least.exact and fewest.exact:
            assert least.upper >= fewest.upper
            wide = sum(fewest.route.steps[place].width for place in fewest.hard)
            assert least.upper <= wide


def test_limits_leave_bounds():
    state = next(s for s in starts(200, 77) if len(fewest_hard_steps(s, seconds=0).hard) > 12)
    least = least_total_width(state, seconds=0)
    assert least.stopped_by == "seconds"
    assert 0 < least.lower < least.upper
    assert "between" in str(least)
    assert least.row()["least_total_width"] is None


def test_widest_step_by_definition():
    widths = set()
    for state in starts(30, 43):
        least = least_widest_step(state, LEVELS["chains"])
        for width in range(1, 30):
            narrow = LEVELS["chains"].widest(width)
            if closure(state, narrow).is_solved:
                assert least == width
                break
        else:
            assert least is None
        widths.add(least)
        way = route(state, LEVELS["chains"], "narrowest")
        if way.solved:
            assert least <= max(step.width for step in way)
    assert len(widths) > 3
