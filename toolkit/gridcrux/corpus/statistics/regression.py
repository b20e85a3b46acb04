"""What effort depends on: coefficients of a linear or Poisson model, and how well it predicts."""

from __future__ import annotations

import warnings
from collections.abc import Iterable
from typing import Any, Literal

import numpy as np
import pandas as pd

from gridcrux.corpus.statistics.features import numbers, require
from gridcrux.corpus.statistics.resampling import Floats
from gridcrux.corpus.statistics.weighting import Weighting

Model = Literal["linear", "poisson"]
"""Least squares, or a Poisson model with logarithmic link for counts."""

CONSTANT = "constant"
"""Name of the intercept, and of the prediction by the mean alone."""

COEFFICIENTS_COLUMNS = {
    "feature": "name or formula; the last row is the constant",
    "coefficient": "change of the outcome (linear), or of its logarithm (poisson), for one more",
    "error": "its standard error, robust: HC3 (linear) or HC0 (poisson), or by groups",
    "low": "lower end of the interval of `coefficient`",
    "high": "upper end of it",
    "p": "two-sided p-value of no dependence, given the other features",
    "standardised": "coefficient for one standard deviation of the feature, in standard deviations "
    "of the outcome (linear) or in its logarithm (poisson)",
    "standardised_low": "lower end of the interval of `standardised`",
    "standardised_high": "upper end of it",
    "inflation": "variance inflation: how many times larger the variance of the coefficient is "
    "than if the features were not correlated",
    "puzzles": "puzzles of which the outcome and all features are known",
}
"""Meaning of the columns of `coefficients`."""

PREDICTIONS_COLUMNS = {
    "observed": "outcome",
    "predicted": "outcome as a model predicts it that has not seen the puzzle, nor its group",
    "constant": "the same by the mean of what that model has seen",
    "fold": "number of the part that was left out, from 0",
    "weight": "how much the puzzle counts",
}
"""Meaning of the columns of `predictions`; its index is that of the study."""

SCORES_COLUMNS = {
    "predictor": "model, or constant for the mean alone",
    "puzzles": "puzzles that were predicted",
    "folds": "parts that were left out in turn",
    "r2": "share of the variance that is explained, over all parts, by weight; the mean of all "
    "puzzles would have 0",
    "mae": "mean absolute error, over all parts, by weight",
    "r2_spread": "standard deviation of `r2` among parts",
    "mae_spread": "standard deviation of `mae` among parts",
}
"""Meaning of the columns of `scores`."""


def coefficients(
    study: pd.DataFrame,
    outcome: str,
    features: Iterable[str],
    *,
    model: Model = "linear",
    weights: str | None = "weight",
    groups: str | None = "group",
    confidence: float = 0.95,
) -> pd.DataFrame:
    """How an outcome depends on features, each given the others.

    Parameters
    ----------
    study : a row a puzzle; one of which a number is missing does not count.
    outcome, features : columns, or formulas like ``"log10(nodes)"``.
    model : "linear" (least squares) or "poisson" (for counts).
    weights, groups : as for `rates.rates`; standard errors allow for both.
    confidence : of the intervals.

    Returns
    -------
    DataFrame with the columns of `COEFFICIENTS_COLUMNS`, a row a feature and one for the constant.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : too few puzzles; a feature is the same in all, or follows from the others; or the
        outcome is the same in all, or below 0 in a Poisson model.
    """
    from statsmodels.stats.weightstats import DescrStatsW

    data = _Data(study, outcome, features, weights, groups)
    data.check(model)
    design = data.design()
    robust: dict[str, Any] = {"cov_type": "HC3" if model == "linear" else "HC0"}
    if data.grouped:
        # With few groups Student's distribution matters, with as many degrees of freedom less one.
        robust = {"cov_type": "cluster", "cov_kwds": {"groups": data.group}, "use_t": True}
    fit = _fit(data.outcome, design, data.weight, model, robust)
    ends = np.asarray(fit.conf_int(1 - confidence))
    spread = np.append(_spread(data.features, data.weight), np.nan)
    if model == "linear":
        spread = spread / _spread(data.outcome[:, None], data.weight)
    correlation = np.atleast_2d(DescrStatsW(data.features, data.weight).corrcoef)
    inflation = np.linalg.inv(correlation).diagonal()
    table = {
        "feature": [*data.names, CONSTANT],
        "coefficient": np.asarray(fit.params),
        "error": np.asarray(fit.bse),
        "low": ends[:, 0],
        "high": ends[:, 1],
        "p": np.asarray(fit.pvalues),
        "standardised": np.asarray(fit.params) * spread,
        "standardised_low": ends[:, 0] * spread,
        "standardised_high": ends[:, 1] * spread,
        "inflation": [*inflation, np.nan],
        "puzzles": len(data.outcome),
    }
    return pd.DataFrame(table, columns=list(COEFFICIENTS_COLUMNS))


