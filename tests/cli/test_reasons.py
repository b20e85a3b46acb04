"""`route` and `crux` give steps that hold against another solver, and statuses that are so."""

from __future__ import annotations

import json

import pandas as pd
import pytest

from gridcrux.engines import get_engine
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.policies import POLICIES
from gridcrux.techniques.repertoires import DEFAULT_LEVEL, LEVELS
from gridcrux.techniques.solve import available
from gridcrux.techniques.solve import route as find_route

STUCK = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."
WIDE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
FISH = ("--level", "fish")
SEVERAL, NONE = "4..1.1....1.1..2", "123........4...."
SOLVED = "...37856.7.6..1...8...6..7.51.6.7..86.4...7.93..9.5.12.4..8...5...5..4.7.85734..."


@pytest.mark.parametrize(("puzzle", "solved"), [(SOLVED, True), (STUCK, False)])
def test_no_step_contradicts_the_solution(run, puzzle, solved):
    result = run("route", puzzle, "--json", *FISH)
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
    said = json.loads(run("crux", puzzle, "--json", *FISH).stdout)
    goal = json.loads(run("route", puzzle, "--json", *FISH).stdout)["open"]
    assert {step["status"] for step in said["steps"]} <= {"idle", "replaceable", "essential"}
    assert set(said["techniques"]) == {step["technique"] for step in said["steps"]}
    for name, status in said["techniques"].items():
        rest = json.loads(run("route", puzzle, "--json", *FISH, "--without", name).stdout)["open"]
        assert status == ("replaceable" if rest == goal else "essential")


@pytest.mark.parametrize("command", ["route", "crux"])
def test_text_says_how_it_ended(run, command):
    assert "solved in 45 steps" in run(command, SOLVED).stdout
    assert "not solved" in run(command, STUCK, *FISH).stdout
    assert run(command, STUCK, *FISH).exit_code == 1


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


@pytest.mark.parametrize("command", ["route", "crux"])
@pytest.mark.parametrize(
    ("puzzle", "solutions"),
    [(SOLVED, "one"), (SEVERAL, "several"), (NONE, "none")],
)
def test_first_it_is_told_how_many_solutions_there_are(run, command, puzzle, solutions):
    result = run(command, puzzle, "--json")
    said = json.loads(result.stdout)
    assert set(said) >= {"solved", "policy", "steps", "open", "solutions"}
    assert said["solutions"] == solutions
    first = run(command, puzzle).stdout.splitlines()[0]
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
            for step in json.loads(run(command, WIDE, "--json", *options).stdout)["steps"]
        }
        for widest in (1, 2)
        for options in [("--widest", widest, *FISH)]
    }
    assert widths[1] == {1}
    assert widths[2] == {1, 2}


def test_options_that_leave_no_technique_are_bad_input(run):
    result = run("crux", STUCK, "--only", "x-wing", "--without", "x-wing")
    assert (result.exit_code, result.stdout) == (2, "")
    (line,) = result.stderr.splitlines()
    assert "--only" in line


@pytest.mark.parametrize("command", ["route", "crux"])
def test_no_help_is_out_of_date(run, command):
    text = " ".join(run(command, "--help").stdout.replace("│", " ").split())
    # A word that is broken at its hyphen is put together again.
    text = text.replace("- ", "-")
    names = [*LEVELS, *POLICIES]
    assert [name for name in names if name not in text] == []
    assert f"{DEFAULT_LEVEL} (if left out)" in text
    shared = ["--layout", "--level", "--without", "--only", "--widest", "--no-uniqueness"]
    assert all(option in text for option in [*shared, "--policy", "--json", "PUZZLE"])
    assert ("--all-at" in text) is (command == "route")


def steps(result):
    return json.loads(result.stdout)["steps"]


@pytest.mark.parametrize("policy", POLICIES)
def test_the_policy_named_is_the_one_used(run, policy):
    said = json.loads(run("route", WIDE, "--json", "--policy", policy, *FISH).stdout)
    way = find_route(read_puzzle(WIDE), LEVELS["fish"], policy)
    assert said["policy"] == policy
    assert said["steps"] == [step.as_dict() for step in way]
    judged = steps(run("crux", WIDE, "--json", "--policy", policy, *FISH))
    assert [step["premises"] for step in judged] == [step["premises"] for step in said["steps"]]


