"""`storyboard` writes a walk that a presenter can choose, change, and begin anywhere."""

from __future__ import annotations

import json

import pytest

from gridcrux.engines import get_engine
from gridcrux.grids.text import format_marks, read_puzzle

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
STUCK = "8..........36......7..9.2...5...7.......457.....1...3...1....68..85...1..9....4.."


@pytest.fixture
def told(run, tmp_path):
    """Run the command and give what it says as JSON."""

    def call(*options):
        out = tmp_path / "out"
        result = run("storyboard", PUZZLE, "--out", out, "--level", "fish", "--json", *options)
        assert result.exit_code == 0, result.stderr
        return json.loads(result.stdout)

    return call


def test_all_kinds_of_files_are_written_and_named(run, tmp_path):
    result = run("storyboard", PUZZLE, "--out", tmp_path, "--level", "fish", "--title", "Quay <1>")
    assert result.exit_code == 0
    assert "at 130 words a minute" in result.stdout
    kinds = {path.suffix for path in tmp_path.iterdir()}
    assert kinds == {".svg", ".png", ".html", ".pdf", ".gif", ".txt", ".csv"}
    assert "<title>Quay &lt;1&gt;</title>" in (tmp_path / "index.html").read_text()
    assert f"{len(list(tmp_path.iterdir()))} files in {tmp_path}" in result.stdout


def test_a_step_is_swapped_for_a_listed_way(told):
    before = told("--file", "html")
    hard = [part for part in before["parts"] if part["kind"] == "hard"]
    other = [*hard[0]["same"], *hard[0]["others"]][1]
    after = told("--file", "html", "--swap", "1=2")
    swapped = next(part for part in after["parts"] if part["kind"] == "hard")
    assert swapped["technique"] == other["technique"]
    assert other["sentence"] in swapped["sentences"]
    assert before["parts"][0] == after["parts"][0]


def test_some_hard_steps_are_shown_and_the_others_gathered(told):
    whole, few = told("--file", "html"), told("--file", "html", "--show", 2)
    hard = [part["title"] for part in whole["parts"] if part["kind"] == "hard"]
    assert [part["title"] for part in few["parts"] if part["kind"] == "hard"] == [hard[1]]
    steps = [sum(part["steps"] for part in each["parts"]) for each in (whole, few)]
    assert steps[0] == steps[1]


def test_it_can_begin_later_and_be_spoken_faster(told):
    whole, later = told("--file", "html"), told("--file", "html", "--after", "locked")
    assert sum(p["steps"] for p in later["parts"]) < sum(p["steps"] for p in whole["parts"])
    fast = told("--file", "html", "--words-per-minute", 260)
    assert fast["seconds"] == pytest.approx(whole["seconds"] / 2, abs=0.2)


def test_what_counts_as_easy_is_a_choice(told):
    names = {part["technique"] for part in told("--file", "html", "--above", "subsets")["parts"]}
    assert not names & {"pointing", "claiming", "naked-pair", "hidden-pair"}


def test_every_step_can_have_its_picture(told):
    parts = told("--file", "html", "--above", "nothing")["parts"]
    assert all(part["steps"] == 1 for part in parts)


@pytest.mark.parametrize(("name", "message"), [("", "expected the name of"), ("f", "is a file")])
def test_what_is_no_folder_is_told(run, tmp_path, name, message):
    (tmp_path / "f").write_text("kept")
    out = tmp_path / name if name else ""
    result = run("storyboard", PUZZLE, "--out", out, "--level", "fish", "--file", "html")
    assert (result.exit_code, message in result.stderr) == (2, True), result.stderr
    assert (tmp_path / "f").read_text() == "kept"


def test_a_walk_that_gets_stuck_is_written_and_told(run, tmp_path):
    result = run("storyboard", STUCK, "--out", tmp_path, "--level", "singles", "--file", "html")
    assert result.exit_code == 1
    assert "stuck" in result.stdout
    assert "There is one solution, so something else leads on" in " ".join(result.stdout.split())
    assert (tmp_path / "index.html").exists()


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--swap", "one"], "expected the number of a hard step"),
        (["--swap", "99=1"], "--swap: there are 6 hard steps, and none has the number 99"),
        (["--swap", "1=99"], "--swap: hard step 1 has"),
        (["--swap", "1=1", "--swap", "1=2"], "hard step 1 is swapped twice"),
        (["--show", 99], "--show: there are 6 hard steps, and none has the number 99"),
        (["--file", "doc"], "no file of kind 'doc'"),
        (["--words-per-minute", 0], "expected a number from 40 to 400"),
        (["--above", "heaven"], "no level is called 'heaven'"),
        (["--above", "nothign"], "did you mean nothing?"),
    ],
)
def test_what_cannot_be_is_told_and_nothing_written(run, tmp_path, options, message):
    out = tmp_path / "out"
    result = run("storyboard", PUZZLE, "--out", out, "--level", "fish", *options)
    assert (result.exit_code, message in result.stderr) == (2, True), result.stderr
    assert not out.exists()


@pytest.mark.parametrize("content", ["", "12 3\n"])
def test_marks_that_are_none_are_told_how_they_look(run, tmp_path, content):
    (tmp_path / "marks.txt").write_text(content)
    result = run("storyboard", PUZZLE, "--out", tmp_path / "out", "--marks", tmp_path / "marks.txt")
    assert result.exit_code == 2
    assert "Marks are 81 cells, row by row" in " ".join(result.stderr.split())


def test_wrong_marks_are_told_first(run, tmp_path):
    state = read_puzzle(PUZZLE)
    solution = next(get_engine("kernel").solutions(state))
    cell = PUZZLE.index(".")
    wrong = state.without(1 << (solution[cell] - 1) * 81 + cell)
    (tmp_path / "marks.txt").write_text(format_marks(wrong))
    out = tmp_path / "out"
    result = run(
        "storyboard", PUZZLE, "--out", out, "--marks", tmp_path / "marks.txt", "--file", "html"
    )
    assert result.exit_code == 1
    name = state.layout.cell_name(cell)
    assert f"the marks are wrong: they exclude {name}={solution[cell]}" in result.stderr
    assert "from" in " ".join(result.stdout.split())


def test_how_many_hard_steps_there_are_does_not_depend_on_what_is_shown(run, tmp_path):
    options = ("--out", tmp_path, "--level", "fish", "--file", "html")
    whole, few = (run("storyboard", PUZZLE, *options, *more).stdout for more in ((), ("--show", 2)))
    assert "hard steps above singles;" in whole
    assert "hard steps above singles, 1 of them told by themselves;" in few
