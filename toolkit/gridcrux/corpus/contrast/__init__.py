"""What is hard for a person beside what is hard for a machine, puzzle by puzzle.

>>> from gridcrux.corpus.contrast import Contrast, contrast
>>> table = contrast(["12.. .... .... ..4."], engines=["kernel", "cp"])
>>> table[["solutions", "solved", "nodes"]].values.tolist()
[[2, False, <NA>]]

`contrast_files` does the same with files, on several processes, and goes on where it was;
`corpus.statistics.correlation.rank_correlations` and `outliers.rank_residuals` look at the table.
"""

from gridcrux.corpus.contrast.measures import CAUTIONS, DIRECTIONS, ENGINES, Contrast
from gridcrux.corpus.contrast.outliers import rank_residuals
from gridcrux.corpus.contrast.run import (
    ContrastRun,
    contrast,
    contrast_correlations,
    contrast_files,
)

__all__ = [
    "CAUTIONS",
    "DIRECTIONS",
    "ENGINES",
    "Contrast",
    "ContrastRun",
    "contrast",
    "contrast_correlations",
    "contrast_files",
    "rank_residuals",
]
