"""Boards in text: frames follow the regions of any layout."""

from __future__ import annotations

import pytest

from gridcrux.cli import output
from gridcrux.grids.layout import latin, regions
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle


@pytest.fixture(autouse=True)
def drawing(monkeypatch):
    monkeypatch.setattr(output, "can_draw", lambda: True)


def test_boxes_are_framed():
    assert output.board(read_puzzle("4..1 .1.. ..1. 1..2")).plain == (
        "     c1 c2  c3 c4\n"
        "   ┌──────┬──────┐\n"
        "r1 │ 4  · │ ·  1 │\n"
        "r2 │ ·  1 │ ·  · │\n"
        "   ├──────┼──────┤\n"
        "r3 │ ·  · │ 1  · │\n"
        "r4 │ 1  · │ ·  2 │\n"
        "   └──────┴──────┘"
    )


def test_irregular_regions_are_framed():
    state = State.empty(regions("1112 1322 3324 3444"))
    assert output.board(state).plain == (
        "     c1  c2  c3  c4\n"
        "   ┌───────────┬───┐\n"
        "r1 │ ·   ·   · │ · │\n"
        "   │   ┌───┬───┘   │\n"
        "r2 │ · │ · │ ·   · │\n"
        "   ├───┘   │   ┌───┤\n"
        "r3 │ ·   · │ · │ · │\n"
        "   │   ┌───┴───┘   │\n"
        "r4 │ · │ ·   ·   · │\n"
        "   └───┴───────────┘"
    )


def test_a_latin_square_has_an_edge_only():
    lines = output.board(State.empty(latin(3))).plain.splitlines()
    assert lines[1] == "   ┌─────────┐"
    assert len(lines) == 1 + 1 + 3 + 1


def test_open_candidates_fill_their_cells():
    text = output.board(read_puzzle("4..1 .1.. ..1. 1..2"), candidates=True).plain
    assert "r2 │ 23   1   │ 234  34  │" in text


def test_styles_are_bold_for_givens():
    text = output.board(read_puzzle("4..1 .1.. ..1. 1..2"))
    bold = [text.plain[span.start : span.end] for span in text.spans if span.style == "bold"]
    assert bold == ["4", "1", "1", "1", "1", "2"]


def test_piped_lines_end_where_their_text_ends(run):
    puzzle = "......1...3.41.5....9.3.6..........14..8......762.49.36....7..2...54.....2......."
    result = run("crux", puzzle)
    lines = result.stdout.splitlines()
    assert any("─" in line for line in lines)
    assert all(line == line.rstrip() for line in lines)
