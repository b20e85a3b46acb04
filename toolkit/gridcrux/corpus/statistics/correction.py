"""p-values of many questions, corrected for their number."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray


def corrected(p: pd.Series, correction: str) -> NDArray[np.float64]:
    """p-values corrected for their number; those that are missing do not count.

    Holm, "A simple sequentially rejective multiple test procedure", Scandinavian Journal of
    Statistics 6 (1979), 65-70, unless another name is given.
    """
    from statsmodels.stats.multitest import multipletests

    values = p.to_numpy(float)
    found = np.full(len(values), np.nan)
    given = ~np.isnan(values)
    try:
        if given.any():
            found[given] = multipletests(values[given], method=correction)[1]
    except ValueError:
        raise ValueError(
            f"no correction {correction!r}; holm, bonferroni, fdr_bh, fdr_by and others are known"
        ) from None
    return found
