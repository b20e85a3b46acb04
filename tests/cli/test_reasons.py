"""`route` and `crux` give steps that hold against another solver, and statuses that are so."""

from __future__ import annotations

import json

import pandas as pd
import pytest

from gridcrux.engines import get_engine
from gridcrux.grids.text import read_puzzle

STUCK = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."
WIDE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
SOLVED = "...37856.7.6..1...8...6..7.51.6.7..86.4...7.93..9.5.12.4..8...5...5..4.7.85734..."


@pytest.mark.parametrize(("puzzle", "solved"), [(SOLVED, True), (STUCK, False)])
def test_no_step_contradicts_the_solution(run, puzzle, solved):
    result = run("route", puzzle, "--json")
    said = json.loads(result.stdout)
    assert (said["solved"], result.exit_code) == (solved, 0 if solved else 1)
    (grid,) = get_engine("sat").solutions(read_puzzle(puzzle))
    true = {f"r{i // 9 + 1}c{i % 9 + 1}={d}" for i, d in enumerate(grid_of(grid))}
    for step in said["steps"]:
        assert set(step) >= {"technique", "width", "premises", "eliminates", "places"}
        assert step["width"] == len(step["premises"])
        assert not true & set(step["eliminates"])
        assert step["places"] is None or step["places"] in true
    assert bool(said["open"]) is not solved
    assert all(any(f"{cell}={d}" in true for d in open_) for cell, open_ in said["open"].items())


def grid_of(solution):
    return solution.grid if hasattr(solution, "grid") else tuple(solution)


def test_premises_are_named_in_full(run):
    steps = json.loads(run("route", STUCK, "--json").stdout)["steps"]
    names = {name for step in steps for name in step["premises"]}
    assert any(name.startswith("cell r") for name in names)
    assert "3 in row 1" in names


@pytest.mark.parametrize("puzzle", [STUCK, SOLVED])
def test_essential_means_that_leaving_it_out_leaves_more_open(run, puzzle):
    said = json.loads(run("crux", puzzle, "--json").stdout)
    goal = json.loads(run("route", puzzle, "--json").stdout)["open"]
    assert {step["status"] for step in said["steps"]} <= {"idle", "replaceable", "essential"}
    assert set(said["techniques"]) == {step["technique"] for step in said["steps"]}
    for name, status in said["techniques"].items():
        rest = json.loads(run("route", puzzle, "--json", "--without", name).stdout)["open"]
        assert status == ("replaceable" if rest == goal else "essential")


@pytest.mark.parametrize("command", ["route", "crux"])
def test_text_says_how_it_ended(run, command):
    assert "solved in 45 steps" in run(command, SOLVED).stdout
    assert "not solved" in run(command, STUCK).stdout
    assert run(command, STUCK).exit_code == 1


def test_crux_finds_an_essential_technique(run):
    corpus = pd.Series([SOLVED.replace("37856", ".....", 1), STUCK])
    statuses = [
        status
        for puzzle in corpus
        for status in json.loads(run("crux", puzzle, "--json", "--only", "hidden-single").stdout)[
            "techniques"
        ].values()
    ]
    # With a single technique in the repertoire there is nothing to replace it.
    assert set(statuses) == {"essential"}


@pytest.mark.parametrize(
    ("puzzle", "solutions"),
    [(SOLVED, "one"), ("4..1.1....1.1..2", "several"), ("123........4....", "none")],
)
def test_crux_first_tells_how_many_solutions_there_are(run, puzzle, solutions):
    result = run("crux", puzzle, "--json")
    said = json.loads(result.stdout)
    assert set(said) >= {"solved", "techniques", "steps", "open", "solutions"}
    assert said["solutions"] == solutions
    first = run("crux", puzzle).stdout.splitlines()[0]
    if solutions == "one":
        assert result.stderr == ""
        assert (result.exit_code, "solution" in first) == (0, False)
    else:
        word = "no solution" if solutions == "none" else "several solutions"
        assert (result.exit_code, word in first, word in result.stderr) == (1, True, True)


@pytest.mark.parametrize("command", ["route", "crux"])
def test_no_step_is_wider_than_asked(run, command):
    widths = {
        widest: {
            step["width"]
            for step in json.loads(run(command, WIDE, "--json", "--widest", widest).stdout)["steps"]
        }
        for widest in (1, 2)
    }
    assert widths[1] == {1}
    assert widths[2] == {1, 2}


def test_options_that_leave_no_technique_are_bad_input(run):
    result = run("crux", STUCK, "--only", "x-wing", "--without", "x-wing")
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert "--only" in line
