"""The document has contents, a page a part, and all that is said fits on its page."""

from __future__ import annotations

from dataclasses import replace

import pytest
from matplotlib.figure import Figure

from gridcrux.figures.storyboard import Storyboard, storyboard
from gridcrux.figures.storyboard.document import (
    _contents,
    document,
    fitting,
    said_of_ways,
    sheet,
    shortened,
)
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS, SINGLES

PUZZLE = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."
LONG = " ".join(["Tickets for the ferry are sold at the second lamp of the pier"] * 40)


@pytest.fixture(scope="module")
def board() -> Storyboard:
    return storyboard(read_puzzle(PUZZLE), LEVELS["chains"])


def check(figure: Figure) -> None:
    """Nothing leaves the page, and no two texts meet, nor a text and a board."""
    boxes_ = [text.get_window_extent() for text in figure.texts if text.get_text()]
    # The small pictures of the legend meet at their edges.
    boxes_ += [ax.get_window_extent().padded(-1) for ax in figure.axes]
    for number, box in enumerate(boxes_):
        assert box.x0 >= 0
        assert box.y0 >= 0
        assert box.x1 <= figure.bbox.x1
        assert box.y1 <= figure.bbox.y1
        assert not [other for other in boxes_[:number] if box.overlaps(other)]


def test_there_is_a_page_a_part_after_the_contents(board: Storyboard) -> None:
    drawn = document(board, "Quay")
    assert drawn.startswith(b"%PDF")
    assert drawn.count(b"/Type /Page ") == len(board) + 1
    assert document(board, "Quay") == drawn


def test_pages_hold_what_is_said_and_it_fits(board: Storyboard) -> None:
    for begins, part in board.timed():
        figure = sheet(part, begins)
        check(figure)
        said = " ".join(text.get_text() for text in figure.texts).split()
        for sentence in (*part.sentences, part.title, part.beside, said_of_ways(part)):
            assert " ".join(sentence.split()) in " ".join(said)


def test_long_texts_and_tall_boards_fit_too(board: Storyboard) -> None:
    part = replace(board.parts[2], opens=LONG)
    check(sheet(part, 3599))
    large = storyboard(State.empty(boxes(4, 4)), SINGLES)
    check(sheet(large.parts[0], 0))


@pytest.mark.parametrize("title", ["Quay", LONG[:150]])
def test_contents_name_every_part(board: Storyboard, title: str) -> None:
    for times, wanted in ((1, 1), (3, 1), (4, 2), (8, 2)):
        told = replace(board, parts=board.parts * times)
        pages = list(_contents(told, title))
        assert len(pages) in (wanted, wanted + 1)
        # The legend is there once, and no page is without anything.
        assert [len(page.axes) > 0 for page in pages] == [False] * (len(pages) - 1) + [True]
        assert all(len(page.texts) > 3 for page in pages)
        said = [text.get_text() for page in pages for text in page.texts]
        for part in told:
            assert f"{part.number}. {part.title}" in said
        for page in pages:
            check(page)


def test_letters_get_smaller_before_anything_is_cut() -> None:
    short, large = fitting("Look at row 3.", 100)
    long, small = fitting(LONG, 300)
    assert (short, large) == ("Look at row 3.", 11)
    assert small < large
    assert long.split() == LONG.split()
    assert shortened("abc", 5) == "abc"
    assert shortened("a lamp and a rope", 12) == "a lamp a ..." or len(shortened(LONG, 12)) <= 12
