"""One suite over every figure function: whatever is called `plot_` in `gridcrux.figures`.

A new function is tested as soon as `figures/examples.py` beside the tests has examples of it.
"""

from __future__ import annotations

import inspect
import random
import re
import warnings
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

import matplotlib as mpl
import numpy as np
import pandas as pd
import pytest
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Text

import gridcrux.figures
from figures.drawn import figure_of, overlapping, pixels, written
from figures.examples import EXAMPLES, Example


def functions() -> Iterator[Callable[..., Axes]]:
    """Every public function of the package whose name begins with `plot_`."""
    for module in walk_packages(gridcrux.figures.__path__, "gridcrux.figures."):
        found = import_module(module.name)
        for name, value in vars(found).items():
            if name.startswith("plot_") and value.__module__ == found.__name__:
                yield value


PLOTS = {plot.__name__: plot for plot in functions()}

DRAWN = {"plot_board": ["state", "deduction"]}
"""Functions that draw more than one thing, which is what is not named in a call."""

NO_ARTIST = {"plot_board", "plot_scene"}
"""Functions that have no one set of artists which a caller could want to look otherwise."""

NEEDED = ("usual", "one row")

CASES = {
    f"{name}, {what}": example
    for name, examples in EXAMPLES.items()
    for what, example in examples.items()
}

every_plot = pytest.mark.parametrize("name", PLOTS)
every_case = pytest.mark.parametrize("example", CASES.values(), ids=list(CASES))


@pytest.fixture(autouse=True)
def clean() -> Iterator[None]:
    yield
    plt.close("all")


def first_of(name: str) -> Example:
    if name not in EXAMPLES:
        pytest.skip("no examples, which test_every_plot_has_examples reports")
    return next(iter(EXAMPLES[name].values()))


@every_plot
def test_every_plot_has_examples(name: str) -> None:
    assert name in EXAMPLES, (
        f"{PLOTS[name].__module__}.{name} has no examples: give it some in "
        f"tests/figures/examples.py, '{NEEDED[0]}' and '{NEEDED[1]}' at least"
    )
    if name not in NO_ARTIST:
        missing = [what for what in NEEDED if what not in EXAMPLES[name]]
        assert not missing, f"{name} has no example {missing} in tests/figures/examples.py"
    assert all(example.plot is PLOTS[name] for example in EXAMPLES[name].values())


def test_the_readme_names_every_figure() -> None:
    readme = Path("README.md").read_text(encoding="utf-8")
    assert {name for name in PLOTS if f".{name}`" not in readme} == {"plot_scene"}
    # And each where it is.
    named = re.findall(r"`([a-z_.]+)\.(plot_[a-z]+)`", readme)
    for module, name in named:
        assert PLOTS[name].__module__ == f"gridcrux.figures.{module}", name


def test_no_examples_of_what_is_not_there() -> None:
    assert set(EXAMPLES) <= set(PLOTS)


@every_plot
def test_what_is_drawn_comes_first_and_all_else_by_name(name: str) -> None:
    plot = PLOTS[name]
    parameters = list(inspect.signature(plot).parameters.values())
    drawn = [p for p in parameters if p.kind is p.POSITIONAL_OR_KEYWORD]
    assert [p.name for p in drawn] == DRAWN.get(name, [parameters[0].name])
    assert all(p.default is None for p in drawn[1:])
    rest = parameters[len(drawn) :]
    assert {p.kind for p in rest} <= {inspect.Parameter.KEYWORD_ONLY, inspect.Parameter.VAR_KEYWORD}
    (ax,) = [p for p in rest if p.name == "ax"]
    assert ax.default is None
    hints = inspect.get_annotations(plot, eval_str=True)
    assert hints["return"] is Axes
    assert hints["ax"] == Axes | None
    passed_on = [p.name for p in rest if p.kind is p.VAR_KEYWORD]
    assert passed_on == ([] if name in NO_ARTIST else ["artist"])
    document = inspect.getdoc(plot) or ""
    undocumented = [p.name for p in parameters if p.name not in document]
    assert name in NO_ARTIST or not undocumented


def state_of_the_world() -> dict[str, Any]:
    """What a figure function must leave alone."""
    return {
        "settings": dict(mpl.rcParams),
        "backend": mpl.get_backend(),
        "warnings": list(warnings.filters),
        "random": random.getstate(),
        "numpy": [str(part) for part in np.random.get_state()],
        "figures": plt.get_fignums(),
        "current": plt.gcf().number,
        "current picture": pixels(plt.gcf()).tobytes(),
        "current texts": [text.get_text() for text in plt.gcf().findobj(Text)],
    }


@every_case
def test_nothing_but_the_axes_given_is_drawn_on(example: Example) -> None:
    plt.figure(figsize=(2, 2), dpi=40).subplots()
    figure = Figure(figsize=(10, 5), dpi=40)
    other, axes = figure.subplots(1, 2)
    kept = [child for child in figure.get_children() if child is not axes]
    beside, places = (
        other.findobj(),
        [other.get_position(original=True).bounds, axes.get_position(original=True).bounds],
    )
    before, picture = state_of_the_world(), pixels(figure)[:, :200]
    copies = [each.copy() for each in example.drawn if isinstance(each, pd.DataFrame)]
    assert example.draw(ax=axes) is axes
    assert state_of_the_world() == before
    assert [child for child in figure.get_children() if child is not axes] == kept
    assert figure.axes == [other, axes]
    assert other.findobj() == beside
    axes.set_visible(False)
    assert np.array_equal(pixels(figure)[:, :200], picture)
    if example.plot.__name__ not in NO_ARTIST:
        assert [
            other.get_position(original=True).bounds,
            axes.get_position(original=True).bounds,
        ] == places
    for table, copy in zip(example.drawn, copies, strict=False):
        pd.testing.assert_frame_equal(table, copy)


@every_case
def test_without_axes_there_is_one_new_figure(example: Example) -> None:
    old = plt.figure()
    axes = example.draw()
    assert axes in figure_of(axes).axes
    assert plt.get_fignums() == [old.number, figure_of(axes).number]
    assert figure_of(axes).axes == [axes]


@every_case
def test_the_same_call_gives_the_same_picture(example: Example) -> None:
    one, two = (example.draw(ax=Figure(dpi=50).subplots()) for _ in range(2))
    assert np.array_equal(pixels(figure_of(one)), pixels(figure_of(two)))


@every_case
def test_texts_are_plain_and_keep_clear_of_each_other_and_the_edge(example: Example) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        figure = figure_of(example.draw())
        texts = written(figure)
    assert texts or example.plot.__name__ in NO_ARTIST
    assert overlapping(texts) == []
    words = {word.strip("(),:") for text, _ in texts for word in text.split()}
    assert not words & {"nan", "NaN", "<NA>", "None", "inf", "-0.00"}
    width, height = figure.bbox.size
    over = [
        text
        for text, corners in texts
        if corners.min() < -1 or corners[:, 0].max() > width + 1 or corners[:, 1].max() > height + 1
    ]
    assert over == []
    box = figure.get_tightbbox().extents * figure.dpi
    assert (box[:2] > -2).all()
    assert (box[2:] < figure.bbox.size + 2).all()


@pytest.mark.parametrize("name", [name for name in PLOTS if name not in NO_ARTIST])
def test_looks_are_passed_on(name: str) -> None:
    axes = first_of(name).draw(ax=Figure().subplots(), gid="asked for")
    assert any(artist.get_gid() == "asked for" for artist in axes.findobj())
