"""Bound consistency of all-different: least and greatest digit of a cell, holes not looked at.

A domain is taken for the interval from its least to its greatest digit.  Where as many cells lie in
an interval as it has digits (a Hall interval), no other cell begins or ends there; where more do,
there is no solution.  With no such interval left every bound lies in a matching of the intervals
(Puget, "A fast algorithm for the bound consistency of alldiff constraints", AAAI 1998, from
memory).
"""

from __future__ import annotations

from gridcrux.grids.inner import inner
from gridcrux.proofs.consistency.matching import DOMAINS
from gridcrux.techniques.compiled.tables import Ints


@inner
def keep_bounded(desk: Ints, count: int) -> bool:
    """Move the bounds of `count` cells out of Hall intervals; False if an interval overflows."""
    n = desk.shape[1]
    changed = True
    while changed:
        changed = False
        for first in range(n):
            for last in range(first, n):
                interval = (2 << last) - (1 << first)
                inside = 0
                for cell in range(count):
                    inside += desk[DOMAINS, cell] & ~interval == 0
                if inside > last - first + 1:
                    return False
                if inside <= last - first:
                    continue
                for cell in range(count):
                    domain = desk[DOMAINS, cell]
                    crossing = domain & interval
                    if crossing == 0 or crossing == domain:
                        continue
                    # It begins inside or ends inside; what lies in the middle of it stays.
                    below, above = domain & ((1 << first) - 1), domain >> (last + 1)
                    if below == 0 or above == 0:
                        desk[DOMAINS, cell] = domain & ~interval
                        changed = True
    return True
