"""What share of puzzles is solved as the solver learns more: by level, or by bottleneck width.

A puzzle is solved at its *time*: the place of its level in the list, or its width.  Of a puzzle
that nothing solved it is known only that its time is later than the last one tried; it is
*censored* there, which is to say that it counts among the unsolved until then.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.statistics.features import UnknownName, numbers, require
from gridcrux.corpus.statistics.resampling import Floats, bootstrap, ratio
from gridcrux.corpus.statistics.shares import Share, wilson
from gridcrux.corpus.statistics.weighting import Weighting

TIMES_COLUMNS = {
    "time": "place of the level from 1, or width, at which the puzzle is solved; where `event` is "
    "false it is not solved up to there",
    "event": "whether it is known to be solved at `time`",
    "label": "name of the level, or the number as text",
}
"""Meaning of the columns that `solving_times` adds."""

CURVE_COLUMNS = {
    "time": "place of the level, or width",
    "label": "name of the level, or the number as text",
    "at_risk": "puzzles not solved before, nor lost sight of",
    "events": "puzzles of these that are solved here",
    "censored": "puzzles of these that are not, and of which no more is known",
    "solved": "share of all puzzles that is solved up to here (one less Kaplan-Meier), by weight",
    "low": "lower end of the interval of `solved`, for this time alone",
    "high": "upper end of it",
    "method": "how the interval came about: wilson, effective size; or bootstrap over groups",
}
"""Meaning of the columns of `solved_curve`."""

LOG_RANK_COLUMNS = {
    "curve": "name of a curve",
    "puzzles": "its puzzles",
    "events": "those that are known to be solved",
    "expected": "those that would be if all curves were the same",
    "chi_square": "statistic of the log-rank test of all curves together",
    "freedom": "its degrees of freedom",
    "p": "its p-value",
}
"""Meaning of the columns of `log_rank`."""


def solving_times(
    study: pd.DataFrame,
    column: str,
    *,
    levels: Sequence[str] | None = None,
    at_least: str | None = None,
) -> pd.DataFrame:
    """When each puzzle is solved, for `solved_curve`.

    Parameters
    ----------
    study : a row a puzzle.
    column : name of the least level that solves it, or its bottleneck width; missing where no
        level does, or the width was not found.
    levels : all levels that were tried in order; None if the column is of numbers.
    at_least : where the column is of numbers, the column with the least that a missing one can be,
        so the puzzle is not solved before.  Without it, it is censored at the greatest number.

    Returns
    -------
    The study with the columns of `TIMES_COLUMNS` beside its own.

    Raises
    ------
    UnknownColumn : a column is missing, or a level is not among those tried.
    ValueError : there are no puzzles, a number is missing without a bound, or a width is below 1.
    """
    require(study, column, *([at_least] if at_least else []))
    if levels is not None:
        names = list(levels)
        for name in study[column].dropna().unique():
            if name not in names:
                raise UnknownName(str(name), names, "level")
        place = study[column].map({name: i + 1 for i, name in enumerate(names)})
        time = place.astype("Float64").to_numpy(float, na_value=np.nan)
        event = ~np.isnan(time)
        time = np.where(event, time, len(names))
        labels = np.array(names, object)[time.astype(int) - 1]
        return study.assign(time=time.astype(int), event=event, label=labels)
    time = numbers(study, [column])[column].to_numpy()
    event = ~np.isnan(time)
    if at_least:
        # A width of at least k means that no width below k is enough.
        bound = numbers(study, [at_least])[at_least].to_numpy() - 1
    else:
        bound = np.full(len(time), np.max(time[event], initial=-np.inf))
    time = np.where(event, time, bound)
    if not np.isfinite(time).all():
        lost = int(np.count_nonzero(~np.isfinite(time)))
        raise ValueError(f"{lost} puzzles have neither {column} nor a bound of it")
    labels = np.array([f"{each:g}" for each in time], object)
    return study.assign(time=time, event=event, label=labels)


def solved_curve(
    times: pd.DataFrame,
    *,
    levels: Sequence[str] | None = None,
    weights: str | None = "weight",
    groups: str | None = "group",
    confidence: float = 0.95,
    resamples: int = 2000,
    seed: int = 0,
) -> pd.DataFrame:
    """The share of puzzles solved up to each time, as Kaplan and Meier estimate it.

    Kaplan and Meier, "Nonparametric estimation from incomplete observations", Journal of the
    American Statistical Association 53 (1958), 457-481, as statsmodels has it.  Where all puzzles
    count the same the interval is Wilson's, with the size of a sample that would have Greenwood's
    variance: Rothman, "Estimation of confidence limits for the cumulative probability of survival
    in life table analysis", Journal of Chronic Diseases 31 (1978), 557-560 (both from memory).
    Without censoring that is the interval of the share.

    Parameters
    ----------
    times : with the columns `time` and `event`, and perhaps `label`, as `solving_times` makes it.
    levels : all levels that were tried, if `time` is a place among them: each has a row then.
    weights, groups, confidence, resamples, seed : as for `rates.rates`.

    Returns
    -------
    DataFrame with the columns of `CURVE_COLUMNS`, a row for each time, also where none is solved.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : there are no puzzles, or a time is missing.
    """
    time, event = _pair(times)
    weighting = Weighting.of(times, weights, groups, seed)
    marks = np.unique(time) if levels is None else np.arange(1.0, len(levels) + 1)
    if not np.isin(time, marks).all():
        raise ValueError(f"times are not places among the {len(marks)} levels")
    place = np.searchsorted(marks, time)
    counts = [np.bincount(place[rows], minlength=len(marks)) for rows in (event, ~event)]
    solved, error = _kaplan_meier(time, event, weighting.weight, marks)
    low, high, method = _wilson_bands(solved, error, weighting, confidence)
    if not weighting.plain:
        ends = bootstrap(
            [_risk_totals(place, event, len(marks), weighting)],
            lambda sums: 1 - _unsolved(sums),
            confidence=confidence,
            resamples=resamples,
            seed=seed,
        )
        everyone = np.ones(len(place), bool)
        solved_by = [event & (place <= i) for i in range(len(marks))]
        sure = [Share(each, everyone, weighting).enough for each in solved_by]
        low, high = np.where(sure, ends[0], low), np.where(sure, ends[1], high)
        method = np.where(sure, weighting.method, method)
    if levels is None:
        labels = [f"{mark:g}" for mark in marks]
        if "label" in times.columns:
            named = times.drop_duplicates("time").set_index("time")["label"]
            labels = [str(named[mark]) for mark in marks]
    else:
        labels = list(levels)
    return pd.DataFrame(
        {
            "time": marks.astype(int) if (marks % 1 == 0).all() else marks,
            "label": labels,
            "at_risk": (counts[0] + counts[1])[::-1].cumsum()[::-1],
            "events": counts[0],
            "censored": counts[1],
            "solved": solved,
            "low": low,
            "high": high,
            "method": method,
        },
        columns=list(CURVE_COLUMNS),
    )


def log_rank(curves: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Whether curves differ, by the log-rank test.

    Parameters
    ----------
    curves : frames as for `solved_curve`, by name; every puzzle counts as one.

    Returns
    -------
    DataFrame with the columns of `LOG_RANK_COLUMNS`, a row a curve.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : there are fewer than two curves; or puzzles have weights or depend on each other,
        of which the test knows nothing (`comparison.compare_shares` does).
    """
    from statsmodels.duration.survfunc import survdiff

    if len(curves) < 2:
        raise ValueError(f"{len(curves)} of two curves to compare are given")
    for name, frame in curves.items():
        if not Weighting.of(frame, "weight", "group", 0).plain:
            raise ValueError(
                f"puzzles of curve {name!r} have weights or depend on each other, of which the "
                "log-rank test knows nothing; compare shares at one level instead"
            )
    pairs = [_pair(frame) for frame in curves.values()]
    time, event = (np.concatenate(each) for each in zip(*pairs, strict=True))
    curve = np.repeat(np.arange(len(pairs)), [len(each[0]) for each in pairs])
    chi, p = survdiff(time, event.astype(int), curve)
    marks = np.unique(time[event])
    risk = np.array([[(each >= mark).sum() for mark in marks] for each, _ in pairs])
    deaths = np.array([(event & (time == mark)).sum() for mark in marks])
    expected = (risk * deaths / risk.sum(axis=0)).sum(axis=1) if len(marks) else [0.0] * len(pairs)
    return pd.DataFrame(
        {
            "curve": list(curves),
            "puzzles": [len(each) for each, _ in pairs],
            "events": [int(each.sum()) for _, each in pairs],
            "expected": expected,
            "chi_square": float(np.squeeze(chi)),
            "freedom": len(pairs) - 1,
            "p": float(np.squeeze(p)),
        },
        columns=list(LOG_RANK_COLUMNS),
    )


