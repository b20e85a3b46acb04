"""All that is on offer is in one group each, and what includes a group is found by comparison."""

from __future__ import annotations

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.alternatives import Alternative, alternatives
from gridcrux.techniques.repertoires import FIRST_FAMILY, SINGLES
from gridcrux.techniques.solve import available, route

BACKWARDS = Repertoire(FIRST_FAMILY.techniques[::-1])


def passed(layout: Layout, count: int, seed: int) -> list[State]:
    """Every third state of the routes through some puzzles."""
    starts = [State.from_digits(item.puzzle, layout) for item in minimal(count, seed, layout)]
    return [state for start in starts for state in list(route(start, FIRST_FAMILY).states())[:-1:3]]


def effect(state: State, group: Alternative) -> set[State]:
    """What the state becomes by each deduction of a group."""
    return {
        after if step.places is None else after.with_placed(step.places)
        for step in group
        for after in [state.without(step.removes)]
    }


@pytest.mark.parametrize("layout", [boxes(2, 3), latin(6), NINE], ids=lambda layout: layout.name)
@pytest.mark.parametrize("repertoire", [FIRST_FAMILY, BACKWARDS], ids=["forth", "back"])
def test_groups_are_by_conclusion_and_in_order(layout: Layout, repertoire: Repertoire) -> None:
    larger = 0
    order = repertoire.names.index
    for state in passed(layout, 3, 21):
        groups = alternatives(state, repertoire)
        offered = available(state, repertoire)
        assert {step for group in groups for step in group} == set(offered)
        assert sum(len(group) for group in groups) == len(offered)
        ends = [effect(state, group) for group in groups]
        assert all(len(end) == 1 for end in ends)
        assert len(set.union(*ends)) == len(groups)
        places = [offered.index(group.deductions[0]) for group in groups]
        widths = [group.deductions[0].width for group in groups]
        ranks = list(zip(widths, places, strict=True))
        assert ranks == sorted(ranks)
        for group in groups:
            inside = [(step.width, order(step.technique)) for step in group]
            assert inside == sorted(inside)
            larger += len(group) > 1
    assert larger


def test_what_includes_a_group_excludes_all_of_it_and_more() -> None:
    found = 0
    for state in passed(NINE, 3, 22):
        groups = alternatives(state, FIRST_FAMILY)
        names = {
            step: set(step.elimination_names) | {f"+{step.placement_name}"} - {"+None"}
            for step in available(state, FIRST_FAMILY)
        }
        for group in groups:
            mine = names[group.deductions[0]]
            expected = {step for step, theirs in names.items() if mine < theirs}
            if group.places is not None:
                expected = set()
            assert set(group.including) == expected
            assert len(group.including) == len(expected)
            found += len(expected)
    assert found


def test_what_has_two_names_is_listed_under_the_first() -> None:
    state = State.from_digits([1, 2, 3, 0] + [0] * 12)
    full, hidden = FIRST_FAMILY["full-house"], FIRST_FAMILY["hidden-single"]

    def of_row_1(repertoire: Repertoire) -> list[str]:
        return [
            step.technique
            for step in available(state, repertoire)
            if step.premise_names == ("4 in row 1",)
        ]

    assert of_row_1(FIRST_FAMILY) == ["full-house"]
    assert of_row_1(FIRST_FAMILY.without("full-house")) == ["hidden-single"]
    assert of_row_1(Repertoire((hidden, full))) == ["hidden-single"]
    # Looked up in the cell it is another deduction, with the same conclusion.
    (group,) = alternatives(state, SINGLES)
    assert [step.technique for step in group] == ["full-house", "naked-single"]


def test_nothing_is_on_offer_at_the_end_of_a_route() -> None:
    for item in minimal(4, 23):
        found = route(State.from_digits(item.puzzle), FIRST_FAMILY)
        if not found.solved:
            assert alternatives(found.end, FIRST_FAMILY) == []


def test_how_a_group_is_shown() -> None:
    state = State.from_digits([0, 0, 0, 0] + [2, 3, 0, 0] + [0] * 8)
    group = alternatives(state, FIRST_FAMILY)[0]
    assert group.falls == "not r1c3=1 and r1c4=1"
    assert group.row() == {
        "falls": "not r1c3=1 and r1c4=1",
        "techniques": "pointing, claiming",
        "width": 1,
        "deductions": 2,
        "including": 4,
    }
    assert str(group).splitlines()[0] == "not r1c3=1 and r1c4=1:"
    assert len(str(group).splitlines()) == 1 + 2 + 4
    told = group.as_dict()
    assert (told["places"], told["eliminates"]) == (None, ["r1c3=1", "r1c4=1"])
    assert (len(told["deductions"]), len(told["including"])) == (2, 4)
    page = group._repr_html_()
    assert page.count("<li>") == 6
    assert "exclude it too" in page
    (written,) = alternatives(State.from_digits([1, 2, 3, 0] + [0] * 12), SINGLES)
    assert (written.falls, written.including) == ("r1c4=4", ())
    assert "exclude it too" not in written._repr_html_()