def predictions(
    study: pd.DataFrame,
    outcome: str,
    features: Iterable[str],
    *,
    model: Model = "linear",
    folds: int = 5,
    seed: int = 0,
    weights: str | None = "weight",
    groups: str | None = "group",
) -> pd.DataFrame:
    """The outcome of each puzzle, predicted by a model that was fitted without it.

    Parameters
    ----------
    study, outcome, features, model, weights, groups : as for `coefficients`.
    folds : parts that are left out in turn; a group is always in one part.
    seed : for the parts.

    Returns
    -------
    DataFrame with the columns of `PREDICTIONS_COLUMNS`, a row a puzzle of which all is known.

    Raises
    ------
    UnknownColumn, ValueError : as for `coefficients`, and if there are fewer groups than folds.
    """
    from sklearn.dummy import DummyRegressor
    from sklearn.model_selection import KFold

    data = _Data(study, outcome, features, weights, groups)
    data.check(model)
    count = int(data.group.max()) + 1
    if count < folds:
        raise ValueError(f"{count} puzzles or groups are too few for {folds} folds")
    design = data.design()
    predicted, constant = np.empty((2, len(design)))
    fold = np.empty(len(design), int)
    parts = KFold(folds, shuffle=True, random_state=seed).split(np.zeros(count))
    for number, (_, left_out) in enumerate(parts):
        test = np.isin(data.group, left_out)
        train = ~test
        seen = (data.outcome[train], design[train], data.weight[train])
        predicted[test] = _fit(*seen, model, {}).predict(design[test])
        mean = DummyRegressor().fit(seen[1], seen[0], sample_weight=seen[2])
        constant[test] = mean.predict(design[test])
        fold[test] = number
    table = {
        "observed": data.outcome,
        "predicted": predicted,
        "constant": constant,
        "fold": fold,
        "weight": data.weight,
    }
    return pd.DataFrame(table, index=data.index, columns=list(PREDICTIONS_COLUMNS))


def scores(predicted: pd.DataFrame) -> pd.DataFrame:
    """How well puzzles are predicted, beside the mean alone.

    Parameters
    ----------
    predicted : as `predictions` returns it.

    Returns
    -------
    DataFrame with the columns of `SCORES_COLUMNS`, a row for the model and one for the constant.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : there are no puzzles.
    """
    from sklearn.metrics import mean_absolute_error, r2_score

    require(predicted, *PREDICTIONS_COLUMNS)
    rows = []
    for name, column in (("model", "predicted"), (CONSTANT, "constant")):
        found = []
        for part in (predicted, *(part for _, part in predicted.groupby("fold"))):
            pair = (part["observed"], part[column])
            # A single puzzle has no variance to explain.
            known = len(part) > 1
            found.append(
                (
                    r2_score(*pair, sample_weight=part["weight"]) if known else np.nan,
                    mean_absolute_error(*pair, sample_weight=part["weight"]),
                )
            )
        whole, parts = found[0], np.array(found[1:])
        spread = parts.std(axis=0, ddof=1) if len(parts) > 1 else (np.nan, np.nan)
        rows.append((name, len(predicted), len(parts), *whole, *spread))
    return pd.DataFrame(rows, columns=list(SCORES_COLUMNS))


class _Data:
    """The puzzles of which outcome and features are known."""

    def __init__(
        self,
        study: pd.DataFrame,
        outcome: str,
        features: Iterable[str],
        weights: str | None,
        groups: str | None,
    ) -> None:
        require(study)
        table = numbers(study, features)
        self.names = list(table.columns)
        self.name = outcome
        result = numbers(study, [outcome])[outcome]
        given = (table.notna().all(axis=1) & result.notna()).to_numpy(bool)
        whole = Weighting.of(study, weights, groups, 0)
        self.index = study.index[given]
        self.features = table.to_numpy()[given]
        self.outcome = result.to_numpy()[given]
        weight = whole.weight[given]
        # On average a puzzle counts as one.
        self.weight = weight * len(weight) / weight.sum() if len(weight) else weight
        self.group = pd.factorize(whole.group[given])[0]
        self.grouped = whole.groups < len(study)

    def check(self, model: Model) -> None:
        """Say what makes the model meaningless."""
        if model not in ("linear", "poisson"):
            raise ValueError(f"no model {model!r}; there are linear, poisson")
        least = len(self.names) + 2
        if len(self.outcome) < least:
            raise ValueError(
                f"{len(self.outcome)} puzzles have {self.name} and all features; "
                f"{len(self.names)} features need {least} at least"
            )
        if np.ptp(self.outcome) == 0:
            raise ValueError(f"{self.name} is {self.outcome[0]:g} in all puzzles")
        if model == "poisson" and self.outcome.min() < 0:
            raise ValueError(f"{self.name} is below 0 in some puzzles: it is no count")
        for name, values in zip(self.names, self.features.T, strict=True):
            if np.ptp(values) == 0:
                raise ValueError(f"feature {name} is {values[0]:g} in all puzzles; leave it out")
        scaled = (self.features - self.features.mean(axis=0)) / self.features.std(axis=0)
        for i, name in enumerate(self.names):
            if np.linalg.matrix_rank(scaled[:, : i + 1]) <= i:
                raise ValueError(
                    f"feature {name} follows from those before it ({', '.join(self.names[:i])}); "
                    "leave one out"
                )

    def design(self) -> Floats:
        """(n, features + 1) the features, and ones for the constant."""
        return np.column_stack([self.features, np.ones(len(self.features))])


def _fit(
    outcome: Floats, design: Floats, weight: Floats, model: Model, robust: dict[str, Any]
) -> Any:
    """The fitted model, with standard errors as statsmodels takes them."""
    from statsmodels.genmod.families import Poisson
    from statsmodels.genmod.generalized_linear_model import GLM
    from statsmodels.regression.linear_model import WLS

    if model == "linear":
        return WLS(outcome, design, weights=weight).fit(**robust)
    with warnings.catch_warnings():
        # It says that errors by groups are not fully supported with weights; these come out as
        # the sandwich of weighted scores, which the tests compute on their own.
        warnings.filterwarnings("ignore", "cov_type not fully supported with var_weights")
        return GLM(outcome, design, family=Poisson(), var_weights=weight).fit(**robust)


def _spread(values: Floats, weight: Floats) -> Floats:
    """(columns,) weighted standard deviations."""
    from statsmodels.stats.weightstats import DescrStatsW

    return np.asarray(DescrStatsW(values, weight).std_ddof(1))
