"""Random puzzles: each sampler says which distribution it draws from.

`deletion` is fast and prefers puzzles with few givens.
"""

from gridcrux.corpus.sample.deletion import (
    SYMMETRIES,
    Givens,
    Sampled,
    generator,
    grids,
    minimal,
    symmetric_cells,
)

__all__ = [
    "SYMMETRIES",
    "Givens",
    "Sampled",
    "generator",
    "grids",
    "minimal",
    "symmetric_cells",
]
