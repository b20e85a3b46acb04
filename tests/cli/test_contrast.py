"""`contrast`: a row a puzzle, correlations and outliers, on the command line."""

from __future__ import annotations

import json

import pandas as pd
import pytest

from gridcrux.corpus.sample import minimal

LINES = [item.line for item in minimal(30, 44)]
QUICK = ("--engine", "cadical195/fresh", "--engine", "kernel", "--level", "fish", "--workers", 1)


@pytest.fixture(scope="module")
def source(tmp_path_factory):
    path = tmp_path_factory.mktemp("contrast") / "in.txt"
    path.write_text("\n".join([*LINES, "no puzzle"]) + "\n")
    return path


@pytest.fixture(scope="module")
def done(source, tmp_path_factory):
    from typer.testing import CliRunner

    from gridcrux.cli.program import program

    out = tmp_path_factory.mktemp("done") / "out"
    asked = ["contrast", str(source), "--out", str(out), *map(str, QUICK), "--top", "2"]
    return out, CliRunner().invoke(program, asked)


def test_it_tells_and_writes_all_there_is(done):
    out, result = done
    assert result.exit_code == 0
    assert "30 rows in" in result.stdout
    assert "1 line set aside" in result.stdout
    assert "no times of people were measured" in result.stdout
    assert "hard for a machine" in result.stdout
    found = pd.read_parquet(out / "contrast.parquet")
    assert found["puzzle"].tolist() == LINES
    assert pd.read_csv(out / "contrast.csv", dtype={"puzzle": str})["puzzle"].tolist() == LINES
    correlations = pd.read_csv(out / "correlations.csv")
    assert set(correlations["second"]) >= {"nodes", "cadical195_fresh_conflicts"}
    assert (out / "outliers.svg").read_text().lstrip().startswith("<?xml")
    assert pd.read_csv(out / "outliers.csv")["id"].isin(found["id"].astype(int)).all()


def test_json_says_the_same_and_a_second_run_only_reads(run, source, done):
    out, _ = done
    result = run("contrast", source, "--out", out, *QUICK, "--top", 2, "--json")
    said = json.loads(result.stdout)
    assert (result.exit_code, said["puzzles"], said["rejected"], said["resumed"]) == (0, 30, 1, 30)
    told = pd.DataFrame(said["correlations"])["spearman"].astype(float)
    written = pd.read_csv(out / "correlations.csv")["spearman"]
    assert told.tolist() == pytest.approx(written.tolist(), nan_ok=True)
    assert told.notna().sum() > 50
    assert len(said["outliers"]) <= 4
    assert said["outliers"][0]["human_measure"] == "refutation_sum"
    assert said["outliers"][0]["machine_measure"] == "cadical195_fresh_conflicts"
    assert {row["side"] for row in said["measures"]} == {"human", "machine"}
    assert len(said["cautions"]) == 3


def test_weights_and_groups_count(run, tmp_path):
    rows = [f"{line},{1 + n % 4},{n // 2}" for n, line in enumerate(LINES)]
    (tmp_path / "heavy.csv").write_text("\n".join(["puzzle,weight,group", *rows]))
    asked = ("contrast", tmp_path / "heavy.csv", "--out", tmp_path / "out", *QUICK, "--json")
    result = run(*asked)
    assert "15 groups of puzzles; with fewer than 50" in result.stderr
    heavy = json.loads(result.stdout)
    table = pd.read_parquet(tmp_path / "out" / "contrast.parquet")
    repeated = table.loc[table.index.repeat(table["weight"].astype(int))]
    found = {(r["first"], r["second"]): r["spearman"] for r in heavy["correlations"]}
    for human in ("givens", "refutation_sum", "open_singles"):
        expected = repeated[human].astype(float).corr(repeated["nodes"], method="spearman")
        assert found[human, "nodes"] == pytest.approx(expected)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (("--engine", "nobody"), "nobody"),
        (("--above", "nothing"), "--above"),
        (("--seconds", "0"), "--seconds"),
        (("--human", "hard_stps"), "did you mean"),
        (("--machine", "nodse"), "did you mean"),
        (("--level", "fsh"), "fish"),
    ],
)
def test_what_cannot_be_asked_is_said_in_a_line(run, source, tmp_path, asked, told):
    options = (*QUICK, *asked) if "--engine" not in asked else asked
    result = run("contrast", source, "--out", tmp_path / "out", *options)
    assert result.exit_code == 2
    assert told in result.stderr.splitlines()[-1]
    assert "Traceback" not in result.stderr
    # It is told before anything is measured.
    assert not (tmp_path / "out").exists()


def test_no_puzzle_and_none_with_one_solution(run, tmp_path):
    (tmp_path / "junk").write_text("no puzzle\n")
    result = run("contrast", tmp_path / "junk", "--out", tmp_path / "one", "--engine", "kernel")
    assert result.exit_code == 1
    assert "no line is a puzzle" in result.stderr
    (tmp_path / "open").write_text("." * 81 + "\n")
    result = run("contrast", tmp_path / "open", "--out", tmp_path / "two", "--engine", "kernel")
    assert result.exit_code == 0
    assert "1 puzzle without exactly one solution left out" in result.stdout
    assert not (tmp_path / "two" / "outliers.csv").exists()
