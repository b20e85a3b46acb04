"""Name a bare premise set by its shape: an opinion that is independent of the finders.

A technique is a shape of premise sets.  So rule numbers, open candidates and conclusions are
enough to tell which techniques an argument is a case of, however it was found.  A shape is
recognised only if it excludes everything that the argument removes.

Many names are special cases of others: a skyscraper is a chain of one digit, that is an
alternating chain, and whatever is one of these is a contradiction too.  All names are given,
the most special first.  What assumes one solution does not follow from rules and has no name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from gridcrux.grids.state import State
from gridcrux.techniques.recognise import cover, fins, forcing, links, sets
from gridcrux.techniques.recognise.evidence import Argument, Evidence

SHAPES: tuple[Callable[[Evidence], Iterator[str]], ...] = (
    cover.locked,
    cover.subsets,
    cover.fish,
    links.two_houses,
    links.wings,
    links.one_digit,
    links.two_digit_cells,
    fins.finned_fish,
    fins.two_sectors,
    links.one_digit_grouped,
    fins.mixed_fish,
    links.any_links,
    sets.set_pairs,
    sets.set_rows,
    sets.stem_cells,
    sets.any_sets,
    forcing.cases,
    forcing.contradictions,
)
"""Recognisers, the most special shapes first; each gives the names of the shapes that it sees."""


GENERAL = {
    "alternating-chain": "grouped-chain",
    "grouped-chain": "set-chain",
    "alternating-loop": "grouped-loop",
    "grouped-loop": "set-loop",
}
"""For some shapes the next more general one, which includes it: a group may be one candidate."""


def names(argument: Argument, state: State) -> tuple[str, ...]:
    """The names of all techniques whose shape a premise set has, the most special first.

    Parameters
    ----------
    argument : anything with layout, premises, removes and places, such as a Deduction.
    state : where it applies.

    >>> from gridcrux.techniques.solve import available
    >>> marks = [[1, 2], [1, 2], [1, 2, 3, 4], [1, 2, 3, 4]] + [[1, 2, 3, 4]] * 12
    >>> state = State.from_marks(marks)
    >>> names(available(state, "naked-pair")[0], state)[:2]
    ('naked-pair', 'alternating-loop')
    """
    evidence = Evidence(argument, state)
    found: dict[str, None] = {}
    for name in _told(evidence):
        found[name] = None
        while name in GENERAL:
            name = GENERAL[name]
            found[name] = None
    return tuple(found)


def recognise(argument: Argument, state: State) -> str | None:
    """The most special name of a premise set, or None; parameters as for `names`."""
    return next(_told(Evidence(argument, state)), None)


def _told(evidence: Evidence) -> Iterator[str]:
    if evidence.places is not None:
        yield from cover.placements(evidence)
    elif evidence.removes and evidence.premises:
        for shape in SHAPES:
            yield from shape(evidence)
