"""Whoever waits for code to be compiled is told so, also where no command has announced it.

numba says when it begins and ends to compile a function; what it reads from its cache is not
announced.  One line is printed for a module whose code takes longer than a moment.
"""

from __future__ import annotations

import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from numba.core import event

PATIENCE = 1.5
"""Seconds after which someone who waits is told why."""


def told_late(what: str) -> threading.Timer:
    """A timer, started, which tells that something is being compiled unless it is cancelled."""
    told = threading.Timer(
        PATIENCE,
        lambda: print(f"compiling {what} for this machine, once ...", file=sys.stderr),
    )
    told.daemon = True
    told.start()
    return told


class _Notice(event.Listener):
    """Tells of what is compiled while nobody else does; functions within functions count once.

    Attributes
    ----------
    hushed : how many others do at the moment.
    """

    def __init__(self) -> None:
        self.hushed, self.depth = 0, 0
        self.told: set[str] = set()
        self.timer: threading.Timer | None = None

    def on_start(self, event: Any) -> None:
        self.depth += 1
        module = event.data["dispatcher"].py_func.__module__
        ours = module.startswith("gridcrux.") and module not in self.told
        if self.depth == 1 and ours and not self.hushed:
            self.told.add(module)
            self.timer = told_late(module)

    def on_end(self, event: Any) -> None:
        self.depth -= 1
        if self.depth == 0 and self.timer is not None:
            self.timer.cancel()
            self.timer = None


_notice = _Notice()
event.register("numba:compile", _notice)


@contextmanager
def announced(what: str) -> Iterator[None]:
    """Within, some code is loaded: tell by this name if it has to be compiled."""
    _notice.hushed += 1
    told = told_late(what)
    try:
        yield
    finally:
        told.cancel()
        _notice.hushed -= 1


def hush() -> None:
    """Tell no more of what is compiled without being announced."""
    _notice.hushed += 1
