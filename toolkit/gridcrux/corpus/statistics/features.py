"""What is asked of puzzles: yes or no, or a number, by column, formula, function or technique."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from difflib import get_close_matches
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from gridcrux.corpus.rows import UnknownColumn
from gridcrux.logic.wording import listing

STEPS = "steps_"
"""How the columns begin that count the steps of a technique."""

ESSENTIAL = "essential_techniques"
"""The column that names the techniques without which the same end is not reached."""

_SHOWN = 20
"""Characters that are shown of a text."""

Feature = pd.Series | Callable[[pd.DataFrame], Any] | str
"""Yes or no for each puzzle: a Series, a function of the study, or text.

Text is a column or a formula of columns (``"hard_steps > 3 and solved"``), or a technique with
the word `used`, `essential` or `only` before it (``"only x-wing"``): it is in the route; the end
is not reached without it; the puzzle is solved, and is not without it.
"""

Features = Mapping[str, Feature] | pd.DataFrame | Iterable[str]
"""Features by name; a DataFrame has one a column, and texts are their own names."""


class UnknownName(ValueError):
    """A technique or level is asked for that the data do not have."""

    def __init__(self, name: str, known: Iterable[object], what: str) -> None:
        names = [str(each) for each in known]
        close = get_close_matches(name, names, 3, 0.5)
        hint = f"did you mean {listing(close, 'or')}?" if close else f"there are {', '.join(names)}"
        super().__init__(f"no {what} {name!r}; {hint}")


def require(study: pd.DataFrame, *names: str) -> None:
    """Make sure that a frame has rows, and some columns.

    Raises
    ------
    UnknownColumn : one is missing.
    ValueError : there are no rows.
    """
    for name in names:
        if name not in study.columns:
            raise UnknownColumn(name, study.columns)
    if study.empty:
        raise ValueError("there are no puzzles: the table has no rows")


def techniques_of(study: pd.DataFrame) -> list[str]:
    """The techniques that a study counts steps of, in its order."""
    columns = [str(name) for name in study.columns if str(name).startswith(STEPS)]
    return [name.removeprefix(STEPS).replace("_", "-") for name in columns]


def used_flags(study: pd.DataFrame) -> pd.DataFrame:
    """Whether the route of a puzzle uses a technique; missing where there is no route.

    Returns
    -------
    DataFrame of booleans, a row a puzzle and a column a technique.

    Raises
    ------
    UnknownColumn : the study counts no steps of techniques.
    """
    names = techniques_of(study)
    if not names:
        raise UnknownColumn(f"{STEPS}<technique>", study.columns)
    return (
        numbers(study, [_steps_column(name) for name in names])
        .set_axis(names, axis=1)
        .apply(lambda steps: (steps > 0).astype("boolean").mask(steps.isna()))
    )


def essential_flags(study: pd.DataFrame, *, through: bool = False) -> pd.DataFrame:
    """Whether a puzzle cannot do without a technique; missing where that is not known.

    Parameters
    ----------
    study : with the column `essential_techniques`.
    through : count puzzles only that the repertoire solves, with the column `solved`: then a
        technique is essential where it is the only way through.  Otherwise it may also be that
        the route gets less far without it.

    Returns
    -------
    DataFrame of booleans, a row a puzzle and a column a technique of the study.

    Raises
    ------
    UnknownColumn : the study does not say what is essential.
    """
    for name in (ESSENTIAL, "solved") if through else (ESSENTIAL,):
        if name not in study.columns:
            raise UnknownColumn(name, study.columns)
    # Few different lists occur, so each is read once.
    code, texts = pd.factorize(study[ESSENTIAL].astype(object))
    lists = [[name for name in str(text).split(", ") if name] for text in texts]
    names = list(
        dict.fromkeys([*techniques_of(study), *sorted({n for each in lists for n in each})])
    )
    table = np.array([[name in each for name in names] for each in lists], bool)
    table = table.reshape(len(lists), len(names))
    missing = np.asarray(code) < 0
    flags = np.zeros((len(study), len(names)), bool)
    flags[~missing] = table[code[~missing]]
    if through:
        solved = study["solved"].astype("boolean")
        missing = missing | solved.isna().to_numpy()
        flags &= solved.fillna(False).to_numpy(bool)[:, None]
    return pd.DataFrame(
        {
            name: pd.arrays.BooleanArray(flags[:, i].copy(), missing.copy())
            for i, name in enumerate(names)
        },
        index=study.index,
    )


def flags(study: pd.DataFrame, features: Features) -> pd.DataFrame:
    """Features of puzzles as booleans, missing where they are not known.

    Parameters
    ----------
    features : see `Features`.

    Raises
    ------
    UnknownColumn : a column or technique is missing.
    ValueError : a feature is not yes or no, or there is none.
    """
    asked = _Asked(study)
    found = {name: asked.flag(name, feature) for name, feature in _by_name(features).items()}
    return pd.DataFrame(found, index=study.index)


def numbers(study: pd.DataFrame, columns: Iterable[str]) -> pd.DataFrame:
    """Columns, or formulas of columns like ``"log10(nodes)"``, as numbers; NaN where missing.

    Raises
    ------
    UnknownColumn : a column is missing.
    ValueError : a column is not of numbers, or none is asked for.
    """
    found = {}
    for name in _by_name(columns):
        values = _formula(study, name)
        try:
            found[name] = pd.to_numeric(values).astype("Float64").to_numpy(float, na_value=np.nan)
        except (TypeError, ValueError):
            example = next((each for each in values if isinstance(each, str)), "")
            raise ValueError(
                f"{name!r} holds no numbers but texts such as {example[:_SHOWN]!r}; expected a "
                "column of numbers, or a formula"
            ) from None
        found[name][~np.isfinite(found[name])] = np.nan
    return pd.DataFrame(found, index=study.index)


def known(flags: pd.DataFrame) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """(n, features) what is true, and what is known at all."""
    given = flags.notna().to_numpy(bool)
    return flags.fillna(False).to_numpy(bool), given


def _by_name(features: Features) -> dict[str, Feature]:
    if isinstance(features, str):
        features = [features]
    if isinstance(features, pd.DataFrame):
        wanted: dict[str, Feature] = {str(name): features[name] for name in features.columns}
    elif isinstance(features, Mapping):
        wanted = dict(features)
    else:
        wanted = {name: name for name in features}
    if not wanted:
        raise ValueError("no feature or column is asked for")
    return wanted


class _Asked:
    """What is asked of a study; techniques are looked up once."""

    def __init__(self, study: pd.DataFrame) -> None:
        self.study = study

    @cached_property
    def used(self) -> pd.DataFrame:
        return used_flags(self.study)

    @cached_property
    def essential(self) -> pd.DataFrame:
        return essential_flags(self.study)

    @cached_property
    def only(self) -> pd.DataFrame:
        return essential_flags(self.study, through=True)

    def flag(self, name: str, feature: Feature) -> pd.Series:
        """A feature as booleans with the rows of the study."""
        values = self._values(feature)
        if not isinstance(values, pd.Series):
            values = pd.Series(values, index=self.study.index)
        if not values.index.equals(self.study.index):
            raise ValueError(f"feature {name!r} has other rows than the study")
        others = pd.Series(values.dropna().unique())
        others = others[~others.isin([True, False])]
        if len(others):
            raise ValueError(
                f"feature {name!r} is not yes or no: it has values like "
                f"{', '.join(map(str, others[:3]))}"
            )
        return values.astype("boolean")

    def _values(self, feature: Feature) -> Any:
        if not isinstance(feature, str):
            return feature if isinstance(feature, pd.Series) else feature(self.study)
        kind, _, technique = feature.partition(" ")
        # Two words beside each other are no formula, so nothing else can be meant.
        if kind not in ("used", "essential", "only") or not technique.replace("-", "").isalnum():
            return _formula(self.study, feature)
        table = getattr(self, kind)
        if technique not in table:
            raise UnknownName(technique, table.columns, "technique")
        return table[technique]


def _formula(study: pd.DataFrame, text: str) -> pd.Series:
    """A column, or what comes of a formula."""
    if text in study.columns:
        return study[text]
    try:
        # The logarithm of nought is a number that is missing, and no reason to warn.
        with np.errstate(all="ignore"):
            values = study.eval(text, engine="python", local_dict={}, global_dict={})
    except NameError as error:
        name = str(error).split("'")[1]
        raise UnknownColumn(name, study.columns) from None
    except (SyntaxError, TypeError, ValueError, AttributeError) as error:
        reason = "" if isinstance(error, SyntaxError) else f" ({error})"
        raise ValueError(
            f"{text!r} is no formula of the columns{reason}; expected one such as 'givens <= 24 "
            "and solved', or 'used', 'essential' or 'only' and one technique"
        ) from None
    if not isinstance(values, pd.Series):
        values = pd.Series(values, index=study.index)
    return values


def _steps_column(technique: str) -> str:
    return f"{STEPS}{technique.replace('-', '_')}"
