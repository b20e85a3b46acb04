"""All minimal sufficient and all minimal blocking technique sets of a puzzle.

The goal is what the whole repertoire reaches, as in `essential`.  A set of techniques is
*sufficient* if its closure, or that of a part of it, reaches the goal, and *minimal* if no part of
it is.  It is *blocking* if what the repertoire has without it is not sufficient.  The minimal sets
of either kind are the minimal sets that meet every set of the other (Reiter, "A theory of
diagnosis from first principles", Artificial Intelligence 32, 1987).

So the one kind is found through the other (dualize and advance: Gunopulos et al., "Discovering all
most specific sentences", ACM TODS 28, 2003; Bailey and Stuckey, "Discovery of minimal
unsatisfiable subsets of constraints using hitting set dualization", PADL 2005).  Keep all minimal
sets that meet every blocking set known.  One that does not reach the goal is widened while it does
not, and what is left out then is another blocking set.  When all of them reach the goal, they are
the minimal sufficient sets, and no blocking set is missing.

Who knows more need not reach more: a technique may take the candidate away that gave a pattern of
another its shape (`proofs.monotone`).  Therefore each set is tried without each of its members
before it is listed, and what does not reach the goal is tried with a few members less.  Where this
shows a pair of sets of which the smaller reaches the goal and the larger does not, the pair is kept
in `exceptions`, and the search goes on with the smaller set known.  So it can miss only sets that
reach the goal, though they do not with some more and then not with a few less either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from html import escape
from itertools import combinations
from math import comb
from typing import Any

import numpy as np

from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.closures import UNKNOWN, Flags
from gridcrux.proofs.selections import Selections, minimal_meeting
from gridcrux.proofs.trust import certifying
from gridcrux.proofs.uniqueness import require_unique
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY

Names = tuple[str, ...]

Progress = Callable[[int, int], None]
"""Told how many sufficient and how many blocking sets are known."""

LIMIT = 10_000
"""Sets of both kinds that are listed when nothing else is said."""

PROBES = 200
"""Closures that may be spent on the doubt whether less reaches more, for each blocking set; the
single members are left out one by one in any case."""

BATCH = 32
"""Sets that are tried between two looks at the clock."""


def placements(repertoire: Repertoire) -> Names:
    """The techniques of a repertoire that write digits; most people take them for granted."""
    return tuple(each.name for each in repertoire if each.family == "single")


@dataclass(frozen=True, eq=False)
class TechniqueSets:
    """The minimal sufficient and the minimal blocking sets of a puzzle.

    Attributes
    ----------
    sufficient, blocking : names in the order of the repertoire, the smallest sets first.
    always : techniques that every set has besides.
    complete : whether all sets are listed.
    stopped_by : None, "limit" or "seconds".
    exceptions : pairs of a set that reaches the goal and a larger one that does not, met on the
        way, both without `always`.
    """

    sufficient: tuple[Names, ...]
    blocking: tuple[Names, ...]
    always: Names
    complete: bool
    stopped_by: str | None
    exceptions: tuple[tuple[Names, Names], ...] = field(repr=False)

    @property
    def essential(self) -> Names:
        """The techniques that alone are blocking: every sufficient set has them."""
        return tuple(names[0] for names in self.blocking if len(names) == 1)

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "minimal_sufficient": len(self.sufficient),
            "minimal_blocking": len(self.blocking),
            "smallest_sufficient": min(map(len, self.sufficient), default=None),
            "smallest_blocking": min(map(len, self.blocking), default=None),
            "essential_techniques": ", ".join(self.essential),
            "complete": self.complete,
            "stopped_by": self.stopped_by,
        }

    def as_dict(self) -> dict[str, Any]:
        """The sets as JSON can hold them."""
        return {
            "minimal_sufficient": [list(names) for names in self.sufficient],
            "minimal_blocking": [list(names) for names in self.blocking],
            "always": list(self.always),
            "complete": self.complete,
            "stopped_by": self.stopped_by,
        }

    def _repr_html_(self) -> str:
        kinds = [("sufficient", self.sufficient), ("blocking", self.blocking)]
        lists = "".join(
            f"<p>minimal {kind}: {len(sets)}</p><ul>"
            + "".join(f"<li>{escape(', '.join(names)) or 'the empty set'}</li>" for names in sets)
            + "</ul>"
            for kind, sets in kinds
        )
        more = "" if self.complete else f"<p>not all: stopped by {self.stopped_by}</p>"
        return lists + more


@certifying()
def technique_sets(
    state: State,
    repertoire: Repertoire = DEFAULT,
    *,
    always: Iterable[str] = (),
    limit: int | None = LIMIT,
    seconds: float | None = None,
    progress: Progress | None = None,
) -> TechniqueSets:
    """All minimal sufficient and all minimal blocking sets of techniques of a repertoire.

    Where a limit ends the search there may be more than is listed.  Where closures are not
    monotone (see above) a set may be missing, or not be minimal by more than one member.

    Parameters
    ----------
    always : techniques that every set has and no list names, for example the placements
        (`placements(repertoire)`), which makes it much faster.
    limit : sets of both kinds to list at most.

    Raises
    ------
    NotUnique : the repertoire assumes that the puzzle has exactly one solution, and it has not.
    Unsound : a technique that a user wrote finds what does not follow.
    UnknownTechnique : one in `always` is not in the repertoire.
    ValueError : the limit is below 1.
    """
    if limit is not None:
        check_limit(limit)
    require_unique(state, repertoire)
    _compile()
    search = _Search(Selections(state, repertoire), repertoire, always)
    stopped_by = search.go(limit, Deadline(seconds), progress)
    return TechniqueSets(
        named(repertoire.names, search.sets[search.tried]),
        named(repertoire.names, search.blocking),
        repertoire.only(*always).names,
        stopped_by is None,
        stopped_by,
        tuple((few, many) for few, many in search.exceptions),
    )


def named(names: Names, sets: Flags) -> tuple[Names, ...]:
    """(K, T) sets by the names in them, the smallest first, then in the order of `names`."""
    rows = sorted((np.flatnonzero(row).tolist() for row in sets), key=lambda row: (len(row), row))
    return tuple(tuple(names[place] for place in row) for row in rows)


@lru_cache(maxsize=1)
def _compile() -> None:
    """Compile what is needed if it never was on this machine, before time is kept."""
    puzzle = State.from_digits([1, 0, 0, 0, 0, 0, 2, 0, 0, 3, 0, 0, 0, 0, 0, 4], boxes(2, 2))
    _Search(Selections(puzzle, FIRST_FAMILY), FIRST_FAMILY).go(None, Deadline(None), None)


def flags(repertoire: Repertoire, names: Iterable[str]) -> Flags:
    """(T,) flags of the techniques with some names.

    Raises
    ------
    UnknownTechnique : a name is not in the repertoire.
    """
    kept = set(repertoire.only(*names).names)
    return np.array([name in kept for name in repertoire.names], np.bool_)


class _Search:
    """The search under way.

    Attributes
    ----------
    sets : (K, T) the minimal sets that meet every set in `blocking`.
    tried : (K,) which of them are known to be minimal sufficient sets.
    blocking : (B, T) sets whose complement does not reach the goal, nor any known part of it.
    known : (S, T) all minimal sufficient sets found.
    probed : the blocking sets of which it was tried whether less reaches more.
    """

    def __init__(
        self, closures: Selections, repertoire: Repertoire, always: Iterable[str] = ()
    ) -> None:
        self.closures, self.names = closures, repertoire.names
        self.always = flags(repertoire, always)
        self.known = np.zeros((0, len(self.names)), np.bool_)
        self.blocking = self.known.copy()
        self.exceptions: dict[tuple[Names, ...], None] = {}
        self.probed: set[bytes] = set()
        self._dualize()

    def go(self, limit: int | None, deadline: Deadline, progress: Progress | None) -> str | None:
        """Go on until all sets are known; None, or what stopped it."""
        while not deadline.passed:
            doubtful = [each for each in self.blocking if each.tobytes() not in self.probed]
            if not self.tried.all():
                room = BATCH if limit is None else limit - self.tried.sum() - len(self.blocking)
                if room <= 0:
                    return "limit"
                self._advance(min(BATCH, room))
            elif doubtful:
                self._probe(doubtful[0])
            elif not self._mend():
                return None
            if progress is not None:
                progress(int(self.tried.sum()), len(self.blocking))
        return "seconds"

    def _advance(self, batch: int) -> None:
        """Try some of the sets that were not tried yet, up to the first that ends in surprise."""
        places = np.flatnonzero(~self.tried)[:batch]
        good, why = self.closures.first_surprise(self.sets[places], self.always)
        self.tried[places[:good]] = True
        self.known = np.concatenate([self.known, self.sets[places[:good]]])
        if why == UNKNOWN:
            self._block(self.sets[places[good]])
        elif why >= 0:
            part = self.sets[places[good]].copy()
            part[why] = False
            self._find(part)

    def _block(self, chosen: Flags) -> None:
        """Add the blocking set that comes of a set which does not reach the goal."""
        blocked = ~self.closures.widened(chosen | self.always, self.known)
        others = (blocked & ~self.blocking).any(1)
        self.blocking = np.concatenate([self.blocking[others], blocked[None]])
        self._take(minimal_meeting(self.sets, blocked))

    def _find(self, part: Flags) -> None:
        """Take notice of a sufficient set that does not meet every blocking set known."""
        part = self.closures.narrowed(part, self.always)
        self.known = np.concatenate([self.known, part[None]])
        refuted = ~(self.blocking & part).any(1)
        for blocked in self.blocking[refuted]:
            wide = ~blocked & ~self.always
            self.exceptions[named(self.names, part[None]) + named(self.names, wide[None])] = None
        self.blocking = self.blocking[~refuted]
        self._dualize()

    def _probe(self, blocked: Flags) -> None:
        """Try what the goal is not reached with, less some members: it might be reached then."""
        wide = ~blocked
        places = np.flatnonzero(wide & ~self.always).tolist()
        less: list[tuple[int, ...]] = []
        for size in range(1, len(places) + 1):
            if len(less) + comb(len(places), size) > max(PROBES, len(places)):
                break
            less += combinations(places, size)
        parts = np.repeat(wide[None], len(less), axis=0)
        for part, left_out in zip(parts, less, strict=True):
            part[list(left_out)] = False
        reached = self.closures.reach(parts)
        self.probed.add(blocked.tobytes())
        if reached.any():
            self._find(parts[reached][0] & ~self.always)

    def _mend(self) -> bool:
        """Whether a blocking set turned out not to be minimal, after it was seen to."""
        for blocked in self.blocking:
            shared = self.sets & blocked
            spare = blocked & ~shared[shared.sum(1) == 1].any(0)
            if spare.any():
                wide = ~blocked
                wide[np.flatnonzero(spare)[0]] = True
                if self.closures.reach(wide[None])[0]:
                    self._find(wide & ~self.always)
                else:
                    self.blocking = self.blocking[(self.blocking != blocked).any(1)]
                    self._block(wide)
                    self._dualize()
                return True
        return False

    def _dualize(self) -> None:
        """Make the sets anew that meet every blocking set."""
        sets = np.zeros((1, len(self.names)), np.bool_)
        for blocked in self.blocking:
            sets = minimal_meeting(sets, blocked)
        self._take(sets)

    def _take(self, sets: Flags) -> None:
        """Go on with other sets; those known to be sufficient need not be tried again."""
        known = {row.tobytes() for row in self.known}
        self.sets = sets
        self.tried = np.array([row.tobytes() in known for row in sets], np.bool_)
