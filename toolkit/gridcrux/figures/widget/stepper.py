"""The widget itself: a slider over the steps of a route, marks for digits, and a question."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Any

from ipywidgets import (
    HTML,
    BoundedIntText,
    Box,
    Button,
    Checkbox,
    Dropdown,
    HBox,
    IntSlider,
    Layout,
    Text,
    VBox,
    link,
)

from gridcrux.figures.scene import board_scene
from gridcrux.figures.storyboard.part import STATUS_WORDS
from gridcrux.figures.svg import scene_svg
from gridcrux.figures.widget.asking import answer_html
from gridcrux.figures.widget.highlight import MARKS, marked, places_in_words
from gridcrux.grids.state import State
from gridcrux.logic.route import Route

_EXAMPLE = "r1c2!=3 or r1c2=3"


class StepThrough(VBox):
    """A route to step through; every part can be set and read from code as well.

    Parameters
    ----------
    route : what is shown.
    statuses : of its steps, or none.
    seconds : limit for each part of the answer to a claim.

    Attributes
    ----------
    slider, number : the step that is shown, from 1; one more for the end.  The two are one value;
        the field can be told by name to those who do not see the slider.
    back, on : buttons to the step before and after.
    digits : for each digit whether it is marked.
    marks : what is marked of it, one of `highlight.MARKS`.
    board : the picture.
    told : number, technique, sentence and status of the step, and what is marked.
    claim : what is asked, like ``r4c5!=7``.
    ask : the button that asks; the enter key in the field does, too.
    answer : what is known of the claim in the state that is shown.
    """

    def __init__(self, route: Route, statuses: Sequence[str], seconds: float) -> None:
        self.route, self.statuses, self.seconds = route, tuple(statuses), seconds
        self._states = tuple(route.states())
        self._answers: dict[tuple[int, str], str] = {}
        size = route.start.layout.size
        whole, short = {"description_width": "initial"}, Layout(width="5em")
        last = len(self._states)
        self.slider = IntSlider(
            *(1, 1, last),
            description="step",
            readout=False,
            style=whole,
            layout=Layout(width="13em"),
        )
        self.number = BoundedIntText(
            *(1, 1, last), description="number", style=whole, layout=Layout(width="8em")
        )
        link((self.slider, "value"), (self.number, "value"))
        self.back = Button(description="back", tooltip="to the step before", layout=short)
        self.on = Button(description="on", tooltip="to the step after", layout=short)
        self.digits = [
            Checkbox(
                description=str(digit),
                tooltip=f"mark {digit}",
                indent=False,
                layout=Layout(width="auto", margin="0 .6em 0 0"),
            )
            for digit in range(1, size + 1)
        ]
        self.marks = Dropdown(options=MARKS, description="mark", style=whole)
        self.board, self.told = HTML(), HTML()
        self.claim = Text(
            description="claim", placeholder=_EXAMPLE, continuous_update=False, style=whole
        )
        self.ask = Button(description="is it forced?", tooltip="in the state that is shown")
        self.answer = HTML()
        self._connect()
        wrap, half = Layout(flex_flow="row wrap"), Layout(flex="1 1 20em", min_width="16em")
        beside = VBox(
            [
                HBox([self.slider, self.number, self.back, self.on], layout=wrap),
                HBox([self.marks, Box(self.digits, layout=wrap)], layout=wrap),
                self.told,
                HBox([self.claim, self.ask], layout=wrap),
                self.answer,
            ],
            layout=half,
        )
        super().__init__([HBox([VBox([self.board]), beside], layout=wrap)])
        self._draw()

    @property
    def state(self) -> State:
        """The state that is shown."""
        return self._states[self.slider.value - 1]

    @property
    def marked(self) -> list[int]:
        """The digits that are marked."""
        return [digit for digit, box in enumerate(self.digits, 1) if box.value]

    def _connect(self) -> None:
        self.slider.observe(self._moved, "value")
        self.back.on_click(lambda _: self._move(-1))
        self.on.on_click(lambda _: self._move(1))
        for each in (*self.digits, self.marks):
            each.observe(self._draw, "value")
        self.claim.observe(self._typed, "value")
        self.ask.on_click(lambda _: self._ask())

    def _move(self, steps: int) -> None:
        # The slider keeps to its ends by itself.
        self.slider.value += steps

    def _moved(self, _: Any) -> None:
        self._draw()
        self.answer.value = self._answers.get(self._question, "")

    def _draw(self, _: Any = None) -> None:
        number, state = self.slider.value, self.state
        self.back.disabled = number == 1
        self.on.disabled = number == len(self._states)
        step = self.route.steps[number - 1] if number <= len(self.route) else None
        candidates, cells = marked(state, self.marked, self.marks.value)
        self.board.value = scene_svg(board_scene(state, step, highlight=candidates, framed=cells))
        if step is None:
            said = [f"<b>After {len(self.route)} steps: {self.route.status}.</b>"]
        else:
            said = [f"<b>Step {number} of {len(self.route)}: {escape(step.technique)}</b>"]
            said.append(escape(step.sentence))
            if self.statuses:
                said.append(escape(STATUS_WORDS[self.statuses[number - 1]]))
        if self.marked:
            said.append(escape(places_in_words(state, self.marked, self.marks.value)))
        self.told.value = "".join(f"<p>{line}</p>" for line in said)

    @property
    def _question(self) -> tuple[int, str]:
        return self.slider.value, self.claim.value.strip()

    def _typed(self, _: Any) -> None:
        if self.claim.value.strip():
            self._ask()
        else:
            self.answer.value = ""

    def _ask(self) -> None:
        """Answer the claim; what was answered before is not worked out again."""
        asked = self._question
        if asked not in self._answers:
            self.answer.value = "<p>working ...</p>"
            self._answers[asked] = answer_html(self.state, asked[1], self.seconds)
        self.answer.value = self._answers[asked]
