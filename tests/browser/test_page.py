"""The page of a storyboard in a browser: no network, the keyboard is enough, narrow screens."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe

from browser.pictures import keep
from gridcrux.figures.storyboard import Storyboard, storyboard
from gridcrux.figures.storyboard.page import page
from gridcrux.grids.text import read_puzzle
from gridcrux.techniques.repertoires import LEVELS

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"

NARROW = {"width": 400, "height": 800}


@pytest.fixture(scope="module")
def board() -> Storyboard:
    return storyboard(read_puzzle(PUZZLE), LEVELS["fish"])


@pytest.fixture(scope="module")
def address(board: Storyboard, tmp_path_factory: pytest.TempPathFactory) -> str:
    path: Path = tmp_path_factory.mktemp("page") / "index.html"
    path.write_text(page(board), encoding="utf-8")
    return path.as_uri()


@pytest.fixture
def opened(browser: Any, address: str) -> Iterator[Any]:
    """The page, with what it asked for and complained of."""
    tab = browser.new_page()
    tab.asked, tab.complaints = [], []
    tab.on("request", lambda request: tab.asked.append(request.url))
    tab.on("console", lambda message: tab.complaints.append(message.text))
    tab.on("pageerror", lambda error: tab.complaints.append(str(error)))
    tab.goto(address)
    yield tab
    tab.close()


def focused(tab: Any) -> str:
    """What has the focus: its address, its identity or its element."""
    return tab.evaluate(
        "() => { const it = document.activeElement;"
        " return it.getAttribute('href') || it.id || it.tagName.toLowerCase(); }"
    )


def outlined(tab: Any) -> bool:
    """Whether one sees where the focus is."""
    return tab.evaluate(
        "() => { const style = getComputedStyle(document.activeElement);"
        " return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2; }"
    )


def seen(tab: Any) -> list[str]:
    """The parts that are shown."""
    return [each.get_attribute("id") for each in tab.locator("section:visible").all()]


def test_nothing_is_asked_of_the_network(opened: Any, address: str, board: Storyboard) -> None:
    opened.keyboard.press("ArrowRight")
    opened.wait_for_load_state("networkidle")
    assert opened.asked == [address]
    assert opened.complaints == []
    assert opened.locator("section").count() == len(board) > 3


def test_every_part_is_reached_by_the_keyboard(opened: Any, board: Storyboard) -> None:
    wanted = {f"#part-{part.number}" for part in board} | {"back", "on", "all", "summary"}
    # The second part is shown first, so that the button back is not off.
    opened.keyboard.press("ArrowRight")
    opened.keyboard.press("ArrowRight")
    opened.locator("#all").press("Enter")
    opened.evaluate("() => { document.activeElement.blur(); window.scrollTo(0, 0); }")
    reached = set()
    for _ in range(4 * len(board) + 10):
        opened.keyboard.press("Tab")
        reached.add(focused(opened))
        if reached >= wanted:
            break
        assert focused(opened) == "body" or outlined(opened), focused(opened)
    assert reached >= wanted, wanted - reached


def test_a_chapter_opens_by_the_enter_key(opened: Any, board: Storyboard) -> None:
    last = f"part-{len(board)}"
    opened.locator(f'a[href="#{last}"]').press("Enter")
    assert opened.evaluate("() => location.hash") == f"#{last}"
    told = f"part {len(board)} of {len(board)}"
    opened.wait_for_function(f"() => document.querySelector('#where').textContent === '{told}'")


def test_arrows_show_one_part_after_another(opened: Any, board: Storyboard) -> None:
    assert len(seen(opened)) == len(board)
    for number in range(1, len(board) + 1):
        opened.keyboard.press("ArrowRight")
        assert seen(opened) == [f"part-{number}"]
        assert focused(opened) == f"part-{number}"
        assert opened.evaluate("() => location.hash") == f"#part-{number}"
    opened.keyboard.press("ArrowRight")
    assert seen(opened) == [f"part-{len(board)}"]
    assert opened.locator("#on").is_disabled()
    opened.keyboard.press("ArrowLeft")
    assert seen(opened) == [f"part-{len(board) - 1}"]
    opened.locator("#all").press("Enter")
    assert len(seen(opened)) == len(board)


def test_keys_lead_to_both_ends_and_back_to_all(opened: Any, board: Storyboard) -> None:
    opened.keyboard.press("End")
    assert len(seen(opened)) == len(board)
    opened.keyboard.press("ArrowRight")
    for key, number in (("End", len(board)), ("Home", 1)):
        opened.keyboard.press(key)
        assert seen(opened) == [f"part-{number}"]
    opened.keyboard.press("Escape")
    assert len(seen(opened)) == len(board)


def test_an_address_leads_to_its_part(opened: Any, address: str, board: Storyboard) -> None:
    opened.goto(f"{address}#part-3")
    opened.reload()
    assert opened.locator("#where").inner_text() == f"part 3 of {len(board)}"
    opened.keyboard.press("ArrowRight")
    assert seen(opened) == ["part-3"]
    opened.evaluate("() => { location.hash = 'part-2'; }")
    opened.wait_for_function(
        "() => document.querySelector('#where').textContent.startsWith('part 2')"
    )
    assert seen(opened) == ["part-2"]


def test_alone_a_board_is_larger_and_nothing_else_is_in_the_way(opened: Any) -> None:
    board = opened.locator("#part-2 svg")
    before = board.bounding_box()
    opened.set_viewport_size({"width": 1600, "height": 1000})
    opened.keyboard.press("ArrowRight")
    opened.keyboard.press("ArrowRight")
    assert board.bounding_box()["width"] > 1.5 * before["width"]
    assert not opened.locator(".contents").is_visible()
    for width, height in ((1600, 1000), (1000, 620)):
        opened.set_viewport_size({"width": width, "height": height})
        # The whole board is on the screen, above the buttons.
        shown = board.bounding_box()
        assert shown["y"] >= 0
        assert shown["y"] + shown["height"] <= opened.locator(".controls").bounding_box()["y"]
    keep(opened, "storyboard_page")


def test_it_can_be_read_without_scripts(browser: Any, address: str, board: Storyboard) -> None:
    context = browser.new_context(java_script_enabled=False)
    tab = context.new_page()
    tab.goto(address)
    assert len(seen(tab)) == len(board)
    assert not tab.locator(".controls").is_visible()
    for part in board:
        assert part.why in tab.locator(f"#part-{part.number}").inner_text()
    context.close()


@pytest.mark.parametrize("one", [False, True], ids=["all parts", "one part"])
def test_axe_finds_nothing(opened: Any, one: bool) -> None:
    if one:
        opened.keyboard.press("ArrowRight")
    found = Axe().run(opened)
    assert found.violations_count == 0, found.generate_report()


def test_axe_is_at_work(opened: Any) -> None:
    """What it would say if a picture had no name."""
    opened.evaluate("() => document.querySelector('svg').removeAttribute('aria-labelledby')")
    opened.evaluate("() => document.querySelector('svg title').remove()")
    assert Axe().run(opened).violations_count


@pytest.mark.parametrize("one", [False, True], ids=["all parts", "one part"])
def test_a_narrow_screen_scrolls_one_way(opened: Any, one: bool) -> None:
    opened.set_viewport_size(NARROW)
    if one:
        opened.keyboard.press("ArrowRight")
    widths = "() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    whole, shown = opened.evaluate(widths)
    assert whole <= shown == NARROW["width"]
    if one:
        keep(opened, "storyboard_narrow")
    for picture in opened.locator("section:visible svg").all():
        box = picture.bounding_box()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= NARROW["width"]
