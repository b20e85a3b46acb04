"""`shortlist`: puzzles for a series, each week others, and why nothing is left."""

from __future__ import annotations

import json

import pandas as pd
import pytest

from gridcrux.corpus.sample import minimal


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A study of the puzzles that an invented ferry company has for its winter series."""
    from typer.testing import CliRunner

    from gridcrux.cli.program import program

    place = tmp_path_factory.mktemp("winter")
    lines = [item.line for item in minimal(150, 21)]
    lines += [item.line for item in minimal(50, 22, symmetry="half-turn")]
    (place / "tickets.txt").write_text("\n".join(lines) + "\n")
    source, out = place / "tickets.txt", place / "out"
    result = CliRunner().invoke(program, ["study", str(source), "--out", str(out)])
    assert result.exit_code == 0
    return out


def test_a_list_with_its_funnel(run, folder):
    wishes = ["--where", "givens <= 26 and solved", "--symmetric", "any", "--top", 4]
    result = run("shortlist", folder, *wishes, "--order-by=-hard_steps", "--json")
    said = json.loads(result.stdout)
    assert (result.exit_code, len(said["puzzles"])) == (0, 4)
    hard = [row["hard_steps"] for row in said["puzzles"]]
    assert hard == sorted(hard, reverse=True)
    assert [stage["condition"] for stage in said["funnel"]][:4] == [
        "rows", "with one solution", "where givens <= 26 and solved", "with symmetric givens",
    ]  # fmt: skip
    text = run("shortlist", folder, *wishes, "--order-by=-hard_steps").stdout
    for row in said["puzzles"]:
        assert row["puzzle"] in text
        assert row["why"] in text
    for stage in said["funnel"]:
        assert stage["condition"] in text
    assert "200" in text


def test_nothing_found_is_an_answer(run, folder):
    result = run("shortlist", folder, "--where", "givens > 80", "--one-crux")
    assert result.exit_code == 1
    assert "no puzzle meets all conditions" in result.stdout
    assert "where givens > 80" in result.stdout


def test_a_series_never_repeats_itself(run, folder, tmp_path):
    used = tmp_path / "used.csv"
    weeks = []
    for week in range(3):
        out = tmp_path / f"week-{week}.csv"
        result = run("shortlist", folder, "--top", 5, "--add-to", used, "--out", out)
        assert f"5 puzzles added to {used}" in result.stdout
        weeks += pd.read_csv(out)["puzzle"].tolist()
        again = run("shortlist", folder, "--out", out)
        assert (again.exit_code, "it exists" in again.stderr) == (2, True)
    assert len(set(weeks)) == 15
    assert pd.read_csv(used)["puzzle"].tolist() == weeks
    again = run("shortlist", folder, "--top", 5, "--unlike", used, "--json")
    assert not {row["puzzle"] for row in json.loads(again.stdout)["puzzles"]} & set(weeks)
    assert pd.read_csv(used)["puzzle"].tolist() == weeks


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--where", "given < 3"], "did you mean givens?"),
        (["--where", "exit()"], "--where 'exit()', character 1"),
        (["--essential", "skycraper"], "did you mean skyscraper?"),
        (["--essential", "skyscraper"], "gridcrux study --level one-digit"),
        (["--symmetric", "spiral"], "half-turn"),
        (["--order-by", "hardsteps"], "hard_steps"),
        (["--unlike", "nowhere.csv"], "nowhere.csv"),
        (["--out", "no/such/folder.csv"], "no/such"),
    ],
)
def test_errors_are_one_line(run, folder, arguments, said):
    result = run("shortlist", folder, *arguments)
    assert result.exit_code == 2
    assert said in result.stderr.splitlines()[-1]
    assert "Traceback" not in result.stderr


def test_a_folder_without_study_is_named(run, tmp_path):
    result = run("shortlist", tmp_path)
    assert result.exit_code == 2
    assert "expected a folder made by 'gridcrux study'" in result.stderr
