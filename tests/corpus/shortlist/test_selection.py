"""A shortlist is what a plain loop over the rows would choose; no two puzzles on it are alike."""

from __future__ import annotations

import gzip
import json
import os
import re

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.columns import steps_column
from gridcrux.corpus.rows import NoStudy, Rows, UnknownColumn
from gridcrux.corpus.sample import SYMMETRIES, minimal
from gridcrux.corpus.shortlist import choose, shortlist
from gridcrux.corpus.shortlist.funnel import FUNNEL_COLUMNS
from gridcrux.corpus.shortlist.queries import BadQuery
from gridcrux.corpus.shortlist.used import append_used
from gridcrux.corpus.shortlist.wishes import BadWish
from gridcrux.corpus.study import study
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.sources import PuzzleError
from gridcrux.logic.repertoire import UnknownTechnique
from gridcrux.techniques.repertoires import EVERYTHING

TECHNIQUES = EVERYTHING.only(
    "hidden-single",
    "naked-pair",
    "x-wing",
    "skyscraper",
    "finned-x-wing",
    "hidden-rectangle",
    "xy-chain",
)
STEPS = [steps_column(technique) for technique in TECHNIQUES]


def alike(line, seed):
    """The same 9x9 puzzle with rows, columns and digits exchanged."""
    random = np.random.default_rng(seed)
    grid = np.array([0 if symbol == "." else int(symbol) for symbol in line]).reshape(9, 9)
    lines = [
        [3 * a + b for a in random.permutation(3) for b in random.permutation(3)] for _ in "rc"
    ]
    grid = grid[np.ix_(*lines)]
    grid = grid.T if random.random() < 0.5 else grid
    names = np.concatenate(([0], random.permutation(9) + 1))
    return "".join(map(str, names[grid].reshape(-1))).replace("0", ".")


@pytest.fixture(scope="module")
def table():
    """A study of an invented corpus, with all that a row can be; a tenth is missing its route."""
    random = np.random.default_rng(3)
    lines = [item.line for item in minimal(120, 12)]
    for symmetry in SYMMETRIES[1:]:
        lines += [item.line for item in minimal(20, 13, symmetry=symmetry)]
    count = len(lines)
    steps = random.integers(0, 2, (count, len(STEPS))) * random.integers(1, 4, (count, len(STEPS)))
    essential = [
        ", ".join(name for name, n in zip(TECHNIQUES.names, row, strict=True) if n and draw[n])
        for row, draw in zip(steps, random.random((count, 4)) < 0.6, strict=True)
    ]
    frame = pd.DataFrame(
        {
            "id": [f"T{number}" for number in range(count)],
            "weight": random.random(count),
            "layout": "3x3",
            "puzzle": lines,
            "givens": [81 - line.count(".") for line in lines],
            "solutions": random.choice([1, 1, 1, 2], count),
            "hard_steps": (steps[:, 1:] > 0).sum(axis=1),
            "status": random.choice(["solved", "stuck"], count),
            "essential_techniques": pd.array(essential, "str"),
            "crux_steps": pd.array(random.integers(0, 3, count), "Int64"),
        }
    )
    for name, column in zip(STEPS, steps.T, strict=True):
        frame[name] = pd.array(column, "Int64")
    lost = random.random(count) < 0.1
    frame.loc[lost, [*STEPS, "essential_techniques", "crux_steps"]] = pd.NA
    return frame.sample(frac=1, random_state=1, ignore_index=True)


def is_symmetric(line):
    given = np.array([symbol != "." for symbol in line]).reshape(9, 9)
    images = {
        "half-turn": np.rot90(given, 2),
        "quarter-turn": np.rot90(given),
        "left-right": np.fliplr(given),
        "top-bottom": np.flipud(given),
        "diagonal": given.T,
        "antidiagonal": np.rot90(given, 2).T,
    }
    found = {name: bool((image == given).all()) for name, image in images.items()}
    found["both-sides"] = found["left-right"] and found["top-bottom"]
    found["both-diagonals"] = found["diagonal"] and found["antidiagonal"]
    found["all"] = found["both-sides"] and found["diagonal"]
    return found | {"any": any(found.values()), "none": not any(found.values())}


