"""Pictures of figures as they were when somebody last looked at them, and how far others differ.

To make them anew, all or those named, and then look at them::

    PYTHONPATH=tests python -m figures.baselines [name ...]
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import product
from pathlib import Path

import matplotlib as mpl
import numpy as np
from matplotlib import ft2font
from matplotlib import pyplot as plt
from matplotlib.axes import Axes
from numpy.typing import NDArray
from PIL import Image
from PIL.PngImagePlugin import PngInfo
from scipy.ndimage import uniform_filter

from figures.drawn import figure_of, pixels
from figures.examples import EXAMPLES, Example

FOLDER = Path(__file__).parent / "baseline"

MOST_BYTES = 25_000

BLUR, WINDOW = 3, 13
"""Pixels over which pictures are blurred, and over which differences are averaged."""

MADE_WITH = f"matplotlib {mpl.__version__}, FreeType {ft2font.__freetype_version__}"

SAME, OTHER = (0, 4.0), (2, 30.0)
"""Pixels by which what is in a window may be elsewhere, and the greatest difference of 255: where
letters are drawn by the same version, so that only the few colours of the files differ; and where
another one drew them (3.9 and 3.10 come to 23 beside 3.11)."""

MORE = ("plot_needs, together", "plot_rates, rare", "plot_differences, numbers")
"""Examples that look unlike the first one of their function."""

PICTURES: dict[str, Example] = {
    f"{plot}, {what}": example
    for plot, examples in EXAMPLES.items()
    for place, (what, example) in enumerate(examples.items())
    if place == 0 or plot == "plot_board" or f"{plot}, {what}" in MORE
}
"""The first example of every function, every board, and `MORE`."""


PLACE = (0.28, 0.26, 0.46, 0.56)
"""Where axes stand in a picture, with room for names beside them and below."""


def path_of(name: str) -> Path:
    return FOLDER / f"{name.replace(', ', '-').replace(' ', '-')}.png"


@contextmanager
def plain_settings(**more: object) -> Iterator[None]:
    """Matplotlib as it comes, with its own font, and letters that are not fitted to pixels."""
    with mpl.rc_context():
        mpl.rcdefaults()
        usual = {"figure.dpi": 50, "text.hinting": "none"}
        mpl.rcParams.update(usual | {"font.sans-serif": ["DejaVu Sans"]} | more)
        yield


def picture(
    example: Example, change: Callable[[Axes], object] = lambda _: None, **settings: object
) -> NDArray[np.uint8]:
    """(height, width, 3) an example in a figure of its own.

    Parameters
    ----------
    change : what happens to the axes before they are shown.
    settings : of matplotlib.
    """
    with plain_settings(**settings):
        axes = example.draw()
        change(axes)
        # A layout that fits itself to the texts moves all as soon as a font is a little wider.
        figure_of(axes).set_layout_engine("none")
        if axes.axison:
            axes.set_position(PLACE)
        drawn = pixels(figure_of(axes))
        plt.close(figure_of(axes))
    return drawn


def read(name: str) -> tuple[NDArray[np.uint8], str]:
    """A baseline, and what it was made with."""
    with Image.open(path_of(name)) as image:
        return np.asarray(image.convert("RGB")), str(image.info.get("Software"))


def differs(name: str, drawn: NDArray[np.uint8]) -> str | None:
    """How a picture differs from its baseline, in words; None if it does not."""
    before, made_with = read(name)
    shift, most = SAME if made_with == MADE_WITH else OTHER
    found = difference(drawn, before, shift)
    return None if found <= most else f"differs by {found:.0f} of 255, more than {most:.0f}"


def difference(one: NDArray[np.uint8], two: NDArray[np.uint8], shift: int) -> float:
    """How far two pictures differ where they differ most, of 255; infinite for other sizes.

    It is the root mean square of the differences in a window, of blurred pictures, for the window
    in which it is greatest; there one picture may be moved by up to `shift` pixels.  So another
    version of a font counts little wherever there are letters, and a label that is missing counts
    much however large the picture is.
    """
    height, width = (min(sides) for sides in zip(one.shape[:2], two.shape[:2], strict=True))
    # Versions of matplotlib round the size differently.
    if max(one.shape[0], two.shape[0]) > height + 1 or max(one.shape[1], two.shape[1]) > width + 1:
        return float("inf")
    moved, still = (_blurred(each[:height, :width], shift) for each in (one, two))
    best = np.full(still.shape[:2], np.inf, np.float32)
    for across, down in product(range(-shift, shift + 1), repeat=2):
        squares = ((np.roll(moved, (down, across), (0, 1)) - still) ** 2).mean(axis=2)
        np.minimum(best, uniform_filter(squares, WINDOW, mode="nearest"), out=best)
    return float(np.sqrt(best.max()))


def _blurred(drawn: NDArray[np.uint8], margin: int) -> NDArray[np.float32]:
    """A picture with white around it, so that moving it brings in nothing from the other side."""
    frame = ((margin, margin), (margin, margin), (0, 0))
    padded = np.pad(drawn, frame, constant_values=255).astype(np.float32)
    return uniform_filter(padded, (BLUR, BLUR, 0), mode="nearest")


def save(name: str, drawn: NDArray[np.uint8]) -> None:
    # There are few colours; a table of them makes the file half as long.
    table = {"method": Image.Quantize.MEDIANCUT, "kmeans": 3, "dither": Image.Dither.NONE}
    few = Image.fromarray(drawn).quantize(256, **table)
    about = PngInfo()
    about.add_text("Software", MADE_WITH)
    few.save(path_of(name), format="png", optimize=True, pnginfo=about)


def main(names: list[str]) -> None:
    FOLDER.mkdir(exist_ok=True)
    for name in names or PICTURES:
        save(name, picture(PICTURES[name]))
    if not names:
        for path in set(FOLDER.glob("*.png")) - set(map(path_of, PICTURES)):
            path.unlink()


if __name__ == "__main__":
    main(sys.argv[1:])
