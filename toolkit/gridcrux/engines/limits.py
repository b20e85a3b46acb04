"""The two limits of a search, checked the same way by every engine."""

from __future__ import annotations

import time


def check_limit(limit: int) -> None:
    """Refuse a count that may find nothing.

    Raises
    ------
    ValueError : the limit is below 1.
    """
    if limit < 1:
        raise ValueError(f"limit is {limit}; expected how many solutions to look for, at least 1")


class Deadline:
    """A moment of the monotonic clock, or never; `seconds` are counted from now on."""

    def __init__(self, seconds: float | None) -> None:
        self._end = None if seconds is None else time.monotonic() + seconds

    @property
    def never(self) -> bool:
        """Whether there is no such moment."""
        return self._end is None

    @property
    def passed(self) -> bool:
        return self._end is not None and time.monotonic() >= self._end

    @property
    def remaining(self) -> float:
        """Seconds left, 0 once passed, infinite if it never comes."""
        return float("inf") if self._end is None else max(0.0, self._end - time.monotonic())
