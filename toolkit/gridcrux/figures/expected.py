"""What a figure is drawn of: who hands over something else is told where the table comes from."""

from __future__ import annotations

from collections.abc import Iterable

import pandas as pd

from gridcrux.logic.wording import listing


class WrongTable(ValueError):
    """A table that lacks columns which a figure is drawn of."""


def expect_table(table: object, source: str, columns: Iterable[str]) -> None:
    """Make sure that a figure is given the table that it is drawn of.

    Parameters
    ----------
    source : the function that returns such tables.
    columns : those that are looked at.

    Raises
    ------
    TypeError : it is no table at all.
    WrongTable : it has not all columns.

    >>> expect_table(pd.DataFrame({"step": [1]}), "steps.step_table", ["step", "width"])
    Traceback (most recent call last):
        ...
    gridcrux.figures.expected.WrongTable: no column width; expected a table as steps.step_table \
returns it
    """
    expected = f"expected a table as {source} returns it"
    if not isinstance(table, pd.DataFrame):
        raise TypeError(f"{type(table).__name__} is no DataFrame; {expected}")
    missing = [name for name in columns if name not in table.columns]
    if missing:
        raise WrongTable(f"no column {listing(missing, 'or')}; {expected}")
