"""The two state formats of the kernel against each other and against plain enumeration."""

from __future__ import annotations

import numpy as np
import pytest

from gridcrux.corpus.sample import grids, minimal
from gridcrux.engines.kernel import KernelEngine, search
from gridcrux.engines.protocol import Answer
from gridcrux.grids.arrays import from_words, geometry, state_words
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State, bits

BOTH = pytest.mark.parametrize("kind", [search.PLANES, search.MASKS], ids=["planes", "masks"])


class Bench:
    """A stack for the 9x9 layout in one of the two formats."""

    def __init__(self, kind):
        self.kind, self.tables = kind, geometry(NINE)
        self.stack = search.new_stack(kind, self.tables)
        self.nothing = np.zeros_like(self.stack[0])
        self.control = np.zeros(search.CONTROLS, np.int64)

    def load(self, state):
        self.control[:] = 0
        search.load_words(self.kind, self.tables, self.stack[0], state_words(state))

    def read(self, row=0):
        return self.mask(self.stack[row])

    def mask(self, row):
        words = np.zeros(12, np.uint64)
        search.read_words(self.kind, self.tables, row, words)
        return from_words(words)

    def solutions(self, state, seen, limit, explore=False):
        """The solutions found in the order that `seen` and `explore` make."""
        self.load(state)
        found = []
        while len(found) < limit:
            ended = search.advance(
                self.kind, self.tables, self.stack, self.control, seen, explore, 0, 1 << 40
            )
            if ended == search.EXHAUSTED:
                break
            found.append(self.read(self.control[search.TOP] + 1))
        return found


def thinned(seed, removed):
    """A minimal puzzle with further givens removed, and some wrong-looking candidates closed."""
    random = np.random.default_rng(seed)
    digits = next(minimal(1, seed)).puzzle.copy()
    for cell in random.permutation(np.flatnonzero(digits))[:removed]:
        digits[cell] = 0
    state = State.from_digits(digits.tolist())
    closed = [k for k in bits(state.open) if random.random() < 0.01]
    return state.without(sum(1 << k for k in closed))


@BOTH
def test_loading_and_reading_are_inverse(kind):
    bench = Bench(kind)
    for seed in range(20):
        state = thinned(seed, seed % 7)
        bench.load(state)
        assert bench.read() == state.open


@BOTH
def test_givens_load_as_their_state_after_propagation(kind):
    bench = Bench(kind)
    for item in minimal(20, 7):
        search.load_givens(kind, bench.tables, bench.stack[0], item.puzzle)
        search.propagate(kind, bench.tables, bench.stack, 0)
        from_givens = bench.read()
        bench.load(State.from_digits(item.puzzle.tolist()))
        search.propagate(kind, bench.tables, bench.stack, 0)
        assert from_givens == bench.read()


@BOTH
@pytest.mark.parametrize("seed", range(12))
def test_every_branching_order_finds_the_same_solutions(kind, seed):
    """A state called solved too early shows as an extra solution under some orders only."""
    state = thinned(seed, 2 + seed % 4)
    bench = Bench(kind)
    random = np.random.default_rng(seed)
    expected = None
    for turn in range(8):
        seen = random.integers(0, 2**32, bench.stack.shape[1], dtype=np.uint32)
        found = bench.solutions(state, seen, 3000, explore=turn % 2 == 0)
        assert len(set(found)) == len(found)
        for solution in found:
            assert all((rule.mask & solution).bit_count() == 1 for rule in NINE.rules)
            assert solution & ~state.open == 0
        if len(found) < 3000:
            expected = expected or sorted(found)
            assert sorted(found) == expected


def test_both_formats_agree_on_counts_and_solutions():
    fast, general = Bench(search.PLANES), Bench(search.MASKS)
    several = 0
    for seed in range(60):
        state = thinned(seed, seed % 5)
        first = fast.solutions(state, fast.nothing, 5000)
        second = general.solutions(state, general.nothing, 5000)
        assert len(first) == len(second)
        if len(first) < 5000:
            assert sorted(first) == sorted(second)
            several += len(first) > 1
    assert several > 10


def test_propagation_loses_no_solution():
    bench = Bench(search.PLANES)
    for seed in range(40):
        state = thinned(seed, seed % 5)
        solutions = bench.solutions(state, bench.nothing, 2000)
        bench.load(state)
        if search.propagate(bench.kind, bench.tables, bench.stack, 0) == search.DEAD:
            assert not solutions
        left = bench.read()
        assert all(solution & ~left == 0 for solution in solutions)


def test_a_count_goes_on_after_every_pause():
    state = thinned(3, 4)
    whole = KernelEngine().count(state, 10**6)
    bench = Bench(search.PLANES)
    bench.load(state)
    pauses = 0
    while search.count(bench.kind, bench.tables, bench.stack, bench.control, 10**6, 3):
        pauses += 1
    assert bench.control[search.FOUND] == whole.value > 1
    assert bench.control[search.NODES] == whole.effort["nodes"]
    assert pauses > 1


@BOTH
def test_support_goes_on_after_every_pause(kind):
    pauses = 0
    for seed in range(10):
        state = thinned(seed, 3)
        bench = Bench(kind)
        expected = 0
        for solution in bench.solutions(state, bench.nothing, 10**6):
            expected |= solution
        bench.load(state)
        search.start_support(bench.control)
        seen = np.zeros_like(bench.nothing)
        while search.support(kind, bench.tables, bench.stack, bench.control, seen, 2):
            assert bench.mask(seen) & ~expected == 0
            pauses += 1
        assert bench.mask(seen) == expected
    assert pauses > 10


def test_solutions_are_lazy():
    found = KernelEngine().solutions(State.empty(boxes(3, 4)))
    assert len({next(found) for _ in range(5)}) == 5


def test_time_that_is_up_is_said_and_not_taken_for_an_answer():
    state = State.empty(NINE)
    count = KernelEngine().count(state, 10**9, seconds=0.05)
    assert (count.complete, count.stopped_by) == (False, "seconds")
    assert KernelEngine().count(state, 10, seconds=0).unique is Answer.UNKNOWN
    support = KernelEngine().support(State.empty(latin(20)), seconds=0)
    assert not support.complete
    assert support.occurs | support.undecided == latin(20).full


def test_four_cells_can_be_what_tells_two_solutions_apart():
    """77 givens can leave two solutions, 78 cannot (encyclopaedia article "Mathematics of Sudoku").

    Here on grids of our own: swapping two digits that form a rectangle over two boxes.
    """
    engine = KernelEngine()
    found = 0
    for grid in grids(30, 5):
        square = grid.reshape(9, 9)
        for top, bottom in [(r, s) for r in range(9) for s in range(r + 1, 9) if r // 3 == s // 3]:
            for left in range(9):
                for right in range(left + 1, 9):
                    if (square[top, left], square[top, right]) != (
                        square[bottom, right],
                        square[bottom, left],
                    ) or left // 3 == right // 3:
                        continue
                    digits = square.copy()
                    digits[[top, top, bottom, bottom], [left, right, left, right]] = 0
                    state = State.from_digits(digits.reshape(-1).tolist())
                    assert engine.count(state, 10).value == 2
                    digits[top, left] = square[top, left]
                    one_more = State.from_digits(digits.reshape(-1).tolist())
                    assert engine.count(one_more, 10).value == 1
                    found += 1
    assert found > 10


@pytest.mark.parametrize("limit", [0, -1])
def test_a_limit_below_one_is_refused(limit):
    with pytest.raises(ValueError, match="at least 1"):
        KernelEngine().count(State.empty(), limit)
