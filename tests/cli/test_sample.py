"""`sample`: puzzles on the command line."""

from __future__ import annotations

import json

from gridcrux.engines import get_engine
from gridcrux.grids.text import read_puzzle


def test_samples_have_one_solution_and_depend_on_the_seed(run):
    said = json.loads(run("sample", "--count", 3, "--seed", 5, "--json").stdout)
    for puzzle in said["puzzles"]:
        assert get_engine("sat").count(read_puzzle(puzzle), 2).value == 1
    assert run("sample", "--count", 3, "--seed", 5).stdout.split() == said["puzzles"]
    assert run("sample", "--count", 3, "--seed", 6).stdout.split() != said["puzzles"]
