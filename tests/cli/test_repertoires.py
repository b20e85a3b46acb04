"""The command that lists techniques and levels."""

from __future__ import annotations

import json

from gridcrux.techniques.repertoires import EVERYTHING, LEVELS


def test_all_techniques_are_listed_with_their_level(run):
    said = json.loads(run("techniques", "--json").stdout)
    assert [row["technique"] for row in said["techniques"]] == list(EVERYTHING.names)
    for row in said["techniques"]:
        assert row["technique"] in LEVELS[row["level"]].names
        assert row["fact"].endswith(".")
    assert list(said["levels"]) == list(LEVELS)


def test_a_level_has_its_own(run):
    text = run("techniques", "--level", "fish").stdout
    assert f"{len(LEVELS['fish'])} techniques" in text
    assert "x-wing" in text
    assert "skyscraper" not in text


def test_a_wrong_level_is_told_with_a_close_one(run):
    result = run("techniques", "--level", "subset")
    assert result.exit_code == 2
    assert "did you mean subsets" in result.stderr
