"""The storyboard as files: a picture a part and a legend, a page, a document, a moving picture."""

from __future__ import annotations

import re
from collections.abc import Iterator
from errno import EISDIR, ENOTDIR
from io import BytesIO
from pathlib import Path

import matplotlib as mpl
from matplotlib.figure import Figure
from PIL import Image

from gridcrux.corpus.files import moved
from gridcrux.figures.board import plot_scene
from gridcrux.figures.legend import legend_of
from gridcrux.figures.marks import Scene
from gridcrux.figures.storyboard.document import document, draw_legend, wrapped
from gridcrux.figures.storyboard.page import page
from gridcrux.figures.storyboard.story import Storyboard
from gridcrux.figures.svg import scene_svg

KINDS = ("svg", "png", "html", "pdf", "gif")
"""What can be written."""

TITLE = "A walk through a puzzle"
"""Of the page and the document, if none is given."""

PICTURE_INCHES, DOTS = 4.7, 200
"""Width and resolution of the picture of a part: 12 cm, and sharp at half of that in print."""

_OURS = re.compile(
    r"(part-\d{2,}|puzzle|legend)\.(svg|png)|index\.html|storyboard\.(pdf|gif)|chapters\.txt|parts\.csv"
)
"""Names of the files that a storyboard consists of."""

CAPTION_INCHES = 0.5
"""Height of the two lines below a board in the moving picture."""

COLOURS = 128
MOVING_PIXELS = 560
LEAST_SECONDS, MOST_SECONDS = 2.0, 10.0
"""How long a part stands in the moving picture: a third of its speaking time, within these."""


def write_storyboard(
    board: Storyboard, out: Path, kinds: tuple[str, ...] = KINDS, title: str | None = None
) -> list[Path]:
    """Write the files of a storyboard into a folder, and tell which.

    `part-01.png` and so on with `puzzle.png` and `legend.png`, the same as `.svg`, `index.html`,
    `storyboard.pdf`, `storyboard.gif`, and always `chapters.txt` and `parts.csv`.  The same
    storyboard gives the same files.  Files of these names that an earlier walk left in the folder
    are removed; others are not touched.

    Raises
    ------
    ValueError : a kind is none of `KINDS`.
    OSError : a file cannot be written.
    """
    unknown = [kind for kind in kinds if kind not in KINDS]
    if unknown:
        raise ValueError(f"no file of kind {unknown[0]!r}; there are {', '.join(KINDS)}")
    if out.exists() and not out.is_dir():
        raise NotADirectoryError(ENOTDIR, "is a file; expected a folder, or none yet", str(out))
    # All is drawn before the files of an earlier walk go.
    contents = dict(_contents(board, kinds, title or TITLE))
    out.mkdir(parents=True, exist_ok=True)
    if taken := [name for name in contents if (out / name).is_dir()]:
        path = str(out / taken[0])
        raise IsADirectoryError(EISDIR, "is a folder where a file is to be written", path)
    for old in sorted(out.iterdir()):
        if _OURS.fullmatch(old.name) and old.is_file():
            old.unlink()
    for name, content in contents.items():
        with moved(out / name) as target:
            target.write_bytes(content)
    return [out / name for name in contents]


def _contents(board: Storyboard, kinds: tuple[str, ...], title: str) -> Iterator[tuple[str, bytes]]:
    """The files, by name."""
    yield "chapters.txt", f"{board.chapters}\n".encode()
    yield "parts.csv", board.table.to_csv(index=False).encode()
    if "svg" in kinds:
        yield "puzzle.svg", scene_svg(board.opening).encode()
    if "png" in kinds:
        yield "puzzle.png", _drawn(picture(board.opening), "png")
    digits = max(2, len(str(len(board))))
    for part in board:
        name = f"part-{part.number:0{digits}d}"
        if "svg" in kinds:
            yield f"{name}.svg", scene_svg(part.scene).encode()
        if "png" in kinds:
            yield f"{name}.png", _drawn(picture(part.scene), "png")
    for kind in ("svg", "png"):
        if kind in kinds:
            yield f"legend.{kind}", _drawn(legend(board), kind)
    if "html" in kinds:
        yield "index.html", page(board, title).encode()
    if "pdf" in kinds:
        yield "storyboard.pdf", document(board, title)
    if "gif" in kinds:
        yield "storyboard.gif", moving(board)


