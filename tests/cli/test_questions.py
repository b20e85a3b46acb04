"""`count` and `backbone` say what a search by hand finds."""

from __future__ import annotations

import json
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


@pytest.mark.parametrize("engine", ["kernel", "sat", "cp"])
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


def test_an_empty_grid_stops_at_the_limit(run):
    result = run("count", "." * 81)
    assert result.exit_code == 0
    assert "limit" in result.stdout


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
