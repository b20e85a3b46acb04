"""Chains and almost locked sets against slow searches written from their definitions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations, product

import networkx as nx
import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.records import new_records
from gridcrux.techniques.compiled.board import forbid
from gridcrux.techniques.compiled.driver import apply, find
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.tables import tables
from gridcrux.techniques.reading.links import Link, rule_links, seen_from
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY
from gridcrux.techniques.solve import available, board_of, closure, route, state_of
from samples import JAGGED

LAYOUTS = {boxes(2, 3): 8, latin(6): 8, JAGGED: 8, NINE: 6, NINE.with_diagonals(): 4}

PLAIN = [layout for layout in LAYOUTS if layout != NINE.with_diagonals()]
"""On diagonals a single link may exclude what no technique of the first family does."""

each_layout = pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)


def _stuck(layout: Layout) -> Iterator[State]:
    """Where the first family ends."""
    for item in minimal(6 * LAYOUTS[layout], 9, layout):
        end = closure(State.from_digits(item.puzzle.tolist(), layout), FIRST_FAMILY)
        if not end.is_solved:
            yield end


def _states(layout: Layout) -> Iterator[State]:
    """Where the first family ends, and with some of what is false gone from the start."""
    random = np.random.default_rng(6)
    for item in minimal(LAYOUTS[layout], 9, layout):
        start = State.from_digits(item.puzzle.tolist(), layout)
        true = (item.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        lost = random.random(layout.candidates) < random.uniform(0.3, 0.6)
        lost[true] = False
        yield closure(start, FIRST_FAMILY)
        yield State.empty(layout).without(sum(1 << c for c in np.flatnonzero(lost).tolist()))


# Least widths, by shortest paths in a graph of directed links.


def _links(state: State, kinds: set[str], digit: int | None = None) -> list[Link]:
    layout = state.layout
    rules = [
        rule
        for rule in range(len(layout.rules))
        if digit is None or (rule >= layout.cells and (rule - layout.cells) % layout.size == digit)
    ]
    found = [link for rule in rules for link in rule_links(layout, state.open, rule)]
    return [way for link in found if link.kind in kinds for way in (link, link.turned)]


def _least_widths(state: State, links: list[Link]) -> dict[int, int]:
    """For each candidate the fewest links of a chain that refutes it, where links differ."""
    layout = state.layout
    sees = {node: seen_from(layout, node) for link in links for node in (link.a, link.b)}
    graph = nx.DiGraph()
    graph.add_nodes_from(range(len(links)))
    for (i, one), (j, two) in product(enumerate(links), repeat=2):
        if not two.a & ~sees[one.b]:
            graph.add_edge(i, j)
    least: dict[int, int] = {}
    for candidate in bits(state.open):
        starts = [i for i, link in enumerate(links) if sees[link.a] >> candidate & 1]
        ends = {i for i, link in enumerate(links) if sees[link.b] >> candidate & 1}
        if not starts or not ends:
            continue
        steps = nx.multi_source_dijkstra_path_length(graph, set(starts), weight=lambda *_: 1)
        # A chain has two links or more; a start that is an end has to be come back to.
        reached = [
            1 + min(steps[before] for before in graph.predecessors(end) if before in steps)
            for end in ends
            if any(before in steps for before in graph.predecessors(end))
        ]
        if reached:
            least[candidate] = 1 + min(reached)
    return least


def _compare_narrowest(expected: dict[int, int], got: dict[int, int], least: int) -> int:
    """All candidates with the shortest chain of all must be offered, with that width.

    A longer chain of the search here may use a premise twice, or go through the candidate that
    it refutes, and is none then; what it goes through has a shorter chain.
    """
    narrowest = min(expected.values(), default=0)
    if narrowest < least:
        return 0
    wanted = {candidate for candidate, width in expected.items() if width == narrowest}
    assert wanted == {candidate for candidate, width in got.items() if width == narrowest}
    return len(wanted)


CHAINS = {
    "alternating-chain": ({"cell", "house"}, 2),
    "grouped-chain": ({"cell", "house", "group"}, 2),
    "xy-chain": ({"cell"}, 4),
}


@pytest.mark.parametrize("layout", PLAIN, ids=lambda layout: layout.name)
@pytest.mark.parametrize("name", CHAINS)
def test_the_chain_offered_is_the_shortest(layout: Layout, name: str) -> None:
    kinds, least = CHAINS[name]
    compared = 0
    for state in _stuck(layout):
        expected = _least_widths(state, _links(state, kinds))
        got: dict[int, int] = {}
        for step in available(state, name):
            for candidate in bits(step.eliminates):
                got[candidate] = min(step.width, got.get(candidate, step.width))
        assert all(width >= expected[c] for c, width in got.items())
        compared += _compare_narrowest(expected, got, least)
    assert compared or layout != NINE


@pytest.mark.parametrize("layout", PLAIN, ids=lambda layout: layout.name)
def test_chains_of_one_digit_are_the_shortest(layout: Layout) -> None:
    compared = 0
    for state in _stuck(layout):
        for name, kinds, least in (
            ("x-chain", {"house"}, 3),
            ("grouped-x-chain", {"house", "group"}, 2),
        ):
            steps = available(state, name)
            for digit in range(layout.size):
                got: dict[int, int] = {}
                for step in steps:
                    if (step.premises[0] - layout.cells) % layout.size == digit:
                        for candidate in bits(step.eliminates):
                            got[candidate] = min(step.width, got.get(candidate, step.width))
                expected = _least_widths(state, _links(state, kinds, digit))
                assert all(width >= expected[c] for c, width in got.items())
                compared += _compare_narrowest(expected, got, least)
    assert compared or layout != NINE


# Shapes of a fixed size, by brute force.

Offers = set[tuple[tuple[int, ...], int]]


def _offers(state: State, name: str) -> Offers:
    return {(step.premises, step.eliminates) for step in available(state, name)}


def _kind(layout: Layout, rule: int) -> str:
    return layout.houses[(rule - layout.cells) // layout.size].kind


def _two_links(state: State) -> Iterator[tuple[str, tuple[int, ...], int]]:
    """All pairs of houses with two places each for a digit, joined at one end only."""
    layout = state.layout
    for digit in range(layout.size):
        links = [link for link in _links(state, {"house"}, digit)]
        for one, two in combinations(links, 2):
            if one.premises == two.premises or two.a & ~seen_from(layout, one.b):
                continue
            if not one.a & ~seen_from(layout, two.b) or (one.a | one.b) & (two.a | two.b):
                continue
            fallen = (
                seen_from(layout, one.a | two.b) & state.open & ~(one.a | one.b | two.a | two.b)
            )
            kinds = sorted(_kind(layout, link.premises[0]) for link in (one, two))
            name = {"column row": "two-string-kite"}.get(" ".join(kinds), "turbot-chain")
            if kinds in (["row", "row"], ["column", "column"]):
                name = "skyscraper"
            if fallen:
                yield name, tuple(sorted(one.premises + two.premises)), fallen


def _cells_of(state: State, count: int) -> list[tuple[int, int]]:
    """Cells with so many open digits, and their candidates."""
    layout = state.layout
    masks = [(cell, layout.rules[cell].mask & state.open) for cell in range(layout.cells)]
    return [(cell, mask) for cell, mask in masks if mask.bit_count() == count]


def _digits(layout: Layout, mask: int) -> set[int]:
    return {candidate // layout.cells for candidate in bits(mask)}


def _wings(state: State) -> Iterator[tuple[str, tuple[int, ...], int]]:
    layout = state.layout
    plane = (1 << layout.cells) - 1
    two = _cells_of(state, 2)
    for name, middles in (("xy-wing", two), ("xyz-wing", _cells_of(state, 3))):
        for (hub, mask), ((c1, m1), (c2, m2)) in product(middles, combinations(two, 2)):
            if hub in (c1, c2) or not {c1, c2} <= layout.peers[hub]:
                continue
            d, d1, d2 = (_digits(layout, m) for m in (mask, m1, m2))
            shared = d1 & d2
            if len(shared) != 1 or (d1 | d2) - d > shared or not d <= d1 | d2:
                continue
            if (shared <= d) != (name == "xyz-wing"):
                continue
            z = next(iter(shared))
            ends = (m1 | m2 | mask) & plane << z * layout.cells
            fallen = seen_from(layout, ends) & state.open
            if name == "xy-wing" and c1 in layout.peers[c2]:
                continue
            if fallen:
                yield name, tuple(sorted((hub, c1, c2))), fallen


@each_layout
def test_fixed_shapes_are_all_found(layout: Layout) -> None:
    met = Counter[str]()
    for state in _states(layout):
        expected: dict[str, Offers] = {
            name: set()
            for name in ("skyscraper", "two-string-kite", "turbot-chain", "xy-wing", "xyz-wing")
        }
        for name, premises, fallen in (*_two_links(state), *_wings(state)):
            expected[name].add((premises, fallen))
        for name, wanted in expected.items():
            assert _offers(state, name) == wanted, name
            met[name] += len(wanted)
    assert sum(met.values()) > (0 if layout == latin(6) else 10), met


# What holds for all of them.


@each_layout
def test_no_chain_is_wider_than_asked_and_none_excludes_what_is_forbidden(layout: Layout) -> None:
    names = [t.name for t in DEFAULT if t.family in ("chain", "almost locked set")]
    for state in _states(layout):
        for step in available(state, DEFAULT.only(*names).widest(4)):
            assert step.width <= 4
        index, room = tables(layout), new_records(2000, layout)
        board = board_of(state)
        closed = next(bits(state.open))
        forbid(index, board, closed)
        plan = plan_of(DEFAULT)
        for name in names:
            number = DEFAULT[name].number
            count = find(index, board, plan, number, -1, room, 0, 2000)
            removes = room[:count, 2 : 2 + index.rules.shape[1]]
            assert not any(int(row[closed >> 6]) >> (closed & 63) & 1 for row in removes)


@pytest.mark.parametrize("layout", [boxes(2, 3), NINE], ids=lambda layout: layout.name)
def test_each_step_of_a_route_is_what_a_search_from_scratch_finds(layout: Layout) -> None:
    """The finders remember digits in which they found nothing; a new board does not."""
    index, one, plan = tables(layout), new_records(1, layout), plan_of(DEFAULT)
    hard = 0
    for start in _states(layout):
        way = route(start, DEFAULT)
        follow = board_of(start)
        for row in range(len(way)):
            fresh = board_of(state_of(start, follow))
            found = (find(index, fresh, plan, t, -1, one, 0, 1) for t in DEFAULT.order)
            assert any(found)
            assert (one[0] == way.records.table[row]).all()
            hard += way.records.places[row] < 0
            apply(index, follow, way.records.table, row)
    assert hard > 15


def test_a_level_without_chains_needs_none_and_finds_less() -> None:
    solved = Counter[str]()
    for item in minimal(60, 12):
        start = State.from_digits(item.puzzle.tolist())
        solved["fish"] += route(start, FIRST_FAMILY).solved
        solved["all"] += route(start, DEFAULT).solved
    assert solved["fish"] < solved["all"] >= 58
