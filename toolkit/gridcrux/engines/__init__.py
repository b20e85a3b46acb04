"""What decides and counts: every engine by name, imported only when it is asked for.

A name is a path: an engine, then how it is to be used.  ``cp/integers`` is CP-SAT with the rules
stated over integers; ``cadical195/minimal/fresh`` is a solver of python-sat with an encoding and a
use.  What is left out is the usual.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from importlib import import_module
from typing import Any

from gridcrux.engines.protocol import Counter, Engine

_OWN: dict[str, tuple[str, str, int]] = {
    "kernel": ("kernel", "KernelEngine", 0),
    "sat": ("sat", "SatEngine", 0),
    "cp": ("cp", "CpEngine", 1),
    "cover": ("cover", "CoverEngine", 0),
}
"""First part of a path to the module, its class, and how many parts may follow; all others are
solvers for `plain`."""

_COUNTING: dict[str, tuple[str, str, int]] = {
    "ganak": ("model_counter", "GanakCounter", 1),
    "bands": ("bands.engine", "BandCounter", 0),
}
"""The same for what only counts."""

_LISTED = (
    "kernel",
    "sat",
    "cp",
    "cp/integers",
    "cp/channelled",
    "cover",
    "cadical153",
    "cadical195",
    "cadical195/fresh",
    "cadical195/minimal",
    "cadical195/extended-ladder/fresh",
    "cadical300",
    "glucose42",
    "glucose42/extended-product",
    "lingeling",
    "maplechrono",
    "maplecm",
    "maplesat",
    "mergesat3",
    "minicard",
    "minisat22",
    "minisat22/minimal/fresh",
    "minisatgh/dual-exact-houses",
    "kissat404/fresh",
)


def _make(name: str, known: dict[str, tuple[str, str, int]], kind: str) -> Any:
    first, *rest = name.split("/")
    if first in known:
        module, made, most = known[first]
        if len(rest) > most or "" in rest:
            follow = f"one part can follow {first!r}" if most else f"nothing can follow {first!r}"
            raise ValueError(f"no {kind} is called {name!r}; {follow}")
        return getattr(import_module(f"gridcrux.engines.{module}"), made)(*rest)
    plain = import_module("gridcrux.engines.plain")
    if first in plain.SOLVERS:
        return plain.PlainEngine.from_path(name)
    raise ValueError(
        f"no {kind} is called {name!r}; there are {', '.join(known)}, and of python-sat, each also "
        f"with an encoding and a use as in 'cadical195/minimal/fresh', {', '.join(plain.SOLVERS)}"
    )


def get_counter(name: str) -> Counter:
    """A new counter by its path: an engine, or what only counts.

    Raises
    ------
    ValueError : there is none of that name.
    """
    made: Counter = _make(name, _OWN | _COUNTING, "counter")
    return made


def get_engine(name: str) -> Engine:
    """A new engine by its path; not only those that are listed in `ENGINES`.

    Raises
    ------
    ValueError : there is none of that name, or it only counts.
    """
    first = name.split("/")[0]
    if first in _COUNTING:
        raise ValueError(f"{first!r} only counts; ask `get_counter` for it")
    made: Engine = _make(name, _OWN, "engine")
    return made


ENGINES: dict[str, Callable[[], Engine]] = {name: partial(get_engine, name) for name in _LISTED}
"""Engines by name, the fastest first, and of those that are for comparison a selection in which
each solver and each use has a place; a value makes a new one."""

COUNTERS: dict[str, Callable[[], Counter]] = {
    **ENGINES,
    **{name: partial(get_counter, name) for name in _COUNTING},
}
"""Those, and what only counts."""
