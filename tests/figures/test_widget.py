"""The widget shows every step and state of a route, marks digits, and answers claims."""

from __future__ import annotations

import sys
import time
from typing import Any
from xml.etree import ElementTree

import pytest

from gridcrux.figures.scene import board_scene
from gridcrux.figures.storyboard.part import STATUS_WORDS
from gridcrux.figures.svg import board_svg, scene_svg
from gridcrux.figures.widget import step_through
from gridcrux.figures.widget.highlight import (
    ALL,
    ANY,
    CANDIDATES,
    MARKS,
    cells_with,
    marked,
    places_in_words,
)
from gridcrux.grids.layout import boxes
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.essential import crux
from gridcrux.techniques.repertoires import LEVELS
from gridcrux.techniques.sketch import sketch

PUZZLE = ".67.....1...7...963........4.1.....5......1...5.6.9.2.....4625....138.6......2..3"
HARD = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."
SPACE = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def judged() -> Any:
    return crux(read_puzzle(PUZZLE), LEVELS["fish"])


def overlay(picture: str, role: str) -> list[tuple[int, int]]:
    """Row and column of each mark of a role, which come before the lines and the digits."""
    groups = [group.get("class") for group in ElementTree.fromstring(picture).iter(f"{SPACE}g")]
    drawn = [name for name in groups if name]
    assert drawn.index(role) < drawn.index("line") < drawn.index("border")
    (found,) = ElementTree.fromstring(picture).findall(f"{SPACE}g[@class='{role}']")
    rects = found.iter(f"{SPACE}rect")
    return [(int(float(each.get("y")) // 44), int(float(each.get("x")) // 44)) for each in rects]


def test_every_step_is_shown_with_its_sentence_and_status(judged: Any) -> None:
    widget = step_through(judged)
    assert widget.slider.max == len(judged.route) + 1
    states = list(judged.route.states())
    for number, (step, status) in enumerate(judged, 1):
        assert widget.slider.value == number
        assert widget.board.value == board_svg(states[number - 1], step)
        assert widget.state is widget._states[number - 1]
        told = ElementTree.fromstring(f"<div>{widget.told.value}</div>")
        said = ["".join(each.itertext()) for each in told]
        assert said == [
            f"Step {number} of {len(judged.route)}: {step.technique}",
            step.sentence,
            STATUS_WORDS[status],
        ]
        widget.on.click()
    assert "62 steps: solved" in widget.told.value
    assert widget.board.value == board_svg(judged.route.end)
    assert (widget.back.disabled, widget.on.disabled) == (False, True)
    widget.on.click()
    assert widget.slider.value == widget.number.value == len(states)
    widget.back.click()
    assert widget.slider.value == len(states) - 1
    widget.number.value = 1
    assert (widget.slider.value, widget.back.disabled, widget.on.disabled) == (1, True, False)


def test_a_route_has_no_statuses_and_a_state_is_judged_first(judged: Any) -> None:
    plain = step_through(judged.route)
    assert not any(words in plain.told.value for words in STATUS_WORDS.values())
    solved = step_through(judged.route.start, LEVELS["fish"])
    assert (solved.told.value, solved.statuses) == (
        step_through(judged).told.value,
        judged.statuses,
    )


def test_every_control_has_a_description(judged: Any) -> None:
    widget = step_through(judged)
    controls = [
        *(widget.slider, widget.number, widget.back, widget.on, widget.marks, widget.claim),
        *(widget.ask, *widget.digits),
    ]
    assert all(each.description for each in controls)
    assert [box.description for box in widget.digits] == list("123456789")
    larger = step_through(crux(State.from_digits([1] + [0] * 15), LEVELS["singles"]))
    assert [box.description for box in larger.digits] == list("1234")


def test_digits_are_marked_in_every_state(judged: Any) -> None:
    widget = step_through(judged.route)
    for number in (1, 17, len(judged.route) + 1):
        widget.slider.value = number
        widget.digits[6].value = True
        assert widget.marked == [7]
        shown = [cell for cell in range(81) if 7 in widget.state.digits_of(cell)]
        assert len(overlay(widget.board.value, "highlight")) == len(shown)
        widget.marks.value = ANY
        blank = [cell for cell in shown if not widget.state.placed >> cell & 1]
        assert not blank or len(overlay(widget.board.value, "highlight-cell")) == len(blank)
        assert blank or "highlight-cell" not in widget.board.value
        widget.marks.value = CANDIDATES
        widget.digits[6].value = False
        assert "highlight" not in widget.board.value


@pytest.mark.parametrize("shape", [(2, 2), (2, 3), (4, 4)])
@pytest.mark.parametrize("marks", MARKS)
def test_marks_stand_where_the_digits_are(shape: tuple[int, int], marks: str) -> None:
    """In every cell whose digits were chosen, and nowhere else."""
    layout = boxes(*shape)
    thirds = sum(1 << candidate for candidate in range(0, layout.candidates, 3))
    written = State.from_digits([2] + [0] * (layout.cells - 1), layout)
    state = written.without(thirds & ~(1 << layout.cells))
    chosen = [1, 3]
    open_ = [set(state.digits_of(cell)) & set(chosen) for cell in range(layout.cells)]
    if marks == CANDIDATES:
        wanted = [cell for digit in chosen for cell, each in enumerate(open_) if digit in each]
    else:
        least = 2 if marks == ALL else 1
        blank = [not state.placed >> cell & 1 for cell in range(layout.cells)]
        wanted = [c for c, each in enumerate(open_) if len(each) >= least and blank[c]]
        assert cells_with(state, chosen, marks) == wanted
    candidates, cells = marked(state, chosen, marks)
    picture = scene_svg(board_scene(state, highlight=candidates, framed=cells))
    role = "highlight" if marks == CANDIDATES else "highlight-cell"
    places = [row * layout.size + column for row, column in overlay(picture, role)]
    assert places == wanted


def test_what_is_marked_is_told() -> None:
    state = sketch(boxes(2, 2), "cell r1c1: 1 2", "cell r1c2: 2", "1 in row 2: r2c1 r2c2")
    cells = [state.layout.cell_name(c) for c in cells_with(state, [1, 2], ALL)]
    assert places_in_words(state, [1, 2], ALL).startswith("1 and 2 can be in r1c1")
    assert all(name in places_in_words(state, [1, 2], ALL) for name in cells)
    assert places_in_words(state, []) == ""
    solved = read_puzzle("1234 3412 2143 4321")
    assert places_in_words(solved, [3]) == "3 can be in no blank cell."
    # A written digit is not framed either.
    for marks in (ANY, ALL):
        assert marked(solved, [3], marks) == (0, 0)


def test_claims_are_answered_for_the_state_that_is_shown(judged: Any) -> None:
    widget = step_through(judged)
    number = next(n for n, step in enumerate(judged.route, 1) if step.technique == "x-wing")
    step = judged.route.steps[number - 1]
    widget.slider.value = number
    widget.claim.value = step.elimination_names[0].replace("=", "!=")
    assert "is forced." in widget.answer.value
    assert "2 premises" in widget.answer.value
    assert "Suppose that" in widget.answer.value
    assert "Checked by DRAT check" in widget.answer.value
    told = widget.answer.value
    # Another step is another question; the answer to this one is kept.
    widget.on.click()
    assert widget.answer.value == ""
    widget.back.click()
    assert widget.answer.value == told
    widget.claim.value = ""
    assert widget.answer.value == ""


def test_a_refuted_claim_is_answered_by_a_solution() -> None:
    state = read_puzzle("1... .... .... ....")
    widget = step_through(crux(state, LEVELS["singles"]))
    widget.claim.value = "r1c2=2"
    assert "r1c2=2 is not forced" in widget.answer.value
    start = widget.answer.value.index("<svg")
    picture = ElementTree.fromstring(widget.answer.value[start:])
    texts = [each.text for each in picture.iter(f"{SPACE}text")]
    assert sum(text in set("1234") for text in texts) == 16
    assert picture.find(f"{SPACE}g[@class='fresh-ring']") is not None


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "nothing is claimed"),
        ("r4c5", "expected one like r4c2=1 or r4c2!=1"),
        ("r4c5=17", "there is no digit 17; expected 1 to 9"),
        ("<b>r4c5=7", "&lt;b&gt;r4c5=7"),
    ],
)
def test_what_is_no_claim_is_explained(judged: Any, text: str, expected: str) -> None:
    widget = step_through(judged)
    widget.claim.value = text
    widget.ask.click()
    assert expected in widget.answer.value
    assert "<b>" not in widget.answer.value


def test_an_answer_takes_some_seconds_at_most() -> None:
    """The smallest explanation is not found in a second; so it is told between which bounds."""
    widget = step_through(crux(read_puzzle(HARD), LEVELS["singles"]), seconds=0.3)
    began = time.monotonic()
    widget.claim.value = "r1c1=5"
    assert time.monotonic() - began < 8
    assert "r1c1=5 is forced." in widget.answer.value
    assert "premises" in widget.answer.value
    assert "between" in widget.answer.value


def test_without_ipywidgets_one_is_told_how_to_get_it(
    judged: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("gridcrux.figures.widget.find_spec", lambda name: None)
    monkeypatch.delitem(sys.modules, "gridcrux.figures.widget.stepper", raising=False)
    with pytest.raises(ModuleNotFoundError, match=r"pip install 'gridcrux\[notebook\]'"):
        step_through(judged)


@pytest.mark.parametrize("what", [None, PUZZLE, 7])
def test_what_cannot_be_stepped_through_is_told(what: Any) -> None:
    with pytest.raises(TypeError, match=r"expected a state \(as `read_puzzle` returns it\)"):
        step_through(what)
