"""Random puzzles: each sampler says which distribution it draws from.

`deletion` is fast and prefers puzzles with few givens; with `weighted` weighted shares are shares
of all minimal puzzles; `patterns` fixes the number or the places of the givens; `featured` looks
for puzzles in which a technique is essential.
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
