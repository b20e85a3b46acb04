"""`givens` says what can go, or what is missing."""

from __future__ import annotations

import json

from gridcrux.engines import get_engine
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.givens import redundant_givens

FULL = "1..7....4......8.......2.314........6825.3.....7..9.1.2....8.96.3.2.648.7.8..425."


def unique(line):
    return get_engine("sat").count(read_puzzle(line), 2).value == 1


def test_what_can_go(run):
    result = run("givens", FULL, "--json")
    said = json.loads(result.stdout)
    assert (said["solutions"], result.exit_code) == ("one", 0)
    assert len(said["redundant"]) + len(said["needed"]) == 30
    assert unique(said["smallest"]["puzzle"])
    assert said["smallest"]["size"] == said["smallest"]["lower_bound"] < 30
    shown = run("givens", FULL).stdout
    assert f"{said['smallest']['size']} of 30 givens suffice" in shown
    assert said["smallest"]["puzzle"] in shown


def test_what_is_missing(run):
    result = run("givens", "1" + "." * 15, "--json")
    said = json.loads(result.stdout)
    assert (said["solutions"], result.exit_code) == ("several", 1)
    assert said["further"]["upper"] == 3
    assert unique(said["further"]["puzzle"])
    shown = run("givens", "1..." + "..2." + "3..." + "....").stdout
    assert "must be added, for example" in shown
    assert "choices: " in shown


def test_what_cannot_be_helped(run):
    result = run("givens", "123........4....")
    assert result.exit_code == 1
    assert "no solution" in result.stdout
    assert json.loads(run("givens", "123........4....", "--json").stdout) == {"solutions": "none"}


def test_an_interrupt_leaves_what_is_known(run, monkeypatch):
    def interrupted(*arguments, **settings):
        settings.get("progress", str)("two further givens: 3 of 40")
        raise KeyboardInterrupt

    said = json.loads(run("givens", FULL, "--json").stdout)
    monkeypatch.setattr("gridcrux.proofs.givens.sufficient_givens", interrupted)
    result = run("givens", FULL)
    assert result.exit_code == 130
    assert f"{len(said['redundant'])} of 30 givens are redundant" in result.stdout
    assert result.stderr.splitlines()[-1] == "gridcrux: interrupted at: a smallest set of givens"
    told = json.loads(run("givens", FULL, "--json").stdout)
    assert told["redundant"] == said["redundant"]
    assert (told["interrupted"], "smallest" in told) == (True, False)
    monkeypatch.setattr("gridcrux.proofs.further.further_givens", interrupted)
    result = run("givens", "1" + "." * 15)
    assert (result.exit_code, result.stdout) == (130, "The puzzle has several solutions.\n")
    assert "interrupted at: two further givens: 3 of 40" in result.stderr


GRID = "".join(
    str((3 * row + row // 3 + column) % 9 + 1) for row in range(9) for column in range(9)
)


def test_where_all_givens_can_go_they_are_not_listed(run):
    shown = run("givens", "1234341221434321").stdout.splitlines()
    assert shown[0] == "Each of the 16 givens is redundant, on its own."
    assert "suffice, and no fewer: " in shown[1]


def test_where_most_givens_can_go_those_that_cannot_are_named(run):
    for cells in range(1, 30):
        line = "." * cells + GRID[cells:]
        found = redundant_givens(read_puzzle(line))
        if len(found.needed) > 1:
            break
    assert 12 < len(found.redundant) > len(found.needed)
    first, *_ = run("givens", line, "--seconds", 1).stdout.splitlines()
    assert first == (
        f"{len(found.redundant)} of {81 - cells} givens are redundant, each on its own: all but "
        f"{', '.join(found.needed[:-1])} and {found.needed[-1]}."
    )


def test_where_three_are_missing_the_choice_is_told_as_one_of_several(run):
    result = run("givens", "1" + "." * 15)
    said = json.loads(run("givens", "1" + "." * 15, "--json").stdout)
    assert "These are one choice; others of as many are not counted" in result.stdout
    assert result.stdout.splitlines()[-1] == said["further"]["puzzle"]
    two = run("givens", "1..." + "..2." + "3..." + "....").stdout
    assert "one choice" not in two
