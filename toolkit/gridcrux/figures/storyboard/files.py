"""The storyboard as files: a picture a part (PNG and SVG), a page, a document, a moving picture."""

from __future__ import annotations

import re
from io import BytesIO
from pathlib import Path
from textwrap import fill
from typing import Any

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from PIL import Image

from gridcrux.corpus.files import moved
from gridcrux.figures.board import plot_scene
from gridcrux.figures.palette import GREY
from gridcrux.figures.storyboard.page import page
from gridcrux.figures.storyboard.story import Part, Storyboard, clock
from gridcrux.figures.svg import scene_svg

KINDS = ("svg", "png", "html", "pdf", "gif")
"""What can be written."""

PICTURE_INCHES, DOTS = 4.7, 200
"""Side and resolution of the picture of a part: 12 cm, and sharp at half of that in print."""

_OURS = re.compile(
    r"part-\d{2,}\.(svg|png)|index\.html|storyboard\.(pdf|gif)|chapters\.txt|parts\.csv"
)
"""Names of the files that a storyboard consists of."""

MOVING_PIXELS = 560
LEAST_SECONDS, MOST_SECONDS = 1.5, 6.0
"""How long a part stands in the moving picture: a third of its speaking time, within these."""


def write_storyboard(
    board: Storyboard, out: Path, kinds: tuple[str, ...] = KINDS, title: str | None = None
) -> list[Path]:
    """Write the files of a storyboard into a folder, and tell which.

    `part-01.png` and so on, `index.html`, `storyboard.pdf`, `storyboard.gif`, and always
    `chapters.txt` and `parts.csv`.  The same storyboard gives the same files.  Files of these
    names that an earlier walk left in the folder are removed; others are not touched.

    Raises
    ------
    ValueError : a kind is none of `KINDS`.
    OSError : a file cannot be written.
    """
    unknown = [kind for kind in kinds if kind not in KINDS]
    if unknown:
        raise ValueError(f"no file of kind {unknown[0]!r}; there are {', '.join(KINDS)}")
    out.mkdir(parents=True, exist_ok=True)
    for old in sorted(out.iterdir()):
        if _OURS.fullmatch(old.name) and old.is_file():
            old.unlink()
    written: list[Path] = []

    def keep(name: str, content: str | bytes) -> None:
        with moved(out / name) as target:
            target.write_bytes(content.encode() if isinstance(content, str) else content)
        written.append(out / name)

    keep("chapters.txt", board.chapters + "\n")
    keep("parts.csv", board.table.to_csv(index=False))
    digits = max(2, len(str(len(board))))
    for part in board:
        name = f"part-{part.number:0{digits}d}"
        if "svg" in kinds:
            keep(f"{name}.svg", scene_svg(part.scene))
        if "png" in kinds:
            keep(f"{name}.png", _png(picture(part), DOTS))
    if "html" in kinds:
        keep("index.html", page(board, title or "A walk through a puzzle"))
    if "pdf" in kinds:
        keep("storyboard.pdf", document(board, title))
    if "gif" in kinds:
        keep("storyboard.gif", moving(board))
    return written


def picture(part: Part) -> Figure:
    """The board of a part alone."""
    figure = Figure(figsize=(PICTURE_INCHES, PICTURE_INCHES))
    plot_scene(part.scene, ax=figure.add_axes((0, 0, 1, 1)))
    return figure


def sheet(part: Part, begins: float) -> Figure:
    """A page of the document: the board, and below it what is said."""
    figure = Figure(figsize=(8.27, 11.69))
    head: dict[str, Any] = {"va": "top", "ha": "left"}
    figure.text(
        0.08, 0.96, fill(f"{part.number}. {part.title}", 70), fontsize=14, weight="bold", **head
    )
    figure.text(0.92, 0.96, clock(begins), fontsize=11, color=GREY, va="top", ha="right")
    plot_scene(part.scene, ax=figure.add_axes((0.08, 0.4, 0.84, 0.52)))
    text = "\n\n".join(fill(sentence, 88) for sentence in part.sentences)
    figure.text(0.08, 0.38, text, fontsize=11, linespacing=1.35, **head)
    if part.beside:
        beside = fill(part.beside, 100)
        figure.text(0.08, 0.05, beside, fontsize=9.5, color=GREY, va="bottom", ha="left")
    return figure


def document(board: Storyboard, title: str | None = None) -> bytes:
    """The storyboard as a PDF, a page a part, without a date in it."""
    drawn = BytesIO()
    about = {"Title": title or board.headline, "CreationDate": None}
    with PdfPages(drawn, metadata=about) as pages:
        for begins, part in board.timed():
            pages.savefig(sheet(part, begins))
    return drawn.getvalue()


def moving(board: Storyboard) -> bytes:
    """The boards one after the other, each as long as it deserves, over and over again."""
    frames, durations = [], []
    for part in board:
        shown = Image.open(BytesIO(_png(picture(part), round(MOVING_PIXELS / PICTURE_INCHES))))
        frames.append(shown.convert("RGB").quantize(64, Image.Quantize.FASTOCTREE))
        seconds = min(max(board.seconds(part) / 3, LEAST_SECONDS), MOST_SECONDS)
        durations.append(round(1000 * seconds))
    drawn = BytesIO()
    frames[0].save(
        drawn, "GIF", save_all=True, append_images=frames[1:], duration=durations, loop=0
    )
    return drawn.getvalue()


def _png(figure: Figure, dots: int) -> bytes:
    drawn = BytesIO()
    # Without the name of the program that made it: its version would change the file.
    figure.savefig(drawn, dpi=dots, format="png", metadata={"Software": None})
    return drawn.getvalue()
