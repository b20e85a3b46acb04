"""A study says of each puzzle what the single-puzzle functions say, and loses no line."""

from __future__ import annotations

import csv
import json
import time
from pathlib import Path

import pandas as pd
import pytest

from gridcrux.corpus.columns import columns_of
from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study import StudyExists, study, study_files
from gridcrux.corpus.study.measure import goes_on, levels_within
from gridcrux.corpus.study.needs import Needs
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.sources import PuzzleError
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.counts import backbone, count
from gridcrux.proofs.essential import ESSENTIAL, IDLE, REPLACEABLE, crux
from gridcrux.proofs.explain.bottleneck import bottleneck
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.sufficient import technique_sets
from gridcrux.techniques.repertoires import EVERYTHING, FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import closure

NO_SOLUTION = "000005080000601043000000000010500000000106000300000005530000061000000004000000000"


def some_puzzles():
    """Minimal 9x9 puzzles, some with further givens removed."""
    lines = []
    for item in minimal(24, 6):
        line = list(item.line)
        for cell in [i for i, symbol in enumerate(line) if symbol != "."][: item.index % 4]:
            line[cell] = "."
        lines.append("".join(line))
    return lines


@pytest.mark.parametrize("level", ["fish", "chains"])
def test_rows_agree_with_the_functions_for_one_puzzle(level):
    lines, repertoire = some_puzzles(), LEVELS[level]
    table = study(lines, repertoire=repertoire)
    assert list(table.columns) == list(columns_of(repertoire))
    assert len(table) == len(lines)
    for line, (_, row) in zip(lines, table.iterrows(), strict=True):
        state = read_puzzle(line)
        found = crux(state, repertoire)
        counted = count(state, 2)
        assert row["puzzle"] == line
        assert row["givens"] == 81 - line.count(".")
        assert (row["solutions"], row["solutions_complete"]) == (counted.value, counted.complete)
        assert row["backbone"] == len(backbone(state).cells)
        after = closure(state, SINGLES)
        assert row["open_after_singles"] == sum(map(len, after.marks.values()))
        assert row["status"] == found.route.status
        assert row["solved"] == found.solved
        assert row["steps"] == len(found.route)
        assert row["hard_steps"] == sum(step.places is None for step in found.route)
        assert row["widest_step"] == max((step.width for step in found.route), default=0)
        for status in (ESSENTIAL, REPLACEABLE, IDLE):
            assert row[f"{status}_steps"] == found.statuses.count(status)
        assert row["essential_techniques"] == ", ".join(found.essential)
        for name, times in found.route.counts().items():
            assert row[f"steps_{name.replace('-', '_')}"] == times
    assert table["solutions"].nunique() == 2
    assert table["idle_steps"].max() > 0
    assert table["essential_steps"].max() > 0


def test_the_number_of_workers_does_not_show(monkeypatch):
    monkeypatch.setattr("gridcrux.corpus.study.run.BATCH", 100)
    lines = some_puzzles() * 100
    pd.testing.assert_frame_equal(study(lines, workers=1), study(lines, workers=4))


def test_layouts_can_be_mixed_and_a_repertoire_chosen():
    lines = [next(minimal(1, 1, boxes(2, 2))).line, some_puzzles()[0], "." * 16]
    table = study(lines, repertoire=FIRST_FAMILY.only("naked-single"))
    assert table["layout"].tolist() == ["2x2", "3x3", "2x2"]
    assert [name for name in table if name.startswith("steps_")] == ["steps_naked_single"]
    assert table["solutions"].tolist() == [1, 1, 2]


def test_a_puzzle_without_solution_has_no_human_measures():
    row = study([NO_SOLUTION]).iloc[0]
    assert (row["solutions"], row["backbone"], row["solved"]) == (0, 0, False)
    assert pd.isna(row["steps"])
    assert pd.isna(row["essential_techniques"])