def meets(row, wishes):
    """Whether a row meets all wishes, one after the other, as the parameters are explained."""
    used = [
        n for n, c in zip(TECHNIQUES.names, STEPS, strict=True) if not pd.isna(row[c]) and row[c]
    ]
    known = not pd.isna(row["essential_techniques"])
    needed = row["essential_techniques"].split(", ") if known else []
    named = wishes.get("essential", [])
    order = TECHNIQUES.names.index
    if row["solutions"] != 1:
        return False
    if not all(name in needed for name in named):
        return False
    if wishes.get("none_harder"):
        last = named or [name for name in needed if name]
        if not known or not last or max(map(order, used)) > max(map(order, last)):
            return False
    if wishes.get("one_crux") and not (
        row["hard_steps"] == 1 or (not pd.isna(row["crux_steps"]) and row["crux_steps"] == 1)
    ):
        return False
    if wishes.get("no_uniqueness") and (not known or "hidden-rectangle" in used):
        return False
    return "symmetric" not in wishes or is_symmetric(row["puzzle"])[wishes["symmetric"]]


WISHES = [
    {},
    {"essential": ["skyscraper"]},
    {"essential": ["x-wing"]},
    {"essential": ["skyscraper", "naked-pair"]},
    {"none_harder": True},
    {"essential": ["x-wing"], "none_harder": True},
    {"essential": ["skyscraper", "naked-pair"], "none_harder": True},
    {"one_crux": True},
    {"no_uniqueness": True},
    *({"symmetric": symmetry} for symmetry in (*SYMMETRIES, "any")),
    {"essential": ["skyscraper"], "symmetric": "any", "no_uniqueness": True, "one_crux": True},
]


@pytest.mark.parametrize("wishes", WISHES, ids=str)
def test_the_choice_is_that_of_a_plain_loop(table, wishes):
    expected = [row["id"] for _, row in table.iterrows() if meets(row, wishes)]
    found = choose(table, **wishes, top=1000)
    assert sorted(found.table["id"]) == sorted(expected)
    assert 0 < len(expected) < len(table)
    assert list(found.funnel.columns) == list(FUNNEL_COLUMNS)
    assert found.funnel["left"].iloc[-1] == len(expected)
    assert found.funnel["looked_at"].tolist()[1:] == found.funnel["left"].tolist()[:-1]


def test_the_funnel_counts_every_condition_and_weighs_it(table):
    found = choose(
        table, where="givens < 26", essential="skyscraper", no_uniqueness=True, symmetric="any"
    )
    left, weight = table, []
    number = []
    for test in (
        lambda rows: rows["solutions"] == 1,
        lambda rows: rows["givens"] < 26,
        lambda rows: rows["essential_techniques"].fillna("").str.contains("skyscraper"),
        lambda rows: (rows["steps_hidden_rectangle"] == 0).fillna(False),
        lambda rows: rows["puzzle"].map(lambda line: is_symmetric(line)["any"]),
    ):
        left = left[test(left).astype(bool)]
        number.append(len(left))
        weight.append(left["weight"].sum() / table["weight"].sum())
    assert found.funnel["left"].tolist()[:-1] == [len(table), *number]
    assert found.funnel["weighted_share"].tolist()[:-1] == pytest.approx([1, *weight])
    assert "with skyscraper essential (weighted: " in str(found)
    even = choose(table.assign(weight=1.0), where="givens < 26")
    assert even.funnel["weighted_share"].isna().all()
    assert "weighted" not in str(even)


def test_where_nothing_is_left_the_funnel_says_why(table):
    found = choose(table, where="givens > 80", essential="skyscraper")
    assert (len(found), found.row()) == (0, {"rows": len(table), "chosen": 0})
    assert found.funnel["left"].tolist()[-3:] == [0, 0, 0]
    assert re.search(r"; 0 where givens > 80 .*; 0 with skyscraper essential ", str(found))
    assert "why" in found.frame()
    assert json.loads(json.dumps(found.as_dict()))["puzzles"] == []


def test_solutions_count_unless_the_condition_speaks_of_them(table):
    assert (shortlist(table, top=1000)["solutions"] == 1).all()
    several = shortlist(table, where="solutions > 1", top=1000)
    assert len(several) == (table["solutions"] > 1).sum()
    unsure = table.assign(solutions_complete=table["givens"] % 2 == 0)
    assert (shortlist(unsure, top=1000)["givens"] % 2 == 0).all()


def test_the_order_is_by_columns_then_by_the_seed(table):
    found = shortlist(table, order_by=["-crux_steps", "givens"], top=1000)
    keys = [
        (pd.isna(crux), -(0 if pd.isna(crux) else crux), givens)
        for crux, givens in zip(found["crux_steps"], found["givens"], strict=True)
    ]
    assert keys == sorted(keys)
    assert keys[0][0] is False
    assert keys[-1][0] is True
    first, again, other = (
        shortlist(table, order_by="givens", top=9, seed=seed)["id"].tolist() for seed in (1, 1, 2)
    )
    assert first == again != other
    assert shortlist(table, top=5, seed=1)["id"].tolist() != table["id"].tolist()[:5]


