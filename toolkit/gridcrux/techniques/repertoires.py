"""The known techniques, in the one list that everything else reads, and the repertoires.

The order is that of attention.  First by width, how many rules one has to look up at once,
because that is what has to be kept in mind; techniques of any length come after those of a
fixed width, since one does not know beforehand how far one has to look.  Within a width by how
many cells must be looked at: a cell is one cell, a digit in a house is a whole house.  Then what
stays within one digit, or within cells of two digits, comes before what mixes them.
"""

from __future__ import annotations

from collections.abc import Iterable
from difflib import get_close_matches

from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.technique import Technique
from gridcrux.techniques import chains, cover, fins, forcing, sets, singles, unique
from gridcrux.techniques.compiled import shapes

_KNOWN = (
    # Width 1: one house or one cell.
    singles.full_house,
    singles.hidden_single,
    singles.naked_single,
    cover.pointing,
    cover.claiming,
    # Width 2.
    cover.naked_pair,
    cover.hidden_pair,
    cover.x_wing,
    chains.skyscraper,
    chains.two_string_kite,
    chains.turbot_chain,
    chains.empty_rectangle,
    fins.finned_x_wing,
    fins.sashimi_x_wing,
    fins.mixed_x_wing,
    # Width 3.
    cover.naked_triple,
    chains.xy_wing,
    sets.xyz_wing,
    chains.w_wing,
    cover.hidden_triple,
    cover.swordfish,
    fins.finned_swordfish,
    fins.sashimi_swordfish,
    fins.mixed_swordfish,
    # Width 4.
    cover.naked_quad,
    chains.remote_pair,
    cover.hidden_quad,
    cover.jellyfish,
    fins.finned_jellyfish,
    fins.sashimi_jellyfish,
    fins.two_sector_set,
    # Uniqueness: rectangles of four cells, and the grid as a whole.
    *unique.TECHNIQUES,
    # Of any length, one digit.
    chains.simple_colouring,
    chains.multi_colouring,
    chains.x_chain,
    chains.grouped_x_chain,
    # Of any length, several digits.
    chains.xy_chain,
    chains.alternating_chain,
    chains.alternating_loop,
    chains.grouped_chain,
    chains.grouped_loop,
    # Almost locked sets.
    sets.als_xz,
    sets.als_loop,
    sets.als_chain,
    sets.stem_cell,
    sets.set_chain,
    sets.set_loop,
    # Last resorts.
    *forcing.TECHNIQUES,
)
EVERYTHING = Repertoire(_KNOWN)
"""All techniques, the easiest to spot first."""


def _level(*groups: Iterable[Technique]) -> Repertoire:
    """The techniques of some groups, in the order of `EVERYTHING`."""
    return EVERYTHING.only(*(technique.name for group in groups for technique in group))


_LOCKED = (cover.pointing, cover.claiming)
_SUBSETS = tuple(t for t in cover.TECHNIQUES if t.name.startswith(("naked", "hidden")))
_FISH = (cover.x_wing, cover.swordfish, cover.jellyfish)
_ONE_DIGIT = (
    *(t for t in chains.TECHNIQUES if t.number <= shapes.GROUPED_X_CHAIN),
    *(t for t in fins.TECHNIQUES if t is not fins.two_sector_set),
)
_PAIRED = (
    chains.xy_wing,
    sets.xyz_wing,
    chains.w_wing,
    chains.remote_pair,
    chains.xy_chain,
)
_RULES = tuple(t for t in _KNOWN if t.family != "forcing" and not t.assumes_unique)
_UNIQUE = tuple(t for t in _KNOWN if t.assumes_unique)

LEVELS: dict[str, Repertoire] = {
    "singles": _level(singles.TECHNIQUES),
    "locked": _level(singles.TECHNIQUES, _LOCKED),
    "subsets": _level(singles.TECHNIQUES, _LOCKED, _SUBSETS),
    "fish": _level(singles.TECHNIQUES, cover.TECHNIQUES),
    "one-digit": _level(singles.TECHNIQUES, cover.TECHNIQUES, _ONE_DIGIT),
    "two-digit-cells": _level(singles.TECHNIQUES, cover.TECHNIQUES, _ONE_DIGIT, _PAIRED),
    "chains": _level(singles.TECHNIQUES, cover.TECHNIQUES, _ONE_DIGIT, _PAIRED, chains.TECHNIQUES),
    "almost-locked-sets": _level(_RULES),
    "last-resorts": _level(t for t in _KNOWN if not t.assumes_unique),
    "uniqueness": _level(_RULES, _UNIQUE),
    "everything": EVERYTHING,
}
"""Repertoires of growing power, each named after what it adds: placements; locked candidates;
naked and hidden subsets; fish; patterns and chains of one digit; wings and chains of cells with
two digits; alternating chains; almost locked sets; forcing.  Each has what the ones before it
have, but for the last two: arguments from uniqueness with almost locked sets, and everything."""

DEFAULT_LEVEL = "almost-locked-sets"
"""All that follows from the rules without following the consequences of an assumption."""

DEFAULT = LEVELS[DEFAULT_LEVEL]

FIRST_FAMILY = LEVELS["fish"]
"""Singles and all cases of the cover theorem up to four bases; it is the fastest by far."""

SINGLES = LEVELS["singles"]
"""Placements only."""


class UnknownLevel(ValueError):
    """A name that is no level of techniques."""

    def __init__(self, name: str) -> None:
        close = get_close_matches(name, LEVELS, 2, 0.5)
        hint = f"did you mean {' or '.join(close)}?" if close else f"there are {', '.join(LEVELS)}"
        super().__init__(f"no level is called {name!r}; {hint}")


def level_named(name: str) -> Repertoire:
    """The repertoire of a level.

    Raises
    ------
    UnknownLevel : there is no level of that name.
    """
    if name not in LEVELS:
        raise UnknownLevel(name)
    return LEVELS[name]
