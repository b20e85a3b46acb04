"""The links of a state, what follows what, and how short a chain can be, from the definitions."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import chain, combinations
from typing import Any, NamedTuple

import networkx as nx
import numpy as np
import pytest
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.sample import minimal
from gridcrux.grids.arrays import from_words
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.techniques.compiled.board import new_board
from gridcrux.techniques.compiled.links import (
    CELLS,
    COST,
    DIGIT,
    GROUPS,
    KIND,
    LARGEST_SET,
    PAIRS,
    RULE,
    SETS,
    Graph,
    links_of,
)
from gridcrux.techniques.compiled.tables import Ints, Tables, tables
from gridcrux.techniques.solve import available, board_of
from samples import JAGGED, seen_from_all, thinned_or_ended

STATES = {
    boxes(2, 2): 20,
    boxes(2, 3): 12,
    latin(6): 12,
    JAGGED: 12,
    boxes(2, 3).with_diagonals(): 12,
    NINE: 8,
    NINE.with_diagonals(): 6,
}
"""How many states of each layout."""

ALL = CELLS | PAIRS | GROUPS | SETS

each_layout = pytest.mark.parametrize("layout", STATES, ids=lambda layout: layout.name)


@njit(cache=True)
def _graph(index: Tables, board: Ints, classes: int, digit: int) -> Graph:
    """The links of a board, where Python can see them."""
    return links_of(index, board, classes, digit)


class Link(NamedTuple):
    """A link by definition: its premises, its two nodes with all that a group may hold."""

    premises: tuple[int, ...]
    nodes: frozenset[int]
    kind: int


def _of_rules(state: State) -> Iterator[Link]:
    layout = state.layout
    for number, rule in enumerate(layout.rules):
        left = rule.mask & state.open
        two = frozenset(1 << candidate for candidate in bits(left))
        if len(two) == 2:
            yield Link((number,), two, CELLS if number < layout.cells else PAIRS)
        if len(two) < 3 or number < layout.cells:
            continue
        same_digit = range(layout.cells + (number - layout.cells) % layout.size, 10**6, layout.size)
        others = [layout.rules[other] for other in same_digit[: len(layout.houses)]]
        shared = [mask for other in others if (mask := other.mask & rule.mask) != rule.mask]
        shared = [mask for mask in shared if mask.bit_count() > 1]
        for group in shared:
            first, second = left & group, left & ~group
            if first.bit_count() < 2 or not second:
                continue
            homes = [mask & ~first for mask in shared if not second & ~mask]
            if second.bit_count() == 1:
                homes = [second]
            for home in homes:
                yield Link((number,), frozenset((group, home)), GROUPS)


def _of_sets(state: State) -> Iterator[Link]:
    layout = state.layout
    held = {
        cell: {digit - 1 for digit in state.digits_of(cell)}
        for cell in range(layout.cells)
        if not state.placed >> cell & 1
    }
    candidates = {
        tuple(sorted(cells))
        for house in layout.houses
        for size in range(2, LARGEST_SET + 1)
        for cells in combinations([cell for cell in house.cells if cell in held], size)
    }
    for cells in candidates:
        digits = set().union(*(held[cell] for cell in cells))
        if len(digits) != len(cells) + 1:
            continue
        parts = chain.from_iterable(combinations(cells, size) for size in range(1, len(cells)))
        if any(len(set().union(*(held[cell] for cell in part))) <= len(part) for part in parts):
            continue
        nodes = [
            sum(1 << digit * layout.cells + cell for cell in cells if digit in held[cell])
            for digit in digits
        ]
        for pair in combinations(nodes, 2):
            yield Link(cells, frozenset(pair), SETS)


def _definition(state: State, classes: int = ALL) -> set[Link]:
    """All links of some classes both of whose ends see something open."""
    found = set(_of_rules(state)) | (set(_of_sets(state)) if classes & SETS else set())
    return {
        link
        for link in found
        if link.kind & classes
        and all(seen_from_all(state.layout, node) & state.open for node in link.nodes)
    }


def _mask(words: NDArray[np.int64]) -> int:
    return from_words(words.view(np.uint64))


def _compiled(graph: Graph) -> list[Link]:
    return [
        Link(
            tuple(bits(_mask(graph.premises[link]))),
            frozenset(_mask(graph.nodes[node]) for node in (2 * link, 2 * link + 1)),
            int(graph.facts[2 * link, KIND]),
        )
        for link in range(len(graph.premises))
    ]


@each_layout
def test_the_links_are_those_of_the_definition(layout: Layout) -> None:
    met = Counter[int]()
    for state, _ in thinned_or_ended(layout, STATES[layout], 51, 0.55):
        links = _compiled(_graph(tables(layout), board_of(state), ALL, -1))
        assert len(links) == len(set(links)), "a link comes twice"
        assert set(links) == _definition(state)
        met.update(link.kind for link in links)
    expected = {PAIRS, CELLS, SETS} | (set() if layout == latin(6) else {GROUPS})
    assert set(met) == expected
    assert min(met.values()) > 20, met


@each_layout
def test_classes_and_digits_select_links(layout: Layout) -> None:
    for state, _ in thinned_or_ended(layout, 4, 52, 0.55):
        board, whole = board_of(state), _definition(state)
        for classes in (PAIRS, PAIRS | GROUPS, CELLS, CELLS | PAIRS, CELLS | SETS, GROUPS):
            links = _compiled(_graph(tables(layout), board, classes, -1))
            assert set(links) == {link for link in whole if link.kind & classes}
        for digit in range(layout.size):
            links = _compiled(_graph(tables(layout), board, PAIRS | GROUPS, digit))
            assert set(links) == {
                link
                for link in whole
                if link.kind & (PAIRS | GROUPS)
                and (link.premises[0] - layout.cells) % layout.size == digit
            }


@each_layout
def test_what_is_noted_of_a_link_is_true(layout: Layout) -> None:
    """Without either node, and without what it relies on, the premises cannot all be met."""
    for state, _ in thinned_or_ended(layout, STATES[layout] // 2, 53, 0.55):
        graph = _graph(tables(layout), board_of(state), ALL, -1)
        for number, link in enumerate(_compiled(graph)):
            every = 0
            for rule in link.premises:
                every |= layout.rules[rule].mask
            relies, left = _mask(graph.relies[number]), every
            assert not relies & (state.open | ~every)
            for direction in (2 * number, 2 * number + 1):
                node, facts = _mask(graph.nodes[direction]), graph.facts[direction]
                left &= ~node
                assert {candidate // layout.cells for candidate in bits(node)} == {facts[DIGIT]}
                assert facts[COST] == len(link.premises)
                assert facts[RULE] == (-1 if link.kind == SETS else link.premises[0])
                assert _mask(graph.sees[direction]) == seen_from_all(layout, node)
            digits = {candidate // layout.cells for candidate in bits(left & ~relies)}
            assert len(digits) < len(link.premises)


@each_layout
def test_a_direction_follows_where_its_start_is_excluded(layout: Layout) -> None:
    joined = 0
    for state, _ in thinned_or_ended(layout, STATES[layout] // 2, 54, 0.55):
        graph = _graph(tables(layout), board_of(state), ALL, -1)
        nodes = [_mask(words) for words in graph.nodes]
        sees = {node: seen_from_all(layout, node) for node in set(nodes)}
        for direction in range(len(nodes)):
            end = sees[nodes[direction ^ 1]]
            wanted = sum(1 << after for after, node in enumerate(nodes) if not node & ~end)
            assert _mask(graph.following[direction]) == wanted
            joined += wanted.bit_count()
        for candidate in range(layout.candidates):
            open_ = state.open >> candidate & 1
            hit = sum(
                1 << i for i, node in enumerate(nodes) if open_ and sees[node] >> candidate & 1
            )
            assert _mask(graph.hits[candidate]) == hit
    assert joined > 100


def test_a_grid_that_is_empty_or_full_has_the_links_of_the_definition_too() -> None:
    """Where boxes halve a line, its halves are groups from the start."""
    for layout in STATES:
        board = new_board(tables(layout))
        links = _compiled(_graph(tables(layout), board, ALL, -1))
        assert set(links) == _definition(State.empty(layout))
        assert (len(links) > 0) == (layout.size < 9 and layout != latin(6))
        (item,) = minimal(1, 55, layout)
        solved = State.from_digits(item.solution.tolist(), layout)
        assert not len(_graph(tables(layout), board_of(solved), ALL, -1).premises)


# The shortest chain that refutes a candidate, as a shortest path between directions.


class Ways(NamedTuple):
    """Both directions of some links: nodes, what they see, premises; and what follows what."""

    starts: list[int]
    ends: list[int]
    premises: list[frozenset[int]]
    sees: dict[int, int]
    graph: Any

    @classmethod
    def of(cls, layout: Layout, links: list[Link]) -> Ways:
        pairs = [tuple(sorted(link.nodes)) for link in links]
        turned = [(b, a) for a, b in pairs]
        starts, ends = ([node[i] for node in pairs + turned] for i in (0, 1))
        sees = {node: seen_from_all(layout, node) for node in starts}
        graph = nx.DiGraph()
        graph.add_nodes_from(range(len(starts)))
        for i, end in enumerate(ends):
            graph.add_edges_from((i, j) for j, s in enumerate(starts) if not s & ~sees[end])
        return cls(starts, ends, [frozenset(link.premises) for link in links] * 2, sees, graph)

    def around(self, target: int) -> tuple[set[int], set[int], set[int]]:
        """Where chains that refute a candidate start and end, and where they may not pass."""
        through = {i for i, node in enumerate(self.starts) if node >> target & 1}
        through |= {i for i, node in enumerate(self.ends) if node >> target & 1}
        first = {i for i, node in enumerate(self.starts) if self.sees[node] >> target & 1}
        last = {i for i, node in enumerate(self.ends) if self.sees[node] >> target & 1}
        return first - through, last - through, through

    def shortest(self, target: int) -> int | None:
        """Fewest premises of a path of links from a candidate back to it; not through it.

        None if there is none, 1 if a single link excludes the candidate.  The path may use a
        premise twice.
        """
        first, last, through = self.around(target)
        if not first or first & last:
            return 1 if first else None
        self.graph.add_edges_from((-1, i) for i in first)
        found = nx.single_source_dijkstra_path_length(
            self.graph,
            -1,
            weight=lambda _, after, __: None if after in through else len(self.premises[after]),
        )
        self.graph.remove_node(-1)
        return min((found[i] for i in last if i in found), default=None)

    def narrowest(self, target: int, most: int) -> int | None:
        """Fewest premises, up to `most`, of a path that uses none twice; -1 if hard to say."""
        first, last, through = self.around(target)
        best, patience = most + 1, 20_000
        stack = [(i, frozenset[int]()) for i in first]
        while stack:
            here, used = stack.pop()
            patience -= 1
            if not patience:
                return -1
            if here in through or used & self.premises[here]:
                continue
            wider = used | self.premises[here]
            if len(wider) >= best:
                continue
            if here in last:
                best = len(wider)
            else:
                stack += [(after, wider) for after in self.graph.successors(here)]
        return best if best <= most else None


LENGTHS: dict[str, tuple[int, int]] = {
    "x-chain": (PAIRS, 3),
    "grouped-x-chain": (PAIRS | GROUPS, 2),
    "xy-chain": (CELLS, 4),
    "alternating-chain": (CELLS | PAIRS, 2),
    "grouped-chain": (CELLS | PAIRS | GROUPS, 2),
    "als-chain": (CELLS | SETS, 3),
    "set-chain": (ALL, 2),
}
"""The links of each technique of any length, and the fewest premises that it has."""

MOST = 700
"""Directions above which a graph is left out, as the slow search takes too long."""


@pytest.mark.parametrize("name", LENGTHS)
def test_a_candidate_is_refuted_by_the_shortest_chain(name: str) -> None:
    """Shorter paths than what is offered use a premise twice, which makes them no chains.

    The finder looks on from such a path only along shortest paths, so it may miss a few.
    """
    classes, least = LENGTHS[name]
    same = detours = none = missed = 0
    for layout in STATES:
        for state, _ in thinned_or_ended(layout, 6, 56, 0.55):
            links = sorted(_definition(state, classes), key=lambda link: link.premises)
            if 2 * len(links) > MOST:
                continue
            offered: dict[int, int] = {}
            for step in available(state, name):
                for candidate in bits(step.eliminates):
                    offered[candidate] = min(step.width, offered.get(candidate, step.width))
            parts = [links]
            if not classes & (CELLS | SETS):
                parts = [
                    [k for k in links if (k.premises[0] - layout.cells) % layout.size == digit]
                    for digit in range(layout.size)
                ]
            ways = [Ways.of(layout, part) for part in parts]
            for target in bits(state.open):
                widths = [way.shortest(target) for way in ways]
                width = min((w for w in widths if w is not None), default=0)
                if width < least:
                    continue
                got = offered.get(target)
                assert got is None or got >= width
                if got == width:
                    same += 1
                    continue
                exact = [way.narrowest(target, got or width + 2) for way in ways]
                if -1 in exact:
                    continue
                best = min((w for w in exact if w is not None), default=None)
                detours += got == best is not None
                none += got is best is None
                missed += got != best
    assert same > 30
    assert missed <= 0.02 * (same + detours)
