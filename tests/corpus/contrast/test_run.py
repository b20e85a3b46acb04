"""A contrast over files is a study: it goes on where it was, with the same rows as in memory."""

from __future__ import annotations

import json

import numpy as np
import pandas as pd
import pytest
from scipy.stats import spearmanr

from gridcrux.corpus.columns import CONTRAST, RATINGS
from gridcrux.corpus.contrast import (
    contrast,
    contrast_correlations,
    contrast_files,
    rank_residuals,
)
from gridcrux.corpus.contrast.outliers import MACHINE, PERSON, RESIDUAL_COLUMNS
from gridcrux.corpus.contrast.ratings import ratings
from gridcrux.corpus.contrast.run import table_columns
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