def picture(scene: Scene, caption: str | None = None) -> Figure:
    """A board alone, or with a caption below."""
    frame = scene.frame
    high = PICTURE_INCHES * frame.height / frame.width
    below = 0.0 if caption is None else CAPTION_INCHES
    figure = Figure(figsize=(PICTURE_INCHES, high + below))
    share = below / (high + below)
    plot_scene(scene, ax=figure.add_axes((0, share, 1, 1 - share)))
    if caption is not None:
        text = wrapped(caption, 54)
        figure.text(0.03, share * 0.92, text, fontsize=10, va="top", linespacing=1.2)
    return figure


def legend(board: Storyboard) -> Figure:
    """What the marks in the pictures of a storyboard mean."""
    entries = legend_of(part.scene for part in board)
    figure = Figure(figsize=(3.6, 0.4 * max(len(entries), 1)))
    draw_legend(figure, entries, (0.02, 0, 0.98, 1), columns=1)
    return figure


def moving(board: Storyboard) -> bytes:
    """The puzzle, then the boards with their titles, each as long as it deserves; then again."""
    shown = [(board.opening, "The puzzle", 0.0)]
    shown += [
        (part.scene, f"{part.number}. {part.title}", board.seconds(part) / 3) for part in board
    ]
    # A board without candidates has no key below it, so it may be less high.
    dots = round(MOVING_PIXELS / PICTURE_INCHES)
    frames = [_raster(picture(scene, caption), dots) for scene, caption, _ in shown]
    size = max(frame.size for frame in frames)
    frames = [frame if frame.size == size else _larger(frame, size) for frame in frames]
    durations = [
        round(1000 * min(max(seconds, LEAST_SECONDS), MOST_SECONDS)) for _, _, seconds in shown
    ]
    drawn = BytesIO()
    frames[0].save(
        drawn, "GIF", save_all=True, append_images=frames[1:], duration=durations, loop=0
    )
    return drawn.getvalue()


def _drawn(figure: Figure, kind: str) -> bytes:
    """A figure as a file that is the same whenever the same figure is drawn."""
    drawn = BytesIO()
    if kind == "png":
        _raster(figure, DOTS).save(drawn, "PNG", dpi=(DOTS, DOTS))
    else:
        # Without the date and the name of the program that made it, which would change the file.
        with mpl.rc_context({"svg.hashsalt": "gridcrux"}):
            figure.savefig(drawn, format=kind, metadata={"Creator": None, "Date": None})
    return drawn.getvalue()


def _larger(frame: Image.Image, size: tuple[int, int]) -> Image.Image:
    """A picture with white below it."""
    whole = Image.new("RGB", size, "white")
    whole.paste(frame.convert("RGB"), (0, 0))
    return whole.quantize(COLOURS, Image.Quantize.FASTOCTREE)


def _raster(figure: Figure, dots: int) -> Image.Image:
    """A figure as points of few colours, which are enough and make a file a third as long."""
    drawn = BytesIO()
    figure.savefig(drawn, dpi=dots, format="rgba")
    size = (int(dots * figure.get_figwidth()), int(dots * figure.get_figheight()))
    shown = Image.frombytes("RGBA", size, drawn.getvalue())
    few: Image.Image = shown.convert("RGB").quantize(COLOURS, Image.Quantize.FASTOCTREE)
    # Colours are means of what they stand for; paper stays white.
    few.putpalette([255 if part > 250 else part for part in few.getpalette() or ()])
    return few