def test_no_puzzles_make_an_empty_table():
    assert list(study([]).columns) == list(columns_of(FIRST_FAMILY))
    assert study([]).empty


def test_a_bad_text_is_named():
    with pytest.raises(PuzzleError, match="puzzle 2"):
        study([some_puzzles()[0], "nonsense"])


@pytest.fixture
def source(tmp_path):
    lines = some_puzzles()
    path = tmp_path / "mixed.txt"
    bad = ["x" * 81, "5" * 81, lines[0][:80]]
    path.write_text("\n".join(["# tickets", *lines[:10], *bad, "", *lines[10:]]) + "\n")
    return path


def test_files_to_parquet_and_rejects(source, tmp_path):
    run = study_files([str(source)], tmp_path / "out", progress=False)
    assert (run.puzzles, run.rejected, run.interrupted) == (24, 3, False)
    table = run.frame()
    expected = study(some_puzzles())
    for name in set(expected) - {"id", "source", "line"}:
        pd.testing.assert_series_equal(table[name], expected[name])
    assert table["line"].tolist() == [*range(2, 12), *range(16, 30)]
    with run.rejects.open(newline="") as stream:
        rejects = list(csv.DictReader(stream))
    assert [int(reject["line"]) for reject in rejects] == [12, 13, 14]
    assert "r1c1 and r1c2" in rejects[1]["reason"]
    manifest = json.loads((tmp_path / "out" / "manifest.json").read_text())
    assert manifest["repertoire"] == list(FIRST_FAMILY.names)
    assert manifest["columns"] == columns_of(FIRST_FAMILY)


def test_the_same_study_can_be_made_again_and_another_is_not_overwritten(source, tmp_path):
    first = study_files([str(source)], tmp_path / "out", progress=False).frame()
    again = study_files([str(source)], tmp_path / "out", progress=False).frame()
    pd.testing.assert_frame_equal(first, again)
    with pytest.raises(StudyExists, match="another folder"):
        study_files([str(source)], tmp_path / "out", limit=5, progress=False)
    foreign = tmp_path / "foreign" / "table"
    foreign.mkdir(parents=True)
    (foreign / "mine.txt").write_text("keep")
    with pytest.raises(StudyExists, match="not empty"):
        study_files([str(source)], foreign.parent, progress=False)
    assert (foreign / "mine.txt").read_text() == "keep"


def test_parts_are_written_as_rows_come(source, tmp_path, monkeypatch):
    monkeypatch.setattr("gridcrux.corpus.study.run.PART", 8)
    monkeypatch.setattr("gridcrux.corpus.study.run.BATCH", 4)
    run = study_files([str(source)], tmp_path / "out", progress=False)
    assert len(list(run.table.glob("part-*.parquet"))) > 1
    assert run.frame()["puzzle"].tolist() == some_puzzles()


def test_an_interrupt_keeps_the_rows_so_far(source, tmp_path, monkeypatch):
    from gridcrux.corpus.study import run as module

    in_order = module.in_order

    def interrupted(*arguments):
        for number, item in enumerate(in_order(*arguments)):
            if number == 2:
                raise KeyboardInterrupt
            yield item

    monkeypatch.setattr(module, "BATCH", 4)
    monkeypatch.setattr(module, "in_order", interrupted)
    run = study_files([str(source)], tmp_path / "out", progress=False)
    assert run.interrupted
    assert 0 < run.puzzles < 24
    assert len(run.frame()) == run.puzzles
    monkeypatch.setattr(module, "in_order", in_order)
    rest = study_files([str(source)], tmp_path / "out", progress=False)
    assert (rest.puzzles, rest.rejected, rest.resumed) == (24, 3, 0)
    assert rest.frame()["puzzle"].tolist() == some_puzzles()


def test_a_file_named_twice_is_refused(source, tmp_path):
    with pytest.raises(ValueError, match="is named twice"):
        study_files([str(source), str(source)], tmp_path / "out", progress=False)
    assert not Path(tmp_path / "out").exists()


