"""Levels of consistency: what standard propagation leaves of a state, and which level solves it."""

from gridcrux.proofs.consistency.levels import (
    CONSISTENCIES,
    Level,
    Outcome,
    consistent,
    solves,
    weakest_level,
)
from gridcrux.proofs.consistency.many import levels_of

__all__ = [
    "CONSISTENCIES",
    "Level",
    "Outcome",
    "consistent",
    "levels_of",
    "solves",
    "weakest_level",
]
