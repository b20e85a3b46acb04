"""`describe`: cards on the command line; the card of the starter corpus is what it makes."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from pathlib import Path

import pytest

DATASETS = Path(__file__).parents[2] / "datasets"
PUZZLE = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."


@pytest.mark.parametrize("name", ["lantern_quay"])
def test_a_card_in_the_repository_is_made_anew_by_the_command_in_it(
    run, tmp_path, monkeypatch, name
):
    shutil.copytree(DATASETS, tmp_path / "datasets")
    card = tmp_path / "datasets" / f"{name}.md"
    before = card.read_text(encoding="utf-8")
    card.unlink()
    command = re.search(r"^gridcrux describe .*$", before, re.MULTILINE)[0]
    monkeypatch.chdir(tmp_path)
    assert run(*shlex.split(command)[1:]).exit_code == 0
    assert card.read_text(encoding="utf-8") == before


def test_the_index_lists_every_file_with_its_card():
    index = (DATASETS / "README.md").read_text(encoding="utf-8")
    for path in DATASETS.glob("*.csv"):
        card = path.with_suffix(".md").read_text(encoding="utf-8")
        sha256 = re.search(r"[0-9a-f]{64}", card)[0]
        puzzles = re.search(r"\| puzzles \| ([\d,]+) \|", card)[1]
        row = next(line for line in index.splitlines() if path.name in line)
        assert f"[{path.stem}.md]({path.stem}.md)" in row
        assert f"| {puzzles} |" in row
        assert sha256 in row


def test_cards_as_text_json_and_file(run, tmp_path):
    one, two = tmp_path / "one.txt", tmp_path / "two.txt"
    one.write_text(PUZZLE + "\n")
    two.write_text(PUZZLE + "\n" + PUZZLE + "\nno puzzle\n")
    text = run("describe", one, two, "--note", "of our own", "--licence", "CC0").stdout
    assert text.count("# one.txt") == text.count("# two.txt") == 1
    assert text.count("- of our own") == text.count("| licence | CC0 |") == 2
    said = json.loads(run("describe", one, two, "--json").stdout)
    assert [(card["puzzles"], card["rejects"]) for card in said] == [(1, 0), (2, 1)]
    assert said[1]["repeated"] == said[1]["alike"] == 1
    out = tmp_path / "cards.md"
    result = run("describe", one, two, "--out", out, "--seed", 3, "--sample", 1, "--title", "It's")
    assert f"2 cards of 3 puzzles in {out}" in result.stdout
    written = out.read_text()
    command = shlex.split(re.search(r"^gridcrux .*$", written, re.MULTILINE)[0])
    assert command[1:] == [
        "describe", str(one), str(two), "--title", "It's", "--sample", "1", "--seed", "3",
        "--out", str(out),
    ]  # fmt: skip


def test_a_sample_is_described_as_it_says_itself(run, tmp_path):
    assert run("sample", "--count", 3, "--seed", 2, "--out", tmp_path / "new.csv").exit_code == 0
    said = json.loads((tmp_path / "new.json").read_text())
    text = run("describe", tmp_path / "new.csv").stdout
    assert f"| method | {said['method']} |" in text
    assert f"| command | `{said['command']}` |" in text
    assert said["bias"] in text
    for name, meaning in said["columns"].items():
        assert f"| `{name}` | {meaning} |" in text


def test_errors_are_one_line(run, tmp_path):
    (tmp_path / "one.txt").write_text(PUZZLE + "\n")
    for arguments, said in (
        ([tmp_path / "none.csv"], "none.csv"),
        ([tmp_path], "no study in it"),
        (["-"], "made of a file"),
        ([tmp_path / "one.txt", "--layout", "7x"], "'7x'"),
        ([tmp_path / "one.txt", "--out", tmp_path / "no" / "card.md"], "card.md"),
    ):
        result = run("describe", *arguments)
        assert result.exit_code == 2
        assert said in result.stderr.splitlines()[-1]
        assert "Traceback" not in result.stderr


@pytest.mark.parametrize("more", [(), ("--json",), ("--out", "card.md")])
def test_a_file_without_puzzles_is_named(run, tmp_path, monkeypatch, more):
    monkeypatch.chdir(tmp_path)
    Path("none.txt").write_text("no puzzle\n")
    Path("one.txt").write_text(PUZZLE + "\n")
    result = run("describe", "one.txt", "none.txt", *more)
    assert result.exit_code == 1
    assert result.stderr.splitlines()[-1] == "gridcrux: no puzzles in none.txt"
    text = Path("card.md").read_text() if "--out" in more else result.stdout
    assert "one.txt" in text
    assert run("describe", "one.txt").exit_code == 0