def test_a_missing_file_is_named_before_anything_is_written(tmp_path):
    with pytest.raises((PuzzleError, OSError), match="no_such"):
        study_files([str(tmp_path / "no_such.txt")], tmp_path / "out", progress=False)
    assert not Path(tmp_path / "out").exists()


def test_state_sources_are_taken_by_their_givens():
    line = some_puzzles()[0]
    state = read_puzzle(line, NINE)
    pd.testing.assert_frame_equal(study([line]), study([state]))


@pytest.mark.parametrize("limit", [1, 2])
def test_uniqueness_is_assumed_only_of_puzzles_with_one_solution(limit):
    """Without a given that it needs, a puzzle has several solutions."""
    lines = some_puzzles()
    names = [technique.name for technique in EVERYTHING if technique.assumes_unique]
    repertoire = EVERYTHING.only(*FIRST_FAMILY.names, *names)
    table = study(lines, repertoire=repertoire, limit=limit)
    several = study(lines, limit=2)["solutions"] > 1
    columns = [f"steps_{name.replace('-', '_')}" for name in names]
    assert several.any()
    assert table.loc[several, columns].to_numpy().sum() == 0
    assert table.loc[~several, columns].to_numpy().sum() > 0


def test_needs_are_those_of_the_functions_that_find_them():
    puzzles = [State.from_digits(item.puzzle.tolist()) for item in minimal(24, 19)]
    puzzles.append(State.from_digits([0] * 81))
    table = study(puzzles, needs=Needs("singles", 5.0), workers=2)
    assert list(table.columns) == list(columns_of(FIRST_FAMILY, needs=True))
    for state, row in zip(puzzles[:-1], table.itertuples(), strict=False):
        fewest = fewest_hard_steps(state, FIRST_FAMILY)
        sets = technique_sets(state, FIRST_FAMILY, always=SINGLES.names)
        if fewest.solved:
            assert (row.fewest_hard_steps, row.fewest_hard_steps_at_least) == (
                fewest.upper,
                fewest.lower,
            )
            assert row.least_total_width >= row.fewest_hard_steps
        else:
            assert pd.isna(row.fewest_hard_steps)
        assert row.minimal_sufficient == len(sets.sufficient)
        assert row.minimal_blocking == len(sets.blocking)
        assert row.minimal_sets_complete
    assert table["fewest_hard_steps"].iloc[-1] is pd.NA
    plain = study(puzzles)
    assert table[plain.columns].equals(plain)
    assert table["crux_open"].notna().sum() > 3


def test_bottleneck_widths_are_those_of_the_function_that_finds_them():
    puzzles = [State.from_digits(item.puzzle.tolist()) for item in minimal(12, 20)]
    puzzles.append(State.from_digits([0] * 81))
    table = study(puzzles, widths=True, workers=1)
    assert list(table.columns) == list(columns_of(FIRST_FAMILY, widths=True))
    assert table["bottleneck_width"].tolist()[:-1] == [bottleneck(p).width for p in puzzles[:-1]]
    assert table["bottleneck_width"].nunique() > 1
    assert table["bottleneck_width"].iloc[-1] is pd.NA


def test_the_level_is_the_least_that_solves():
    lines = [item.line for item in minimal(150, 23)]
    table = study(lines, repertoire=LEVELS["chains"])
    within = list(LEVELS)[: list(LEVELS).index("chains") + 1]
    for line, level in zip(lines, table["level"], strict=True):
        solving = [n for n in within if closure(read_puzzle(line), LEVELS[n]).placed + 1 >> 81]
        assert level == solving[0] if solving else pd.isna(level)
    assert table["level"].nunique() > 3
    assert (table["level"].notna() == table["solved"]).all()


