"""Measures of a person and of machines against those who know them; unknown is no number."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.columns import CONTRAST, HUMAN, IN_CONTRAST, effort_column
from gridcrux.corpus.contrast import efforts, measures
from gridcrux.corpus.contrast.consistency import LADDER, consistency
from gridcrux.corpus.contrast.efforts import (
    EnginesDisagree,
    efforts_frame,
    main_column,
    manner_of,
    measures_of,
    names_of,
    packages_of,
    remembers,
)
from gridcrux.corpus.contrast.human import human_frame
from gridcrux.corpus.contrast.measures import (
    Contrast,
    known_measures,
    known_table,
    machine_columns,
)
from gridcrux.corpus.rows import UnknownColumn
from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.state import State
from gridcrux.proofs.consistency import CONSISTENCIES, Outcome, solves
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.solve import route

FISH = LEVELS["fish"]


@pytest.fixture(scope="module")
def puzzles():
    return np.array([item.puzzle for item in minimal(40, 21)], np.int8)


def states(puzzles):
    return [State.from_digits(each.tolist()) for each in puzzles]


def test_of_a_person_they_are_those_of_route_and_profile(puzzles):
    wanted = np.arange(40) != 3
    found = human_frame(puzzles, NINE, wanted, FISH, "singles", None)
    assert list(found) == list(HUMAN)
    stuck = 0
    for row, state, asked in zip(found.itertuples(), states(puzzles), wanted, strict=True):
        way = route(state, FISH)
        if not asked or not way.solved:
            assert all(pd.isna(each) for each in row[1:])
            stuck += 1
            continue
        hard = ~np.isin(way.records.techniques, LEVELS["singles"].order)
        assert row.total_width == way.records.widths[hard].sum()
        least = crux_profile(way).least
        assert (row.crux_open == least) if hard.any() else (pd.isna(row.crux_open) and not least)
        fewest = fewest_hard_steps(state, FISH, seconds=None)
        assert row.fewest_hard_steps == row.fewest_hard_steps_at_least == fewest.upper
        assert row.fewest_hard_steps_at_most == fewest.upper
    assert 1 < stuck < 30
    assert found["crux_open"].notna().sum() > 3


def test_what_time_does_not_allow_is_missing(puzzles):
    found = human_frame(puzzles, NINE, np.ones(40, bool), FISH, "singles", 1e-9)
    hard = found["total_width"] > 0
    assert hard.any()
    assert found.loc[hard.fillna(False), "crux_open"].isna().all()
    # Bounds stand in columns of their own; where they differ the number is missing.
    low, high = found["fewest_hard_steps_at_least"], found["fewest_hard_steps_at_most"]
    assert (high > low).any()
    assert found["fewest_hard_steps"].isna().tolist() == (low != high).fillna(True).tolist()
    assert high.notna().tolist() == found["total_width"].notna().tolist()
    efforts_ = efforts_frame(puzzles, NINE, np.ones(40, bool), ["cadical195/fresh"], 1e-9)
    assert efforts_.isna().all(axis=None)


def test_consistency_is_the_first_level_of_the_ladder(puzzles):
    small = np.array([item.puzzle for item in minimal(20, 4, boxes(2, 3))], np.int8)
    for layout, each in ((NINE, puzzles), (boxes(2, 3), small)):
        found = consistency(each, layout, np.arange(len(each)) > 1)
        assert found[:2].isna().all()
        for place, digits in list(zip(found, each, strict=True))[2:]:
            state = State.from_digits(digits.tolist(), layout)
            solving = [solves(state, level) is Outcome.SOLVED for level in LADDER]
            assert place == (solving.index(True) if any(solving) else len(LADDER)) + 1
    assert consistency(np.zeros((1, 81), np.int8), NINE, np.ones(1, bool))[0] == len(LADDER) + 1


@pytest.mark.parametrize("name", ["cadical195/fresh", "glucose4/minimal", "sat", "cp"])
def test_the_effort_for_a_puzzle_depends_on_nothing_else(puzzles, name):
    wanted = np.arange(40) < 12
    found = efforts_frame(puzzles, NINE, wanted, [name], None)
    assert found[~wanted].isna().all(axis=None)
    for row, state in zip(found.to_dict("records"), states(puzzles)[:12], strict=False):
        effort = get_engine(name).count(state, 2).effort
        assert row == {effort_column(name, each): effort[each] for each in measures_of(name)}


def test_who_remembers():
    """An engine that does not is asked for one puzzle as for the first."""
    names = ["sat", "cadical195", "cadical195/minimal", "cadical195/fresh", "cp", "kernel", "cover"]
    assert [remembers(name) for name in names] == [True] * 3 + [False] * 4
    assert names_of(["cadical195/extended/fresh", "cp", "cadical195/fresh"]) == (
        "cadical195/fresh",
        "cp",
    )
    assert main_column("cadical195/minimal/fresh") == "cadical195_minimal_fresh_conflicts"
    assert main_column("kernel") == "nodes"
    assert "calls" not in measures_of("cadical195/fresh")
    with pytest.raises(ValueError, match="nobody"):
        names_of(["nobody"])


def test_an_engine_that_finds_other_solutions_is_not_believed(puzzles, monkeypatch):
    class Wrong:
        name = "cp"

        def count(self, state, limit, seconds=None):
            return get_engine("cp").count(State.empty(state.layout), limit, seconds)

    monkeypatch.setattr(efforts, "get_engine", lambda name: Wrong())
    with pytest.raises(EnginesDisagree, match="cp finds 2 solutions where the kernel finds one"):
        efforts_frame(puzzles, NINE, np.ones(40, bool), ["cp"], None)


@pytest.fixture
def table():
    rows = 4
    frame = pd.DataFrame({name: pd.array(range(1, rows + 1), "Int64") for name in CONTRAST})
    return frame.assign(
        steps=5, hard_steps=2, widest_step=3, givens=[20, 21, 22, 23], nodes=[1, 2, 3, 3],
        solutions=[1, 2, 1, 1], solutions_complete=[True, True, True, False],
        solved=pd.array([True, False, False, True], "boolean"),
    )  # fmt: skip


def test_unknown_is_no_number(table):
    table.loc[0, "fewest_hard_steps"] = pd.NA
    names = ["steps", "fewest_hard_steps", "refutation_sum", "givens", "nodes"]
    found = known_measures(table, names)
    missing = found.isna()
    # Rows 1 and 3 are not known to have one solution; in row 2 the route gets stuck.
    assert missing.loc[[1, 3]].all(axis=None)
    assert missing.loc[2].tolist() == [True, False, False, False, False]
    # Of row 0 only bounds are known.
    assert missing.loc[0].tolist() == [False, True, False, False, False]
    told = known_table(table, ["kernel"]).set_index("measure")
    assert told.at["steps", "puzzles"] == 1
    assert told.at["nodes", "puzzles"] == told.at["nodes", "values"] == 2
    assert (told.at["nodes", "side"], told.at["steps", "side"]) == ("machine", "human")
    assert told["harder"][["steps", "givens", "open_singles", "nodes"]].tolist() == [
        "more", "fewer", "fewer", "more",
    ]  # fmt: skip
    with pytest.raises(UnknownColumn, match="no column"):
        known_measures(table, ["other"])


def test_every_column_has_a_meaning_and_every_measure_a_column():
    asked = Contrast(("kernel", "cp"))
    assert set(asked.columns) == {*IN_CONTRAST, *CONTRAST, "cp_branches", "cp_conflicts"}
    assert all(asked.columns.values())
    assert set(measures.DIRECTIONS) <= {*IN_CONTRAST, *CONTRAST}
    # What is blanked says so.
    blanked = {*measures.DIRECTIONS, "nodes"} - set(CONTRAST)
    assert blanked == set(IN_CONTRAST)
    assert all("in contrast.csv missing unless" in asked.columns[name] for name in blanked)
    assert all("missing" in CONTRAST[name] for name in ("fewest_hard_steps", "bottleneck_width"))


def test_the_numbers_of_consistency_are_explained_by_names():
    meaning = CONTRAST["consistency"]
    places = [meaning.index(f"{place} `{name}`") for place, name in enumerate(LADDER, 1)]
    assert places == sorted(places)
    assert set(LADDER) <= set(CONSISTENCIES)


def test_measures_say_which_engine_they_are_of(table):
    engines = ["cadical195/fresh", "minisat22/minimal", "cp/integers", "kernel"]
    columns = {name: 1 for name in machine_columns(engines) if name not in table}
    told = known_table(table.assign(**columns), engines).set_index("measure")
    facts = ["engine", "encoding", "use"]
    assert told.loc["cadical195_fresh_conflicts", facts].tolist() == [
        "cadical195/fresh", "extended", "fresh",
    ]  # fmt: skip
    assert told.loc["minisat22_minimal_decisions", facts].tolist() == [
        "minisat22/minimal", "minimal", "incremental",
    ]  # fmt: skip
    assert told.loc["cp_integers_branches", facts].tolist() == ["cp/integers", "integers", ""]
    assert told.loc["nodes", facts].tolist() == ["kernel", "", ""]
    assert told.loc["steps", facts].tolist() == ["", "", ""]
    assert packages_of(engines) == ("ortools", "python-sat")
    assert packages_of(["cover", "sat"]) == ("python-sat", "xcover")
    assert packages_of(["kernel"]) == ()
    assert manner_of("cadical195/extended-ladder/fresh") == ("extended-ladder", "fresh")
