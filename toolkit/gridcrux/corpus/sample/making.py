"""A corpus made by one process or by several: the same one, in the same order."""

from __future__ import annotations

from collections.abc import Callable, Generator
from functools import partial

from gridcrux.corpus.sample.exchange import Outcome
from gridcrux.corpus.sample.featured import distinct
from gridcrux.corpus.sample.recipes import ByFeature, Recipe
from gridcrux.corpus.workers import in_order, workers_at

Outcomes = Generator[Outcome, None, None]


def make(
    recipe: Recipe, count: int, workers: int = 1, tell: Callable[[int], object] = bool
) -> Outcomes:
    """The first items of a recipe, in order.

    What comes depends on the recipe and the count alone.  Where a technique is to be essential,
    a puzzle that has come before is left out.

    Parameters
    ----------
    workers : processes; with one, all is done in this process.  What they work on is dropped when
        the generator is closed.
    tell : called now and then with how many more puzzles were tested, if this process does it.

    Raises
    ------
    WorkersLost : the processes died again and again.
    """
    outcomes = (
        recipe.outcomes(count, tell=tell) if workers == 1 else _spread(recipe, count, workers)
    )
    yield from distinct(outcomes) if isinstance(recipe, ByFeature) else outcomes


def _spread(recipe: Recipe, count: int, workers: int) -> Outcomes:
    """Pieces made by several processes, put together in order."""
    pieces = (
        range(start, min(start + recipe.chunk, count)) for start in range(0, count, recipe.chunk)
    )
    with workers_at(None, workers) as pool:
        for _, outcomes in in_order(partial(_piece, recipe), ((None, p) for p in pieces), pool):
            yield from outcomes


def _piece(recipe: Recipe, numbers: range) -> list[Outcome]:
    return list(recipe.outcomes(len(numbers), numbers.start))
