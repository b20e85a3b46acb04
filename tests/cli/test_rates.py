"""`rates`: how rare, and how two studies differ, on the command line."""

from __future__ import annotations

import json

import pandas as pd
import pytest
from scipy.stats import binomtest

from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study import study_files


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    root = tmp_path_factory.mktemp("rates")
    puzzles = [item.line for item in minimal(400, 31)]
    (root / "plain.txt").write_text("\n".join(puzzles))
    rows = [f"{puzzle},{1 + number % 3},{number // 2}" for number, puzzle in enumerate(puzzles)]
    (root / "heavy.csv").write_text("\n".join(["puzzle,weight,group", *rows]))
    for name in ("plain.txt", "heavy.csv"):
        out = root / name.partition(".")[0]
        study_files([str(root / name)], out, workers=1, progress=False)
    return root


def test_shares_have_the_interval_of_wilson(run, folder):
    said = json.loads(run("rates", folder / "plain", "hard_steps > 2", "--json").stdout)["shares"]
    table = pd.read_parquet(folder / "plain" / "table")
    count = int((table["hard_steps"] > 2).sum())
    expected = binomtest(count, 400).proportion_ci(method="wilson")
    assert [each["count"] for each in said] == [count]
    assert said[0]["low"] == pytest.approx(expected.low)
    assert said[0]["high"] == pytest.approx(expected.high)


def test_without_a_feature_every_technique_that_is_the_only_way_through(run, folder):
    said = json.loads(run("rates", folder / "plain", "--json").stdout)["shares"]
    table = pd.read_parquet(folder / "plain" / "table")
    solved = table.loc[table["solved"], "essential_techniques"].str.split(", ").explode()
    for each in said:
        name = each["feature"].removeprefix("only ")
        assert each["count"] == int((solved == name).sum()) > 0


def test_weights_count(run, folder):
    asked = ("rates", folder / "heavy", "givens <= 24", "--number", "givens")
    said = json.loads(run(*asked, "--json").stdout)
    table = pd.read_parquet(folder / "heavy" / "table")
    few = table.loc[table["givens"] <= 24, "weight"].sum() / table["weight"].sum()
    assert said["shares"][0]["share"] == pytest.approx(few)
    mean = (table["givens"] * table["weight"]).sum() / table["weight"].sum()
    assert said["numbers"][0]["mean"] == pytest.approx(mean)
    assert said["shares"][0]["effective"] < 400
    assert "independent puzzles of equal weight" in run(*asked).stdout


def test_two_studies_are_compared(run, folder):
    asked = ("rates", folder / "plain", "--against", folder / "heavy", "--number", "givens")
    said = json.loads(run(*asked, "--json").stdout)
    assert {each["feature"] for each in said["compared_shares"]} >= {
        each["feature"] for each in said["shares"]
    }
    one, two = (pd.read_parquet(folder / name / "table") for name in ("plain", "heavy"))
    mean = (two["givens"] * two["weight"]).sum() / two["weight"].sum()
    found = said["compared_numbers"][0]["difference"]
    assert found == pytest.approx(mean - one["givens"].mean())
    assert "givens" in run(*asked).stdout


def test_a_figure_is_drawn(run, folder, tmp_path):
    result = run("rates", folder / "plain", "--figure", tmp_path / "rates.svg")
    assert result.exit_code == 0
    assert (tmp_path / "rates.svg").read_text().lstrip().startswith("<?xml")


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("hard_stps > 3",), "did you mean hard_steps"),
        (("essential xwing",), "did you mean x-wing"),
        (("givens >",), "givens >"),
        (("solved", "--number", "puzzle"), "'puzzle' holds no numbers but texts such as"),
        (("solved", "--number", "status"), "'status' holds no numbers but texts such as"),
        (("puzzle",), "'puzzle' is not yes or no"),
        (("givens", "--figure", "picture.xyz"), "givens"),
    ],
)
def test_what_cannot_be_told_is_said_in_a_line(run, folder, asked, told):
    result = run("rates", folder / "plain", *asked)
    assert result.exit_code == 2
    assert told in result.stderr
    assert result.stderr.count("\n") == 1


def test_a_study_without_puzzles(run, tmp_path):
    (tmp_path / "none.txt").write_text("no puzzle\n")
    study_files([str(tmp_path / "none.txt")], tmp_path / "out", progress=False)
    result = run("rates", tmp_path / "out")
    assert result.exit_code == 2
    assert "the study has no puzzles" in result.stderr


def test_a_folder_without_a_study(run, tmp_path):
    result = run("rates", tmp_path)
    assert result.exit_code == 2
    assert "no study in it" in result.stderr


def test_what_makes_shares_doubtful_is_told(run, folder, tmp_path):
    mixed = tmp_path / "mixed"
    study_files([str(folder / n) for n in ("heavy.csv", "plain.txt")], mixed, progress=False)
    told = run("rates", mixed, "solved").stderr
    assert "plain.txt has no weights, other sources have" in told
    manifest = json.loads((mixed / "manifest.json").read_text())
    (mixed / "manifest.json").write_text(json.dumps(manifest | {"finished": False}))
    assert "the study is not finished" in run("rates", mixed, "solved").stderr
    few = tmp_path / "few.csv"
    few.write_text("".join((folder / "heavy.csv").read_text().splitlines(True)[:20]))
    study_files([str(few)], tmp_path / "few", progress=False)
    told = run("rates", tmp_path / "few", "solved").stderr
    assert "10 groups of puzzles; with fewer than 50" in told
    assert not run("rates", folder / "plain", "solved").stderr
