"""Routes and closures against references from outside, and under what must not change them."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.alternatives import alternatives
from gridcrux.techniques.repertoires import FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import AssumesUnique, available, closure, route

SUBSETS = FIRST_FAMILY.only(
    *SINGLES.names, *(n for n in FIRST_FAMILY.names if n.startswith(("naked", "hidden")))
)
LOCKED = ("pointing", "claiming")


def _cube(state: State) -> NDArray[np.bool_]:
    """(n, n*n) flags: digit by cell, what is open."""
    layout = state.layout
    flags = np.zeros(layout.candidates, bool)
    flags[list(bits(state.open))] = True
    return flags.reshape(layout.size, layout.cells)


def _starts(layout: Layout, count: int, seed: int) -> list[State]:
    """Random puzzles; these with less that is false; and grids without givens, with far less."""
    random = np.random.default_rng(seed)
    states = []
    for sampled in minimal(count, seed, layout):
        start = State.from_digits(sampled.puzzle, layout)
        true = (sampled.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        states.append(start)
        for given, least, most in ((start, 0, 0.4), (State.empty(layout), 0.3, 0.65)):
            lost = random.random(layout.candidates) < random.uniform(least, most)
            lost[true] = False
            states.append(given.without(sum(1 << c for c in np.flatnonzero(lost).tolist())))
    return states


def _matched(edges: NDArray[np.bool_]) -> bool:
    """Whether all cells of a house can have different digits."""
    return bool((maximum_bipartite_matching(csr_matrix(edges), perm_type="column") >= 0).all())


def _consistent(state: State) -> NDArray[np.bool_]:
    """Per-house all-different domain consistency (Regin 1994), straight from its definition.

    A digit stays in a cell if some perfect matching of the house, cells against digits, has it.
    """
    cube = _cube(state)
    changed = True
    while changed:
        changed = False
        for house in state.layout.houses:
            cells = list(house.cells)
            edges = cube[:, cells]
            for digit, place in np.argwhere(edges):
                forced = edges.copy()
                forced[digit], forced[:, place] = False, False
                forced[digit, place] = True
                if not _matched(forced):
                    cube[digit, cells[place]] = False
                    changed = True
    return cube


@pytest.mark.parametrize(
    ("layout", "count"), [(boxes(2, 3), 4), (latin(6), 4), (NINE, 3)], ids=["2x3", "latin-6", "3x3"]
)
def test_subsets_leave_what_all_different_consistency_leaves(layout: Layout, count: int) -> None:
    """Provan 2009: the pigeonhole rule is domain consistency.

    In a house of at most 9 cells a set or its complement, of the other kind, has at most 4.
    """
    effective = 0
    for state in _starts(layout, count, 2):
        expected = _consistent(state)
        assert (_cube(closure(state, SUBSETS)) == expected).all()
        effective += bool((_cube(closure(state, SINGLES)) != expected).any())
    assert effective, "singles alone did as much everywhere, so nothing was tried"


PUBLISHED = {
    "naked singles": (FIRST_FAMILY.only("naked-single"), (12, 0, 0)),
    "singles": (SINGLES, (40, 1, 0)),
    "singles, locked": (FIRST_FAMILY.only(*SINGLES.names, *LOCKED), (44, 3, 10)),
    "singles, subsets": (SUBSETS, (46, 2, 15)),
    "singles, subsets, locked": (FIRST_FAMILY.only(*SUBSETS.names, *LOCKED), (49, 3, 29)),
}
"""How many puzzles of easy50, hardest11 and top95 (plain data files of a public repository of
Python essays by P. Norvig) are solved: recomputed by brute force with other programs, the
subsets as all-different domain consistency."""


@pytest.mark.skipif("GRIDCRUX_CORPORA" not in os.environ, reason="GRIDCRUX_CORPORA is not set")
@pytest.mark.parametrize("name", PUBLISHED)
def test_the_share_solved_of_open_collections(name: str) -> None:
    repertoire, expected = PUBLISHED[name]
    folder = Path(os.environ["GRIDCRUX_CORPORA"])
    solved = []
    for collection in ("easy50", "hardest11", "top95"):
        lines = (folder / f"{collection}.txt").read_text().split()
        starts = [State.from_digits([int(m) for m in line.replace(".", "0")]) for line in lines]
        solved.append(sum(closure(start, repertoire).is_solved for start in starts))
    assert tuple(solved) == expected


@pytest.mark.parametrize(
    "layout", [boxes(2, 3), NINE, NINE.with_diagonals()], ids=lambda layout: layout.name
)
def test_the_closure_is_the_end_of_the_route(layout: Layout) -> None:
    for state in _starts(layout, 15, 4):
        assert closure(state, FIRST_FAMILY) == route(state, FIRST_FAMILY).end


def test_what_is_offered_at_the_end_of_a_route() -> None:
    """Nothing where it is stuck; before that, the step that it takes is the first one."""
    stuck = 0
    for state in _starts(NINE, 3, 5):
        taken = route(state, FIRST_FAMILY)
        for before, step in zip(taken.states(), taken, strict=False):
            assert available(before, FIRST_FAMILY)[0] == step
        if taken.status == "stuck":
            stuck += 1
            assert available(taken.end, FIRST_FAMILY) == []
    assert stuck


@pytest.mark.parametrize(
    "layout", [boxes(2, 3), latin(6), NINE, NINE.with_diagonals()], ids=lambda layout: layout.name
)
def test_the_closure_does_not_depend_on_the_order_of_techniques(layout: Layout) -> None:
    random = np.random.default_rng(6)
    for state in _starts(layout, 10, 6):
        expected = closure(state, FIRST_FAMILY)
        for _ in range(3):
            order = random.permutation(len(FIRST_FAMILY))
            shuffled = Repertoire(tuple(FIRST_FAMILY.techniques[i] for i in order))
            assert closure(state, shuffled) == expected


def _from_cube(state: State, cube: NDArray[np.bool_], placed: NDArray[np.bool_]) -> State:
    open_ = sum(1 << c for c in np.flatnonzero(cube).tolist())
    return State(state.layout, open_, sum(1 << c for c in np.flatnonzero(placed).tolist()))


@pytest.mark.parametrize(
    "layout", [boxes(3, 3), latin(6), NINE.with_diagonals()], ids=lambda layout: layout.name
)
def test_relabelled_and_transposed_puzzles_have_the_mapped_closure(layout: Layout) -> None:
    random = np.random.default_rng(7)
    n = layout.size
    turned = np.arange(layout.cells).reshape(n, n).T.reshape(-1)
    for state in _starts(layout, 10, 7):
        placed = np.array([state.placed >> cell & 1 for cell in range(layout.cells)], bool)
        labels = random.permutation(n)
        end = _cube(closure(state, FIRST_FAMILY))
        relabelled = _from_cube(state, _cube(state)[labels], placed)
        assert (_cube(closure(relabelled, FIRST_FAMILY)) == end[labels]).all()
        transposed = _from_cube(state, _cube(state)[:, turned], placed[turned])
        assert (_cube(closure(transposed, FIRST_FAMILY)) == end[:, turned]).all()


def test_the_route_is_the_same_in_every_process() -> None:
    program = (
        "from gridcrux.corpus.sample import minimal\n"
        "from gridcrux.grids.state import State\n"
        "from gridcrux.techniques.alternatives import alternatives\n"
        "from gridcrux.techniques.policies import POLICIES\n"
        "from gridcrux.techniques.solve import available, route\n"
        "for sampled in minimal(5, 9):\n"
        "    start = State.from_digits(sampled.puzzle)\n"
        "    for policy in POLICIES:\n"
        "        print(route(start, policy=policy).records.table.tolist())\n"
        "    print([group.row() for group in alternatives(start)])\n"
        "    print([step.as_dict() for step in available(start)])\n"
    )
    said = [
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    ]
    assert said[0]
    assert said[0] == said[1]


def test_what_is_available_is_listed_once() -> None:
    for state in _starts(NINE, 3, 8):
        steps = available(state, FIRST_FAMILY)
        said = {(step.premises, step.removes, step.places) for step in steps}
        assert len(said) == len(steps)
        apart = {
            (step.premises, step.removes, step.places)
            for name in FIRST_FAMILY.names
            for step in available(state, name)
        }
        assert said == apart


def test_a_written_digit_with_an_open_rival_is_refused() -> None:
    state = State.from_digits([1] + [0] * 80)
    broken = State(NINE, state.open | 1 << 1, state.placed)
    with pytest.raises(ValueError, match="r1c1=1 counts as written, but r1c2=1 is still open"):
        closure(broken, FIRST_FAMILY)


def test_uniqueness_is_not_assumed_unless_it_is_promised() -> None:
    state = State.from_digits(next(minimal(1, 3)).puzzle.tolist())
    rectangles = LEVELS["uniqueness"]
    for ask in (route, closure, alternatives):
        with pytest.raises(AssumesUnique, match=r"unique-corner.*unique=True"):
            ask(state, rectangles)
        ask(state, rectangles, unique=True)
        ask(state, rectangles.without_uniqueness())
