"""Conditions agree with pandas, pass nothing unknown for true, and execute nothing."""

from __future__ import annotations

import random

import numpy as np
import pandas as pd
import pyarrow as pa
import pytest

from gridcrux.corpus.rows import UnknownColumn
from gridcrux.corpus.shortlist.queries import BadQuery, read_query

RANDOM = np.random.default_rng(5)
PLAIN = pd.DataFrame(
    {
        "givens": RANDOM.integers(20, 30, 200),
        "steps": RANDOM.integers(0, 9, 200),
        "weight": RANDOM.random(200),
        "solved": RANDOM.random(200) < 0.5,
        "status": RANDOM.choice(["solved", "stuck", "half a swordfish"], 200),
    }
)


def holds(text, frame=PLAIN):
    table = pa.Table.from_pandas(frame, preserve_index=False)
    return read_query(text, table.schema).holds(table).tolist()


@pytest.mark.parametrize(
    "text",
    [
        "givens <= 24 and steps == 1",
        "givens <= 24 & steps == 1 | weight > .5",
        "22 < givens <= 24 < 25",
        "not solved",
        "~solved and not (steps > 3)",
        "status == 'stuck'",
        'status != "stuck"',
        "'sp' < status",
        "givens in [20, 21, 29]",
        "steps not in (1, 2)",
        "status in ['stuck', 'solved']",
        "steps * 3 + givens - 2 > 70 / 2",
        "-steps < -(2 + 3)",
        "givens / 2 == 12.5",
        "givens / steps > 9",
        "status.str.contains('sword')",
        "status.str.contains('^s.*d$') and solved == True",
        "status.str.startswith('half') or status.str.endswith('ck')",
        "givens.notna() and not status.isna()",
        "\n givens\n > 25 ",
    ],
)
def test_conditions_mean_what_pandas_says(text):
    expected = PLAIN.query(" ".join(text.split()), engine="python").index
    assert np.flatnonzero(holds(text)).tolist() == expected.tolist()
    assert 0 < len(expected) < len(PLAIN) or "notna" in text


def test_random_conditions_mean_what_pandas_says():
    choice = random.Random(8)

    def number(depth):
        if depth == 0 or choice.random() < 0.4:
            return choice.choice(["givens", "steps", "weight", "3", "0.25", "24"])
        return f"({number(depth - 1)} {choice.choice('+-*')} {number(depth - 1)})"

    def truth(depth):
        if depth == 0 or choice.random() < 0.3:
            sign = choice.choice(["<", "<=", ">", ">=", "==", "!="])
            column = choice.choice(["givens", "steps", "weight"])
            return f"{column} {sign} {number(2)}" if choice.random() < 0.8 else "solved"
        if choice.random() < 0.2:
            return f"not ({truth(depth - 1)})"
        return f"({truth(depth - 1)}) {choice.choice(['and', 'or', '&', '|'])} {truth(depth - 1)}"

    for _ in range(150):
        text = truth(3)
        expected = PLAIN.query(text, engine="python").index
        assert np.flatnonzero(holds(text)).tolist() == expected.tolist(), text


def test_what_is_missing_is_neither_true_nor_false():
    frame = pd.DataFrame(
        {
            "steps": pd.array([1, None, 3], "Int64"),
            "status": pd.array(["stuck", None, "solved"], "str"),
            "solved": pd.array([False, None, True], "boolean"),
        }
    )
    middle = {
        "steps > 1": False,
        "not (steps > 1)": False,
        "steps != 1": False,
        "steps not in [1]": False,
        "not (steps in [1])": False,
        "status != 'stuck'": False,
        "not status.str.contains('st')": False,
        "not solved": False,
        "steps > 1 or True": True,
        "steps > 1 or not (steps > 1)": False,
        "steps.isna()": True,
        "steps.notna()": False,
    }
    assert {text: holds(text, frame)[1] for text in middle} == middle
    assert holds("steps not in [1]", frame) == [False, False, True]


@pytest.mark.parametrize(
    "text",
    [
        "__import__('os').system('touch owned')",
        "open('owned', 'w')",
        "givens.__class__",
        "givens.values > 1",
        "givens.sum() > 1",
        "givens.isna(1)",
        "status.str",
        "status.str.len() > 3",
        "status.str.contains(status)",
        "status.str.contains('a', case=False)",
        "status.str.contains('(')",
        "status.isna().str.contains('a')",
        "(lambda: solved)()",
        "[solved for _ in solved]",
        "solved if solved else solved",
        "f'{givens}' == '1'",
        "givens[0] == 1",
        "{1: 2}",
        "givens ** 9 > 1",
        "givens @ steps",
        "@givens > 1",
        "givens := 3",
        "b'a' == status",
        "steps == None",
        "steps is 3",
        "'st' in status",
        "givens in [steps]",
        "givens",
        "givens and solved",
        "givens == 'a'",
        "solved == 1",
        "status + 'a' == 'b'",
        "-status == 'b'",
        "givens <",
        "",
        "givens == 1; solved",
        "import os",
        "givens % 4 == 1",
        "givens == 99999999999999999999999",
        "givens * 9223372036854775807 > 1",
        "givens\0 > 1",
        "not " * 400 + "solved",
        "(" * 300 + "solved" + ")" * 300,
        "solved or " * 300 + "solved",
    ],
)
def test_all_else_is_refused_in_one_line_and_nothing_is_executed(text, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(BadQuery) as error:
        holds(text)
    assert len(str(error.value).splitlines()) == 1
    assert len(str(error.value)) < 800
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("solved & givens == 'a'", "character 20 (\"'a'\"): this is text; expected a number"),
        ("  solved | status == 'ä' & steps(1)", "character 28 ('steps(1)')"),
        ("givens <= 24 steps", "character 14 ('steps')"),
        ("givens <=  ", "at the end"),
    ],
)
def test_a_message_says_where(text, place):
    with pytest.raises(BadQuery) as error:
        holds(text)
    assert place in str(error.value)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("given < 3", "did you mean givens"),
        ("crux_step == 1", "crux_steps comes with 'gridcrux study --needs'"),
        ("bottleneck_width == 1", "comes with 'gridcrux study --widths'"),
        ("steps_skyscraper > 0", "comes with 'gridcrux study --level one-digit'"),
        ("zebra", "there are givens, steps, weight, solved, status"),
    ],
)
def test_an_unknown_column_is_named_with_what_helps(text, hint):
    with pytest.raises(UnknownColumn) as error:
        holds(text)
    assert hint in str(error.value)


def test_a_category_is_text():
    frame = PLAIN.astype({"status": "category"})
    assert holds("status == 'stuck'", frame) == holds("status == 'stuck'")