def test_a_level_has_its_techniques_and_other_options_cut_it_down(run):
    for level, repertoire in LEVELS.items():
        used = {
            step["technique"] for step in steps(run("route", STUCK, "--json", "--level", level))
        }
        assert used <= set(repertoire.names)
    usual = run("route", STUCK, "--json").stdout
    assert usual == run("route", STUCK, "--json", "--level", DEFAULT_LEVEL).stdout
    few = run("route", WIDE, "--json", *FISH, "--only", "naked-single", "--only", "x-wing")
    assert {step["technique"] for step in steps(few)} <= {"naked-single", "x-wing"}
    # Without a level any technique can be asked for.
    beyond = next(t.name for t in LEVELS["uniqueness"] if t.assumes_unique)
    assert beyond not in LEVELS[DEFAULT_LEVEL]
    assert run("route", STUCK, "--json", "--only", beyond).exit_code == 1
    refused = run("route", STUCK, "--json", "--level", DEFAULT_LEVEL, "--only", beyond)
    assert refused.exit_code == 2
    assert f"{beyond} is not in level {DEFAULT_LEVEL}; it comes with level" in refused.stderr


@pytest.mark.parametrize("command", ["route", "crux"])
def test_wrong_names_are_told_in_a_line(run, command):
    for option, name, words in [
        ("--policy", "nearst", "did you mean nearest"),
        ("--level", "heroic", ", ".join(LEVELS)),
        ("--only", "swordfsh", "did you mean swordfish"),
    ]:
        result = run(command, STUCK, option, name)
        (line,) = result.stderr.splitlines()
        assert (result.exit_code, result.stdout) == (2, "")
        assert name in line
        assert words in line


@pytest.mark.parametrize("command", ["route", "crux"])
@pytest.mark.parametrize(("puzzle", "words"), [(SEVERAL, "one with r1c2="), (NONE, "no solution")])
def test_uniqueness_is_assumed_of_no_puzzle_without_it(run, command, puzzle, words):
    asked = (command, puzzle, "--level", "uniqueness")
    result = run(*asked)
    (line,) = result.stderr.splitlines()
    assert (result.exit_code, result.stdout) == (2, "")
    assert words in line
    assert "--no-uniqueness" in line
    allowed = run(*asked, "--no-uniqueness", "--json")
    assert (allowed.exit_code, allowed.stdout) == (1, run(command, puzzle, "--json").stdout)
    assert run(command, SOLVED, "--level", "uniqueness").exit_code == 0


@pytest.mark.parametrize("policy", ["easiest", "fewest"])
def test_all_that_could_be_done_before_a_step(run, policy):
    options = ("--json", "--policy", policy, *FISH)
    way = steps(run("route", WIDE, *options))
    hard = next(number for number, step in enumerate(way, 1) if step["places"] is None)
    for number in (1, hard, len(way)):
        result = run("route", WIDE, *options, "--all-at", number)
        said = json.loads(result.stdout)
        assert (result.exit_code, said["step"], said["steps"]) == (0, number, len(way))
        found = find_route(read_puzzle(WIDE), LEVELS["fish"], policy)
        before = list(found.states())[number - 1]
        assert said["open"] == before.marks
        listed = [step for group in said["alternatives"] for step in group["deductions"]]
        (taken,) = [step for step in listed if step.pop("taken")]
        assert taken == way[number - 1]
        expected = [step.as_dict() for step in available(before, LEVELS["fish"])]
        for step in listed:
            step.pop("taken", None)
        assert sorted(map(str, listed)) == sorted(map(str, expected))


def test_the_table_of_what_could_be_done_marks_what_was(run):
    out = run("route", WIDE, *FISH, "--all-at", 3).stdout
    way = steps(run("route", WIDE, "--json", *FISH))
    assert f"before step 3 of {len(way)}: " in out
    (row,) = [line for line in out.splitlines() if line.split()[:1] == ["*"]]
    assert f" {way[2]['technique']} " in row
    assert way[2]["places"] in row
    assert "excluded with more by " in out


@pytest.mark.parametrize("step", [0, 46, 10_000])
def test_a_step_outside_of_the_route_is_bad_input(run, step):
    result = run("route", SOLVED, "--all-at", step)
    (line,) = result.stderr.splitlines()
    assert (result.exit_code, result.stdout) == (2, "")
    assert "--all-at" in line
    if step:
        assert "the route has 45 steps" in line
