"""Corrected p-values by hand."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.statistics.correction import corrected


def test_holm_by_hand():
    """Ordered 0.005, 0.01, 0.03, 0.04 times 4, 3, 2, 1, and none below the one before."""
    p = pd.Series([0.01, 0.04, np.nan, 0.03, 0.005])
    np.testing.assert_allclose(corrected(p, "holm"), [0.03, 0.06, np.nan, 0.06, 0.02])
    # Benjamini and Hochberg: times 4 / 1, 4 / 2, 4 / 3, 4 / 4, and none above the one after.
    np.testing.assert_allclose(corrected(p, "fdr_bh"), [0.02, 0.04, np.nan, 0.04, 0.02])
    with pytest.raises(ValueError, match="no correction 'hulm'"):
        corrected(p, "hulm")
