"""The page is whole: every part is in it, linked and described, and it needs nothing beside it."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest

from gridcrux.figures.legend import legend_of
from gridcrux.figures.storyboard import Storyboard, storyboard
from gridcrux.figures.storyboard.page import page
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
VOID = {"meta", "rect", "circle", "path", "br", "link", "input"}


class Reader(HTMLParser):
    """Collects tags with their attributes and checks that they nest."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


@pytest.fixture(scope="module")
def board() -> Storyboard:
    return storyboard(read_puzzle(PUZZLE), LEVELS["fish"])


@pytest.fixture(scope="module")
def read(board: Storyboard) -> Reader:
    reader = Reader()
    reader.feed(page(board, "Harbour & quay <1>"))
    assert not reader.open
    return reader


def test_every_part_has_a_heading_a_picture_and_a_link(board: Storyboard, read: Reader) -> None:
    sections = [attrs for tag, attrs in read.tags if tag == "section"]
    links = [attrs["href"] for tag, attrs in read.tags if tag == "a"]
    assert [each["id"] for each in sections] == [f"part-{part.number}" for part in board]
    assert [f"#{each['id']}" for each in sections] == links[1:]
    pictures = [attrs for tag, attrs in read.tags if tag == "svg"]
    assert sum(attrs.get("role") == "img" for attrs in pictures) == len(board) + 1
    entries = legend_of(part.scene for part in board)
    assert sum(attrs.get("aria-hidden") == "true" for attrs in pictures) == len(entries)
    assert all(entry.words in read.text for entry in entries)
    for part in board:
        assert all(sentence in read.text for sentence in part.sentences)
        assert part.title in read.text
        assert not part.hard or f"(hard step {part.hard_number})" in read.text


def test_other_ways_are_numbered_as_one_chooses_them(board: Storyboard, read: Reader) -> None:
    starts = [
        int(attrs["start"] or 0) for tag, attrs in read.tags if tag == "ol" and attrs.get("start")
    ]
    wanted = []
    for part in board:
        wanted += [1] if part.same else []
        wanted += [len(part.same) + 1] if part.others else []
        for way in part.ways:
            assert f"{way.technique}, " in read.text
            assert way.sentence in read.text
    assert starts == wanted


def test_why_it_ends_is_on_the_page() -> None:
    stuck = storyboard(read_puzzle("1... .... .... ...."), LEVELS["fish"])
    assert "There are several solutions" in page(stuck)


def test_names_are_used_once_and_all_that_is_referred_to_is_there(read: Reader) -> None:
    names = [attrs["id"] for _, attrs in read.tags if "id" in attrs]
    assert len(names) == len(set(names))
    for _, attrs in read.tags:
        for reference in (attrs.get("aria-labelledby") or "").split():
            assert reference in names


def test_nothing_is_fetched(board: Storyboard) -> None:
    text = page(board)
    assert not re.findall(r'(?:src|href)="(?!#)', text)
    assert "@import" not in text
    assert "url(" not in text
    assert set(re.findall(r"https?://[^\"' ]+", text)) == {"http://www.w3.org/2000/svg"}


def test_titles_are_text(read: Reader) -> None:
    assert read.text.count("Harbour & quay <1>") == 2
    assert ("html", {"lang": "en"}) in read.tags
