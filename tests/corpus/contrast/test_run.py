"""A contrast over files is a study: it goes on where it was, with the same rows as in memory."""

from __future__ import annotations

import json
from importlib.metadata import version

import numpy as np
import pandas as pd
import pytest
from scipy.stats import spearmanr

from gridcrux.corpus.columns import CONTRAST, RATINGS
from gridcrux.corpus.contrast import (
    DIRECTIONS,
    contrast,
    contrast_correlations,
    contrast_files,
    rank_residuals,
)
from gridcrux.corpus.contrast.measures import machine_columns
from gridcrux.corpus.contrast.outliers import MACHINE, PERSON, RESIDUAL_COLUMNS
from gridcrux.corpus.contrast.ratings import ratings
from gridcrux.corpus.contrast.run import CORRELATION_COLUMNS, table_columns
from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study import StudyExists
from gridcrux.corpus.study import run as module
from gridcrux.grids.layout import NINE
from gridcrux.techniques.repertoires import LEVELS

# Without limits of time rows are the same whenever they are made.
ASKED = {"engines": ["cadical195/fresh", "kernel"], "repertoire": LEVELS["locked"], "seconds": None}


def quick(count):
    """Puzzles on which no search takes long, some of them with stalls."""
    items = list(minimal(3 * count, 12))
    costs = ratings(np.array([item.puzzle for item in items], np.int8), NINE)["refutation_sum"]
    return [item.line for item, cost in zip(items, costs, strict=True) if cost <= 4][:count]


LINES = quick(24)


@pytest.fixture(scope="module")
def source(tmp_path_factory):
    path = tmp_path_factory.mktemp("contrast") / "lines.txt"
    path.write_text("\n".join([*LINES[:10], "no puzzle", *LINES[10:], "." * 81]) + "\n")
    return str(path)


@pytest.fixture(scope="module")
def whole(source, tmp_path_factory):
    run = contrast_files(
        [source], tmp_path_factory.mktemp("whole") / "out", workers=1, progress=False, **ASKED
    )
    return run, run.frame()


def test_rows_are_those_in_memory(whole):
    run, table = whole
    assert (run.study.puzzles, run.study.rejected) == (25, 1)
    memory = contrast([*LINES, "." * 81], workers=1, **ASKED)
    which = ["id", "source", "line"]
    pd.testing.assert_frame_equal(memory.drop(columns=which), table.drop(columns=which))
    assert list(table) == table_columns(run.asked)
    written = pd.read_csv(run.csv)["refutation_sum"]
    assert written[:24].tolist() == table["refutation_sum"][:24].tolist()
    # A grid without givens has several solutions, and no measures.
    assert table.loc[24, [*CONTRAST, "cadical195_fresh_conflicts"]].isna().all()
    assert table.loc[:23, list(RATINGS)].notna().all(axis=None)
    assert 2 < table["solved"].sum() < 24
    # The study keeps what is blank here.
    stuck = ~table["solved"].fillna(False)
    assert table.loc[stuck, ["steps", "hard_steps", "widest_step"]].isna().all(axis=None)
    assert run.study.frame().loc[stuck, "steps"].notna().sum() > 2


def test_correlations_come_of_the_csv_alone(whole):
    """Whoever correlates two columns of the file gets the numbers of the command."""
    run, table = whole
    written = pd.read_csv(run.csv)
    found = contrast_correlations(table, ASKED["engines"], resamples=2)
    assert len(found) == len(DIRECTIONS) * len(machine_columns(ASKED["engines"]))
    compared = 0
    for row in found.to_dict("records"):
        both = written[[row["first"], row["second"]]].dropna()
        assert len(both) == row["puzzles"]
        if row["spearman"] == row["spearman"]:
            expected = spearmanr(written[row["first"]], written[row["second"]], nan_policy="omit")
            assert row["spearman"] == pytest.approx(expected.statistic)
            compared += 1
        else:
            assert len(both) < 3 or both.nunique().min() == 1
            assert row["missing"]
    assert compared > 30


def test_a_correlation_that_is_missing_says_why(whole):
    table = whole[1].assign(givens=24, nodes=whole[1]["nodes"])
    table.loc[2:, "steps"] = pd.NA
    said = contrast_correlations(table, ["kernel"], ["givens", "steps", "stalls"], resamples=20)
    missing = said.set_index("first")["missing"]
    assert missing["givens"] == "givens the same in all of these puzzles"
    assert missing["steps"] in (
        "known of no puzzle",
        "known of 1 puzzle only",
        "known of 2 puzzles only",
    )
    assert missing["stalls"] == ""
    assert list(said) == list(CORRELATION_COLUMNS)


def test_a_run_that_was_interrupted_goes_on(source, whole, tmp_path, monkeypatch):
    monkeypatch.setattr(module, "SLOW_PART", 6)
    monkeypatch.setattr(module, "SLOW_BATCH", 3)
    rows_of, done = module.rows_of, []

    def interrupted(task, asked):
        done.append(len(task.ids))
        if len(done) == 4:
            raise KeyboardInterrupt
        return rows_of(task, asked)

    monkeypatch.setattr(module, "rows_of", interrupted)
    first = contrast_files([source], tmp_path / "out", workers=1, progress=False, **ASKED)
    assert first.study.interrupted
    pd.testing.assert_frame_equal(first.frame(), whole[1].head(9))
    monkeypatch.setattr(module, "rows_of", rows_of)
    again = contrast_files([source], tmp_path / "out", workers=1, progress=False, **ASKED)
    assert (again.study.resumed, again.study.interrupted) == (6, False)
    pd.testing.assert_frame_equal(again.frame(), whole[1])
    manifest = json.loads((tmp_path / "out" / "manifest.json").read_text())
    assert manifest["further"]["engines"] == ASKED["engines"]
    assert set(whole[1]) <= set(manifest["columns"])
    assert "in contrast.csv missing unless" in manifest["columns"]["steps"]
    versions = {name: version(name) for name in ("python-sat", "ortools", "numpy")}
    assert versions.items() <= manifest["versions"].items()
    other = ASKED | {"engines": ["kernel"]}
    with pytest.raises(StudyExists, match="further"):
        contrast_files([source], tmp_path / "out", workers=1, progress=False, **other)


