"""What the exact cover solver says of its work, and what it does where options run out."""

from __future__ import annotations

from gridcrux.engines.cover import CoverEngine
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State


def test_effort_is_what_can_be_seen_from_outside() -> None:
    state = State.empty(boxes(2, 2))
    count = CoverEngine().count(state, 10)
    # After ten solutions one more is looked for.
    assert count.effort == {"searches": 1, "options": 64, "solutions": 11}
    count = CoverEngine().count(state, 1000)
    assert count.effort == {"searches": 1, "options": 64, "solutions": 288}


def test_support_searches_until_everything_was_seen_or_refuted() -> None:
    """With 1 written in the corner, only what conflicts with it cannot be."""
    state = State.empty(boxes(2, 2)).with_placed(0)
    support = CoverEngine().support(state)
    assert support.occurs == state.open
    assert 1 < support.effort["searches"] <= state.open.bit_count()
    assert support.effort["solutions"] == support.effort["searches"]


def test_nothing_is_searched_where_a_rule_is_broken() -> None:
    state = State(boxes(2, 2), 0)
    assert CoverEngine().count(state, 1).effort["searches"] == 0
    assert list(CoverEngine().solutions(state)) == []
    assert CoverEngine().support(state).effort == {"searches": 0, "options": 0, "solutions": 0}
