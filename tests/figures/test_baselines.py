"""Every figure looks as it did when somebody last looked at it.

If one is meant to look otherwise, make its picture anew, look at it, and keep it::

    PYTHONPATH=tests python -m figures.baselines ["plot_crux, usual" ...]
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.text import Text
from PIL import Image

from figures.baselines import (
    FOLDER,
    MOST_BYTES,
    OTHER,
    PICTURES,
    SAME,
    difference,
    differs,
    path_of,
    picture,
    read,
)
from gridcrux.figures.palette import VERMILLION

COMMAND = "PYTHONPATH=tests python -m figures.baselines"


@pytest.mark.parametrize("name", PICTURES)
def test_it_looks_as_before(name: str, tmp_path: Path) -> None:
    assert path_of(name).exists(), f"there is no picture of it: {COMMAND} {name!r}"
    drawn = picture(PICTURES[name])
    Image.fromarray(drawn).save(tmp_path / "drawn.png")
    found = differs(name, drawn)
    assert found is None, (
        f"{tmp_path / 'drawn.png'} {found} from {path_of(name)}; if it is meant to: "
        f"{COMMAND} {name!r}"
    )


def test_every_picture_is_small_and_of_something() -> None:
    paths = sorted(FOLDER.glob("*.png"))
    assert paths == sorted(map(path_of, PICTURES))
    assert max(path.stat().st_size for path in paths) < MOST_BYTES


def texts(ax: Axes) -> Iterator[Text]:
    """Texts of axes, those within before those around."""
    yield from ax.texts
    yield ax.xaxis.label
    yield ax.yaxis.label
    if legend := ax.get_legend():
        yield from legend.get_texts()


def without_label(ax: Axes) -> None:
    next(text for text in texts(ax) if text.get_text()).set_visible(False)


def without_legend_text(ax: Axes) -> None:
    *_, last = texts(ax)
    last.set_visible(False)


def recoloured(ax: Axes) -> None:
    [*ax.patches, *ax.lines][0].set_color(VERMILLION)


def on_another_axes(ax: Axes) -> None:
    """Here an artist is missing then, whatever becomes of it there."""
    [*ax.patches, *ax.lines][0].remove()


FAULTS = (without_label, without_legend_text, recoloured, on_another_axes)

SEEN = ("plot_techniques, usual", "plot_means, usual", "plot_widths, usual", "plot_scaling, usual")


@pytest.mark.parametrize("fault", FAULTS)
@pytest.mark.parametrize("name", SEEN)
def test_a_fault_is_seen(name: str, fault: Callable[[Axes], None]) -> None:
    before, spoilt = picture(PICTURES[name]), picture(PICTURES[name], fault)
    assert difference(spoilt, before, SAME[0]) > SAME[1]


@pytest.mark.parametrize("role", ["placed", "place-disc", "premise-outline"])
def test_a_board_without_one_of_its_marks_is_seen(role: str) -> None:
    def spoil(ax: Axes) -> None:
        (mark,) = (artist for artist in ax.get_children() if artist.get_gid() == role)
        mark.set_visible(False)

    assert differs("plot_board, placement", picture(PICTURES["plot_board, placement"], spoil))


def test_a_missing_name_and_another_colour_are_seen_by_any_version() -> None:
    example = PICTURES["plot_techniques, usual"]
    for fault in (recoloured, lambda ax: ax.set_xlabel("")):
        assert difference(picture(example, fault), read("plot_techniques, usual")[0], 2) > OTHER[1]


@pytest.mark.parametrize("name", SEEN)
def test_what_is_moved_a_little_is_no_fault_in_other_versions(name: str) -> None:
    before, _ = read(name)
    moved = np.roll(before, (-1, 2), (0, 1))
    assert difference(moved, before, OTHER[0]) < OTHER[1] / 3
    assert difference(moved, before, SAME[0]) > SAME[1]


def test_pictures_of_other_sizes_differ() -> None:
    blank = np.full((40, 60, 3), 255, np.uint8)
    assert difference(blank, blank[:-1], 0) == 0
    assert difference(blank, blank[:-2], 0) == np.inf
    assert difference(blank, blank[:, :-2], 0) == np.inf
