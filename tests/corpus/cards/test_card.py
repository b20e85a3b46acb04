"""A card says what other engines, hashlib and pandas find in the same file."""

from __future__ import annotations

import gzip
import hashlib
import itertools
import json
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.cards import describe
from gridcrux.corpus.cards.card import GIVENS_COLUMNS
from gridcrux.corpus.cards.survey import SOLUTIONS, SPARE, UNKNOWN, Survey, solutions_of, spare_of
from gridcrux.corpus.rows import NoStudy
from gridcrux.corpus.sample import SYMMETRIES, minimal
from gridcrux.corpus.statements import made_as_stated
from gridcrux.corpus.study import study_files
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.sources import PuzzleError
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.givens import redundant_givens

DATASETS = Path(__file__).parents[3] / "datasets"
FOUR = boxes(2, 2)


def arranged(grid):
    """All 128 arrangements of a 4x4 grid that keep its houses, by definition."""
    lines = [
        [2 * a + b for a, swap in zip(bands, swaps, strict=True) for b in swap]
        for bands in ((0, 1), (1, 0))
        for swaps in itertools.product(((0, 1), (1, 0)), repeat=2)
    ]
    for rows, columns, turned in itertools.product(lines, lines, (False, True)):
        square = grid[np.ix_(rows, columns)]
        yield (square.T if turned else square).reshape(-1)


def renamed(cells):
    """The same cells with digits named in the order in which they come."""
    names = {0: 0}
    return tuple(names.setdefault(digit, len(names)) for digit in cells.tolist())


def text_of(digits):
    return "".join(".123456789"[digit] for digit in digits)


@pytest.fixture(scope="module")
def fours():
    """4x4 puzzles of all kinds: few givens, many, none; some are twice among them."""
    random = np.random.default_rng(4)
    found = [item.puzzle for item in minimal(30, 3, FOUR)]
    grids = [item.solution for item in minimal(40, 4, FOUR)]
    for number, grid in enumerate(grids):
        found.append(np.where(random.random(16) < 0.2 + number % 4 / 5, grid, 0))
    found += [next(arranged(found[5].reshape(4, 4))) for _ in range(2)]
    found += [list(arranged(found[i].reshape(4, 4)))[77] for i in (1, 2, 40)]
    found.append(np.array([1, 2, 0, 0, 3, 0, 0, 0, 0, 4, 0, 0, 0, 0, 0, 0]))
    found.append(np.zeros(16, int))
    return np.array(found, np.int8)


@pytest.fixture(scope="module")
def card(fours, tmp_path_factory):
    path = tmp_path_factory.mktemp("cards") / "fours.csv"
    lines = [f"Q{number},{text_of(digits)},7" for number, digits in enumerate(fours.tolist())]
    lines[20:20] = ["Q,1x..............,7", "Q,11..............,7"]
    path.write_text("\n".join(["id,puzzle,colour", *lines]) + "\n")
    return describe(path, title="Quay | fours", notes=["first\nnote"], licence="CC0", command="me")


def test_what_is_in_the_file(card, fours):
    data = (path := Path(card.name)) and card.row()
    assert (path.name, data["puzzles"], data["rejects"]) == ("fours.csv", len(fours), 2)
    assert card.layouts == {"2x2": len(fours)}
    counts = pd.Series(np.count_nonzero(fours, axis=1))
    frame = card.frame()
    assert list(frame.columns) == list(GIVENS_COLUMNS)
    expected = counts.value_counts().sort_index()
    assert frame["givens"].tolist() == expected.index.tolist()
    assert frame["puzzles"].tolist() == expected.tolist()
    assert frame["share"].sum() == pytest.approx(1)
    assert data["mean_givens"] == pytest.approx(counts.mean())
    assert data["repeated"] == len(fours) - len({tuple(row) for row in fours.tolist()}) >= 1


def test_solutions_and_spare_givens_are_those_of_other_engines(card, fours):
    kinds = dict.fromkeys(SOLUTIONS, 0)
    minimal_ones = 0
    for digits in fours.tolist():
        state = State.from_digits(digits, FOUR)
        kind = ("none", "one", "several")[get_engine("sat").count(state, 2).value]
        kinds[kind] += 1
        minimal_ones += kind == "one" and redundant_givens(state).minimal.value == "yes"
    assert card.solutions == kinds
    assert min(kinds["none"], kinds["one"], kinds["several"]) > 0
    row = card.row()
    assert row["minimal"] == minimal_ones
    assert row["not_minimal"] == kinds["one"] - minimal_ones > 0
    assert row["minimal_not_found_out"] == 0


