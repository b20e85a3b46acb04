"""Layouts and states that several tests look at, and what they take from definitions alone."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import Layout, regions
from gridcrux.grids.state import State, bits
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import closure

JAGGED = regions(["111222", "113222", "133444", "333446", "555466", "555666"], "jagged-6")


def thinned_or_ended(
    layout: Layout, count: int, seed: int, most: float
) -> Iterator[tuple[State, int]]:
    """Puzzles with some of what is false excluded, or the end of the first family; solutions.

    Parameters
    ----------
    most : largest share of the candidates that are excluded.
    """
    random = np.random.default_rng(seed)
    for number, item in enumerate(minimal(count, seed, layout)):
        start = State.from_digits(item.puzzle.tolist(), layout)
        true = (item.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        lost = random.random(layout.candidates) < random.uniform(0.1, most)
        lost[true] = False
        thin = start.without(sum(1 << c for c in np.flatnonzero(lost).tolist()))
        end = closure(start, FIRST_FAMILY)
        state = thin if number % 2 or end.is_solved else end
        yield state, sum(1 << c for c in true.tolist())


def seen_from_all(layout: Layout, node: int) -> int:
    """What conflicts with every candidate of a node, by definition."""
    common = layout.full
    for candidate in bits(node):
        common &= layout.conflicts[candidate]
    return common


def possible(layout: Layout, premises: tuple[int, ...], open_: int, chosen: int = 0) -> bool:
    """Whether some open candidates, no two in conflict, satisfy rules, by trying all of them.

    Parameters
    ----------
    chosen : candidates that are true already; what conflicts with them is not open.
    """
    if not premises:
        return True
    mask = layout.rules[premises[0]].mask
    if mask & chosen:
        return possible(layout, premises[1:], open_, chosen)
    return any(
        possible(layout, premises[1:], open_ & ~layout.conflicts[c], chosen | 1 << c)
        for c in bits(mask & open_)
    )


def content(folder):
    """All that a study leaves, to the bit."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith(".")
    }