def test_a_level_goes_on_only_from_one_that_it_includes():
    names = levels_within(EVERYTHING)
    assert names == list(LEVELS)
    flags = dict(zip(names, goes_on([LEVELS[name] for name in names]), strict=True))
    assert [name for name, flag in flags.items() if not flag] == ["uniqueness"]
    lines = [item.line for item in minimal(40, 24)]
    whole, known = (study(lines, repertoire=LEVELS[n]) for n in ("subsets", "chains"))
    both = whole["level"].notna()
    assert whole.loc[both, "level"].equals(known.loc[both, "level"])
    assert set(known.loc[~both, "level"].dropna()) <= {
        "fish",
        "one-digit",
        "two-digit-cells",
        "chains",
    }


def test_a_puzzle_that_takes_too_long_says_so_and_the_others_do_not():
    easy = some_puzzles()[0]
    table = study([easy, "." * 625, easy], seconds=0.3, workers=1)
    assert table["stopped_by"].tolist() == [None, "seconds", None] or (
        table["stopped_by"].isna().tolist() == [True, False, True]
    )
    long = table.iloc[1]
    assert not long["solutions_complete"]
    assert pd.isna(long["essential_techniques"])
    assert pd.isna(long["solved"])
    assert pd.isna(long["idle_steps"])
    rest = table.iloc[[0, 2]].drop(columns=["id", "line"])
    expected = pd.concat([study([easy])] * 2).drop(columns=["id", "line"])
    pd.testing.assert_frame_equal(rest.reset_index(drop=True), expected.reset_index(drop=True))


def test_compilation_takes_no_time_of_a_puzzle(monkeypatch):
    from gridcrux.corpus.study import measure as module

    compiled = module._measure

    def late(*arguments):
        time.sleep(0.5)
        compiled(*arguments)

    monkeypatch.setattr(module, "_measure", late)
    assert study(some_puzzles()[:2], seconds=0.1, workers=1)["stopped_by"].isna().all()


def test_time_that_is_up_in_the_middle_of_a_route_leaves_what_is_known():
    """The last resorts take seconds for this one (Inkala 2012, as printed by newspapers)."""
    hard = "800000000003600000070090200050007000000045700000100030001000068008500010090000400"
    row = study([hard], repertoire=EVERYTHING, seconds=0.2, workers=1).iloc[0]
    assert (row["solutions"], row["solutions_complete"]) == (1, True)
    assert row["stopped_by"] == "seconds"
    assert row["status"] == "unfinished" or pd.isna(row["idle_steps"])
    assert pd.isna(row["essential_techniques"])
    whole = study([hard], repertoire=FIRST_FAMILY, seconds=None, workers=1).iloc[0]
    assert whole["status"] == "stuck"
    assert pd.isna(whole["stopped_by"])


def test_weights_and_groups_of_a_table_are_taken_over(tmp_path):
    lines = some_puzzles()[:4]
    records = [
        f"{lines[0]},2.5,a",
        f"{lines[1]},0,a",
        f"{lines[2]},x,b",
        f"{lines[3]},1e9,",
    ]
    (tmp_path / "w.csv").write_text("\n".join(["puzzle,weight,group", *records]) + "\n")
    run = study_files([str(tmp_path / "w.csv")], tmp_path / "out", progress=False)
    table = run.frame()
    assert table["weight"].tolist() == [2.5, 1e9]
    assert table["group"].isna().tolist() == [False, True]
    with run.rejects.open(newline="") as stream:
        rejects = list(csv.DictReader(stream))
    assert [int(reject["column"]) for reject in rejects] == [83, 83]
    assert "expected a number above 0" in rejects[0]["reason"]
    assert study(lines[:1])["weight"].tolist() == [1.0]


def test_a_study_of_needs_is_another_study(tmp_path):
    (tmp_path / "few.txt").write_text("1..." + "." * 12 + "\n")
    study_files([str(tmp_path / "few.txt")], tmp_path / "out", progress=False)
    with pytest.raises(StudyExists):
        study_files([str(tmp_path / "few.txt")], tmp_path / "out", needs=Needs(), progress=False)
