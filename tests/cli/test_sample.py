"""`sample`: puzzles on the command line."""

from __future__ import annotations

import csv
import json
import signal
import subprocess
import sys
import time

import pytest

from gridcrux.engines import get_engine
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.essential import crux
from gridcrux.techniques.repertoires import LEVELS

NEAR = ("--essential", "claiming", "--level", "fish", "--search", "near")
RING = "...xxx.....x...x...x.xxx.x.x.x...x.xx.x.x.x.xx.x...x.x.x.xxx.x...x...x.....xxx..."


def solutions(puzzle):
    return get_engine("sat").count(read_puzzle(puzzle), 2).value


def lines(result):
    assert result.exit_code == 0
    return result.stdout.split()


def table(path):
    with path.open(newline="") as stream:
        return list(csv.DictReader(stream))


def test_samples_have_one_solution_and_depend_on_the_seed(run):
    said = json.loads(run("sample", "--count", 3, "--seed", 5, "--json").stdout)
    for puzzle in said["puzzles"]:
        assert solutions(puzzle) == 1
    assert lines(run("sample", "--count", 3, "--seed", 5)) == said["puzzles"]
    assert lines(run("sample", "--count", 3, "--seed", 6)) != said["puzzles"]


def test_a_number_of_givens(run):
    asked = ("sample", "--givens", 30, "--count", 2, "--symmetry", "half-turn")
    for puzzle in lines(run(*asked)):
        assert 81 - puzzle.count(".") == 30
        assert [c == "." for c in puzzle] == [c == "." for c in puzzle[::-1]]
        assert solutions(puzzle) == 1
    (fewest,) = lines(run("sample", "--givens", 24, "--minimal"))
    for cell in (k for k in range(81) if fewest[k] != "."):
        assert solutions(f"{fewest[:cell]}.{fewest[cell + 1 :]}") == 2


def test_a_pattern_as_text_and_as_a_file(run, tmp_path):
    path = tmp_path / "ring.txt"
    path.write_text("\n".join(RING[k : k + 9] for k in range(0, 81, 9)))
    found = lines(run("sample", "--pattern", RING, "--count", 2))
    assert found == lines(run("sample", "--pattern", path, "--count", 2))
    for puzzle in found:
        assert [c == "." for c in puzzle] == [c == "." for c in RING]
        assert solutions(puzzle) == 1


@pytest.mark.parametrize("search", ["near", "rejection"])
def test_an_essential_technique(run, search):
    asked = ("sample", *NEAR[:-1], search, "--count", 2, "--none-harder")
    for puzzle in lines(run(*asked)):
        assert solutions(puzzle) == 1
        assert "claiming" in crux(read_puzzle(puzzle), LEVELS["fish"]).essential


@pytest.mark.parametrize(
    "asked",
    [("--count", 140), (*NEAR, "--count", 3)],
    ids=["deletion", "essential"],
)
def test_any_number_of_workers_makes_the_same_corpus(run, tmp_path, asked):
    tables = []
    for workers in (1, 2):
        out = tmp_path / f"{workers}.csv"
        assert run("sample", *asked, "--workers", workers, "--out", out).exit_code == 0
        tables.append(out.read_text())
    assert tables[0] == tables[1]
    assert len(tables[0].splitlines()) == asked[asked.index("--count") + 1] + 1


def test_the_table_can_be_studied_and_what_made_it_is_beside_it(run, tmp_path):
    out = tmp_path / "near.csv"
    asked = ("sample", *NEAR, "--count", 3, "--seed", 8, "--out", str(out))
    assert f"3 puzzles in {out}" in run(*asked).stdout
    rows = table(out)
    made = json.loads(out.with_suffix(".json").read_text())
    assert list(made["columns"]) == list(rows[0])
    assert [row["index"] for row in rows] == ["0", "1", "2"]
    assert all(int(row["givens"]) == 81 - row["puzzle"].count(".") for row in rows)
    assert made["seed"] == 8
    assert (made["settings"]["technique"], made["settings"]["search"]) == ("claiming", "near")
    assert made["settings"]["repertoire"] == list(LEVELS["fish"].names)
    assert "near" in made["method"]
    assert "no share" in made["bias"]
    again = made["command"].split()[1:]
    before = out.read_text()
    refused = run(*again)
    assert (refused.exit_code, "it exists" in refused.stderr) == (2, True)
    out.unlink()
    assert run(*again).exit_code == 0
    assert out.read_text() == before
    said = json.loads(run("study", out, "--out", tmp_path / "study", "--json").stdout)
    assert (said["puzzles"], said["rejected"]) == (3, 0)


