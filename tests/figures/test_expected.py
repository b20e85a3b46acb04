"""Whoever gives a figure another table is told which one it is drawn of."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import pandas as pd
import pytest
from matplotlib.figure import Figure

from figures.examples import EXAMPLES
from gridcrux.figures.expected import WrongTable

TABLES = {
    name: examples["usual"]
    for name, examples in EXAMPLES.items()
    if name not in {"plot_board", "plot_scene"}
}

every_table = pytest.mark.parametrize("name", TABLES)


def drawn_of(name: str, table: object):
    example = TABLES[name]
    ax = Figure().subplots()
    return example.plot(table, *example.drawn[1:], **example.options, ax=ax)


@every_table
def test_another_table_is_refused_by_name(name):
    with pytest.raises(WrongTable, match=r"no column .*; expected a table as .* returns it"):
        drawn_of(name, pd.DataFrame({"puzzle": [1]}))
    with pytest.raises(TypeError, match=r"list is no DataFrame; expected a table as .* returns it"):
        drawn_of(name, [1, 2])


@every_table
def test_each_column_that_is_missing_is_named_or_not_looked_at(name):
    table, named = TABLES[name].drawn[0], []
    for column in table.columns:
        said = refusal(name, table.drop(columns=column))
        # Without these it is a table of another kind, which has other columns.
        assert f"no column {column}; " in said or not said or column in {"layout", "feature"}
        named += [column] if said else []
    assert len(named) > 2


def refusal(name: str, table: pd.DataFrame) -> str:
    """What is said of a table that is refused; nothing of one that is drawn."""
    try:
        drawn_of(name, table)
    except WrongTable as error:
        return str(error)
    return ""


@every_table
def test_what_returns_the_table_is_there(name):
    with pytest.raises(WrongTable) as caught:
        drawn_of(name, pd.DataFrame())
    (source,) = re.findall(r"table as (.*) returns it", str(caught.value))
    names, _, module = source.partition(" of ")
    if not module:
        module, _, names = source.rpartition(".")
    owner = importlib.import_module(f"gridcrux.{module}")
    for each in names.split(" or "):
        first, *rest = each.split(".")
        held = getattr(owner, first)
        assert all(hasattr(held, part) or part in held.__annotations__ for part in rest)


def test_every_figure_of_a_table_asks_for_it():
    folder = Path(importlib.import_module("gridcrux.figures").__path__[0])
    for path in folder.rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        drawn = len(re.findall(r"^def plot_\w+\(\s*table:", text, re.MULTILINE))
        asked = len(re.findall(r"^    (?:    )?expect_table\(", text, re.MULTILINE))
        assert asked >= drawn, path.name