def _pair(times: pd.DataFrame) -> tuple[Floats, NDArray[np.bool_]]:
    require(times, "time", "event")
    time = numbers(times, ["time"])["time"].to_numpy()
    if np.isnan(time).any():
        raise ValueError(f"{int(np.isnan(time).sum())} times are missing")
    event = times["event"].astype("boolean")
    if event.isna().any():
        raise ValueError(f"of {int(event.isna().sum())} times it is not known whether they ended")
    return time, event.to_numpy(bool)


def _kaplan_meier(
    time: Floats, event: NDArray[np.bool_], weight: Floats, marks: NDArray[Any]
) -> tuple[Floats, Floats]:
    """(times,) the share solved and its standard error, from `marks` on."""
    from statsmodels.duration.survfunc import SurvfuncRight

    if not event.any():
        return np.zeros(len(marks)), np.zeros(len(marks))
    # Weights sum to the number of puzzles.
    weight = weight * len(time) / weight.sum()
    found = SurvfuncRight(time, event.astype(int), freq_weights=weight)
    # With weights statsmodels has another standard error: Greenwood's formula for both.
    left = found.n_risk - found.n_events
    part = ratio(found.n_events, found.n_risk * left)
    error: Floats = found.surv_prob * np.sqrt(np.nan_to_num(part).cumsum())
    last = np.searchsorted(found.surv_times, marks, side="right")
    solved = 1 - np.concatenate([[1.0], found.surv_prob])[last]
    return solved, np.concatenate([[0.0], error])[last]


