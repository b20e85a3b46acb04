"""The files of a storyboard are all there, the same every time, and can be opened."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from PIL import Image

from gridcrux.figures.storyboard import Storyboard, storyboard
from gridcrux.figures.storyboard.files import (
    LEAST_SECONDS,
    MOST_SECONDS,
    document,
    write_storyboard,
)
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"


@pytest.fixture(scope="module")
def board() -> Storyboard:
    return storyboard(read_puzzle(PUZZLE), LEVELS["fish"])


def test_all_files_are_there_and_the_same_again(board: Storyboard, tmp_path: Path) -> None:
    first = write_storyboard(board, tmp_path / "one")
    names = {path.name for path in first}
    pictures = {f"part-{part.number:02d}.{kind}" for part in board for kind in ("svg", "png")}
    assert names == pictures | {
        "chapters.txt",
        "parts.csv",
        "index.html",
        "storyboard.pdf",
        "storyboard.gif",
    }
    for path, other in zip(first, write_storyboard(board, tmp_path / "two"), strict=True):
        assert path.read_bytes() == other.read_bytes(), path.name
    assert len(pd.read_csv(tmp_path / "one" / "parts.csv")) == len(board)


def test_what_an_earlier_walk_left_is_gone_and_other_files_are_not(
    board: Storyboard, tmp_path: Path
) -> None:
    for name in ("part-99.png", "part-07.svg", "notes.txt", "part-x.png"):
        (tmp_path / name).write_text("old")
    write_storyboard(board, tmp_path, ("svg",))
    left = {path.name for path in tmp_path.iterdir() if path.read_bytes() == b"old"}
    assert left == {"notes.txt", "part-x.png"}


def test_the_moving_picture_has_a_frame_a_part(board: Storyboard, tmp_path: Path) -> None:
    write_storyboard(board, tmp_path, ("gif",))
    assert {path.name for path in tmp_path.iterdir()} == {
        "chapters.txt",
        "parts.csv",
        "storyboard.gif",
    }
    with Image.open(tmp_path / "storyboard.gif") as moving:
        assert getattr(moving, "n_frames", 1) == len(board)
        for frame in range(len(board)):
            moving.seek(frame)
            assert 1000 * LEAST_SECONDS <= moving.info["duration"] <= 1000 * MOST_SECONDS


def test_the_document_has_a_page_a_part(board: Storyboard) -> None:
    drawn = document(board)
    assert drawn.startswith(b"%PDF")
    assert drawn.count(b"/Type /Page ") == len(board)


def test_unknown_kinds_are_refused(board: Storyboard, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="no file of kind 'doc'"):
        write_storyboard(board, tmp_path / "none", ("doc",))
    assert not (tmp_path / "none").exists()
