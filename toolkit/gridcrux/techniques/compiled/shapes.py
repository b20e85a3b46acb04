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

FAMILIES = ("", "fins", "chains", "unique", "forcing")
"""The module of `compiled` that finds each family; the first is part of the driver."""
