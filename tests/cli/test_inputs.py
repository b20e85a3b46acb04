"""Bad input: exit status 2, one line that names the fault, and nothing else."""

from __future__ import annotations

import pytest

PUZZLE = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."

FAULTS = {
    "80 characters": ([PUZZLE[1:]], ["80", "81"]),
    "82 characters": ([PUZZLE + "1"], ["82", "81"]),
    "letter": ([PUZZLE.replace("3", "x", 1)], ["'x'", "column 11"]),
    "contradiction": (["55" + PUZZLE[2:]], ["r1c1", "r1c2", "5"]),
    "missing file": (["missing.txt"], ["missing.txt"]),
    "layout": ([PUZZLE, "--layout", "round"], ["round"]),
    "option": ([PUZZLE, "--never"], ["--never"]),
}


@pytest.mark.parametrize("command", ["count", "backbone", "route", "crux"])
@pytest.mark.parametrize("fault", FAULTS)
def test_a_bad_puzzle_is_told_in_a_line(run, command, fault):
    arguments, words = FAULTS[fault]
    told(run(command, *arguments), words)


def test_an_empty_file_is_told(run, tmp_path):
    (tmp_path / "empty.txt").touch()
    told(run("count", tmp_path / "empty.txt"), ["empty.txt", "no puzzle"])
    told(run("study", tmp_path / "empty.txt", "--out", tmp_path / "out"), ["empty.txt"])
    told(run("count", stdin=""), ["standard input"])


@pytest.mark.parametrize("option", ["--without", "--only"])
def test_an_unknown_technique_names_the_nearest(run, option):
    told(run("route", PUZZLE, option, "hiden-single"), ["hiden-single", "hidden-single"])


def test_an_unknown_engine_names_those_there_are(run):
    told(run("count", PUZZLE, "--engine", "steam"), ["steam", "kernel", "sat", "cp"])


def test_an_unknown_symmetry_names_those_there_are(run):
    told(run("sample", "--symmetry", "wavy"), ["wavy", "half-turn"])


def told(result, words):
    assert result.exit_code == 2
    assert result.stdout == ""
    (line,) = result.stderr.splitlines()
    assert line.startswith("gridcrux: ")
    assert all(word in line for word in words), line
