"""How shares are written, beside what is drawn and at the ticks of an axis: in percent."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axis import Axis
from matplotlib.ticker import Formatter
from numpy.typing import ArrayLike

MOST = 9
"""Decimals that are ever written."""


def percent(share: float) -> str:
    """A share in percent with as many digits as it bears; nothing where it is missing.

    >>> [percent(share) for share in (0, 0.0004, 0.016, 0.52, 1, float("nan"))]
    ['0 %', '0.04 %', '1.6 %', '52 %', '100 %', '']
    """
    if np.isnan(share):
        return ""
    percent = 100 * share
    decimals = 0 if percent >= 10 or percent == 0 else 1 if percent >= 1 else 2
    return f"{percent:.{decimals}f} %"


class PercentTicks(Formatter):
    """Shares at the ticks of an axis, with as many decimals as it takes to write them exactly.

    All have the same number of decimals, but for those of a logarithmic axis.

    Parameters
    ----------
    whole : what is written as 100 %.

    Examples
    --------
    >>> PercentTicks().format_ticks([0.01, 0.0125, 0.015])
    ['1.00 %', '1.25 %', '1.50 %']
    """

    def __init__(self, whole: float = 1.0) -> None:
        self._part = 100 / whole

    def __call__(self, value: float, pos: int | None = None) -> str:
        return self.format_ticks([value])[0]

    def format_ticks(self, values: Sequence[float]) -> list[str]:
        shown = self._part * np.asarray(values, float)
        log = isinstance(self.axis, Axis) and self.axis.get_scale() == "log"
        return [f"{each:.{decimals([each] if log else shown)}f} %" for each in shown]


def decimals(values: ArrayLike) -> int:
    """The least number of decimals with which numbers are written exactly, but for rounding.

    >>> decimals([2, 2.5]), decimals([0, 1e-4]), decimals([0.1 + 0.2])
    (1, 4, 1)
    """
    shown = np.asarray(values, float)
    near = 1e-6 * np.abs(shown).max(initial=0)
    exact = (n for n in range(MOST) if np.allclose(shown, shown.round(n), rtol=0, atol=near))
    return next(exact, MOST)
