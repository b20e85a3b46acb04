"""Cases and contradictions: what the premises alone force, one candidate at a time."""

from __future__ import annotations

from collections.abc import Iterator

from gridcrux.grids.state import bits
from gridcrux.techniques.recognise.evidence import Evidence

DEPTHS = ("contradiction", "nested-contradiction", "deep-contradiction")


def cases(e: Evidence) -> Iterator[str]:
    """Whichever candidate of one premise is true, the same ones are excluded."""
    if len(e.premises) < 2:
        return
    kinds = set()
    for place, mask in enumerate(e.masks):
        kind = "cell-forcing" if e.premises[place] < e.layout.cells else "house-forcing"
        if kind not in kinds and all(_excludes(e, candidate) for candidate in bits(mask)):
            kinds.add(kind)
    yield from sorted(kinds)


def contradictions(e: Evidence) -> Iterator[str]:
    """Each candidate that is excluded leaves some premise without any, if it is true.

    Nested: candidates may be excluded by contradictions on the way.  Deep: by nested ones.
    """
    for depth, name in enumerate(DEPTHS):
        if all(_refuted(e, 1 << candidate, 0, depth) for candidate in bits(e.removes)):
            yield name


def _excludes(e: Evidence, candidate: int) -> bool:
    """Whether a candidate cannot be true or, if it is, excludes all that is removed."""
    false = propagated(e, 1 << candidate)
    return false is None or not e.removes & ~false


def propagated(e: Evidence, true: int, false: int = 0) -> int | None:
    """The candidates that are false, once these are true and false, or None if that cannot be.

    A premise with one candidate left makes it true; nothing else is concluded.
    """
    conflicts = e.layout.conflicts
    for candidate in bits(true):
        false |= conflicts[candidate]
    pending = list(e.masks)
    changed = True
    while changed:
        changed = False
        waiting = []
        for mask in pending:
            left = mask & ~false
            if not left:
                return None
            if left & left - 1:
                waiting.append(mask)
            elif not left & true:
                true |= left
                false |= conflicts[left.bit_length() - 1]
                changed = True
        pending = waiting
    return false


def _refuted(e: Evidence, true: int, false: int, depth: int) -> bool:
    """Whether candidates cannot be true, when others may be tried at so many levels."""
    known = propagated(e, true, false)
    while known is not None and depth:
        before = known
        for other in bits(e.base & ~before):
            if not known >> other & 1 and _refuted(e, true | 1 << other, known, depth - 1):
                known = propagated(e, true, known | 1 << other)
                if known is None:
                    return True
        if known == before:
            return False
    return known is None
