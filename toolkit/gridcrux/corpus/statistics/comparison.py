"""How two studies differ: shares and means, sizes of effects, and how sure the difference is."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any

import numpy as np
import pandas as pd

from gridcrux.corpus.statistics.correction import corrected
from gridcrux.corpus.statistics.features import Features, numbers
from gridcrux.corpus.statistics.resampling import Floats, bootstrap, permutation_p, ratio
from gridcrux.corpus.statistics.shares import Share, ratio_interval, shares
from gridcrux.corpus.statistics.weighting import Weighting

SHARES_COLUMNS = {
    "feature": "name of the feature",
    "first_puzzles": "puzzles of the first study of which it is known whether they have it",
    "second_puzzles": "the same of the second study",
    "first_share": "share that has it in the first study, by weight",
    "second_share": "the same in the second study",
    "difference": "second_share - first_share",
    "difference_low": "lower end of the interval of `difference`",
    "difference_high": "upper end of it",
    "risk_ratio": "second_share / first_share; infinite where only the first share is nought, "
    "missing where both are",
    "risk_ratio_low": "lower end of the interval of `risk_ratio`",
    "risk_ratio_high": "upper end of it; infinite where the first share is nought",
    "odds_ratio": "odds of having it in the second study by those in the first",
    "cohen_h": "effect size: difference of the arcsines of the roots of the shares, twice",
    "p": "two-sided p-value of no difference",
    "p_corrected": "`p` corrected for the number of features compared",
    "interval": "how the intervals came about: newcombe (difference) and mover (ratio), which are "
    "made of the intervals of Wilson, of counts or of effective sizes; or bootstrap over groups",
    "test": "how `p` came about: fisher, which is the permutation test of a table of counts; or "
    "score, effective size",
}
"""Meaning of the columns of `compare_shares`."""

NUMBERS_COLUMNS = {
    "column": "name or formula",
    "first_puzzles": "puzzles of the first study of which the number is known",
    "second_puzzles": "the same of the second study",
    "first_mean": "mean in the first study, by weight",
    "second_mean": "the same in the second study",
    "difference": "second_mean - first_mean",
    "difference_low": "lower end of the bootstrap interval of `difference`",
    "difference_high": "upper end of it",
    "hedges_g": "effect size: difference by the joint standard deviation, corrected for small "
    "samples",
    "cliff_delta": "effect size (rank-biserial correlation): chance that a puzzle of the second "
    "study has more than one of the first, less the chance that it has less",
    "p": "two-sided p-value of equal means",
    "p_corrected": "`p` corrected for the number of columns compared",
    "test": "how `p` came about: permutation of groups, or normal where there are many groups",
}
"""Meaning of the columns of `compare_numbers`."""


def compare_shares(
    first: pd.DataFrame,
    second: pd.DataFrame,
    features: Features,
    *,
    correction: str = "holm",
    weights: str | None = "weight",
    groups: str | None = "group",
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> pd.DataFrame:
    """How the shares of puzzles with a feature differ between two studies.

    Parameters
    ----------
    first, second : studies; what is missing does not count.
    features : texts, or functions of a study by name: they are asked of both.
    correction : for many comparisons, a name that `statsmodels.stats.multitest.multipletests`
        knows: "holm", "fdr_bh" and others.
    weights, groups : as for `rates.rates`; where only one study has them, the puzzles of the
        other count as one each.
    confidence : of the intervals.
    resamples, seed : of the bootstrap.

    Returns
    -------
    DataFrame with the columns of `SHARES_COLUMNS`, a row a feature.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : a study is empty, or a feature is not yes or no.
    """
    if isinstance(features, pd.DataFrame) or (
        isinstance(features, Mapping)
        and any(isinstance(each, pd.Series) for each in features.values())
    ):
        raise ValueError("a Series belongs to one study; compare texts or functions of a study")
    asked = features if isinstance(features, str | Mapping) else list(features)
    one, two = (
        shares(study, asked, Weighting.of(study, weights, groups, seed))
        for study in _both(first, second)
    )
    rows = [
        {"feature": name}
        | _shares(one[name], two[name])
        | _share_intervals(one[name], two[name], confidence)
        | _share_test(one[name], two[name])
        for name in one
    ]
    table = pd.DataFrame(rows, columns=list(SHARES_COLUMNS))
    again = [
        name
        for name in one
        if not _plain(one[name], two[name]) and one[name].enough and two[name].enough
    ]
    if again:
        count = len(again)
        low, high = bootstrap(
            [
                np.concatenate([each[name].totals() for name in again], axis=1)
                for each in (one, two)
            ],
            lambda before, after: np.concatenate(
                [_means(after) - _means(before), ratio(_means(after), _means(before))], axis=1
            ),
            confidence=confidence,
            resamples=resamples,
            seed=seed,
        )
        columns = ["difference_low", "difference_high", "risk_ratio_low", "risk_ratio_high"]
        ends = np.stack([low[:count], high[:count], low[count:], high[count:]], axis=1)
        rows_again = table["feature"].isin(again)
        table.loc[rows_again, columns] = ends
        table.loc[rows_again, "interval"] = "bootstrap"
    return table.assign(p_corrected=corrected(table["p"], correction))


def compare_numbers(
    first: pd.DataFrame,
    second: pd.DataFrame,
    columns: Iterable[str],
    *,
    correction: str = "holm",
    weights: str | None = "weight",
    groups: str | None = "group",
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> pd.DataFrame:
    """How numbers of puzzles differ between two studies.

    Parameters
    ----------
    first, second : studies; where a number is missing, the puzzle does not count for it.
    columns : names, or formulas like ``"log10(nodes)"``.
    correction, weights, groups, confidence, resamples, seed : as for `compare_shares`.

    Returns
    -------
    DataFrame with the columns of `NUMBERS_COLUMNS`, a row for each of `columns`.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : a study is empty, or a column is not of numbers.
    """
    columns = [columns] if isinstance(columns, str) else list(columns)
    studies = _both(first, second)
    one, two = (Weighting.of(study, weights, groups, seed) for study in studies)
    before, after = (numbers(study, columns).to_numpy() for study in studies)
    low, high = bootstrap(
        [_totals(before, one.totals), _totals(after, two.totals)],
        lambda one, two: _means(two) - _means(one),
        confidence=confidence,
        resamples=resamples,
        seed=seed,
    )
    rows = []
    for i, name in enumerate(columns):
        row = {"column": name} | _numbers(before[:, i], after[:, i], one, two)
        groups_of = (
            _totals(before[:, [i]], one.group_totals),
            _totals(after[:, [i]], two.group_totals),
        )
        p, test = permutation_p(*groups_of, resamples=resamples, seed=seed)
        ends = {"difference_low": low[i], "difference_high": high[i]}
        rows.append(row | ends | {"p": p, "test": test})
    table = pd.DataFrame(rows, columns=list(NUMBERS_COLUMNS))
    return table.assign(p_corrected=corrected(table["p"], correction))


def _both(first: pd.DataFrame, second: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    for place, study in (("first", first), ("second", second)):
        if study.empty:
            raise ValueError(f"the {place} study has no rows")
    return first, second


def _shares(first: Share, second: Share) -> dict[str, Any]:
    from statsmodels.stats.proportion import proportion_effectsize

    one, two = first.share, second.share
    with np.errstate(divide="ignore", invalid="ignore"):
        odds = [np.divide(share, 1 - share) for share in (one, two)]
        return {
            "first_puzzles": first.puzzles,
            "second_puzzles": second.puzzles,
            "first_share": one,
            "second_share": two,
            "difference": two - one,
            "risk_ratio": float(np.divide(two, one)),
            "odds_ratio": float(np.divide(odds[1], odds[0])),
            "cohen_h": float(proportion_effectsize(two, one)),
        }


def _plain(first: Share, second: Share) -> bool:
    return first.weighting.plain and second.weighting.plain


def _share_intervals(first: Share, second: Share, confidence: float) -> dict[str, Any]:
    """Intervals for simple samples of the effective sizes."""
    from statsmodels.stats.proportion import confint_proportions_2indep

    if not (first.puzzles and second.puzzles):
        return {"interval": "no puzzles"}
    two = [(each.share * each.size, each.size) for each in (second, first)]
    difference = confint_proportions_2indep(*two[0], *two[1], "newcomb", "diff", 1 - confidence)
    above, below = ((each.share, each.size) for each in (second, first))
    low, high = ratio_interval(above, below, confidence)
    return {
        "difference_low": float(difference[0]),
        "difference_high": float(difference[1]),
        "risk_ratio_low": low,
        "risk_ratio_high": high,
        "interval": "newcombe, mover" + ("" if _plain(first, second) else ", effective size"),
    }


def _share_test(first: Share, second: Share) -> dict[str, Any]:
    """Whether two shares are the same.

    Giving groups to the studies anew would say little of rare features where one study has few
    large groups and the other many single puzzles: they are not exchangeable.  So weighted shares
    are compared as those of simple samples of the sizes that they are worth (Rao and Scott, "A
    simple method for the analysis of clustered binary data", Biometrics 48, 1992; from memory).
    """
    from scipy.stats import fisher_exact
    from statsmodels.stats.proportion import test_proportions_2indep

    if not (first.puzzles and second.puzzles):
        return {"p": np.nan, "test": "no puzzles"}
    if _plain(first, second):
        table = [[each.count, each.puzzles - each.count] for each in (first, second)]
        return {"p": float(fisher_exact(table)[1]), "test": "fisher"}
    if not 0 < first.share + second.share < 2:
        return {"p": 1.0, "test": "score, effective size"}
    one, two = ((each.share * each.size, each.size) for each in (first, second))
    # It also works out ratios, which are not asked for, by dividing by shares of nought.
    with np.errstate(divide="ignore", invalid="ignore"):
        p = test_proportions_2indep(*one, *two, compare="diff", method="score").pvalue
    return {"p": float(p), "test": "score, effective size"}


def _means(sums: Floats) -> Floats:
    """(resamples, columns) means or shares, out of sums of values and of weights in turn."""
    return ratio(sums[:, ::2], sums[:, 1::2])


def _totals(values: Floats, add: Callable[[Any], Floats]) -> Floats:
    """(units, 2 * columns) weighted sums of what is known, and its weight, in turn."""
    given = ~np.isnan(values)
    pairs = zip(np.where(given, values, 0).T, given.T, strict=True)
    return np.stack([add(each) for pair in pairs for each in pair], axis=1)


def _numbers(first: Floats, second: Floats, one: Weighting, two: Weighting) -> dict[str, Any]:
    """Means and effect sizes."""
    from sklearn.metrics import roc_auc_score
    from statsmodels.stats.meta_analysis import effectsize_smd
    from statsmodels.stats.weightstats import DescrStatsW

    known_ = [~np.isnan(values) for values in (first, second)]
    row: dict[str, Any] = {
        "first_puzzles": int(known_[0].sum()),
        "second_puzzles": int(known_[1].sum()),
    }
    if not (row["first_puzzles"] and row["second_puzzles"]):
        return row
    values = [each[given] for each, given in zip((first, second), known_, strict=True)]
    # Each study counts as much as it has puzzles.
    weights = [
        sample.weight[given] * given.sum() / sample.weight[given].sum()
        for sample, given in zip((one, two), known_, strict=True)
    ]
    some = [DescrStatsW(*each) for each in zip(values, weights, strict=True)]
    sizes = [each.effective(given) for each, given in zip((one, two), known_, strict=True)]
    hedges = np.nan
    if min(map(len, values)) > 1 and (some[0].var or some[1].var):
        spreads = [each.std_ddof(1) for each in some]
        hedges = effectsize_smd(
            some[1].mean, spreads[1], sizes[1], some[0].mean, spreads[0], sizes[0]
        )[0]
    label = np.repeat([0, 1], [len(each) for each in values])
    area = roc_auc_score(label, np.concatenate(values), sample_weight=np.concatenate(weights))
    return row | {
        "first_mean": float(some[0].mean),
        "second_mean": float(some[1].mean),
        "difference": float(some[1].mean - some[0].mean),
        "hedges_g": float(hedges),
        "cliff_delta": 2 * float(area) - 1,
    }
