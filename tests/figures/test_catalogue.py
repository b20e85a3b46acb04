"""The catalogue tells of every technique what its docstring says, and shows it."""

from __future__ import annotations

import re
from itertools import islice
from pathlib import Path

import pandas as pd
import pytest

from gridcrux.figures.catalogue import (
    PAGE,
    PICTURES,
    Example,
    corpus_puzzles,
    examples,
    main,
    page,
)
from gridcrux.figures.legend import _entries
from gridcrux.proofs.certify import certify
from gridcrux.techniques.repertoires import EVERYTHING, FIRST_FAMILY, LEVELS

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
UNSEEN = {"fresh-ring", "trail"}
CORPUS = ROOT / "datasets" / "lantern_quay.csv"


@pytest.fixture(scope="module")
def found() -> dict[str, Example]:
    corpus = pd.read_csv(CORPUS, dtype={"puzzle": str})
    return examples(islice(corpus_puzzles(corpus), 25), LEVELS["chains"])


def test_the_page_in_the_repository_is_of_today() -> None:
    text = (DOCS / PAGE).read_text()
    sections = dict(re.findall(r"(?ms)^### (\S+)\n\n(.*?)(?=^##|\Z)", text))
    assert set(sections) == set(EVERYTHING.names)
    for technique in EVERYTHING:
        fact, reason = technique.fact, technique.reason
        told = sections[technique.name]
        assert told.startswith(fact), f"{technique}: make the catalogue anew"
        assert reason in told
        assert ("one solution" in told.split("\n")[0]) >= technique.assumes_unique
        assert f"({PICTURES}/{technique.name}.svg)" in told
        assert "<svg" in (DOCS / PICTURES / f"{technique.name}.svg").read_text()
    for name in LEVELS:
        assert f"| `{name}` |" in text
    marks = dict(re.findall(rf"\| !\[\]\({PICTURES}/mark-(\S+)\.svg\) \| (.+) \|", text))
    words = {entry.role: entry.words for entry in _entries()}
    # Catalogues have neither diagonals nor digits that were written together.
    assert marks.items() == {role: words[role] for role in words if role not in UNSEEN}.items()
    for role in marks:
        assert "<svg" in (DOCS / PICTURES / f"mark-{role}.svg").read_text()


def test_an_example_is_a_deduction_of_its_technique(found: dict[str, Example]) -> None:
    assert {"x-wing", "skyscraper", "xy-chain", "alternating-chain"} <= set(found)
    for name, example in found.items():
        assert example.step.technique == name
        assert not example.step.relies & example.state.open
        assert certify(example.step, example.state).holds


def test_every_docstring_has_fact_reason_and_source() -> None:
    for technique in EVERYTHING:
        fact, reason = technique.fact, technique.reason
        assert fact.endswith("."), technique
        assert ">>>" not in fact + reason
        assert re.search(r"Common practice|\d{4}|[Tt]heorem|As ", reason), technique


def test_it_is_made_by_a_command(tmp_path: Path) -> None:
    few = tmp_path / "few.csv"
    rows = CORPUS.read_text().splitlines()
    few.write_text("\n".join(rows[:6]) + "\n")
    main(str(few), str(tmp_path / "out"), sampled=0)
    text = (tmp_path / "out" / PAGE).read_text()
    assert "### full-house" in text
    assert (tmp_path / "out" / PICTURES / "hidden-single.svg").exists()
    # A technique without example is told all the same.
    assert "### guarded-grave" in text
    assert not (tmp_path / "out" / PICTURES / "guarded-grave.svg").exists()


def test_levels_grow(found: dict[str, Example]) -> None:
    text = page(found, FIRST_FAMILY)
    assert text.index("`singles`") < text.index("`fish`") < text.index("`almost-locked-sets`")
    assert "### skyscraper" not in text
