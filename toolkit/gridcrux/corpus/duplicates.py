"""Which puzzles of a corpus are the same up to the symmetries of their layout, and which nearly.

Two puzzles are duplicates if they have the same canonical form (`grids.canonical`), and near
duplicates if they have it after at most one given is left out of each.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from math import isqrt
from typing import Any, NamedTuple, TypeVar

import numpy as np
import pandas as pd
import pyarrow as pa
from numpy.typing import NDArray
from tqdm import tqdm

from gridcrux.corpus.rows import by_layout, lines_of
from gridcrux.grids.canonical import canonical_batch, shape_of
from gridcrux.grids.layout import USUAL, Layout, named, usual
from gridcrux.grids.state import State
from gridcrux.grids.text import format_line, read_puzzle

DUPLICATE_COLUMNS = {
    "group": "number of the group, in the order in which groups begin",
    "row": "the puzzle: its label in the index of the table, or its position",
    "puzzle": "its givens",
    "layout": "its layout",
    "givens": "how many they are",
    "same": "row of the first puzzle with just these givens in these cells",
    "size": "puzzles of the group",
    "automorphisms": "rearrangements that leave each of them as it is but for names of digits",
    "canonical": "the canonical form of all of them",
}
"""Meaning of the columns of `duplicates`."""

NEAR_COLUMNS = {
    "first": "one puzzle: its label in the index of the table, or its position",
    "second": "another one, which comes later",
    "layout": "their layout",
    "left_out": "givens left out of the two: none if they are duplicates, else 1 or 2",
    "first_given": "given left out of the first, missing where it is left whole",
    "second_given": "given left out of the second, missing where it is left whole",
    "common_givens": "givens that they have in common then",
    "canonical": "the canonical form of these",
}
"""Meaning of the columns of `near_duplicates`."""

WHOLE = -1
"""Stands for a cell where no given is left out."""

BATCH = 512
"""Puzzles whose canonical forms are found in one call."""

_GIVEN = ["puzzle", "layout"]
_PLAIN = re.compile(r"[.0-9A-Z]+")

Digits = NDArray[np.int8]
Indices = NDArray[np.intp]
Hashes = NDArray[np.uint64]
Puzzles = pd.DataFrame | Iterable[str | State | Sequence[int]]
Result = TypeVar("Result")


def duplicates(
    puzzles: Puzzles, layout: Layout | None = None, *, progress: bool = False
) -> pd.DataFrame:
    """The puzzles that occur more than once, up to symmetry, group by group.

    Parameters
    ----------
    puzzles : a table with a column `puzzle` and perhaps one `layout`, such as a study, or the
        puzzles as text, as states (of which the givens are taken) or as digits.
    layout : of all of them; None to take it from the table, or to tell it from the cells.
    progress : show a progress bar on standard error.

    Returns
    -------
    A row for each puzzle that has a duplicate, with the columns of `DUPLICATE_COLUMNS`.

    Raises
    ------
    ValueError : a text is no puzzle, givens contradict each other, or a layout has other
        symmetries than those of boxes and Latin squares.

    >>> table = duplicates(["12....3....1....", "4.1..2..........", "....4....2....43"])
    >>> table[["group", "row", "size"]].to_numpy().tolist()
    [[0, 0, 2], [0, 2, 2]]
    """
    labels, parts = _parts(puzzles, layout)
    frames = []
    for part in parts:
        found = _side_by_side(partial(canonical_batch, layout=part.layout), part.digits, progress)
        forms = np.concatenate([form for form, _ in found])
        group, same = _first_alike(forms), _first_alike(part.digits)
        frame = pd.DataFrame(
            {
                "group": part.rows[group],
                "row": part.rows,
                "puzzle": lines_of(part.digits),
                "layout": part.layout.name,
                "givens": np.count_nonzero(part.digits, axis=1),
                "same": part.rows[same],
                "size": np.bincount(group, minlength=len(group))[group],
                "automorphisms": np.concatenate([number for _, number in found]),
                "canonical": lines_of(forms),
            }
        )
        frames.append(frame[frame["size"] > 1])
    table = _table(frames, DUPLICATE_COLUMNS, ["group", "row"])
    table["group"] = pd.factorize(table["group"])[0]
    for column in ("row", "same"):
        table[column] = labels.take(table[column].to_numpy(np.intp))
    return table


def near_duplicates(
    puzzles: Puzzles, layout: Layout | None = None, *, progress: bool = False
) -> pd.DataFrame:
    """The pairs that are the same up to symmetry after leaving out at most one given of each.

    So one has a given more than the other, or has one in another place or with another digit.
    A pair is listed once, with the fewest givens left out.

    Parameters
    ----------
    puzzles, layout, progress : see `duplicates`.

    Returns
    -------
    A row for each pair, with the columns of `NEAR_COLUMNS`.

    Raises
    ------
    ValueError : see `duplicates`.

    >>> table = near_duplicates(["12....3....1....", "....4....2.....3", "....4....2..1..3"])
    >>> table[["first", "second", "left_out", "common_givens"]].to_numpy().tolist()
    [[0, 1, 1, 3], [0, 2, 2, 3], [1, 2, 1, 3]]
    """
    labels, parts = _parts(puzzles, layout)
    table = _table([_pairs(part, progress) for part in parts], NEAR_COLUMNS, ["first", "second"])
    for column in ("first", "second"):
        table[column] = labels.take(table[column].to_numpy(np.intp))
    return table


class _Part(NamedTuple):
    """Puzzles of one layout: their positions among all, and their givens."""

    layout: Layout
    rows: Indices
    digits: Digits


def _parts(puzzles: Puzzles, layout: Layout | None) -> tuple[pd.Index[Any], list[_Part]]:
    """What the rows are called, and the puzzles by layout."""
    known = {} if layout is None else {layout.name: layout}
    if isinstance(puzzles, pd.DataFrame):
        table, labels = puzzles, puzzles.index
    else:
        each = [_line(puzzle, layout, i) for i, puzzle in enumerate(puzzles, 1)]
        known |= {found.name: found for _, found in each}
        table = pd.DataFrame([(line, found.name) for line, found in each], columns=_GIVEN)
        labels = table.index
    if layout is not None:
        table = pd.DataFrame({"puzzle": table["puzzle"], "layout": layout.name})
    texts = pa.table({name: table[name].astype("str") for name in _GIVEN if name in table})
    parts = []
    for name, rows, digits in by_layout(texts):
        found = known.get(name) or named(name)
        shape_of(found)
        parts.append(_Part(found, rows, digits))
    return labels, parts


def _line(
    puzzle: str | State | Sequence[int], layout: Layout | None, number: int
) -> tuple[str, Layout]:
    """The givens as a line, and their layout."""
    if isinstance(puzzle, str):
        cells = len(puzzle)
        if layout is None and isqrt(cells) in USUAL and _PLAIN.fullmatch(puzzle):
            return puzzle, usual(isqrt(cells))
        puzzle = read_puzzle(puzzle, layout, f"puzzle {number}")
    if not isinstance(puzzle, State):
        puzzle = State.from_digits(puzzle, layout)
    return format_line(puzzle.puzzle), puzzle.layout


def _side_by_side(
    function: Callable[[Digits], Result], digits: Digits, progress: bool
) -> list[Result]:
    """The results for batches of puzzles, in their order, found by a thread a core."""
    starts = range(0, len(digits), BATCH)
    # A progress bar would fill a file: None shows it on a terminal only.
    with (
        tqdm(total=len(digits), unit="puzzle", disable=None if progress else True) as bar,
        ThreadPoolExecutor(len(os.sched_getaffinity(0))) as pool,
    ):
        waiting = [pool.submit(function, digits[start : start + BATCH]) for start in starts]
        found = []
        try:
            for start, future in zip(starts, waiting, strict=True):
                found.append(future.result())
                bar.update(min(BATCH, len(digits) - start))
        finally:
            for future in waiting:
                future.cancel()
    return found


def _lessened(digits: Digits) -> tuple[Indices, Indices, Digits]:
    """Puzzles and what is left of each without one given: whose, which cell (-1), the givens."""
    whose, cells = np.nonzero(digits)
    less = digits[whose]
    less[np.arange(len(whose)), cells] = 0
    everyone = np.arange(len(digits))
    return (
        np.concatenate([everyone, whose]),
        np.concatenate([np.full(len(digits), WHOLE), cells]),
        np.concatenate([digits, less]),
    )


def _hashes(digits: Digits, layout: Layout) -> tuple[Indices, Indices, Hashes]:
    """Whose, which cell is left out, and a number that is equal for equal canonical forms."""
    whose, cells, less = _lessened(digits)
    forms, _ = canonical_batch(less, layout)
    factors = np.random.default_rng(0).integers(1 << 63, size=layout.cells, dtype=np.uint64)
    return whose, cells, forms.astype(np.uint64) @ factors


def _pairs(part: _Part, progress: bool) -> pd.DataFrame:
    """The near duplicates of one layout, by position.

    Hashes take a tenth of the room of the forms; what they pair is compared as it is.
    """
    layout, digits = part.layout, part.digits
    found = _side_by_side(partial(_hashes, layout=layout), digits, progress)
    whose = np.concatenate([each + BATCH * i for i, (each, _, _) in enumerate(found)])
    cells = np.concatenate([each for _, each, _ in found])
    _, hashed = np.unique(np.concatenate([each for _, _, each in found]), return_inverse=True)
    several = np.flatnonzero(np.bincount(hashed)[hashed] > 1)
    whose, cells = whose[several], cells[several]
    less = digits[whose]
    left = cells != WHOLE
    less[left, cells[left]] = 0
    forms = np.concatenate(
        [less[:0], *_side_by_side(lambda each: canonical_batch(each, layout)[0], less, False)]
    )
    each = pd.DataFrame({"form": _first_alike(forms), "puzzle": whose, "cell": cells})
    # Several givens of a puzzle may leave the same: the first stands for them.
    each = each.sort_values(["puzzle", "cell"]).drop_duplicates(["form", "puzzle"])
    pairs = each.merge(each, on="form", suffixes=("_1", "_2"))
    pairs = pairs[pairs["puzzle_1"] < pairs["puzzle_2"]]
    pairs["left_out"] = (pairs["cell_1"] != WHOLE).astype(int) + (pairs["cell_2"] != WHOLE)
    pairs = pairs.sort_values(["puzzle_1", "puzzle_2", "left_out", "cell_1", "cell_2"])
    pairs = pairs.drop_duplicates(["puzzle_1", "puzzle_2"])
    forms = forms[pairs["form"]]
    return pd.DataFrame(
        {
            "first": part.rows[pairs["puzzle_1"]],
            "second": part.rows[pairs["puzzle_2"]],
            "layout": layout.name,
            "left_out": pairs["left_out"],
            "first_given": _names(part, pairs["puzzle_1"], pairs["cell_1"]),
            "second_given": _names(part, pairs["puzzle_2"], pairs["cell_2"]),
            "common_givens": np.count_nonzero(forms, axis=1),
            "canonical": lines_of(forms),
        }
    )


def _names(part: _Part, puzzles: Iterable[int], cells: Iterable[int]) -> Any:
    """The given in a cell of each puzzle, like r4c5=7."""
    names: list[str | None] = []
    for puzzle, cell in zip(puzzles, cells, strict=True):
        digit = int(part.digits[puzzle, cell])
        candidate = (digit - 1) * part.layout.cells + cell
        names.append(None if cell == WHOLE else part.layout.candidate_name(candidate))
    return pd.array(names, dtype="str")


def _first_alike(digits: Digits) -> Indices:
    """For each row the first that is equal to it."""
    rows = np.ascontiguousarray(digits).view(np.dtype((np.void, digits.shape[1]))).reshape(-1)
    _, first, which = np.unique(rows, return_index=True, return_inverse=True)
    alike: Indices = first[which]
    return alike


def _table(frames: list[pd.DataFrame], columns: dict[str, str], order: list[str]) -> pd.DataFrame:
    """One table of all layouts."""
    whole = [frame for frame in frames if len(frame)] or [pd.DataFrame(columns=list(columns))]
    return pd.concat(whole).sort_values(order, ignore_index=True)
