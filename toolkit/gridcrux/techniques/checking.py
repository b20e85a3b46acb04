"""What is asked of a deduction by an own technique before it is used; by itself, nothing.

It stands apart from `compiled.own`, which takes a quarter of a second to load.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction

Check = Callable[[State, Deduction, bool], None]
"""Is told of a deduction, where it was found, and whether it may assume that there is one solution;
raises if the deduction is not to be used."""

CHECK: ContextVar[Check | None] = ContextVar("check", default=None)
"""The check that is made now, if any."""


@contextmanager
def checking(check: Check) -> Iterator[None]:
    """Within, whatever own techniques find is checked before it is used."""
    token = CHECK.set(check)
    try:
        yield
    finally:
        CHECK.reset(token)
