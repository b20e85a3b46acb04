"""The commands `prove` and `width`, as they are typed."""

from __future__ import annotations

import json

import pytest
from dratify import check_proof, parse_dimacs_file

from gridcrux.grids.text import format_marks, read_puzzle
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.solve import closure

SMALL = "12343...2...4..1"
EXAMPLE = "53..7....6..195....98....6.8...6...34..8.3..17...2...6.6....28....419..5....8..79"
"""The example of the encyclopaedia article "Sudoku"."""

OPEN = "4..1.1....1....."
"""A puzzle with several solutions."""


def told(result) -> dict:
    assert result.exit_code in (0, 1), result.stderr
    return json.loads(result.stdout)


def test_a_forced_claim_with_all_that_bears_it_out(run):
    result = run("prove", EXAMPLE, "r1c3!=2", "--json")
    assert result.exit_code == 0
    found = told(result)
    assert found["verdict"] == "forced"
    why = found["explanation"]
    assert why["size"] == why["lower_bound"] == len(why["premises"]) == 3
    assert why["from"] == "marks"
    assert why["sentences"][-1] == "So r1c3 is not 2."
    assert found["counterexample"] is None
    assert found["certificate"]["cnf"].startswith("c r1c3!=2 fails")
    assert found["certificate"]["proof"].endswith("\n0\n")
    assert found["certificate"]["checked"][0] == "DRAT check by dratify"
    assert found["techniques"] == []
    assert [step["step"] for step in found["earliest"]] == sorted(
        step["step"] for step in found["earliest"]
    )


def test_the_same_in_words(run):
    result = run("prove", EXAMPLE, "r1c3!=2")
    assert "r1c3!=2 is forced." in result.stdout
    assert "no fewer are enough" in result.stdout
    assert "So r1c3 is not 2." in result.stdout
    assert "certificate of the verdict: DRAT check by dratify" in result.stdout


def test_several_claims_and_a_joint_one(run):
    found = told(run("prove", EXAMPLE, "r5c5=5", "r1c3!=2 r1c3!=1", "--json"))["proofs"]
    assert [each["claims"] for each in found] == [["r5c5=5"], ["r1c3!=2", "r1c3!=1"]]
    assert found[0]["techniques"][0]["technique"] == "naked-single"


def test_a_claim_that_fails_has_a_counterexample_and_exit_status_1(run):
    result = run("prove", OPEN, "r4c4!=2", "--json")
    assert result.exit_code == 1
    found = told(result)
    assert found["verdict"] == "refuted"
    assert found["counterexample"][15] == "2"
    assert "several solutions" in result.stderr
    assert "there is a solution with r4c4=2" in run("prove", OPEN, "r4c4!=2").stdout


def test_files_can_be_checked_and_are_not_overwritten(run, tmp_path):
    folder = tmp_path / "evidence"
    found = told(run("prove", EXAMPLE, "r1c3!=2", "--out", str(folder), "--json"))
    assert check_proof(
        parse_dimacs_file(found["certificate"]["cnf"]),
        (folder / "claim-1-verdict.drat").read_text(),
    ).ok
    assert "<svg" in (folder / "claim-1.svg").read_text()
    assert "claim-1-explanation.cnf" in {path.name for path in folder.iterdir()}
    again = run("prove", EXAMPLE, "r1c3!=2", "--out", str(folder))
    assert again.exit_code == 2
    assert "exists; name a new folder" in again.stderr


def test_marks_are_another_start(run, tmp_path):
    state = closure(read_puzzle(EXAMPLE), LEVELS["locked"])
    marks = tmp_path / "marks.txt"
    marks.write_text(format_marks(state))
    from_marks = told(run("prove", EXAMPLE, "r1c3!=1", "--marks", str(marks), "--json"))
    after = told(run("prove", EXAMPLE, "r1c3!=1", "--after", "locked", "--json"))
    assert from_marks["explanation"] == after["explanation"]
    assert (
        after["explanation"]["size"]
        < told(run("prove", EXAMPLE, "r1c3!=1", "--json"))["explanation"]["size"]
    )