def test_parts_on_disk_are_read_as_one_table(table, tmp_path, monkeypatch):
    monkeypatch.setattr("gridcrux.corpus.rows.BATCH", 20)
    monkeypatch.setattr("gridcrux.corpus.shortlist.selection.FIRST_LOOK", 2)
    folder = tmp_path / "study" / "table"
    folder.mkdir(parents=True)
    for number, start in enumerate(range(0, len(table), 37)):
        part = table.iloc[start : start + 37]
        part.to_parquet(folder / f"part-{number:05d}.parquet", index=False)
    (folder / ".part-00099.parquet").write_bytes(b"half written")
    wishes = {"order_by": "-givens", "top": 30, "symmetric": "none"}
    pd.testing.assert_frame_equal(shortlist(folder.parent, **wishes), shortlist(table, **wishes))
    assert len(Rows(folder.parent)) == len(table)
    assert choose(folder.parent).notes == ()
    (folder.parent / "manifest.json").write_text('{"finished": false}')
    assert "not finished" in choose(folder.parent).notes[0]


def test_puzzles_alike_come_once_and_used_ones_never(table, tmp_path):
    some = table[table["solutions"] == 1].head(60)
    twins = some.assign(
        puzzle=[alike(line, number) for number, line in enumerate(some["puzzle"])],
        id=[f"{name}-twin" for name in some["id"]],
    )
    both = pd.concat([some, twins], ignore_index=True)
    found = choose(both, top=1000)
    assert sorted(found.table["id"].str.removesuffix("-twin")) == sorted(some["id"])
    assert found.table["id"].str.endswith("-twin").sum() not in (0, 60)

    spent = some["puzzle"].tolist()[:40]
    (tmp_path / "old.txt").write_text("\n".join(alike(line, 7) for line in spent[:25]) + "\nno\n")
    with gzip.open(tmp_path / "older.csv.gz", "wt") as file:
        file.write("id,puzzle\n" + "".join(f"x,{line}\n" for line in spent[25:]))
    found = choose(both, used=[tmp_path / "old.txt", tmp_path / "older.csv.gz"], top=1000)
    assert sorted(found.table["id"].str.removesuffix("-twin")) == sorted(some["id"].tolist()[40:])
    assert found.funnel["left"].tolist()[-2:] == [40, 20]
    assert re.search(r"old.txt: 1 line is no puzzle", found.notes[0])
    few = choose(both, used=str(tmp_path / "old.txt"), top=3, seed=4)
    assert few.funnel["left"].iloc[-1] == len(few) == 3
    assert 3 <= few.funnel["looked_at"].iloc[-2] < 60


def test_layouts_without_known_symmetries_are_compared_as_they_are(tmp_path):
    layout = NINE.with_diagonals()
    lines = [item.line for item in minimal(6, 2, layout)]
    table = pd.DataFrame({"layout": layout.name, "puzzle": [*lines, lines[0], alike(lines[1], 1)]})
    (tmp_path / "used.txt").write_text(lines[5] + "\n")
    found = choose(table, used=tmp_path / "used.txt", top=100)
    assert len(found) == 6
    assert "3x3-diagonals are compared as they are" in found.notes[0]
    table["layout"] = "of our own"
    assert len(choose(table, top=100)) == 7


def test_a_list_is_read_in_the_layout_of_the_study(tmp_path):
    lines = [item.line for item in minimal(5, 2, latin(5))]
    (tmp_path / "used.txt").write_text("\n".join(lines[:2]) + "\n")
    table = pd.DataFrame({"layout": "latin-5", "puzzle": lines})
    found = choose(table, used=tmp_path / "used.txt")
    assert (len(found), found.notes) == (3, ())
    (tmp_path / "new.csv").write_text("id,puzzle\n")
    found = choose(table, used=tmp_path / "new.csv")
    assert (len(found), found.notes) == (5, (f"{tmp_path / 'new.csv'}: no puzzle in it",))
    small = [item.line for item in minimal(2, 2, boxes(2, 2))]
    mixed = pd.concat([table, pd.DataFrame({"layout": "2x2", "puzzle": small})])
    (tmp_path / "used.txt").write_text("\n".join([*lines[:2], small[0]]) + "\n")
    assert sorted(shortlist(mixed, used=tmp_path / "used.txt")["puzzle"]) == sorted(
        [*lines[2:], small[1]]
    )


