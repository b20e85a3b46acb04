"""The files of a storyboard are all there, the same every time, and can be opened."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest
from PIL import Image

from gridcrux.figures.legend import legend_of
from gridcrux.figures.palette import STYLES
from gridcrux.figures.storyboard import Storyboard, storyboard
from gridcrux.figures.storyboard.files import (
    LEAST_SECONDS,
    MOST_SECONDS,
    legend,
    picture,
    write_storyboard,
)
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS, SINGLES

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"


@pytest.fixture(scope="module")
def board() -> Storyboard:
    return storyboard(read_puzzle(PUZZLE), LEVELS["fish"])


def test_all_files_are_there_and_the_same_again(board: Storyboard, tmp_path: Path) -> None:
    first = write_storyboard(board, tmp_path / "one")
    names = {path.name for path in first}
    pictures = {f"part-{part.number:02d}.{kind}" for part in board for kind in ("svg", "png")}
    pictures |= {f"{name}.{kind}" for name in ("puzzle", "legend") for kind in ("svg", "png")}
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
    for name in ("part-99.png", "part-07.svg", "legend.png", "notes.txt", "part-x.png"):
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
        assert getattr(moving, "n_frames", 1) == len(board) + 1
        for frame in range(len(board) + 1):
            moving.seek(frame)
            assert 1000 * LEAST_SECONDS <= moving.info["duration"] <= 1000 * MOST_SECONDS


def test_large_boards_move_too(tmp_path: Path) -> None:
    """The puzzle has no key, the parts have one; all frames are as high."""
    large = storyboard(read_puzzle("1" + "." * 255), SINGLES)
    write_storyboard(large, tmp_path, ("gif",))
    with Image.open(tmp_path / "storyboard.gif") as moving:
        assert getattr(moving, "n_frames", 1) == 2
        assert moving.size[1] > moving.size[0]


def test_paper_is_white_in_pictures_of_few_colours(board: Storyboard, tmp_path: Path) -> None:
    for path in write_storyboard(board, tmp_path, ("png", "gif")):
        if path.suffix in (".png", ".gif"):
            with Image.open(path) as shown:
                assert shown.convert("RGB").getpixel((1, 1)) == (255, 255, 255)


def test_titles_are_below_the_boards_that_move(board: Storyboard) -> None:
    for part in board:
        title = f"{part.number}. {part.title}"
        plain, titled = picture(part.scene), picture(part.scene, title)
        (text,) = titled.texts
        assert text.get_text().replace("\n", " ") == title
        assert not plain.texts
        box, whole = text.get_window_extent(), titled.bbox
        assert box.x1 <= whole.x1
        assert box.y0 >= 0
        assert box.y1 <= titled.axes[0].get_window_extent().y0


def test_the_legend_says_what_is_drawn_and_no_more(board: Storyboard) -> None:
    entries = legend_of(part.scene for part in board)
    roles = {mark.role for part in board for mark in part.scene.marks}
    assert {entry.role for entry in entries} <= roles
    figure = legend(board)
    said = [text.get_text().replace("\n", " ") for text in figure.texts]
    assert said == [entry.words for entry in entries]
    assert len(figure.axes) == len(entries) > 3
    assert {mark.role for entry in entries for mark in entry.scene.marks} <= set(STYLES)


def test_what_stands_in_the_way_is_told_before_anything_goes(
    board: Storyboard, tmp_path: Path
) -> None:
    (tmp_path / "parts.csv").write_text("old")
    (tmp_path / "index.html").mkdir()
    with pytest.raises(IsADirectoryError, match=r"is a folder where a file is to be written"):
        write_storyboard(board, tmp_path, ("html",))
    assert (tmp_path / "parts.csv").read_text() == "old"
    with pytest.raises(NotADirectoryError, match="expected a folder"):
        write_storyboard(board, tmp_path / "parts.csv", ("html",))


def test_unknown_kinds_are_refused(board: Storyboard, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="no file of kind 'doc'"):
        write_storyboard(board, tmp_path / "none", ("doc",))
    assert not (tmp_path / "none").exists()
