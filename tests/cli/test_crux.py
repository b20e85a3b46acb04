"""`crux` says what a puzzle needs, and finds the way round."""

from __future__ import annotations

import json

import pytest

from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import FIRST_FAMILY, SINGLES
from gridcrux.techniques.solve import closure

NEEDS = "5...........7.659..87...4..4......2.2.5.3..8..9...1...1.25...4.....43......9.785."
"""Cannot be solved by the level fish without claiming and naked-pair."""

FISH = ("--level", "fish")


@pytest.fixture(scope="module")
def said(run_once):
    return json.loads(run_once("crux", NEEDS, "--json", *FISH).stdout)


@pytest.fixture(scope="module")
def run_once():
    from typer.testing import CliRunner

    from gridcrux.cli.program import program

    return lambda *args: CliRunner().invoke(program, list(args))


def test_the_puzzle_is_what_it_says():
    assert not closure(read_puzzle(NEEDS), SINGLES).is_solved
    assert closure(read_puzzle(NEEDS), FIRST_FAMILY).is_solved


def test_json_says_what_is_needed(said):
    fewest = said["fewest_hard_steps"]
    assert {"upper", "lower", "route"} <= set(fewest)
    hard = [step for step in fewest["route"] if step.get("hard")]
    assert len(hard) == fewest["upper"] == fewest["lower"] > 0
    assert len(fewest["route"]) == 0 or fewest["route"][-1]["places"]
    assert said["crux"] == [
        moment["step"]
        for moment in said["moments"]
        if moment["open"] == min(each["open"] for each in said["moments"])
    ]
    for each in said["minimal_sufficient"]:
        assert all(set(each) & set(other) for other in said["minimal_blocking"])
        known = (*said["minimal_sets_always"], *each)
        assert closure(read_puzzle(NEEDS), FIRST_FAMILY.only(*known)).is_solved
    assert said["minimal_sets_complete"]
    assert said["least_widest_step"] >= 1
    assert said["way_round"] is None


def test_text_says_it_too(run, said):
    shown = run("crux", NEEDS, *FISH).stdout
    steps = said["fewest_hard_steps"]["upper"]
    assert f"above singles: {steps} hard step" in shown
    assert "of techniques that suffice beside placements:" in shown
    assert f"*{min(moment['open'] for moment in said['moments'])}" in shown


def test_a_way_round(run, said):
    blocked = [each[0] for each in said["minimal_blocking"] if len(each) == 1]
    assert {"claiming", "naked-pair"} <= set(blocked)
    for name in ("claiming", "jellyfish"):
        result = run("crux", NEEDS, "--json", *FISH, "--avoid", name)
        around = json.loads(result.stdout)["way_round"]
        assert around["avoidable"] == (name not in blocked)
        assert result.exit_code == (1 if name in blocked else 0)


def test_what_is_no_step_cannot_be_avoided(run):
    for what, why in (("jellyfis", "did you mean jellyfish"), ("r1c9!=5", "excluded by the")):
        result = run("crux", NEEDS, "--avoid", what, *FISH)
        assert result.exit_code == 2
        assert "--avoid: " in result.stderr
        assert why in result.stderr


def test_another_level_is_easy(run):
    said = json.loads(run("crux", NEEDS, "--json", *FISH, "--above", "fish").stdout)
    assert said["fewest_hard_steps"]["upper"] == 0
    assert said["crux"] == []
    result = run("crux", NEEDS, "--above", "fisch")
    assert result.exit_code == 2
    assert "--above: no level is called 'fisch'; did you mean fish?" in result.stderr


def test_a_puzzle_that_is_not_solved(run):
    result = run("crux", NEEDS, "--only", "hidden-single", "--json")
    assert result.exit_code == 1
    told = json.loads(result.stdout)
    assert not told["solved"]
    assert told["fewest_hard_steps"]["upper"] is None
    assert told["minimal_sufficient"] == [[]]


def test_single_eliminations_have_statuses(run, said):
    seen = set()
    for step in said["steps"]:
        assert set(step["eliminations"]) <= set(step["eliminates"])
        if step["places"] is None:
            assert set(step["eliminations"]) == set(step["eliminates"])
        if "essential" in step["eliminations"].values():
            assert step["status"] == "essential"
        seen |= set(step["eliminations"].values())
    assert seen == {"essential", "replaceable", "idle"}
    shown = run("crux", NEEDS, *FISH).stdout
    essential = sum(list(s["eliminations"].values()).count("essential") for s in said["steps"])
    (line,) = (each for each in shown.split("\n") if each.startswith("essential eliminations: "))
    assert line.count("!=") == essential > 0


def test_the_route_without_idle_steps_is_certified(run, said):
    result = run("crux", NEEDS, "--certify", "--json", *FISH)
    told = json.loads(result.stdout)["sliced"]
    idle = sum(step["status"] == "idle" for step in said["steps"])
    assert told == {"steps": len(said["steps"]) - idle, "refused": []}
    assert "each confirmed by a SAT solver" in run("crux", NEEDS, "--certify", *FISH).stdout


@pytest.mark.parametrize("shape", [(), ("--json",)])
def test_an_interrupt_leaves_the_statuses(run, monkeypatch, said, shape):
    def interrupted(*arguments, progress, **settings):
        progress(3, 4)
        raise KeyboardInterrupt

    monkeypatch.setattr("gridcrux.proofs.hard.demand.technique_sets", interrupted)
    result = run("crux", NEEDS, *FISH, *shape)
    assert result.exit_code == 130
    assert result.stderr.splitlines()[-1] == (
        "gridcrux: interrupted at: technique sets: 3 suffice, 4 block"
    )
    if shape:
        told = json.loads(result.stdout)
        assert told["interrupted"] is True
        assert told["techniques"] == said["techniques"]
        assert [step["status"] for step in told["steps"]] == [s["status"] for s in said["steps"]]
        assert "fewest_hard_steps" not in told
    else:
        assert f"essential techniques: {', '.join(essential(said))}; steps: " in result.stdout
        assert result.stdout.count("\n") > len(said["steps"])
    assert "interrupted" not in said


def test_an_interrupt_of_the_check_leaves_the_rest(run, monkeypatch, said):
    def interrupted(route):
        raise KeyboardInterrupt

    monkeypatch.setattr("gridcrux.proofs.certified.certified", interrupted)
    result = run("crux", NEEDS, "--certify", "--json", *FISH)
    assert (result.exit_code, result.stderr) == (130, "gridcrux: interrupted\n")
    told = json.loads(result.stdout)
    assert told["fewest_hard_steps"] == said["fewest_hard_steps"]
    assert "sliced" not in told


def essential(said):
    return [name for name, status in said["techniques"].items() if status == "essential"]