def test_other_processes_measure_the_same(source, whole, tmp_path):
    run = contrast_files([source], tmp_path / "out", workers=2, progress=False, **ASKED)
    pd.testing.assert_frame_equal(run.frame(), whole[1])


def test_what_cannot_be_asked(tmp_path):
    for wrong, told in (
        ({"engines": ["nobody"]}, "nobody"),
        ({"engines": []}, "no engine"),
        ({"above": "nothing"}, "no level"),
    ):
        with pytest.raises(ValueError, match=told):
            contrast(LINES[:1], **wrong)


def test_correlations_are_of_what_is_known(whole):
    table = whole[1]
    found = contrast_correlations(table, ASKED["engines"], ["steps", "givens"], resamples=50)
    found = found.set_index(["first", "second"])
    solved = table[table["solved"].fillna(False) & (table["solutions"] == 1)]
    for name, rows in (("steps", solved), ("givens", table.head(24))):
        row = found.loc[(name, "cadical195_fresh_conflicts")]
        assert (row["puzzles"], row["unknown"]) == (len(rows), 25 - len(rows))
        expected = spearmanr(rows[name], rows["cadical195_fresh_conflicts"]).statistic
        assert row["spearman"] == pytest.approx(expected)
    assert ("steps", "nodes") in found.index


def drawn(count=200):
    random = np.random.default_rng(2)
    table = pd.DataFrame(
        {
            "id": [f"p{i}" for i in range(count)], "source": "s", "line": range(count),
            "puzzle": "", "solutions": 1, "solutions_complete": True, "solved": True,
            "refutation_sum": np.arange(count) // 2, "open_singles": -np.arange(count) // 2,
        }
    )  # fmt: skip
    table["nodes"] = table["refutation_sum"] + random.integers(0, 5, count)
    table.loc[3, "nodes"], table.loc[196, "nodes"] = 1000, -1
    return table


def test_planted_outliers_are_found_in_both_directions():
    table = drawn()
    found = rank_residuals(table, "refutation_sum", "nodes", top=1)
    assert list(found) == list(RESIDUAL_COLUMNS)
    assert found["outlier"][[3, 196]].tolist() == [MACHINE, PERSON]
    assert (found["outlier"] != "").sum() == 2
    both = found[["human_rank", "machine_rank"]]
    assert both.mean().tolist() == pytest.approx([0.5, 0.5])
    expected = (table["refutation_sum"].rank() - 0.5) / 200
    assert found["human_rank"].tolist() == pytest.approx(expected.tolist())
    # Fewer open singles are harder, so these ranks are the same.
    other = rank_residuals(table, "open_singles", "nodes", top=1)
    assert other["residual"].tolist() == pytest.approx(found["residual"].tolist(), abs=0.02)


def test_only_ranks_far_apart_are_told():
    table = drawn()
    near = rank_residuals(table, "refutation_sum", "nodes", top=100, apart=0.02)
    far = rank_residuals(table, "refutation_sum", "nodes", top=100)
    none = rank_residuals(table, "refutation_sum", "nodes", top=100, apart=1.0)
    assert (far["outlier"] != "").tolist() == (far["residual"].abs() >= 0.2).tolist()
    assert (far["outlier"] != "").sum() == 2 < (near["outlier"] != "").sum()
    assert (none["outlier"] == "").all()
    # All that are so far apart are told from those that are named.
    some = rank_residuals(table, "refutation_sum", "nodes", top=1, apart=0.02)
    assert some["apart"].tolist() == near["apart"].tolist()
    assert (some["outlier"] != "").sum() == 2


def test_the_least_effort_is_hard_for_nobody():
    """Where most puzzles cost nothing the middle of their ranks is high."""
    table = drawn().assign(nodes=0)
    table.loc[190:, "nodes"] = 5
    found = rank_residuals(table, "refutation_sum", "nodes", top=200)
    residual = found["residual"][:190]
    assert (residual < -0.2).sum() > 20
    assert (found["apart"] != MACHINE).all()
    assert (found["apart"] == PERSON).sum() == (residual >= 0.2).sum() > 20
    # Nor is it for a person, whichever way the measure points.
    other = table.assign(open_singles=9, nodes=np.arange(200))
    other.loc[190:, "open_singles"] = 5
    found = rank_residuals(other, "open_singles", "nodes", top=200)
    assert (found["residual"][:190] > 0.2).sum() > 20
    assert (found["apart"] != PERSON).all()


def test_weights_and_what_is_unknown_count_in_ranks():
    table = drawn().assign(weight=1.0)
    table.loc[:9, "weight"] = 19.0
    table.loc[20:39, "refutation_sum"] = np.nan
    found = rank_residuals(table, "refutation_sum", "nodes", top=3)
    assert len(found) == 180
    assert 25 not in found.index
    assert found.at[199, "human_rank"] == pytest.approx(1 - 1 / (170 + 190))
    assert found.at[8, "human_rank"] == pytest.approx(9 * 19 / 360)
    alike = rank_residuals(table, "nodes", "nodes", top=3)
    assert (alike["outlier"] == "").all()
    with pytest.raises(ValueError, match="of no puzzle"):
        rank_residuals(table.assign(nodes=np.nan), "refutation_sum", "nodes")
