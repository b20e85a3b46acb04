"""The ratings against a plain one in sets, and against what others say of singles."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pytest

from gridcrux.corpus.contrast.ratings import ratings
from gridcrux.corpus.sample import minimal
from gridcrux.engines.kernel.status import SOLVED
from gridcrux.grids.layout import NINE, boxes, usual
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.consistency.many import statuses
from gridcrux.techniques.repertoires import SINGLES
from gridcrux.techniques.solve import closure
from samples import JAGGED


class Plain:
    """The ratings by definition, in Python sets."""

    def __init__(self, digits, layout):
        self.cells = layout.cells
        self.rules = [set(bits(rule.mask)) for rule in layout.rules]
        self.conflicts = [set(bits(mask)) for mask in layout.conflicts]
        self.of = [
            [number for number, rule in enumerate(self.rules) if candidate in rule]
            for candidate in range(layout.candidates)
        ]
        self.open, self.written = set(range(layout.candidates)), set()
        for cell, digit in enumerate(digits):
            if digit:
                self.write((int(digit) - 1) * self.cells + cell)

    def write(self, candidate):
        self.open -= self.conflicts[candidate]
        self.written.add(candidate % self.cells)

    def rate(self):
        cost = stalls = rounds = digits = 0
        while len(self.written) < self.cells:
            left = [rule & self.open for rule in self.rules]
            ready = {min(rule) for rule in left if len(rule) == 1}
            ready = {each for each in ready if each % self.cells not in self.written}
            for candidate in ready:
                self.write(candidate)
            if ready:
                rounds, digits = rounds + 1, digits + len(ready)
                continue
            stalls += 1
            more = self.get_over()
            if more is None:
                return None
            cost += more
        return cost, stalls, rounds, digits / rounds if rounds else math.nan

    def get_over(self):
        costs = {
            cell: {k: self.refute(k) for k in sorted(self.open) if k % self.cells == cell}
            for cell in range(self.cells)
            if cell not in self.written
        }
        whole = []
        for cell, each in costs.items():
            standing = [k for k, cost in each.items() if cost is None]
            if len(standing) == 1:
                whole.append((sum(filter(None, each.values())), cell, standing[0]))
        if whole:
            cost, _, true = min(whole)
            self.write(true)
            return cost
        single = [
            (cost, cell, k) for cell, each in costs.items() for k, cost in each.items() if cost
        ]
        if not single:
            return None
        cost, _, false = min(single)
        self.open.remove(false)
        return cost

    def refute(self, candidate):
        """How many rules a refutation of a candidate looks up, or None."""
        part = {n for n, rule in enumerate(self.rules) if len(rule & self.open) > 1}
        alive, why = set(self.open), dict[int, set[int]]()
        waiting, looked, best = [], dict[int, set[int]](), math.inf
        source = set()
        while True:
            for rival in sorted(self.conflicts[candidate] & alive):
                alive.remove(rival)
                why[rival] = source
                for number in self.of[rival]:
                    left = self.rules[number] & alive
                    if number not in part or len(left) > 1:
                        continue
                    looked[number] = {number}.union(
                        *(why.get(k, set()) for k in self.rules[number] - alive)
                    )
                    if left:
                        waiting.append(number)
                    else:
                        best = min(best, len(looked[number]))
            while True:
                if not waiting:
                    return None if best == math.inf else best
                place = min(range(len(waiting)), key=lambda i: (len(looked[waiting[i]]), i))
                number = waiting[place]
                waiting[place] = waiting[-1]
                waiting.pop()
                if self.rules[number] & alive:
                    break
            if len(looked[number]) + 1 >= best:
                return best
            (candidate,) = self.rules[number] & alive
            source = looked[number]


def drawn(layout, count, seed):
    return np.array([item.puzzle for item in minimal(count, seed, layout)], np.int8)


@pytest.mark.parametrize(
    ("layout", "count", "stalls"),
    [(usual(4), 20, 0), (boxes(2, 3), 60, 2), (JAGGED, 40, 3), (NINE, 10, 5)],
    ids=["4x4", "6x6", "jagged", "9x9"],
)
def test_they_are_those_of_the_definition(layout, count, stalls):
    puzzles = drawn(layout, count, 5)
    found = ratings(puzzles, layout)
    for row, digits in zip(found.itertuples(index=False), puzzles, strict=True):
        expected = Plain(digits, layout).rate()
        if expected is None:
            assert all(pd.isna(row))
        else:
            assert tuple(row) == pytest.approx(expected, nan_ok=True)
    assert found["stalls"].sum() >= stalls


def test_where_no_cell_can_be_filled_in_one_candidate_falls():
    """LQ-W00157 of the starter corpus, in which that is so nine times."""
    line = ".....618...3..5.9.9...1...2.8.6...1.1...3...839....4..62.....4....57...6.....2..."
    digits, excluded = read_puzzle(line).puzzle, []

    class Noting(Plain):
        def get_over(self):
            before = len(self.written)
            cost = super().get_over()
            excluded.extend([cost] * (len(self.written) == before))
            return cost

    expected = Noting(digits, NINE).rate()
    assert tuple(ratings(np.array([digits], np.int8), NINE).loc[0]) == pytest.approx(expected)
    assert len(excluded) == 9


@pytest.fixture(scope="module")
def many():
    puzzles = drawn(NINE, 300, 9)
    return puzzles, ratings(puzzles, NINE)


def test_nothing_stalls_where_singles_are_enough(many):
    puzzles, found = many
    enough = [closure(State.from_digits(p.tolist()), SINGLES).is_solved for p in puzzles]
    assert (found["stalls"] == 0).tolist() == enough
    assert 0 < sum(enough) < 300
    assert (found.loc[enough, "refutation_sum"] == 0).all()
    assert (found.loc[~np.array(enough), "refutation_sum"] > 0).all()


def test_stalls_are_got_over_where_failed_literals_solve(many):
    """Singles refute one candidate after the other just if failed literals end in a solution."""
    puzzles, found = many
    hard = drawn(JAGGED, 300, 3)
    for layout, each, rated in ((NINE, puzzles, found), (JAGGED, hard, ratings(hard, JAGGED))):
        solved = statuses(each, layout, ["failed-literals"])[:, 0] == SOLVED
        assert rated["refutation_sum"].notna().tolist() == solved.tolist()


def test_what_is_not_wanted_or_has_no_single_solution_is_missing(many):
    puzzles, found = many
    some = np.arange(300) % 3 == 0
    part = ratings(puzzles, NINE, some)
    assert part["stalls"].notna().tolist() == (some & found["stalls"].notna()).tolist()
    pd.testing.assert_frame_equal(part[some], found[some])
    several = ratings(np.zeros((1, 81), np.int8), NINE)
    assert several.isna().all(axis=None)
    contrary = np.zeros((1, 81), np.int8)
    contrary[0, :2] = 5
    assert ratings(contrary, NINE).isna().all(axis=None)
