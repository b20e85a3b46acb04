"""Which compiled module finds the techniques of a family, loaded when a repertoire needs it.

The driver calls a family through a function pointer.  So the driver is compiled without it,
and a family is compiled, or read from the cache, when the first repertoire with one of its
techniques is put to work.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from functools import lru_cache
from importlib import import_module
from typing import Any, NamedTuple

import numpy as np
from numba import NumbaExperimentalFeatureWarning, cfunc, typeof, types

from gridcrux.grids.compiling import announced
from gridcrux.grids.layout import boxes
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.compiled.shapes import FAMILIES, FAMILY
from gridcrux.techniques.compiled.tables import Ints, Tables, tables

# numba calls pointers to compiled functions experimental; every family is tested through one.
warnings.filterwarnings("ignore", category=NumbaExperimentalFeatureWarning)

_TABLE = types.Array(types.int64, 2, "C")
"""What boards and records are."""

FINDER = types.int64(
    typeof(tables(boxes(2, 2))), _TABLE, types.int64, types.int64, _TABLE, types.int64, types.int64
)
"""What a finder of a family looks like:
``find(tables, board, technique, widest, records, row, limit) -> found``.

It writes at most `limit` records from row `row` on, each with at most `widest` premises and
with something open to exclude, and nothing that is forbidden; it returns how many it wrote.  With
limit 1 it writes the one that is easiest to see.  It leaves the board as it was, but for
notes of where there is nothing to find.
"""


class Plan(NamedTuple):
    """A repertoire as the driver takes it.

    Attributes
    ----------
    order : technique numbers, easiest first; any selection.
    widest : most premises that a deduction of a later family may have.
    finders : a function pointer for each family.
    clock : (2,) the number of the puzzle at work and that of the one whose time is up: whoever
        waits for the compiled code sets the second from another thread.
    """

    order: Ints
    widest: int
    finders: Any
    clock: Ints


AT_WORK, TIME_UP = 0, 1
"""Places in `Plan.clock`."""

NO_PUZZLE = -1


def new_clock() -> Ints:
    """A clock that stops nothing: no puzzle is at work yet, and nobody's time is up."""
    return np.array([NO_PUZZLE - 1, NO_PUZZLE])


@cfunc(FINDER, cache=True)
def nothing(
    tables: Tables, board: Ints, technique: int, widest: int, records: Ints, row: int, limit: int
) -> int:
    """Stand in for a family that no technique of the repertoire belongs to."""
    return 0


_loaded: dict[int, Any] = {}


def _load(family: int) -> None:
    """Load the finder of a family, compiled now if it never was on this machine."""
    if family in _loaded or not FAMILIES[family]:
        return
    with announced(f"the techniques of '{FAMILIES[family]}'"):
        module = import_module(f"gridcrux.techniques.compiled.{FAMILIES[family]}")
    _loaded[family] = module.find


@lru_cache(maxsize=64)
def _finders(families: frozenset[int]) -> tuple[Any, ...]:
    return tuple(
        _loaded[family] if family in families and family in _loaded else nothing
        for family in range(len(FAMILIES))
    )


def plan_of(repertoire: Repertoire) -> Plan:
    """Prepare a repertoire for the driver; loads all of its families."""
    order = np.array(repertoire.order)
    used = frozenset((order // FAMILY).tolist())
    for family in used:
        _load(family)
    return Plan(order, repertoire.limit, _finders(used), new_clock())


def plans_of(repertoire: Repertoire) -> Iterator[Plan]:
    """Plans for more and more of a repertoire; a family is loaded when its turn comes.

    Each has the techniques before the first that needs a family not loaded yet.  A route that
    goes on under the next plan only where it is stuck under this one is the route of the whole.
    """
    families = repertoire.order // FAMILY
    while True:
        missing = [place for place, f in enumerate(families.tolist()) if f and f not in _loaded]
        reach = missing[0] if missing else len(families)
        used = frozenset(families[:reach].tolist())
        order = np.array(repertoire.order[:reach])
        yield Plan(order, repertoire.limit, _finders(used), new_clock())
        if not missing:
            return
        _load(int(families[reach]))
