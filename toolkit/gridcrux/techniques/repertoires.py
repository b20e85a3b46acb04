"""The known techniques, in the one list that everything else reads, and the repertoires."""

from __future__ import annotations

from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques import cover, singles

FIRST_FAMILY = Repertoire(
    (
        singles.full_house,
        singles.hidden_single,
        singles.naked_single,
        cover.pointing,
        cover.claiming,
        cover.naked_pair,
        cover.hidden_pair,
        cover.x_wing,
        cover.naked_triple,
        cover.hidden_triple,
        cover.swordfish,
        cover.naked_quad,
        cover.hidden_quad,
        cover.jellyfish,
    )
)
"""Singles and all cases of the cover theorem up to four bases, the easiest to spot first."""

SINGLES = FIRST_FAMILY.only("full-house", "hidden-single", "naked-single")
"""Placements only."""
