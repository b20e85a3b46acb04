"""`contrast`: a row a puzzle, correlations and outliers, on the command line."""

from __future__ import annotations

import json
from importlib.metadata import version

import pandas as pd
import pytest
from matplotlib import rcParams

from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study import study

LINES = [item.line for item in minimal(30, 44)]
OUTLIERS = ("--top", "2", "--apart", "0.1")
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
    asked = ["contrast", str(source), "--out", str(out), *map(str, QUICK), *OUTLIERS]
    return out, CliRunner().invoke(program, asked)


def test_it_tells_and_writes_all_there_is(done):
    out, result = done
    assert result.exit_code == 0
    assert "30 rows in" in result.stdout
    assert "1 line set aside" in result.stdout
    assert "no times of people were measured" in result.stdout
    assert (
        "harder for the machine than for a person, with ranks at least 10 % apart" in result.stdout
    )
    assert "depends on the speed of the machine" in result.stdout
    lines = [line.split() for line in result.stdout.splitlines()]
    ways = {words[0]: words[1] for words in lines if len(words) > 3}
    assert (ways["givens"], ways["open_singles"], ways["stalls"]) == ("fewer", "fewer", "more")
    assert "engine cadical195/fresh (encoding extended, used fresh)" in result.stdout
    found = pd.read_parquet(out / "contrast.parquet")
    assert found["puzzle"].tolist() == LINES
    assert pd.read_csv(out / "contrast.csv", dtype={"puzzle": str})["puzzle"].tolist() == LINES
    correlations = pd.read_csv(out / "correlations.csv")
    assert set(correlations["second"]) >= {"nodes", "cadical195_fresh_conflicts"}
    assert (out / "outliers.svg").read_text().lstrip().startswith("<?xml")
    outliers = pd.read_csv(out / "outliers.csv")
    assert outliers["id"].isin(found["id"].astype(int)).all()
    assert outliers["residual"].abs().min() >= 0.1


def test_what_a_paper_needs_stands_beside_the_files(done):
    out, _ = done
    note = json.loads((out / "contrast.json").read_text())
    assert set(note["files"]) < {path.name for path in out.iterdir()}
    for name in ("measures.csv", "correlations.csv", "outliers.csv"):
        assert list(pd.read_csv(out / name)) == list(note["files"][name]["columns"])
    correlations = note["files"]["correlations.csv"]
    assert (correlations["seed"], correlations["resamples"]) == (0, 1000)
    assert (correlations["puzzles"], correlations["left_out"]) == (30, 0)
    for name in ("outliers.csv", "outliers.svg"):
        told = note["files"][name]
        assert (told["human"], told["machine"]) == ("refutation_sum", "cadical195_fresh_conflicts")
        assert (told["top"], told["apart"], told["puzzles"] + told["left_out"]) == (2, 0.1, 30)
    known = pd.read_parquet(out / "contrast.parquet")[[told["human"], told["machine"]]].dropna()
    assert told["puzzles"] == len(known)
    manifest = json.loads((out / "manifest.json").read_text())
    for package in ("python-sat", "ortools"):
        assert manifest["versions"][package] == note["versions"][package] == version(package)
    assert note["versions"]["scipy"] == version("scipy")


def test_the_figure_is_the_same_to_the_bit(run, source, done):
    out, _ = done
    before = (out / "outliers.svg").read_bytes()
    assert b"<dc:date>" not in before
    run("contrast", source, "--out", out, *QUICK, *OUTLIERS)
    assert (out / "outliers.svg").read_bytes() == before
    assert rcParams["svg.hashsalt"] is None


