"""The share of puzzles that have a feature; intervals for it, and for the ratio of two."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from gridcrux.corpus.statistics.features import Features, flags, known
from gridcrux.corpus.statistics.resampling import FEW, Floats
from gridcrux.corpus.statistics.weighting import Weighting


class Share:
    """A feature of the puzzles of a study.

    Parameters
    ----------
    truth : (n,) whether a puzzle has it.
    given : (n,) whether that is known; `truth` is false where it is not.

    Attributes
    ----------
    puzzles, count : puzzles of which it is known, and that have it, each counted once.
    share : by weight; NaN where nothing is known.
    effective : effective size of the sample of those of which it is known.
    """

    def __init__(
        self, truth: NDArray[np.bool_], given: NDArray[np.bool_], weighting: Weighting
    ) -> None:
        self.truth, self.given, self.weighting = truth, given, weighting
        self.puzzles, self.count = int(given.sum()), int(truth.sum())
        total = weighting.weight[given].sum()
        self.share = float(weighting.weight[truth].sum() / total) if total else np.nan
        self.effective = weighting.effective(given)

    @property
    def size(self) -> float:
        """Size of a simple sample that says as much of the share."""
        return self.effective if self.weighting.plain else self.worth

    @property
    def enough(self) -> bool:
        """Whether enough units have the feature, and lack it, for a bootstrap."""
        having = np.count_nonzero(self.weighting.totals(self.truth))
        lacking = np.count_nonzero(self.weighting.totals(self.given & ~self.truth))
        return bool(min(having, lacking) >= FEW)

    @property
    def worth(self) -> float:
        """Size of a simple sample in which the share would vary as much as between the groups.

        Puzzles of a group need not be alike in this feature, so this may be more than `effective`,
        though never more than if they were independent.  Korn and Graubard, "Confidence intervals
        for proportions with small expected number of positive counts estimated from survey data",
        Survey Methodology 24 (1998), 193-201; from memory.
        """
        with_it, known_ = self.group_totals().T
        groups = np.count_nonzero(known_)
        if not 0 < self.share < 1 or groups < 2:
            return self.effective
        apart = with_it - self.share * known_
        variance = (apart**2).sum() / known_.sum() ** 2 * groups / (groups - 1)
        weight = self.weighting.weight[self.given]
        independent = weight.sum() ** 2 / (weight**2).sum()
        return float(min(independent, self.share * (1 - self.share) / variance))

    def totals(self) -> Floats:
        """(units, 2) weight of what has the feature, and of that of which it is known."""
        return np.stack([self.weighting.totals(each) for each in (self.truth, self.given)], axis=1)

    def group_totals(self) -> Floats:
        """(groups, 2) the same for groups."""
        add = self.weighting.group_totals
        return np.stack([add(self.truth), add(self.given)], axis=1)


def shares(study: pd.DataFrame, features: Features, weighting: Weighting) -> dict[str, Share]:
    """The features of a study by name, in the order asked for."""
    asked = flags(study, features)
    truth, given = known(asked)
    return {
        str(name): Share(truth[:, i], given[:, i], weighting)
        for i, name in enumerate(asked.columns)
    }


def wilson(share: ArrayLike, size: ArrayLike, confidence: float) -> tuple[Any, Any]:
    """Lower and upper ends of the intervals of Wilson for shares of samples.

    Parameters
    ----------
    share, size : numbers or arrays; a size need not be a whole number.  Where it is nought, the
        ends are missing.
    """
    from statsmodels.stats.proportion import proportion_confint

    share, size = np.asarray(share, float), np.asarray(size, float)
    size = np.where(size > 0, size, np.nan)
    low, high = proportion_confint(share * size, size, 1 - confidence, method="wilson")
    # The ends at nought and one are exact but for rounding.
    return np.where(share == 0, 0 * size, low)[()], np.where(share == 1, 1 + 0 * size, high)[()]


def ratio_interval(
    above: tuple[float, float], below: tuple[float, float], confidence: float
) -> tuple[float, float]:
    """Lower and upper end of an interval for the ratio of two shares, out of those of Wilson.

    The ratio is always within it, also where a share is nought or one: an interval for the ratio
    with something added to the counts need not hold the ratio of the counts.  The upper end is
    infinite where the share below is nought.

    Donner and Zou, "Closed-form confidence intervals for functions of the normal mean and standard
    deviation", Statistical Methods in Medical Research 21 (2012), 347-359 (MOVER), for shares as in
    Fagerland, Lydersen and Laake, "Recommended confidence intervals for two independent binomial
    proportions", in the same journal 24 (2015), 224-254; from memory.

    Parameters
    ----------
    above, below : a share and the size of its sample.

    Examples
    --------
    >>> low, high = ratio_interval((0.2, 100), (0.1, 100), 0.95)
    >>> round(low, 2), round(high, 2)
    (1.0, 4.0)
    """
    (one, two), product = (above[0], below[0]), above[0] * below[0]
    (low_one, high_one), (low_two, high_two) = (
        wilson(share, size, confidence) for share, size in (above, below)
    )
    # Each root is of a difference of squares that is never below nought but for rounding.
    least = low_one * (2 * one - low_one)
    root = np.sqrt(max(0.0, product**2 - least * high_two * (2 * two - high_two)))
    low = least / (product + root) if least > 0 else 0.0
    least = low_two * (2 * two - low_two)
    root = np.sqrt(max(0.0, product**2 - least * high_one * (2 * one - high_one)))
    return float(low), float((product + root) / least) if least > 0 else np.inf
