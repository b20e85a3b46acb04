"""An unknown answer passes for nothing else, and one solution is told from a cut search."""

from __future__ import annotations

import pytest

from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.protocol import Answer, Count


@pytest.mark.parametrize("answer", Answer)
def test_an_answer_has_no_truth_value(answer: Answer) -> None:
    with pytest.raises(TypeError, match=rf"compare it: answer is Answer\.{answer.name}$"):
        bool(answer)
    with pytest.raises(TypeError, match="no truth value"):
        assert not answer
    with pytest.raises(TypeError, match="no truth value"):
        any([answer])


@pytest.mark.parametrize(
    ("value", "stopped_by", "unique"),
    [
        (0, None, Answer.NO),
        (1, None, Answer.YES),
        (2, None, Answer.NO),
        (0, "seconds", Answer.UNKNOWN),
        (1, "seconds", Answer.UNKNOWN),
        (1, "limit", Answer.UNKNOWN),
        (2, "limit", Answer.NO),
        (2, "seconds", Answer.NO),
    ],
)
def test_unique_follows_from_what_was_found(
    value: int, stopped_by: str | None, unique: Answer
) -> None:
    count = Count(value, stopped_by is None, stopped_by, "any")
    assert count.unique is unique


def test_a_row_is_flat() -> None:
    row = Count(3, False, "limit", "any", {"nodes": 7}).row()
    assert row == {
        "count": 3,
        "complete": False,
        "stopped_by": "limit",
        "engine": "any",
        "nodes": 7,
    }


@pytest.mark.parametrize("limit", [0, -3])
def test_a_limit_below_one_is_refused(limit: int) -> None:
    check_limit(1)
    with pytest.raises(ValueError, match=f"limit is {limit}; expected .* at least 1"):
        check_limit(limit)


def test_a_deadline_passes_or_never_comes(monkeypatch: pytest.MonkeyPatch) -> None:
    now = 100.0
    monkeypatch.setattr("gridcrux.engines.limits.time.monotonic", lambda: now)
    never, at_once, later = Deadline(None), Deadline(0), Deadline(2)
    assert (never.never, never.passed, never.remaining) == (True, False, float("inf"))
    assert (at_once.never, at_once.passed, at_once.remaining) == (False, True, 0.0)
    assert (later.never, later.passed, later.remaining) == (False, False, 2.0)
    now = 101.5
    assert (later.passed, later.remaining) == (False, 0.5)
    now = 103.0
    assert (later.passed, later.remaining) == (True, 0.0)
    assert not never.passed
