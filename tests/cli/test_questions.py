"""`count` and `backbone` say what a search by hand finds."""

from __future__ import annotations

import json
import re
import signal
import subprocess
import sys
import time
from itertools import product

import pytest

PUZZLE = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."
OPEN = "1...............".replace(" ", "")


def solutions_by_hand(puzzle):
    """All solutions of a 4x4 puzzle, by trying every row against every other."""
    rows = [r for r in product("1234", repeat=4) if len(set(r)) == 4]
    fits = [
        [r for r in rows if all(g in (".", d) for g, d in zip(puzzle[i : i + 4], r, strict=True))]
        for i in range(0, 16, 4)
    ]
    for grid in product(*fits):
        columns = all(len(set(column)) == 4 for column in zip(*grid, strict=True))
        boxes = all(
            len({*grid[r][c : c + 2], *grid[r + 1][c : c + 2]}) == 4 for r in (0, 2) for c in (0, 2)
        )
        if columns and boxes:
            yield "".join("".join(row) for row in grid)


@pytest.mark.parametrize(
    "engine", ["kernel", "sat", "cp", "cp/integers", "cover", "minisat22/minimal/fresh", "ganak"]
)
def test_every_engine_counts_the_same(run, engine):
    result = run("count", OPEN, "--json", "--engine", engine)
    said = json.loads(result.stdout)
    assert said["count"] == len(list(solutions_by_hand(OPEN))) == 72
    assert (said["complete"], said["engine"], result.exit_code) == (True, engine, 0)


def test_a_limit_ends_the_count_and_is_told(run):
    said = json.loads(run("count", OPEN, "--json", "--limit", 5).stdout)
    assert said["count"] == 5
    assert said["complete"] is False
    assert "5 solutions" in run("count", OPEN, "--limit", 5).stdout


def test_a_limit_that_is_just_reached_is_no_lie(run):
    assert "more than" not in run("count", PUZZLE, "--limit", 1).stdout


def test_an_empty_grid_is_counted_to_the_end(run):
    """Felgenhauer & Jarvis, "Enumerating possible Sudoku grids", 2005."""
    result = run("count", "." * 81)
    assert result.exit_code == 0
    assert result.stdout.startswith("6,670,903,752,021,072,936,960 solutions\n")
    assert "bands" in result.stdout
    said = json.loads(run("count", "." * 81, "--json").stdout)
    assert (said["count"], said["method"]) == (6_670_903_752_021_072_936_960, "joining bands")
    assert said["lower"] == said["upper"] == said["count"]


def test_an_engine_that_visits_each_solution_stops_at_a_limit(run):
    result = run("count", "." * 81, "--engine", "cadical195")
    assert result.stdout.startswith("more than 1,000 solutions")


def test_where_counting_does_not_end_bounds_are_told(run):
    result = run("count", "." * 64, "--seconds", 1)
    assert result.exit_code == 0
    assert re.match(r"at least [\d,]+ and at most [\d,]+ solutions; 1 s", result.stdout)
    said = json.loads(run("count", "." * 64, "--seconds", 1, "--json").stdout)
    assert (said["count"], said["complete"], said["stopped_by"]) == (None, False, "seconds")
    # "Mathematics of Sudoku", tables of grids by box size.
    assert said["lower"] < 29_136_487_207_403_520 < said["upper"]


@pytest.mark.parametrize(
    ("engine", "message"),
    [
        ("abacus", "no counter is called 'abacus'; there are kernel"),
        ("cadical195/roman", "no encoding is called 'roman'"),
        ("bands", "only 9x9 with boxes"),
    ],
)
def test_an_engine_that_cannot_is_refused(run, engine, message):
    result = run("count", OPEN, "--engine", engine)
    assert result.exit_code == 2
    assert message in result.stderr


@pytest.mark.parametrize("how", ["argument", "file", "dash", "stdin"])
def test_a_puzzle_comes_from_anywhere(run, tmp_path, how):
    path = tmp_path / "one.txt"
    path.write_text(PUZZLE + "\n")
    arguments = {"argument": [PUZZLE], "file": [path], "dash": ["-"], "stdin": []}[how]
    stdin = PUZZLE if how in ("dash", "stdin") else None
    result = run("count", *arguments, stdin=stdin)
    assert (result.exit_code, result.stdout.splitlines()[0]) == (0, "exactly one solution")


def test_no_solution_is_a_no(run):
    # r1c4 can be neither 1, 2, 3 (row) nor 4 (column).
    result = run("count", "123........4....", "--json")
    assert (result.exit_code, json.loads(result.stdout)["count"]) == (1, 0)
    result = run("backbone", "123........4....")
    assert (result.exit_code, result.stdout) == (1, "no solution\n")


@pytest.mark.parametrize("puzzle", [OPEN, "12..34..........", "12..34...1......"])
def test_backbone_is_what_all_solutions_share(run, puzzle):
    result = run("backbone", puzzle, "--json")
    said = json.loads(result.stdout)
    seen = [sorted({int(d) for d in cell}) for cell in zip(*solutions_by_hand(puzzle), strict=True)]
    names = [f"r{i // 4 + 1}c{i % 4 + 1}" for i in range(16)]
    assert said["candidates"] == dict(zip(names, seen, strict=True))
    assert said["cells"] == {n: d[0] for n, d in zip(names, seen, strict=True) if len(d) == 1}
    assert result.exit_code == 0
    assert f"{len(said['cells'])} of 16 cells" in run("backbone", puzzle).stdout


@pytest.mark.parametrize("command", ["count", "backbone"])
def test_unknown_is_neither_yes_nor_no(run, command):
    options = ["--engine", "kernel", "--seconds", 1e-9]
    assert run(command, "." * 81, *options).exit_code == 3
    assert run(command, "123........4....", *options[:2]).exit_code == 1


def test_what_cannot_be_limited_says_so(run):
    result = run("count", OPEN, "--engine", "ganak", "--limit", 5)
    assert result.exit_code == 2
    assert "leave out --limit" in result.stderr


@pytest.mark.parametrize("text", ["", "  "])
def test_an_empty_argument_is_no_file(run, text):
    result = run("count", text)
    assert result.exit_code == 2
    assert "the puzzle is empty" in result.stderr


def test_a_box_that_is_a_whole_grid_is_understood(run):
    result = run("count", PUZZLE, "--layout", "9x9")
    assert result.exit_code == 2
    assert "9 rows and columns are '3x3'" in result.stderr


@pytest.mark.parametrize("engine", ["cp/", "sat/minimal", "kernel/fast"])
def test_a_name_with_a_part_too_many_is_told(run, engine):
    result = run("count", OPEN, "--engine", engine)
    assert result.exit_code == 2
    assert "can follow" in result.stderr


@pytest.mark.parametrize("engine", ["cadical195", "lingeling", "kissat404/fresh"])
def test_an_interrupt_in_a_solver_is_one_line(engine):
    """In a process of its own, as the solver answers to the signal before Python does."""
    command = [sys.executable, "-m", "gridcrux.cli", "count", "." * 256, "--engine", engine]
    process = subprocess.Popen(
        [*command, "--limit", "1000000"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
    )  # fmt: skip
    time.sleep(6)
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=60)
    assert (process.returncode, errors) == (130, "gridcrux: interrupted\n")