def test_a_layout_that_is_too_large_for_weights_is_told(run, monkeypatch):
    monkeypatch.setattr("gridcrux.corpus.sample.uniform.NODES", 10_000)
    result = run("sample", "--weighted", "--layout", "3x4")
    assert result.exit_code == 2
    assert "too large" in result.stderr


def test_weights(run, tmp_path):
    out = tmp_path / "weighted.csv"
    assert run("sample", "--weighted", "--layout", "2x2", "--count", 5, "--out", out).exit_code == 0
    rows = table(out)
    assert {int(row["group"]) for row in rows} <= set(range(5))
    assert all(float(row["weight"]) > 0 for row in rows)
    made = json.loads(out.with_suffix(".json").read_text())
    assert list(made["columns"]) == list(rows[0])


def test_what_is_given_up_is_told(run, tmp_path):
    out = tmp_path / "none.csv"
    asked = ("sample", "--layout", "2x2", "--givens", 3, "--attempts", 1, "--count", 2)
    result = run(*asked, "--out", out)
    assert result.exit_code == 1
    assert "2 puzzles of 2 are given up" in result.stderr
    assert table(out) == []
    assert json.loads(out.with_suffix(".json").read_text())["given_up"] == 2
    said = json.loads(run(*asked, "--json").stdout)
    assert (said["puzzles"], said["made"]["given_up"]) == ([], 2)


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        (("--minimal",), ["--minimal", "--givens"]),
        (("--search", "near"), ["--search", "--essential"]),
        (("--level", "fish"), ["--level", "--essential"]),
        (("--attempts", 3), ["--attempts", "--givens"]),
        (("--pattern", RING, "--symmetry", "diagonal"), ["--pattern", "--symmetry"]),
        (("--pattern", RING, "--givens", 30), ["--pattern", "--givens"]),
        (("--pattern", RING, "--essential", "x-wing"), ["--pattern", "--essential"]),
        (("--weighted", "--essential", "x-wing"), ["--weighted", "--essential"]),
        (("--givens", 16), ["17", "1201.0749"]),
        (("--pattern", RING[1:]), ["80 marks", "81"]),
        (("--pattern", "x" * 45 + "." * 36), ["rows 7 and 8"]),
        (("--essential", "x-wig"), ["x-wig", "x-wing"]),
        (("--essential", "skyscraper", "--level", "fish"), ["skyscraper", "techniques"]),
        (("--essential", "x-wing", "--search", "far"), ["far", "rejection", "near"]),
        (("--symmetry", "quarter-turn", "--givens", 27), ["25 or 28"]),
        (("--out", "tickets.json"), ["tickets.json", "tickets.csv"]),
        (("--out", "no/such/folder.csv"), ["no/such/folder.csv"]),
    ],
)
def test_what_makes_no_sense_is_told_in_a_line(run, asked, words):
    result = run("sample", *asked)
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert all(word in line for word in words), line


@pytest.mark.parametrize("workers", ["1", "2"])
def test_an_interrupt_keeps_what_was_written(tmp_path, workers):
    out = tmp_path / "many.csv"
    command = [sys.executable, "-m", "gridcrux.cli", "sample", "--count", "10000000"]
    process = subprocess.Popen(
        [*command, "--workers", workers, "--out", str(out)],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )  # fmt: skip
    deadline = time.monotonic() + 60
    while not (out.exists() and out.stat().st_size > 20_000) and time.monotonic() < deadline:
        time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    said, told = process.communicate(timeout=60)
    assert (process.returncode, said) == (130, "")
    rows = table(out)
    assert [int(row["index"]) for row in rows] == list(range(len(rows)))
    assert told == f"gridcrux: interrupted; the {len(rows):,} puzzles so far are kept in {out}\n"
    made = json.loads(out.with_suffix(".json").read_text())
    assert (made["interrupted"], made["puzzles"]) == (True, len(rows))