def test_json_says_the_same_and_a_second_run_only_reads(run, source, done):
    out, _ = done
    result = run("contrast", source, "--out", out, *QUICK, *OUTLIERS, "--json")
    said = json.loads(result.stdout)
    assert (result.exit_code, said["puzzles"], said["rejected"], said["resumed"]) == (0, 30, 1, 30)
    told = pd.DataFrame(said["correlations"])["spearman"].astype(float)
    written = pd.read_csv(out / "correlations.csv")["spearman"]
    assert told.tolist() == pytest.approx(written.tolist(), nan_ok=True)
    assert told.notna().sum() > 50
    assert 2 <= len(said["outliers"]) <= 4
    counts = pd.Series([row["outlier"] for row in said["outliers"]]).value_counts()
    assert counts.to_dict() == {
        kind: min(count, 2) for kind, count in said["beyond"].items() if count
    }
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
        (("--seconds", "-1"), "--seconds"),
        (("--apart", "2"), "--apart"),
        (("--human", "hard_stps"), "no measure for a person 'hard_stps'; did you mean"),
        (("--machine", "nodse"), "no measure for a machine 'nodse'; did you mean"),
        (
            ("--machine", "hard_steps"),
            "--machine hard_steps: that is a measure for a person; for a machine there are "
            "cadical195_fresh_conflicts, ",
        ),
        (
            ("--human", "nodes"),
            "--human nodes: that is a measure for a machine; for a person there are steps, ",
        ),
        (("--engine", "bands"), "it only counts solutions; name an engine that decides: kernel, "),
        (("--level", "fsh"), "fish"),
    ],
)
def test_what_cannot_be_asked_is_said_in_a_line(run, source, tmp_path, asked, told):
    options = (*QUICK, *asked) if "--engine" not in asked else asked
    result = run("contrast", source, "--out", tmp_path / "out", *options)
    assert result.exit_code == 2
    assert told in " ".join(result.stderr.split())
    assert "Traceback" not in result.stderr
    # It is told before anything is measured.
    assert not (tmp_path / "out").exists()


def test_what_cannot_be_correlated_is_said_with_the_reason(run, tmp_path):
    quick = ("--engine", "kernel", "--level", "fish", "--workers", 1)
    (tmp_path / "one").write_text(LINES[0] + "\n")
    result = run("contrast", tmp_path / "one", "--out", tmp_path / "a", *quick)
    assert result.exit_code == 0
    told = (
        "nothing can be correlated: 1 puzzle with exactly one solution, and a correlation takes 3"
    )
    assert told in result.stdout
    assert "Spearman" not in result.stdout
    said = json.loads(
        run("contrast", tmp_path / "one", "--out", tmp_path / "a", *quick, "--json").stdout
    )
    assert told.endswith(said["no_correlations"])
    assert "outliers" not in said
    # The same puzzle over again has the same measures.
    (tmp_path / "same").write_text("\n".join([LINES[0]] * 4) + "\n")
    result = run("contrast", tmp_path / "same", "--out", tmp_path / "b", *quick)
    assert "all measures for a person are the same in all puzzles" in result.stdout
    assert not (tmp_path / "b" / "outliers.svg").exists()


def test_a_row_without_correlations_says_why(run, tmp_path):
    easy = study(LINES, workers=1).query("level == 'singles'")
    (tmp_path / "easy").write_text("\n".join(easy["puzzle"]) + "\n")
    asked = ("contrast", tmp_path / "easy", "--out", tmp_path / "out", "--workers", 1)
    result = run(*asked, "--engine", "cadical195/minimal/fresh")
    assert len(easy) > 5
    (row,) = [line for line in result.stdout.splitlines() if line.split()[:1] == ["stalls"]]
    assert row.endswith("stalls the same in all of these puzzles")
    (row,) = [line for line in result.stdout.splitlines() if line.split()[:1] == ["crux_open"]]
    assert row.endswith("known of no puzzle")
    assert "no outliers can be told of refutation_sum and" in result.stdout
    # With another measure they can, and go again with those that cannot.
    assert run(*asked, "--engine", "cadical195/minimal/fresh", "--human", "givens").exit_code == 0
    assert (tmp_path / "out" / "outliers.csv").exists()
    run(*asked, "--engine", "cadical195/minimal/fresh")
    assert not (tmp_path / "out" / "outliers.csv").exists()


def test_time_without_limit(run, source, tmp_path):
    few = tmp_path / "few"
    few.write_text("\n".join(LINES[:3]) + "\n")
    run("contrast", few, "--out", tmp_path / "out", *QUICK, "--seconds", 0)
    manifest = json.loads((tmp_path / "out" / "manifest.json").read_text())
    assert manifest["further"]["seconds"] is None


def test_no_puzzle_and_none_with_one_solution(run, tmp_path):
    (tmp_path / "junk").write_text("no puzzle\n")
    result = run("contrast", tmp_path / "junk", "--out", tmp_path / "one", "--engine", "kernel")
    assert result.exit_code == 1
    assert "no line is a puzzle" in result.stderr
    (tmp_path / "open").write_text("." * 81 + "\n")
    result = run("contrast", tmp_path / "open", "--out", tmp_path / "two", "--engine", "kernel")
    assert result.exit_code == 0
    assert "1 puzzle without exactly one solution left out" in result.stdout
    assert "nothing can be correlated: no puzzle with exactly one solution" in result.stdout
    assert not (tmp_path / "two" / "outliers.csv").exists()