def test_alike_and_automorphic_are_what_all_arrangements_show(card, fours):
    forms, symmetric = set(), 0
    for digits in fours:
        images = [renamed(image) for image in arranged(digits.reshape(4, 4))]
        forms.add(min(images))
        symmetric += images.count(renamed(digits)) > 1
    assert card.row()["compared"] == len(fours)
    assert card.row()["alike"] == len(fours) - len(forms) > card.row()["repeated"]
    assert 0 < card.row()["with_automorphisms"] == symmetric < len(fours)


def test_symmetric_patterns_are_counted_by_kind(tmp_path):
    path = tmp_path / "feast.txt"
    lines = [item.line for name in SYMMETRIES for item in minimal(8, 3, symmetry=name)]
    path.write_text("\n".join(lines) + "\n")
    found = describe(path).as_dict()["symmetries"]
    given = np.array([[symbol != "." for symbol in line] for line in lines]).reshape(-1, 9, 9)
    turned = np.rot90(given, 2, axes=(1, 2))
    assert found["half-turn"] == (turned == given).all(axis=(1, 2)).sum()
    assert found["top-bottom"] == (given[:, ::-1] == given).all(axis=(1, 2)).sum()
    assert found["diagonal"] == (given.transpose(0, 2, 1) == given).all(axis=(1, 2)).sum()
    assert found["antidiagonal"] == (turned.transpose(0, 2, 1) == given).all(axis=(1, 2)).sum()
    assert found["none"] == 8


def test_the_text_has_the_figures_and_no_broken_table(card, fours):
    text = card.markdown
    assert text == str(card) == card._repr_markdown_()
    assert text.startswith("# Quay | fours\n")
    assert f"| puzzles | {len(fours)} |" in text
    assert "| lines set aside | 2 (line 22, column 4: 'x' is not a digit" in text
    assert "| `colour` | not stated |" in text
    assert "## How it was made\n\nNot stated." in text
    assert "## Known bias\n\nNot stated." in text
    assert "- first note\n" in text
    assert "| licence | CC0 |" in text
    assert "```sh\nme\n```" in text
    for block in re.findall(r"(?:^\|.*\n)+", text, re.MULTILINE):
        widths = {len(re.findall(r"(?<!\\)\|", line)) for line in block.splitlines()}
        assert len(widths) == 1
    json.dumps(card.as_dict())


def test_a_sample_is_stated_and_does_not_depend_on_batches(tmp_path):
    digits = np.array([item.puzzle for item in minimal(90, 8)])
    weights = np.ones(90)
    surveys = [Survey(40, 5), Survey(40, 5), Survey(40, 6)]
    surveys[0].add("3x3", digits, weights)
    for survey in surveys[1:]:
        for start in range(0, 90, 7):
            survey.add("3x3", digits[start : start + 7], weights[start : start + 7])
    drawn = [[text for _, text, _ in survey._drawn] for survey in surveys]
    assert drawn[0] == drawn[1] != drawn[2]
    assert len(set(drawn[0])) == 40
    assert surveys[0].givens == surveys[1].givens
    path = tmp_path / "many.txt"
    path.write_text("\n".join(text_of(row) for row in digits.tolist()) + "\n")
    text = describe(path, sample=40, seed=5).markdown
    assert "| random sample | 40 of the 90 puzzles, drawn with seed 5 |" in text
    assert "40 of 40 puzzles with one solution of the random sample can spare no given" in text
    assert "| solutions | one: 90, several: 0, none: 0 |" in text


def test_what_takes_too_long_is_not_found_out():
    hard = np.array([item.puzzle for item in minimal(20, 8)])
    found = solutions_of(hard, "3x3", nodes=1)
    assert (found == UNKNOWN).any()
    assert SPARE[spare_of(hard[found == UNKNOWN][:1], "3x3", nodes=1)[0]] == "not found out"
    assert (solutions_of(hard, "of our own") == UNKNOWN).all()


