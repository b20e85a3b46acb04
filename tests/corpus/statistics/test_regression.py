"""Coefficients against numpy and sandwiches by hand; predictions of parts that were not seen."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from statsmodels.stats.outliers_influence import variance_inflation_factor

from gridcrux.corpus.statistics.regression import coefficients, predictions, scores

RANDOM = np.random.default_rng(21)
ROWS = 240
FEATURES = ["givens", "open"]


def sample() -> pd.DataFrame:
    givens = RANDOM.normal(25, 2, ROWS)
    open_ = RANDOM.normal(60, 30, ROWS) - 5 * (givens - 25)
    group = np.arange(ROWS) // 4
    shared = RANDOM.normal(0, 0.5, ROWS // 4)[group]
    effort = 3 - 0.1 * givens + 0.01 * open_ + shared + RANDOM.normal(0, 0.3, ROWS)
    return pd.DataFrame(
        {
            "effort": effort,
            "count": RANDOM.poisson(np.exp(0.3 * effort)),
            "givens": givens,
            "open": open_,
            "weight": RANDOM.gamma(3, 1, ROWS),
            "group": group,
        }
    )


STUDY = sample()
DESIGN = np.column_stack([STUDY[FEATURES], np.ones(ROWS)])
WEIGHT = STUDY["weight"].to_numpy() * ROWS / STUDY["weight"].sum()
GROUP = STUDY["group"].to_numpy()


def sandwich(scores_: np.ndarray, curvature: np.ndarray) -> np.ndarray:
    bread = np.linalg.inv(curvature)
    return np.sqrt(np.diag(bread @ scores_.T @ scores_ @ bread))


def by_group(values: np.ndarray) -> np.ndarray:
    return pd.DataFrame(values).groupby(GROUP).sum().to_numpy()


def test_linear_coefficients_are_those_of_lstsq():
    plain = coefficients(STUDY, "effort", FEATURES, weights=None, groups=None)
    expected = np.linalg.lstsq(DESIGN, STUDY["effort"], rcond=None)[0]
    assert plain["coefficient"].tolist() == pytest.approx(expected.tolist())
    assert plain["feature"].tolist() == [*FEATURES, "constant"]
    # HC3 by hand: residuals by one less the leverage (MacKinnon and White 1985).
    bread = np.linalg.inv(DESIGN.T @ DESIGN)
    left = STUDY["effort"] - DESIGN @ expected
    left = left / (1 - np.einsum("ij,jk,ik->i", DESIGN, bread, DESIGN))
    errors = sandwich(left.to_numpy()[:, None] * DESIGN, DESIGN.T @ DESIGN)
    assert plain["error"].tolist() == pytest.approx(errors.tolist())
    factors = [variance_inflation_factor(DESIGN, i) for i in range(2)]
    assert plain["inflation"].tolist()[:2] == pytest.approx(factors)


def test_weights_and_groups_enter_as_they_should():
    root = np.sqrt(WEIGHT)
    found = coefficients(STUDY, "effort", FEATURES)
    expected = np.linalg.lstsq(DESIGN * root[:, None], STUDY["effort"] * root, rcond=None)[0]
    assert found["coefficient"].tolist() == pytest.approx(expected.tolist())
    left = (STUDY["effort"] - DESIGN @ expected).to_numpy()
    meat = by_group((WEIGHT * left)[:, None] * DESIGN)
    errors = sandwich(meat, (DESIGN * WEIGHT[:, None]).T @ DESIGN)
    # Cluster-robust, with the usual correction for few groups.
    groups = ROWS / 4
    errors *= np.sqrt(groups / (groups - 1) * (ROWS - 1) / (ROWS - 3))
    assert found["error"].tolist() == pytest.approx(errors.tolist())


@pytest.mark.parametrize("grouped", [False, True])
def test_poisson_coefficients_solve_the_score_equations(grouped):
    group = "group" if grouped else None
    found = coefficients(STUDY, "count", FEATURES, model="poisson", groups=group)
    mean = np.exp(DESIGN @ found["coefficient"].to_numpy())
    each = (WEIGHT * (STUDY["count"] - mean)).to_numpy()[:, None] * DESIGN
    np.testing.assert_allclose(each.sum(axis=0) / 1000, 0, atol=1e-6)
    errors = sandwich(
        by_group(each) if grouped else each, (DESIGN * (WEIGHT * mean)[:, None]).T @ DESIGN
    )
    if grouped:
        errors *= np.sqrt(60 / 59 * (ROWS - 1) / (ROWS - 3))
    assert found["error"].tolist() == pytest.approx(errors.tolist(), rel=1e-4)


def test_standardised_coefficients_are_those_of_standardised_columns():
    plain = {"weights": None, "groups": None}
    found = coefficients(STUDY, "effort", FEATURES, **plain)
    scaled = (STUDY - STUDY.mean()) / STUDY.std()
    other = coefficients(scaled, "effort", FEATURES, **plain)
    for name in ("", "_low", "_high"):
        bare = name.strip("_") or "coefficient"
        ours = found[f"standardised{name}"].tolist()[:2]
        assert ours == pytest.approx(other[bare].tolist()[:2])
    assert np.isnan(found["standardised"].iloc[2])


def test_intervals_with_groups_cover_the_truth():
    """A feature that a group shares, and noise that it shares: only groups are independent."""
    covered, careless = [], []
    random = np.random.default_rng(2)
    for _ in range(400):
        group = np.repeat(np.arange(100), 3)
        feature = random.normal(size=100)[group]
        noise = random.normal(size=100)[group] + 0.5 * random.normal(size=300)
        study = pd.DataFrame({"x": feature, "y": 0.7 * feature + noise, "group": group})
        row = coefficients(study, "y", ["x"]).iloc[0]
        covered.append(row["low"] <= 0.7 <= row["high"])
        if len(careless) < 100:
            row = coefficients(study, "y", ["x"], groups=None).iloc[0]
            careless.append(row["low"] <= 0.7 <= row["high"])
    assert 0.92 <= np.mean(covered) <= 0.98
    assert np.mean(careless) < 0.85


def test_a_puzzle_is_predicted_without_its_group():
    table = predictions(STUDY, "effort", FEATURES, folds=4, seed=3)
    assert table["fold"].groupby(GROUP).nunique().eq(1).all()
    assert sorted(table["fold"].unique()) == [0, 1, 2, 3]
    for fold in range(4):
        train = (table["fold"] != fold).to_numpy()
        root = np.sqrt(WEIGHT[train])
        found = np.linalg.lstsq(
            DESIGN[train] * root[:, None], STUDY["effort"][train] * root, rcond=None
        )[0]
        part = table[~train]
        np.testing.assert_allclose(part["predicted"], DESIGN[~train] @ found)
        mean = np.average(STUDY["effort"][train], weights=WEIGHT[train])
        np.testing.assert_allclose(part["constant"], mean)


def test_scores_by_definition():
    table = predictions(STUDY, "effort", FEATURES)
    found = scores(table).set_index("predictor")
    weight, observed = table["weight"], table["observed"]
    total = np.average((observed - np.average(observed, weights=weight)) ** 2, weights=weight)
    for name, column in (("model", "predicted"), ("constant", "constant")):
        left = observed - table[column]
        r2 = 1 - np.average(left**2, weights=weight) / total
        assert found.loc[name, "r2"] == pytest.approx(r2)
        assert found.loc[name, "mae"] == pytest.approx(np.average(abs(left), weights=weight))
    assert found.loc["constant", "r2"] <= 0 < found.loc["model", "r2"]


def test_noise_is_not_predicted():
    study = pd.DataFrame(RANDOM.normal(size=(200, 4)), columns=list("abcy"))
    found = scores(predictions(study, "y", ["a", "b", "c"])).set_index("predictor")
    assert found.loc["model", "r2"] < 0.02


def test_formulas_and_missing_numbers():
    study = STUDY.assign(nodes=10 ** STUDY["effort"])
    study.loc[5, "nodes"] = np.nan
    found = coefficients(study, "log10(nodes)", FEATURES)
    other = coefficients(STUDY.drop(index=5), "effort", FEATURES)
    assert found["puzzles"].tolist() == [ROWS - 1] * 3
    assert found["coefficient"].tolist() == pytest.approx(other["coefficient"].tolist())
    assert 5 not in predictions(study, "nodes", FEATURES).index


@pytest.mark.parametrize(
    ("change", "outcome", "features", "model", "said"),
    [
        ({"same": 81}, "effort", ["givens", "same"], "linear", "same is 81 in all puzzles"),
        (
            {"twice": 2 * STUDY["givens"]},
            "effort",
            ["givens", "open", "twice"],
            "linear",
            "twice follows from those before it",
        ),
        ({"flat": 1}, "flat", FEATURES, "linear", "flat is 1 in all puzzles"),
        ({"below": -1.0 - STUDY["givens"]}, "below", FEATURES, "poisson", "below 0"),
        ({}, "effort", FEATURES, "cubic", "no model 'cubic'"),
    ],
)
def test_meaningless_models_are_refused(change, outcome, features, model, said):
    with pytest.raises(ValueError, match=said):
        coefficients(STUDY.assign(**change), outcome, features, model=model)


def test_too_few_puzzles_are_told():
    with pytest.raises(ValueError, match="3 puzzles have effort and all features"):
        coefficients(STUDY[:3], "effort", FEATURES)
    with pytest.raises(ValueError, match="2 puzzles or groups are too few for 5 folds"):
        predictions(STUDY[:8], "effort", FEATURES)
    with pytest.raises(ValueError, match="did you mean effort"):
        coefficients(STUDY, "efort", FEATURES)
