"""Domain consistency of one house against all its fillings, and against strong components."""

from __future__ import annotations

from itertools import permutations

import networkx as nx
import numpy as np
import pytest

from gridcrux.grids.layout import NINE, Layout, latin
from gridcrux.grids.state import State
from gridcrux.proofs.consistency import Outcome, consistent, solves


def rows_only(n):
    """Rows and nothing else, so that each row is on its own."""
    return Layout(f"rows-{n}", n, latin(n).houses[:n])


def random_marks(layout, seed, share):
    """Each digit is open with a probability, and each cell has one at least."""
    random = np.random.default_rng(seed)
    n = layout.size
    return [
        sorted({int(random.integers(n)) + 1, *(np.flatnonzero(random.random(n) < share) + 1)})
        for _ in range(layout.cells)
    ]


def tight_marks(layout, seed, extra):
    """As before, but a cell of every row has one of its digits so that the row can be filled."""
    random = np.random.default_rng(seed)
    n = layout.size
    marks = []
    for _ in range(n):
        for digit in random.permutation(n):
            others = np.flatnonzero(random.random(n) < extra / n) + 1
            marks.append(sorted({int(digit) + 1, *others.tolist()}))
    return marks


def in_fillings(domains):
    """For each cell the digits it has in a filling with no digit twice, by trying all."""
    n = len(domains)
    found = [set() for _ in range(n)]
    for filling in permutations(range(1, n + 1)):
        if all(digit in domain for digit, domain in zip(filling, domains, strict=True)):
            for cell, digit in enumerate(filling):
                found[cell].add(digit)
    return found


def in_matchings(domains):
    """The same by a matching and strong components of another library."""
    n = len(domains)
    graph = nx.Graph()
    graph.add_nodes_from(("cell", i) for i in range(n))
    graph.add_nodes_from(("digit", d) for d in range(1, n + 1))
    graph.add_edges_from((("cell", i), ("digit", d)) for i, ds in enumerate(domains) for d in ds)
    cells = [("cell", i) for i in range(n)]
    matching = nx.bipartite.hopcroft_karp_matching(graph, cells)
    if any(cell not in matching for cell in cells):
        return [set()] * n
    ways = nx.DiGraph()
    for i, digits in enumerate(domains):
        for d in digits:
            cell, digit = ("cell", i), ("digit", d)
            ways.add_edge(*((cell, digit) if matching[cell] == digit else (digit, cell)))
    component = {}
    for number, members in enumerate(nx.strongly_connected_components(ways)):
        component.update(dict.fromkeys(members, number))
    return [
        {
            d
            for d in digits
            if matching["cell", i] == ("digit", d) or component["cell", i] == component["digit", d]
        }
        for i, digits in enumerate(domains)
    ]


def by_row(marks, n, oracle):
    """What an oracle keeps in each row; nothing at all if a row cannot be filled."""
    kept = []
    for row in range(n):
        kept += oracle(marks[row * n : row * n + n])
    return kept if all(kept) else None


def check(layout, marks, oracle):
    """Compare a state with what an oracle keeps; whether it can be filled, and loses something."""
    state = State.from_marks(marks, layout)
    expected = by_row(marks, layout.size, oracle)
    found = consistent(state, "all-different")
    if expected is None:
        assert solves(state, "all-different") is Outcome.DEAD
        assert found.open == 0
        return False, False
    assert [set(found.digits_of(cell)) for cell in range(layout.cells)] == expected
    return True, found.open != state.open


@pytest.mark.parametrize("n", [1, 2, 3, 4, 5])
def test_a_house_keeps_what_its_fillings_have(n):
    layout = rows_only(n)
    results = [check(layout, tight_marks(layout, seed, 1.2), in_fillings) for seed in range(60)]
    results += [check(layout, random_marks(layout, seed, 0.4), in_fillings) for seed in range(60)]
    if n > 2:
        # Both contradictions and reductions were seen.
        assert len(set(results)) >= 2


@pytest.mark.parametrize("n", [9, 16, 25])
def test_a_large_house_keeps_what_its_matchings_have(n):
    layout = rows_only(n)
    results = [check(layout, tight_marks(layout, seed, 2), in_matchings) for seed in range(6)]
    assert all(lost for _, lost in results)
    results = [check(layout, random_marks(layout, seed, 0.15), in_matchings) for seed in range(6)]
    assert not all(filled for filled, _ in results)


def test_the_two_oracles_agree():
    for seed in range(40):
        marks = tight_marks(rows_only(5), seed, 1.5)[:5]
        assert in_fillings(marks) == in_matchings(marks)


def test_three_cells_with_three_digits_shut_the_others_out():
    """Hall's theorem: no two of the three cells are a pair."""
    marks = [[1, 2], [2, 3], [1, 3], *[list(range(1, 10))] * 78]
    row = consistent(State.from_marks(marks, NINE), "all-different")
    assert [row.digits_of(cell) for cell in range(3)] == marks[:3]
    assert all(row.digits_of(cell) == [4, 5, 6, 7, 8, 9] for cell in range(3, 9))
    assert consistent(State.from_marks(marks, NINE), "locked").digits_of(5) == list(range(1, 10))


def test_more_cells_than_digits_are_a_contradiction():
    marks = [[1, 2], [1, 2], [1, 2], *[list(range(1, 10))] * 78]
    state = State.from_marks(marks, NINE)
    assert solves(state, "extended-units") is Outcome.OPEN
    assert solves(state, "all-different") is Outcome.DEAD