def test_wrong_marks_are_told_first(run, tmp_path):
    marks = tmp_path / "marks.txt"
    state = read_puzzle(EXAMPLE)
    truth = closure(state, LEVELS["singles"])
    cell = next(c for c in range(81) if not state.placed >> c & 1)
    marks.write_text(
        format_marks(state.without(truth.open & sum(1 << d * 81 + cell for d in range(9))))
    )
    result = run("prove", EXAMPLE, "r5c5=5", "--marks", str(marks))
    assert "the marks are wrong: they exclude r1c3=4, which the solution has" in result.stdout


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["r5c12!=4"], "there is no column 12"),
        (["r5c2"], "not the name of a claim"),
        (["r5c5=5", "--marks", "nowhere.txt"], "there is no such file"),
        (["r5c5=5", "--after", "lokced"], "did you mean locked"),
        (["r5c5=5", "--level", "none"], "no level is called"),
        (["r5c5=5", "--seconds", "-1"], "expected a number above 0"),
    ],
)
def test_what_cannot_be_used_is_told_in_a_line(run, arguments, message):
    result = run("prove", EXAMPLE, *arguments)
    assert result.exit_code == 2
    assert message in result.stderr


def test_marks_that_contradict_a_given(run, tmp_path):
    marks = tmp_path / "marks.txt"
    marks.write_text(format_marks(read_puzzle(EXAMPLE).without(1 << 4 * 81)))
    result = run("prove", EXAMPLE, "r5c5=5", "--marks", str(marks))
    assert result.exit_code == 2
    assert "r1c1=5 is given in the puzzle but not open in the marks" in result.stderr


@pytest.mark.parametrize("claim", ["r1c1=5", "r1c3!=5", "r1c1=5 r1c3!=5"])
def test_what_stands_there_already_needs_no_argument(run, claim):
    text = run("prove", EXAMPLE, claim).stdout
    assert "It stands there already" in text
    assert "echnique" not in text
    assert told(run("prove", EXAMPLE, claim, "--json"))["verdict"] == "forced"


def test_all_smallest_and_from_the_givens(run):
    found = told(run("prove", EXAMPLE, "r1c3!=2", "--all", "50", "--from-givens", "--json"))
    assert found["all_smallest_complete"]
    assert found["explanation"]["premises"] in [each["premises"] for each in found["all_smallest"]]
    assert {each["size"] for each in found["all_smallest"]} == {3}
    start = found["from_givens"]
    assert start["from"] == "givens"
    assert start["givens"]["size"] == len(start["givens"]["givens"]) > 1
    text = run("prove", EXAMPLE, "r1c3!=2", "--all", "1", "--from-givens").stdout
    assert "1 smallest explanation, or more" in text
    assert "From the givens: r1c3!=2 is forced by" in text


def test_width_with_its_route_and_coverage(run):
    puzzle = ".....1.4....29..6.27.....3..5.68....9...3..523.6.....76.45..1......49....8......."
    found = told(run("width", puzzle, "--coverage", "subsets", "--json"))
    assert found["bottleneck_width"] == found["lower_bound"] == 5
    assert max(step["width"] for step in found["steps"]) == 5
    assert found["coverage"]["missed"]
    shares = found["coverage"]["shares"]
    # Where one premise is enough, nothing is asked.
    assert [row["width"] for row in shares] == [2, 3]
    assert sum(row["eliminations"] - row["covered"] for row in shares) == len(
        found["coverage"]["missed"]
    )
    text = run("width", puzzle, "--coverage", "subsets").stdout
    assert "bottleneck width: 5" in text
    assert "Missed:" in text


def test_width_that_ran_out_of_time_is_a_bound(run):
    puzzle = ".....1.4....29..6.27.....3..5.68....9...3..523.6.....76.45..1......49....8......."
    result = run("width", puzzle, "--seconds", "1e-6")
    assert result.exit_code == 3
    assert "at least" in result.stdout


def test_width_of_a_small_puzzle(run):
    assert "bottleneck width: 1" in run("width", SMALL).stdout
