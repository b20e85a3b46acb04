"""Random puzzles in which a chosen technique is essential: by rejection, or from near misses.

A technique is essential in a puzzle with one solution if a repertoire solves it and the rest of
the repertoire does not (`proofs.essential`).

`rejection` draws puzzles by deletion (`deletion.minimal`) until one has it.  So its puzzles are
drawn from the distribution of deletion given that the technique is essential: shares measured
on them are shares of that.

`near` climbs (`grading`).  A grade tells how near a puzzle comes: the technique is not used in
the route; it is used; the route needs it; it is essential once k other techniques are taken out
of the repertoire, the fewer the nearer; it is essential.  Where the repertoire gets stuck, but
not as far without the technique, less left is nearer.  The search starts from the best of some
puzzles drawn by deletion and varies it: one or two givens are taken out and others of the same
solution put in, or those of another solution of what is left, and what is superfluous is
deleted.  A variant is kept if its grade is no lower; where nothing gets better any more the
search starts again.  From a puzzle that is found further ones are found by such variants too: a
family of `KIN`, each led some way from the one before it.  Rare techniques are found several
times sooner for it, but the puzzles of a family depend on each other.  All this is biased:
towards grids with many puzzles of a high grade, towards whichever of them is soonest come upon
from a near miss, and so towards puzzles in which the technique has few rivals.  No share measured
on these puzzles is one of all puzzles, nor of those that `rejection` draws.

A technique that a more general one of the repertoire includes is never essential: no remote pair
is, where XY-chains are known.  So every search has a limit, and gives up at it.

Item i of a seed depends on the seed and i alone; with `near`, the items before it in its family
are made for it too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from gridcrux.corpus.sample.deletion import Givens, Sampled, Workbench, generator
from gridcrux.corpus.sample.exchange import Outcome, new_room, source_from
from gridcrux.corpus.sample.grading import (
    AT_ONCE,
    ESSENTIAL,
    MOST,
    MOVES,
    PATIENCE,
    REACHED,
    SINCE,
    UNUSED,
    climb,
    draw_each,
    question_of,
    stray,
)
from gridcrux.corpus.sample.patterns import check_givens
from gridcrux.grids.layout import NINE, Layout
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs import essential
from gridcrux.techniques.compiled.tables import Ints
from gridcrux.techniques.repertoires import DEFAULT

LIMIT = 200_000
"""Puzzles that are tested at most for an item."""

FIRST_BATCH, BATCH = 8, 256
"""Half the puzzles that are tested at once at first, as few may do, and all of them later."""

POOL = 64
"""Puzzles of which the best one is varied."""

KIN = 8
"""Puzzles of a family: the first by a climb, each of the others by varying the one before it."""

KIN_PATIENCE = 2_000
"""Variants in a row without the feature, after which a family goes on with another climb."""


@dataclass(frozen=True)
class Feature:
    """What puzzles are looked for.

    Attributes
    ----------
    technique : the name of the one that is to be essential.
    repertoire : what else is known; the technique is in it.
    layout : of the puzzles.
    symmetry : one of `deletion.SYMMETRIES`, which the cells with givens have.
    givens : how many there are to be; any minimal puzzle will do if it is None.
    none_harder : whether the route may have no step that comes later in the repertoire.

    Raises
    ------
    UnknownTechnique : the technique is not in the repertoire.
    NoSuchPuzzle : no puzzle has this number of givens.
    ValueError : no such symmetry.
    """

    technique: str
    repertoire: Repertoire = DEFAULT
    layout: Layout = NINE
    symmetry: str = "none"
    givens: int | None = None
    none_harder: bool = False

    def __post_init__(self) -> None:
        self.repertoire[self.technique]
        if self.givens is not None:
            check_givens(self.layout, self.givens, self.symmetry)

    def is_in(self, puzzle: Givens) -> bool:
        """Whether a puzzle has it, by `proofs.essential`, which tries more than one order."""
        state = State.from_digits(puzzle.tolist(), self.layout)
        found = essential.crux(state, self.repertoire)
        names = self.repertoire.names
        harder = names[names.index(self.technique) + 1 :]
        return (
            found.solved
            and found.techniques.get(self.technique) == essential.ESSENTIAL
            and (self.givens is None or np.count_nonzero(puzzle) == self.givens)
            and not (self.none_harder and set(harder) & set(found.techniques))
        )


class _Search:
    """What the searches for a feature share."""

    def __init__(self, feature: Feature, tell: Callable[[int], object]) -> None:
        self.feature, self.tell = feature, tell
        self.bench = Workbench(feature.layout)
        self.room = new_room(feature.layout, feature.symmetry)
        self.question = question_of(
            feature.technique,
            feature.repertoire,
            feature.layout,
            feature.givens or 0,
            feature.none_harder,
        )

    def draw(
        self, count: int, most: int, random: np.random.Generator
    ) -> tuple[NDArray[np.int8], NDArray[np.int8], Ints]:
        """Puzzles by deletion, their solutions and their grades."""
        solutions = np.array([self.bench.grid(random) for _ in range(count)])
        puzzles, grades = solutions.copy(), np.zeros(count, np.int64)
        draw_each(self.room, self.question, puzzles, solutions, most, grades, source_from(random))
        self.tell(count)
        return puzzles, solutions, grades

    def climbed(self, index: int, limit: int, random: np.random.Generator) -> Outcome:
        """A puzzle with the feature, or one nearly so from which a climb led to it."""
        tested, pool = 0, FIRST_BATCH
        while tested < limit:
            pool = min(2 * pool, POOL, limit - tested)
            puzzles, solutions, grades = self.draw(pool, MOST, random)
            tested += pool
            best = int(np.argmax(grades))
            puzzle, solution, source = puzzles[best], solutions[best], source_from(random)
            state = np.zeros(2, np.int64)
            state[REACHED] = grades[best]
            while tested < limit and UNUSED < state[REACHED] < ESSENTIAL:
                if state[SINCE] >= PATIENCE:
                    break
                most = min(AT_ONCE, limit - tested)
                varied = climb(self.room, self.question, puzzle, solution, state, most, source)
                self.tell(varied)
                tested += varied
            if state[REACHED] == ESSENTIAL and self.feature.is_in(puzzle):
                return Outcome(index, Sampled(index, puzzle, solution), tested)
        return Outcome(index, None, tested)

    def next_of_kin(
        self, known: tuple[Givens, Givens], index: int, limit: int, random: np.random.Generator
    ) -> Outcome | None:
        """A puzzle some variants away from one with the feature; None if it leads nowhere."""
        puzzle, solution = (each.copy() for each in known)
        state, source, tested = np.zeros(2, np.int64), source_from(random), 0
        while tested < limit and state[REACHED] < MOVES and state[SINCE] < KIN_PATIENCE:
            most = min(AT_ONCE, limit - tested)
            varied = stray(self.room, self.question, puzzle, solution, state, most, source)
            self.tell(varied)
            tested += varied
        if state[REACHED] < MOVES or not self.feature.is_in(puzzle):
            return None
        return Outcome(index, Sampled(index, puzzle, solution), tested)


def rejection(
    count: int,
    seed: int,
    feature: Feature,
    *,
    limit: int = LIMIT,
    start: int = 0,
    tell: Callable[[int], object] = bool,
) -> Iterator[Outcome]:
    """Draw puzzles by deletion until one has a feature: its distribution, given the feature.

    Parameters
    ----------
    count, start : how many items, and the number of the first.
    seed : which corpus.
    limit : puzzles after which an item is given up; `Outcome.attempts` are those tested.
    tell : called with how many puzzles were tested since it was called before.
    """
    search = _Search(feature, tell)

    def item(index: int) -> Outcome:
        random = generator(seed, index)
        tested, batch = 0, FIRST_BATCH
        while tested < limit:
            batch = min(2 * batch, BATCH, limit - tested)
            puzzles, solutions, grades = search.draw(batch, 0, random)
            for i in np.flatnonzero(grades == ESSENTIAL).tolist():
                if feature.is_in(puzzles[i]):
                    return Outcome(index, Sampled(index, puzzles[i], solutions[i]), tested + i + 1)
            tested += batch
        return Outcome(index, None, tested)

    return distinct(map(item, range(start, start + count)))


def near(
    count: int,
    seed: int,
    feature: Feature,
    *,
    limit: int = LIMIT,
    start: int = 0,
    tell: Callable[[int], object] = bool,
) -> Iterator[Outcome]:
    """Vary near misses until one has a feature, which is biased (see above).

    Parameters
    ----------
    As for `rejection`; variants count as tested, too.
    """
    return distinct(_families(count, seed, feature, limit, start, tell))


def _families(
    count: int,
    seed: int,
    feature: Feature,
    limit: int,
    start: int,
    tell: Callable[[int], object],
) -> Iterator[Outcome]:
    search = _Search(feature, tell)
    for family in range(start // KIN, -(-(start + count) // KIN)):
        random = generator(seed, family)
        known: tuple[Givens, Givens] | None = None
        for index in range(family * KIN, min((family + 1) * KIN, start + count)):
            outcome = search.next_of_kin(known, index, limit, random) if known else None
            outcome = outcome or search.climbed(index, limit, random)
            if outcome.sampled is not None:
                known = outcome.sampled.puzzle, outcome.sampled.solution
            if index >= start:
                yield outcome


def distinct(outcomes: Iterable[Outcome]) -> Iterator[Outcome]:
    """Leave out each item whose puzzle an earlier one has."""
    seen = set()
    for outcome in outcomes:
        if outcome.sampled is None:
            yield outcome
        elif outcome.sampled.line not in seen:
            seen.add(outcome.sampled.line)
            yield outcome


SEARCHES = {"rejection": rejection, "near": near}
"""The searches by name."""
