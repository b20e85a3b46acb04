"""The command `sample`: random puzzles."""

from __future__ import annotations

import csv
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from gridcrux.cli.inputs import AsJson, BadInput, LayoutName, layout_named
from gridcrux.cli.output import plural, print_json
from gridcrux.cli.prepare import prepare

if TYPE_CHECKING:
    from gridcrux.corpus.sample import Sampled


def sample(
    count: Annotated[int, typer.Option(min=1, metavar="N", help="How many puzzles.")] = 1,
    seed: Annotated[
        int, typer.Option(min=0, metavar="S", help="Which puzzles: same seed, same puzzles.")
    ] = 1,
    layout: LayoutName = None,
    symmetry: Annotated[
        str, typer.Option(metavar="NAME", help="Symmetry of the pattern of givens.")
    ] = "none",
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Write a CSV table to this file instead of printing lines."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Make random minimal puzzles with one solution, one a line.

    They are made by deletion from full grids, which prefers puzzles with few givens.
    """
    each = layout_named(layout or "3x3")
    assert each is not None
    prepare("sample")
    from gridcrux.corpus.sample import SYMMETRIES, minimal
    from gridcrux.grids.layout import USUAL, usual

    if symmetry not in SYMMETRIES:
        raise BadInput(f"no symmetry is called {symmetry!r}; there are {', '.join(SYMMETRIES)}")
    puzzles: Iterable[Sampled] = minimal(count, seed, each, symmetry)
    if out is not None or as_json:
        from tqdm import tqdm

        puzzles = tqdm(puzzles, total=count, unit="puzzle", disable=None)
    if out is not None:
        try:
            with out.open("w", newline="", encoding="utf-8") as stream:
                puzzles = list(_written(puzzles, stream))
        except OSError as error:
            raise BadInput(f"{out}: {error.strerror or error}") from error
        if not as_json:
            print(f"{plural(len(puzzles), 'puzzle')} in {out}")
            if each.size not in USUAL or each != usual(each.size):
                print(f"a study of them needs --layout {layout}, as a file does not tell it")
    if as_json:
        items = list(puzzles)
        print_json(
            {
                "puzzles": [item.line for item in items],
                "givens": [item.givens for item in items],
                "layout": each.name,
                "symmetry": symmetry,
                "seed": seed,
            }
        )
    elif out is None:
        for item in puzzles:
            print(item.line)
            sys.stdout.flush()


def _written(puzzles: Iterable[Sampled], stream: object) -> Iterator[Sampled]:
    """The puzzles, each written as a row of a CSV table as it passes."""
    writer = csv.writer(stream, lineterminator="\n")  # type: ignore[arg-type]
    writer.writerow(("index", "puzzle", "givens"))
    for item in puzzles:
        writer.writerow(item.row().values())
        yield item