def _wilson_bands(
    solved: Floats, error: Floats, weighting: Weighting, confidence: float
) -> tuple[Floats, Floats, NDArray[Any]]:
    """Intervals of shares of which the standard error says how large the sample is."""
    whole = weighting.effective(np.ones(len(weighting.weight), bool))
    part = whole / len(weighting.weight)
    solved = solved.clip(0, 1)
    size = part * ratio(solved * (1 - solved), error**2)
    # At nought and one the variance says nothing: what was known before still holds.
    size[(solved == 0) | (solved == 1)] = np.nan
    size = pd.Series([whole, *size]).ffill().to_numpy()[1:]
    low, high = wilson(solved, size, confidence)
    name = "wilson" if weighting.plain else "wilson, effective size"
    return low, high, np.full(len(solved), name, object)


def _risk_totals(
    place: NDArray[np.int64], event: NDArray[np.bool_], marks: int, weighting: Weighting
) -> Any:
    """(units, 2 * times) weights that are solved at each time, then solved or censored there."""
    from scipy import sparse

    rows = np.concatenate([weighting.unit[event], weighting.unit])
    columns = np.concatenate([place[event], place + marks])
    entries = np.concatenate([weighting.weight[event], weighting.weight])
    return sparse.csr_array((entries, (rows, columns)), shape=(weighting.units, 2 * marks))


def _unsolved(sums: Floats) -> Floats:
    """(resamples, times) Kaplan-Meier estimates out of sums over units."""
    marks = sums.shape[1] // 2
    risk = sums[:, marks:][:, ::-1].cumsum(axis=1)[:, ::-1]
    # Where nobody is left nothing changes.
    return np.cumprod(1 - np.nan_to_num(ratio(sums[:, :marks], risk)), axis=1, dtype=np.float64)
