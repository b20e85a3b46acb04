"""Closures of many selections from one repertoire, with each state looked at once.

Selections share most of what they do: they meet the same states, and what a technique finds in a
state does not depend on what else one knows.  So the states met are kept, and for each of them
what each technique does there: nothing, or the state after its first deduction.  A closure is then
a walk from state to state, the same that `driver.run` takes, in which a finder is called only
where nobody asked it before.  The techniques at the head of the repertoire that write digits are
carried out together, as looking them up costs more than finding them.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numba import njit
from numpy.typing import NDArray

from gridcrux.grids.arrays import from_words, word_count
from gridcrux.grids.state import State
from gridcrux.logic.records import new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.compiled.board import (
    BLANKS,
    BROKEN,
    FACTS,
    GIVENS,
    leaves_no_more,
    load_left,
    read_left,
)
from gridcrux.techniques.compiled.driver import apply, find, run
from gridcrux.techniques.compiled.families import Plan, plan_of
from gridcrux.techniques.compiled.tables import Ints, Tables, tables
from gridcrux.techniques.policies import NOTHING
from gridcrux.techniques.solve import board_of

Flags = NDArray[np.bool_]

UNKNOWN, NONE, FULL = -1, -2, -3
"""What is kept instead of the number of a state: nobody looked; nothing was found.  What comes
back instead of it: there is no room for another state."""

COUNT, SHOWN = 0, 1
"""Columns of `Graph.facts`: how many states there are, and which one is on the board."""

GOES_ON, STOPS, REACHED = 0, 1, 2
"""Of a state: not at an end yet; solved or contradictory, short of the goal; at the goal."""

ROOM = 512
"""States for which there is room at first."""


class Graph(NamedTuple):
    """The states met so far, numbered from 0, which is the start.

    Attributes
    ----------
    layout, plan : the tables of the layout and the repertoire of T techniques.
    board, room : space to work in, one board and one record.
    givens : the row of the board that says what was given.
    goal : the board at the end of the whole repertoire.
    head : how many techniques are carried out together.
    states : (N, W + V) open candidates and cells without a digit, as words.
    after : (N, 2**head) the state after a selection from the head, or `UNKNOWN`.
    steps : (N, T) the state after a step of a technique, `NONE` or `UNKNOWN`.
    kinds : (N,) `GOES_ON`, `STOPS` or `REACHED`.
    slots : where a state is: its number at its hash or behind it, or `UNKNOWN`.
    facts : see `COUNT` and `SHOWN`.
    """

    layout: Tables
    plan: Plan
    board: Ints
    room: Ints
    givens: Ints
    goal: Ints
    head: int
    states: Ints
    after: Ints
    steps: Ints
    kinds: Ints
    slots: Ints
    facts: Ints


@njit(cache=True)
def gets_as_far(index: Tables, board: Ints, goal: Ints) -> bool:
    """Whether a board has no more candidates open than the goal, and as many digits written.

    A contradiction excludes everything, so nothing gets farther.
    """
    if board[FACTS, BROKEN] >= 0 or goal[FACTS, BROKEN] >= 0:
        return board[FACTS, BROKEN] >= 0
    return leaves_no_more(index, board, goal)


@njit(cache=True)
def slot_of(slots: Ints, states: Ints, state: Ints) -> np.int64:
    """Where in `slots` a state is, or has to go."""
    code = np.uint64(len(state))
    for word in state:
        code = (code ^ np.uint64(word)) * np.uint64(0x9E3779B97F4A7C15)
        code ^= code >> np.uint64(29)
    slot = np.int64(code & np.uint64(len(slots) - 1))
    while slots[slot] >= 0 and (states[slots[slot]] != state).any():
        slot = (slot + 1) & (len(slots) - 1)
    return slot


@njit(cache=True)
def number_of_board(graph: Graph) -> int:
    """The number of the state on the board, a new one where it is new, or `FULL`."""
    index, board, facts = graph.layout, graph.board, graph.facts
    state = np.empty(graph.states.shape[1], np.int64)
    read_left(index, board, state)
    slot = slot_of(graph.slots, graph.states, state)
    number = graph.slots[slot]
    if number < 0:
        number = facts[COUNT]
        if number == graph.states.shape[0]:
            facts[SHOWN] = UNKNOWN
            return FULL
        facts[COUNT] = number + 1
        graph.slots[slot] = number
        graph.states[number] = state
        if gets_as_far(index, board, graph.goal):
            graph.kinds[number] = REACHED
        elif board[FACTS, BROKEN] >= 0 or board[BLANKS, index.houses] == 0:
            graph.kinds[number] = STOPS
    facts[SHOWN] = number
    return number


@njit(cache=True)
def show(graph: Graph, number: int) -> None:
    """Put a state on the board."""
    if graph.facts[SHOWN] == number:
        return
    load_left(graph.layout, graph.board, graph.states[number], graph.givens)
    graph.facts[SHOWN] = number


@njit(cache=True)
def step(graph: Graph, number: int, place: int) -> int:
    """The state after the first deduction of the technique at a place of the plan, or `NONE`."""
    known = graph.steps[number, place]
    if known != UNKNOWN:
        return known
    show(graph, number)
    plan = graph.plan
    found = find(graph.layout, graph.board, plan, plan.order[place], -1, graph.room, 0, 1)
    following = NONE
    if found:
        apply(graph.layout, graph.board, graph.room, 0)
        following = number_of_board(graph)
    if following != FULL:
        graph.steps[number, place] = following
    return following


@njit(cache=True)
def settle(graph: Graph, number: int, selected: Flags) -> int:
    """The state when those techniques of the head that are selected find nothing any more."""
    key = 0
    for place in range(graph.head):
        key |= selected[place] << place
    known = graph.after[number, key]
    if known != UNKNOWN:
        return known
    show(graph, number)
    plan = graph.plan
    order = plan.order[: graph.head][selected[: graph.head]]
    nothing = np.empty(0, np.uint64)
    head = Plan(order, plan.widest, plan.finders, plan.clock)
    run(graph.layout, graph.board, head, nothing, -1, graph.room)
    following = number_of_board(graph)
    if following != FULL:
        graph.after[number, key] = following
    return following


@njit(cache=True)
def walk(graph: Graph, number: int, selected: Flags) -> int:
    """The closure of a state under the selected techniques, or `FULL`."""
    while True:
        number = settle(graph, number, selected)
        if number == FULL or graph.kinds[number] != GOES_ON:
            return number
        following = NONE
        for place in range(graph.head, len(selected)):
            if selected[place]:
                following = step(graph, number, place)
                if following != NONE:
                    break
        if following == NONE:
            return number
        if following == FULL:
            return FULL
        number = following


@njit(cache=True)
def walk_each(graph: Graph, selections: Flags, ends: Ints) -> bool:
    """Write the closure of the start for each of (K, T) selections; False if there is no room."""
    for i in range(len(selections)):
        ends[i] = walk(graph, 0, selections[i])
        if ends[i] == FULL:
            return False
    return True


class Closures:
    """The closures of a state under selections from a repertoire.

    A selection is (T,) flags in the order of the repertoire.  `reach` and `ends` are what
    `techniques.solve.closure` says of the techniques selected.

    Attributes
    ----------
    graph : what is known so far; another one after `make_room`.
    """

    def __init__(self, state: State, repertoire: Repertoire) -> None:
        layout = state.layout
        index, plan, board = tables(layout), plan_of(repertoire), board_of(state)
        goal, room = board.copy(), new_records(1, layout)
        run(index, goal, plan, NOTHING, -1, room)
        placing = [technique.family == "single" for technique in repertoire]
        head = (*placing, False).index(False)
        self._words = word_count(layout)
        width = self._words + (layout.cells + 63) // 64
        self.graph = Graph(
            index,
            plan,
            board,
            room,
            board[GIVENS].copy(),
            goal,
            head,
            np.zeros((ROOM, width), np.int64),
            np.full((ROOM, 1 << head), UNKNOWN),
            np.full((ROOM, len(repertoire)), UNKNOWN),
            np.zeros(ROOM, np.int64),
            np.full(4 * ROOM, UNKNOWN),
            np.array([0, UNKNOWN]),
        )
        number_of_board(self.graph)

    def __len__(self) -> int:
        """How many states were met."""
        return int(self.graph.facts[COUNT])

    def ends(self, selections: Flags) -> Ints:
        """(K,) the number of the closure for each of (K, T) selections."""
        ends = np.empty(len(selections), np.int64)
        while not walk_each(self.graph, selections, ends):
            self.make_room()
        return ends

    def reach(self, selections: Flags) -> Flags:
        """(K,) whether each of (K, T) selections reaches the goal."""
        ends = self.ends(selections)
        return self.graph.kinds[ends] == REACHED

    def open_of(self, number: int) -> int:
        """Mask of the open candidates of a state."""
        return from_words(self.graph.states[number, : self._words].view(np.uint64))

    def make_room(self) -> None:
        """Double the room for states."""
        old, count = self.graph, len(self)
        slots = np.full(2 * len(old.slots), UNKNOWN)
        graph = old._replace(
            states=np.concatenate([old.states, np.zeros_like(old.states)]),
            after=np.concatenate([old.after, np.full_like(old.after, UNKNOWN)]),
            steps=np.concatenate([old.steps, np.full_like(old.steps, UNKNOWN)]),
            kinds=np.concatenate([old.kinds, np.zeros_like(old.kinds)]),
            slots=slots,
        )
        for number in range(count):
            slots[slot_of(slots, graph.states, graph.states[number])] = number
        self.graph = graph
