"""One claim as a hitting set problem of which the sets come to light bit by bit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.engines.limits import Deadline
from gridcrux.grids.bitwise import popcount
from gridcrux.grids.state import bits
from gridcrux.proofs.explain.choices import SPENT
from gridcrux.proofs.explain.ground import Ground
from gridcrux.proofs.explain.hitting import (
    HASTE,
    explains,
    gaps_at_random,
    gaps_beside,
    search,
)
from gridcrux.techniques.compiled.tables import Ints

STAGES = ((0, 3_000), (120, 15_000), (150, 40_000), (200, 120_000))
"""Where a search gets stuck, there are not enough gaps: how many more are found at random at each
stage, and how many sets are tried with them."""

MANY, LONGER = 500, 150
"""Gaps to be found at random for CP-SAT, which takes its time, and moves for each of them."""

BESIDE = 8
"""Most random rules beside which a random gap lies."""

ROUNDS = 20
"""How often gaps are looked for beside one set."""

ROOM = 4096
"""Gaps known of one claim, at first."""


@dataclass
class Question:
    """The denials of a claim, and the gaps that are known.

    Attributes
    ----------
    ground : what choices are made of.
    denials : (D, 3, w) as in `hitting.search`.
    random : state of the generator; it is shared by the questions of a state.
    choices, gaps : (room, w) and (room, v); the first `count` rows are known.
    """

    ground: Ground
    denials: Ints
    random: Ints
    choices: Ints
    gaps: Ints
    count: int
    stage: int = 0

    @classmethod
    def of(cls, ground: Ground, denials: Ints, random: Ints, choices: Ints, gaps: Ints) -> Question:
        """A question of which some choices that agree with a denial are known, with their gaps."""
        count = len(choices)
        room = max(ROOM, 2 * count)
        made = cls(
            ground,
            denials,
            random,
            np.empty((room, choices.shape[1]), np.int64),
            np.empty((room, gaps.shape[1]), np.int64),
            count,
        )
        made.choices[:count], made.gaps[:count] = choices, gaps
        made._tidy()
        return made

    @property
    def known(self) -> list[tuple[int, ...]]:
        """The rules of each gap that is known."""
        return [tuple(positions(gap)) for gap in self.gaps[: self.count]]

    @property
    def whole_choice(self) -> list[int] | None:
        """The candidates of a choice without a gap, if one is known: the claim does not follow."""
        whole = np.flatnonzero(~self.gaps[: self.count].any(axis=1))
        return positions(self.choices[whole[0]]) if len(whole) else None

    def sets(
        self, most: int, limit: int, deadline: Deadline, *, patient: bool = True
    ) -> list[list[int]] | None:
        """Explanations of at most `most` rules, up to `limit`, or None if it takes too long.

        Parameters
        ----------
        patient : whether to go on after the last stage while there is time.
        """
        tried = STAGES[self.stage][1]
        while True:
            room = np.empty((limit, self.gaps.shape[1]), np.int64)
            status, found, self.count, _ = search(
                self.ground,
                self.denials,
                most,
                self.choices,
                self.gaps,
                self.count,
                self.random,
                tried,
                room,
            )
            if status != SPENT:
                return [positions(row) for row in room[:found]]
            if self.count == len(self.gaps):
                self._grow()
            elif self.stage < len(STAGES) - 1:
                self.stage += 1
                number, tried = STAGES[self.stage]
                self.enrich(number, HASTE)
            elif deadline.passed or not patient:
                return None
            else:
                tried *= 4

    def explained_by(self, rules: Sequence[int]) -> bool:
        """Whether some rules explain the claim."""
        taken = words_of(rules, self.gaps.shape[1])
        return bool(explains(self.ground, self.denials, taken, self.random))

    def gaps_beside(self, rules: Sequence[int], rounds: int = ROUNDS) -> int:
        """Find gaps that do not meet some rules; how many: none if they explain the claim."""
        before = self.count
        taken = words_of(rules, self.gaps.shape[1])
        while True:
            self.count = gaps_beside(
                self.ground,
                self.denials,
                taken,
                rounds,
                self.choices,
                self.gaps,
                self.count,
                self.random,
            )
            if self.count < len(self.gaps):
                break
            self._grow()
        found = self.count - before
        self._tidy()
        return found

    def enrich(self, number: int = MANY, patience: int = LONGER) -> None:
        """Find gaps at random."""
        while len(self.gaps) < self.count + number:
            self._grow()
        self.count = gaps_at_random(
            self.ground,
            self.denials,
            number,
            BESIDE,
            patience,
            self.choices,
            self.gaps,
            self.count,
            self.random,
        )
        self._tidy()

    def _grow(self) -> None:
        """Double the room."""
        self.choices = np.concatenate([self.choices, np.empty_like(self.choices)])
        self.gaps = np.concatenate([self.gaps, np.empty_like(self.gaps)])

    def _tidy(self) -> None:
        """Drop what is there twice, and bring the small gaps to the front."""
        _, first = np.unique(self.gaps[: self.count], axis=0, return_index=True)
        first.sort()
        order = first[np.argsort(_sizes(self.gaps[first]), kind="stable")]
        self.count = len(order)
        for table in (self.choices, self.gaps):
            table[: self.count] = table[order]


@njit(cache=True)
def _sizes(gaps: Ints) -> Ints:
    """(G,) the number of rules in each gap."""
    sizes = np.zeros(gaps.shape[0], np.int64)
    for i in range(gaps.shape[0]):
        for v in range(gaps.shape[1]):
            sizes[i] += popcount(gaps[i, v])
    return sizes


def positions(words: NDArray[np.int64]) -> list[int]:
    """The positions of the bits of a row of words, ascending."""
    mask = 0
    for place, word in enumerate(words.view(np.uint64).tolist()):
        mask |= word << 64 * place
    return list(bits(mask))


def words_of(places: Sequence[int], width: int) -> Ints:
    """A row of words with bits at some positions."""
    words = np.zeros(width, np.uint64)
    for place in places:
        words[place >> 6] |= np.uint64(1 << (place & 63))
    return words.view(np.int64)