def test_weights_and_how_it_was_made_are_read_from_what_stands_there(tmp_path):
    path = tmp_path / "weighed.csv.gz"
    lines = [item.line for item in minimal(4, 9)]
    with gzip.open(path, "wt") as file:
        file.write("puzzle,weight\n" + "".join(f"{x},{w}\n" for w, x in enumerate(lines, 1)))
    givens = np.array([81 - line.count(".") for line in lines])
    (tmp_path / "weighed.json").write_text(
        json.dumps(
            {
                "method": "controlled deletion",
                "seed": 9,
                "settings": {"count": 4, "even": True},
                "version": "gridcrux 0",
                "command": "gridcrux sample | cat",
                "bias": "none | known",
                "columns": {"weight": "one over the odds"},
            }
        )
    )
    card = describe(path)
    assert card.weighted_mean_givens == pytest.approx(np.average(givens, weights=[1, 2, 3, 4]))
    frame = card.frame()
    first = np.array([1, 2, 3, 4])[givens == frame["givens"].iloc[0]].sum() / 10
    assert frame["weighted_share"].iloc[0] == pytest.approx(first)
    assert f"weighted {card.weighted_mean_givens:.2f}" in card.markdown
    for said in (
        "| method | controlled deletion |",
        "| seed | 9 |",
        "| settings | count: 4, even: yes |",
        "| command | `gridcrux sample \\| cat` |",
        "## Known bias\n\nnone | known\n",
        "| `weight` | one over the odds |",
        "| givens | puzzles | share | weighted share |",
    ):
        assert said in card.markdown
    assert card.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()


def test_what_is_no_statement_is_not_taken_for_one(tmp_path):
    path = tmp_path / "some.csv"
    assert made_as_stated(path) == {}
    (tmp_path / "some.json").write_text('["method"]')
    assert made_as_stated(path) == {}
    (tmp_path / "some.json").write_text('{"puzzles": 3}')
    assert made_as_stated(path) == {}
    (tmp_path / "some.json").write_text("{")
    with pytest.raises(PuzzleError, match=r"some\.json: cannot be read"):
        made_as_stated(path)
    (tmp_path / "some.json").write_text('{"method": "by hand"}')
    path.write_text(next(minimal(1, 1)).line + "\n")
    text = describe(path).markdown
    assert "| method | by hand |" in text
    assert "## Known bias\n\nNot stated." in text


def test_a_study_has_a_card_too(card, fours, tmp_path):
    path = tmp_path / "fours.txt"
    path.write_text("\n".join(text_of(row) for row in fours.tolist()) + "\nnonsense!\n")
    run = study_files([str(path)], tmp_path / "out", progress=False)
    found = describe(tmp_path / "out")
    same = set(card.row()) - {"name", "bytes", "sha256", "rejects"}
    assert {name: found.row()[name] for name in same} == {name: card.row()[name] for name in same}
    assert found.rejects == 1
    assert f"{path}, line {len(fours) + 1}, column 1: " in found.markdown
    parts = b"".join(part.read_bytes() for part in sorted(run.table.glob("part-*.parquet")))
    assert found.sha256 == hashlib.sha256(parts).hexdigest()
    assert "| `backbone` | cells that hold the same digit" in found.markdown
    assert found.made["sources"] == [str(path)]
    with pytest.raises(NoStudy):
        describe(tmp_path)


def test_sizes_can_be_mixed_and_a_layout_named(tmp_path):
    path = tmp_path / "mixed.txt"
    lines = [next(minimal(1, 1, boxes(2, 2))).line, next(minimal(1, 1, NINE)).line]
    path.write_text("\n".join(lines) + "\n")
    card = describe(path)
    assert card.layouts == {"2x2": 1, "3x3": 1}
    assert "| layout | givens | puzzles | share |" in card.markdown
    layout = NINE.with_diagonals()
    path.write_text("\n".join(item.line for item in minimal(3, 1, layout)) + "\n")
    card = describe(path, layout=layout)
    assert card.solutions["one"] == 3
    assert "| alike up to symmetry | not compared |" in card.markdown


def test_a_missing_or_empty_file_is_named(tmp_path):
    (tmp_path / "empty").touch()
    for name in ("empty", "missing"):
        with pytest.raises(PuzzleError, match=name):
            describe(tmp_path / name)


def test_the_card_of_the_starter_corpus_against_other_means():
    path = DATASETS / "lantern_quay.csv"
    card = describe(path)
    table = pd.read_csv(path)
    assert card.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert card.survey.puzzles == len(table)
    expected = table["puzzle"].map(lambda line: 81 - line.count(".")).value_counts().sort_index()
    assert card.frame().set_index("givens")["puzzles"].to_dict() == expected.to_dict()
    assert card.mean_givens == pytest.approx(table["givens"].mean())
    some = table["puzzle"].sample(25, random_state=3)
    assert all(get_engine("sat").count(read_puzzle(line), 2).value == 1 for line in some)
    assert card.solutions["one"] == len(table)
    feast = table[table["symmetry"] != "none"]
    spare = feast["puzzle"].map(lambda line: redundant_givens(read_puzzle(line)).minimal.value)
    assert card.row()["not_minimal"] == (spare == "no").sum()
    assert set(card.columns) == set(table.columns)
    assert all(card.columns.values())
