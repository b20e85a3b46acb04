"""Numbers of the shapes of deduction, by which the compiled driver chooses a finder."""

from __future__ import annotations

FULL_HOUSE, HIDDEN_SINGLE, NAKED_SINGLE = 0, 1, 2
"""Placements: a rule with one candidate left."""

POINTING, CLAIMING = 3, 4
"""A digit of a house inside one other house; the house is a box or region, or it is not."""

NAKED, HIDDEN, FISH = 5, 6, 7
"""Lines of a matrix inside as many positions: cells of a house, digits of a house, lines."""

SIZES = 10
"""Technique number = shape * SIZES + how many base rules it needs."""

FAMILY = 100
"""Technique number = family * FAMILY + a number within the family."""

FAMILIES = ("", "fins", "chains", "unique", "forcing", "own")
"""The module of `compiled` that finds each family; the first is part of the driver."""

# Family 2: chains.

(
    SKYSCRAPER,
    TWO_STRING_KITE,
    TURBOT_CHAIN,
    EMPTY_RECTANGLE,
    SIMPLE_COLOURING,
    MULTI_COLOURING,
    X_CHAIN,
    GROUPED_X_CHAIN,
) = range(200, 208)
"""Chains of one digit."""

(
    XY_WING,
    W_WING,
    XYZ_WING,
    REMOTE_PAIR,
    XY_CHAIN,
    CHAIN,
    LOOP,
    GROUPED_CHAIN,
    GROUPED_LOOP,
) = range(208, 217)
"""Chains through cells and houses."""

(
    ALS_XZ,
    ALS_LOOP,
    ALS_CHAIN,
    STEM_CELL,
    SET_CHAIN,
    SET_LOOP,
) = range(217, 223)
"""Chains through almost locked sets."""

# Family 3: unique

(
    UNIQUE_CORNER,
    UNIQUE_SIDE,
    UNIQUE_SCATTER,
    UNIQUE_SUBSET,
    UNIQUE_SIDE_LOCK,
    UNIQUE_CROSS_LOCK,
    HIDDEN_RECTANGLE,
    MASKED_RECTANGLE,
    AVOIDABLE_CORNER,
    AVOIDABLE_GUARDS,
    AVOIDABLE_SUBSET,
    AVOIDABLE_LOCK,
    GRAVE,
    GUARDED_GRAVE,
) = range(3 * FAMILY, 3 * FAMILY + 14)
"""Rectangles that must not hold two digits only, by what keeps them from it; those of them with
cells that are written but not given; and grids in which everything has two places."""

# Family 4: forcing.

CELL_FORCING, HOUSE_FORCING, CONTRADICTION, NESTED_CONTRADICTION = range(4 * FAMILY, 4 * FAMILY + 4)
"""What every digit of a cell, or every place of a digit, excludes; what leaves some rule
without a candidate, by singles alone or by contradictions within too."""

OWN = 5 * FAMILY
"""The first number of family 5, techniques that a user writes in Python (`own`)."""

# Family 1: fins.  Their numbers within the family go on behind those of the chains, as the two
# families share the notes in `board.PASSED`.

FINNED, SASHIMI, MIXED = 120, 124, 128
"""Shapes of fish, to which the number of bases is added: with fins; with a base that has fewer
than two places in the covers; with lines and boxes mixed.  Together 122 to 131."""

TWO_SECTOR_SET = 132
"""Cells of a line and a box that share some, as many as their digits."""
