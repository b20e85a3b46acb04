"""Chains with a shape of their own against searches written from what the shapes are."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations, permutations, product

import networkx as nx
import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import available, closure
from samples import JAGGED, seen_from_all

LAYOUTS = [boxes(2, 2), boxes(2, 3), latin(6), JAGGED, NINE, NINE.with_diagonals()]
COUNT = 160
"""States of each layout."""

Offers = set[tuple[tuple[int, ...], int]]
"""Premises and what is eliminated."""

each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


def _states(layout: Layout, seed: int) -> Iterator[State]:
    """The ends of the first family, and grids without givens in which much that is false is gone.

    In some of these two digits are left nearly nowhere but in each other's cells, so that they
    have two places in most houses; in some many of these cells hold just these two.
    """
    random = np.random.default_rng(seed)
    for number, item in enumerate(minimal(COUNT, seed, layout)):
        end = closure(State.from_digits(item.puzzle.tolist(), layout), FIRST_FAMILY)
        if number % 4 == 0 and not end.is_solved:
            yield end
            continue
        two = random.permutation(layout.size)[:2]
        lost = random.random((layout.size, layout.cells)) < random.uniform(0.1, 0.6)
        shared = np.isin(item.solution, two + 1)
        if number % 4 == 2:
            chance = np.where(shared, 0.15, 0.92)
            lost[two] = random.random((2, layout.cells)) < chance
        if number % 4 == 3:
            paired = shared & (random.random(layout.cells) < 0.8)
            lost[:, paired] = True
            lost[np.ix_(two, paired)] = False
        lost[item.solution.astype(int) - 1, np.arange(layout.cells)] = False
        yield State.empty(layout).without(sum(1 << c for c in np.flatnonzero(lost).tolist()))


def _pairs(state: State, digit: int) -> list[tuple[int, int, int]]:
    """Rules of a digit with two places, and these two candidates."""
    layout = state.layout
    rules = range(layout.cells + digit, len(layout.rules), layout.size)
    found = [(rule, *bits(layout.rules[rule].mask & state.open)) for rule in rules]
    return [each for each in found if len(each) == 3]


def _twos(state: State) -> list[tuple[int, set[int]]]:
    """Cells with two digits, and these (from zero)."""
    held = [(c, {d - 1 for d in state.digits_of(c)}) for c in range(state.layout.cells)]
    return [(cell, digits) for cell, digits in held if len(digits) == 2]


def _narrowest(state: State, name: str) -> dict[int, int]:
    """What a technique eliminates, with the fewest premises that it takes."""
    widths: dict[int, int] = {}
    for step in available(state, name):
        for candidate in bits(step.eliminates):
            widths[candidate] = min(step.width, widths.get(candidate, step.width))
    return widths


def _wider(widths: dict[int, int], expected: dict[int, int], least: int) -> dict[int, int]:
    """The entries whose expected width is so much at least."""
    return {c: width for c, width in widths.items() if expected[c] >= least}


def _two_houses(state: State) -> dict[str, Offers]:
    """Two houses with two places each for a digit, joined at one end only."""
    layout = state.layout
    found: dict[str, Offers] = {
        "skyscraper": set(),
        "two-string-kite": set(),
        "turbot-chain": set(),
    }
    for digit in range(layout.size):
        for (one, *ends), (two, *others) in combinations(_pairs(state, digit), 2):
            kinds = {
                layout.houses[(rule - layout.cells) // layout.size].kind for rule in (one, two)
            }
            name = "two-string-kite" if kinds == {"row", "column"} else "turbot-chain"
            if kinds in ({"row"}, {"column"}):
                name = "skyscraper"
            joined = [(a, b) for a, b in product(ends, others) if layout.conflicts[a] >> b & 1]
            for a, b in joined:
                away = (1 << sum(ends) - a) | (1 << sum(others) - b)
                if set(ends) & set(others) or (sum(ends) - a, sum(others) - b) in joined:
                    continue
                if fallen := seen_from_all(layout, away) & state.open & ~(1 << a | 1 << b):
                    found[name].add(((one, two), fallen))
    return found


def _splits(state: State, rule: int) -> Iterator[tuple[int, int]]:
    """The places of a digit in a house in two groups, with all cells of the crossings."""
    layout = state.layout
    first = layout.cells + (rule - layout.cells) % layout.size
    others = [layout.rules[first + h * layout.size].mask for h in range(len(layout.houses))]
    mine = layout.rules[rule].mask
    parts = {mask & mine for mask in others if 1 < (mask & mine).bit_count() < layout.size}
    left = mine & state.open
    if left.bit_count() == 2:
        yield left & -left, left & (left - 1)
    for part in parts if left.bit_count() > 2 else ():
        one, two = left & part, left & ~part
        if one.bit_count() > 1 and two:
            whole = [other & ~one for other in parts if not two & ~other]
            yield from ((part, other) for other in ([two] if two.bit_count() == 1 else whole))


def _empty_rectangles(state: State) -> Iterator[tuple[tuple[int, ...], int]]:
    layout = state.layout
    for digit in range(layout.size):
        rules = {
            kind: [
                layout.cells + number * layout.size + digit
                for number, house in enumerate(layout.houses)
                if house.kind in kind
            ]
            for kind in ("row", "column", "box region")
        }
        boxed = [
            (rule, nodes)
            for rule in rules["box region"]
            if (layout.rules[rule].mask & state.open).bit_count() > 2
            for split in _splits(state, rule)
            for nodes in (split, split[::-1])
            if all(
                any(not node & ~layout.rules[line].mask for line in rules[kind])
                for node, kind in zip(nodes, ("row", "column"), strict=True)
            )
        ]
        lines = [
            (rule, nodes)
            for rule in rules["row"] + rules["column"]
            for split in _splits(state, rule)
            for nodes in (split, split[::-1])
        ]
        for (box, ends), (line, (near, far)), turned in product(boxed, lines, (1, -1)):
            away, joined = ends[::turned]
            if near & ~seen_from_all(layout, joined) or not far & ~seen_from_all(layout, away):
                continue
            if (away | joined) & (near | far):
                continue
            if fallen := seen_from_all(layout, away | far) & state.open & ~(joined | near):
                yield tuple(sorted((box, line))), fallen


def _w_wings(state: State) -> Offers:
    layout = state.layout
    found: Offers = set()
    for (c1, held), (c2, others) in combinations(_twos(state), 2):
        if held != others or c1 in layout.peers[c2]:
            continue
        for x, z in permutations(held):
            plane = x * layout.cells
            fallen = (
                seen_from_all(layout, sum(1 << z * layout.cells + c for c in (c1, c2))) & state.open
            )
            for rule, *places in _pairs(state, x):
                if fallen and any(
                    one - plane in layout.peers[c1] and two - plane in layout.peers[c2]
                    for one, two in permutations(places)
                ):
                    found.add((tuple(sorted((c1, c2, rule))), fallen))
    return found


@each_layout
def test_shapes_of_two_or_three_links_are_all_found(layout: Layout) -> None:
    met = Counter[str]()
    for state in _states(layout, 81):
        wanted = _two_houses(state)
        wanted["empty-rectangle"] = set(_empty_rectangles(state))
        wanted["w-wing"] = _w_wings(state)
        for name, offers in wanted.items():
            got = {(step.premises, step.eliminates) for step in available(state, name)}
            assert got == offers, name
            met[name] += len(got)
    # With lines only, what sees both ends of a skyscraper lies in one of its lines.
    possible = {"w-wing"} if layout == latin(6) else set(met)
    assert possible == {name for name, count in met.items() if count > 3}, met


# Places that alternate, as the two sides of a bipartite graph.


def _odd_ends(graph: nx.Graph, seen: list[int]) -> int:
    """The least odd distance between two places that are seen, or 0.

    In a graph with two sides a shortest path between different sides is odd.
    """
    side = nx.bipartite.color(graph)
    found = [
        nx.shortest_path_length(graph, one, two)
        for one, two in combinations(seen, 2)
        if side[one] != side[two] and nx.has_path(graph, one, two)
    ]
    return min(found, default=0)


@each_layout
def test_colours_trap_what_sees_both_of_them(layout: Layout) -> None:
    """Every second step along the places is a premise; with two there are other names."""
    met = 0
    for state in _states(layout, 82):
        offered = _narrowest(state, "simple-colouring")
        expected: dict[int, int] = {}
        for digit in range(layout.size):
            graph = nx.Graph()
            graph.add_edges_from((one, two) for _, one, two in _pairs(state, digit))
            for candidate in bits(state.open):
                seen = [place for place in graph if layout.conflicts[candidate] >> place & 1]
                if length := _odd_ends(graph, seen):
                    expected[candidate] = (length + 1) // 2
        assert offered.keys() <= expected.keys()
        assert _wider(offered, expected, 3) == _wider(expected, expected, 3)
        met += len(offered)
    assert met > 3 or layout == boxes(2, 2)


@each_layout
def test_remote_pairs_are_the_shortest(layout: Layout) -> None:
    met = 0
    for state in _states(layout, 83):
        offered = _narrowest(state, "remote-pair")
        expected: dict[int, int] = {}
        two = _twos(state)
        for digits in {frozenset(held) for _, held in two}:
            alike = [cell for cell, held in two if held == digits]
            graph = nx.Graph()
            graph.add_nodes_from(alike)
            graph.add_edges_from((a, b) for a, b in combinations(alike, 2) if b in layout.peers[a])
            for candidate in bits(state.open):
                digit, cell = divmod(candidate, layout.cells)
                if digit in digits and cell not in alike:
                    length = _odd_ends(graph, [c for c in alike if c in layout.peers[cell]])
                    if length:
                        expected[candidate] = length + 1
        assert offered.keys() <= expected.keys()
        assert _wider(offered, expected, 4) == _wider(expected, expected, 4)
        met += len(offered)
    # With lines only, three cells of four lie in two lines, where they are naked pairs.
    assert met > 3 or layout in (boxes(2, 2), latin(6))