def test_a_real_study_and_its_reasons():
    lines = [item.line for item in minimal(60, 5, symmetry="half-turn")]
    table = study(lines)
    found = shortlist(table, where="hard_steps > 0 and solved", order_by="-hard_steps", top=100)
    assert len(found) > 3
    for _, row in found.iterrows():
        said = row["why"].split("; ")
        steps = next(each for each in said if each.startswith("steps beside placements: "))
        count = 0
        for each in steps.removeprefix("steps beside placements: ").split(", "):
            number = re.match(r"\d+", each)
            count += int(number[0]) if number else 1
        assert count == row["hard_steps"]
        assert "half-turn symmetry" in said
        needed = f"essential: {row['essential_techniques']}"
        assert (needed in said) == bool(row["essential_techniques"])
    stuck = shortlist(table, where="not solved", top=1)
    assert "the route is stuck" in stuck["why"].iloc[0]
    easy = shortlist(table, where="hard_steps == 0", top=1)
    assert "placements only" in easy["why"].iloc[0]


def test_what_cannot_be_asked_is_said(table, tmp_path):
    with pytest.raises(UnknownTechnique, match="did you mean skyscraper"):
        choose(table, essential="skycraper")
    with pytest.raises(BadWish, match=r"did not use w-wing; it comes with .*--level two-digit"):
        choose(table, essential="w-wing")
    with pytest.raises(BadWish, match="'spiral'; there are none, half-turn"):
        choose(table, symmetric="spiral")
    with pytest.raises(BadWish, match="1 or more"):
        choose(table, top=0)
    with pytest.raises(UnknownColumn, match="did you mean givens"):
        choose(table, order_by="-given")
    with pytest.raises(UnknownColumn, match="hard_steps"):
        choose(table.drop(columns="hard_steps"), one_crux=True)
    with pytest.raises(BadQuery):
        choose(table, where="givens.max() > 3")
    with pytest.raises(NoStudy, match="no such folder"):
        choose(tmp_path / "nowhere")
    with pytest.raises(NoStudy, match="expected a column 'puzzle', found givens"):
        choose(table[["givens"]])
    with pytest.raises(NoStudy, match="no line of"):
        choose(table.assign(puzzle="zebra"))
    with pytest.raises(PuzzleError, match=r"missing\.txt"):
        choose(table, used=tmp_path / "missing.txt")


ROW = {"id": "T1", "puzzle": "1" + "." * 15, "layout": "2x2", "givens": 1}


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (None, f"id,puzzle,layout\nT1,{ROW['puzzle']},2x2\n"),
        ("", f"id,puzzle,layout\nT1,{ROW['puzzle']},2x2\n"),
        ("\ufeffweek,Puzzle\n3,x\n", f"\ufeffweek,Puzzle\n3,x\n,{ROW['puzzle']}\n"),
        ("givens,puzzle\r\n3,x\r\n", f"givens,puzzle\r\n3,x\r\n1,{ROW['puzzle']}\r\n"),
        ("# old\nabc", f"# old\nabc\n{ROW['puzzle']} T1\n"),
    ],
)
def test_a_list_grows_in_its_own_form(tmp_path, before, after):
    target = tmp_path / "used.csv"
    if before is not None:
        target.write_bytes(before.encode())
        target.chmod(0o640)
    append_used(target, [ROW])
    assert target.read_bytes().decode() == after
    assert before is None or target.stat().st_mode & 0o777 == 0o640
    assert [each.name for each in tmp_path.iterdir()] == ["used.csv"]


def test_a_list_is_left_as_it_was_if_it_cannot_be_written(tmp_path, monkeypatch):
    target = tmp_path / "used.csv"
    target.write_text("id,puzzle\n")

    def fail(*_):
        raise OSError("no space")

    monkeypatch.setattr(os, "replace", fail)
    with pytest.raises(OSError, match="no space"):
        append_used(target, [ROW])
    assert target.read_text() == "id,puzzle\n"
    assert [each.name for each in tmp_path.iterdir()] == ["used.csv"]
    with pytest.raises(PuzzleError, match="packed"):
        append_used(tmp_path / "used.csv.gz", [ROW])
    with pytest.raises(PuzzleError, match="no file"):
        append_used(tmp_path, [ROW])


def test_what_was_added_is_not_chosen_again(table, tmp_path):
    target = tmp_path / "used.csv"
    seen = set()
    for _ in range(4):
        found = choose(table, top=7, used=target if target.exists() else None)
        append_used(target, found.as_dict()["puzzles"])
        assert not seen & set(found.table["id"])
        seen |= set(found.table["id"])
    assert len(seen) == 28
    assert pd.read_csv(target)["puzzle"].isin(table["puzzle"]).sum() == 28
