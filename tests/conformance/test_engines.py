"""One suite over every engine: an engine is tested by being listed in `ENGINES`."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from collections.abc import Iterator
from itertools import islice, pairwise, zip_longest

import pytest

from gridcrux.engines import ENGINES, get_engine
from gridcrux.engines.protocol import Answer, Engine
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import State, bits

# Each with exactly one solution.  Sources: the encyclopaedia article "Sudoku" (example grid);
# Inkala 2010, 2012 and 2006, as printed by newspapers; Project Euler, problem 96, grid 01; Knuth,
# The Art of Computer Programming 4 (digits of pi); Ercsey-Ravasz & Toroczkai, "The chaos within
# Sudoku", 2012; the encyclopaedia article on solving algorithms (worst case for row by row).
PUBLISHED = (
    "530070000600195000098000060800060003400803001700020006060000280000419005000080079",
    "005300000800000020070010500400005300010070006003200080060500009004000030000009700",
    "800000000003600000070090200050007000000045700000100030001000068008500010090000400",
    "003020600900305001001806400008102900700000008006708200002609500800203009005010300",
    "003010000415000090206500300500080009070900032038004060000260403000300008320007950",
    "850002400720000009004000000000107002305000900040000000000080070017000000000036040",
    "000000012000000003002300400001800005060070800000009000008500000900040500470006000",
    "000000000000003085001020000000507000004000100090000000500000073002010000000040009",
)
WITHOUT_SOLUTION = (
    "000005080000601043000000000010500000000106000300000005530000061000000004000000000"
)

LAYOUTS = {
    "4x4": boxes(2, 2),
    "4x4 with diagonals": boxes(2, 2).with_diagonals(),
    "Latin square of order 5": latin(5),
    "irregular 5x5": regions("EBAAA EBADA EBBDD ECBDD ECCCC"),
    "6x6": boxes(2, 3),
    "2x4": boxes(2, 4),
    "9x9": NINE,
    "9x9 with diagonals": NINE.with_diagonals(),
    "12x12": boxes(3, 4),
    "16x16": boxes(4, 4),
}


@pytest.fixture(scope="module", params=ENGINES)
def engine(request: pytest.FixtureRequest) -> Engine:
    """One engine for all tests: what it learns from one state must not harm the next."""
    return get_engine(request.param)


def puzzle(text: str) -> State:
    return State.from_digits([int(mark) for mark in text])


def plain_search(state: State) -> Iterator[tuple[int, ...]]:
    """The solutions by trying the digits of the fewest-digit cell; it knows houses, not rules."""
    layout = state.layout
    peers = [
        {c for h in layout.houses_of[cell] for c in layout.houses[h].cells} - {cell}
        for cell in range(layout.cells)
    ]

    def search(digits: list[frozenset[int]], todo: frozenset[int]) -> Iterator[tuple[int, ...]]:
        if not todo:
            yield tuple(next(iter(left)) for left in digits)
            return
        cell = min(todo, key=lambda c: (len(digits[c]), c))
        for digit in sorted(digits[cell]):
            left = [
                {digit} if c == cell else had - {digit} if c in peers[cell] else had
                for c, had in enumerate(digits)
            ]
            if all(left):
                yield from search([frozenset(x) for x in left], todo - {cell})

    start = [frozenset(state.digits_of(cell)) for cell in range(layout.cells)]
    if all(start):
        yield from search(start, frozenset(range(layout.cells)))


def as_mask(digits: tuple[int, ...], layout: Layout) -> int:
    return sum(1 << (digit - 1) * layout.cells + cell for cell, digit in enumerate(digits))


def some_solution(layout: Layout, rng: random.Random) -> tuple[int, ...]:
    """A complete grid: a shifted pattern where boxes allow one, plain search elsewhere."""
    n = layout.size
    names = rng.sample(range(1, n + 1), n)
    for width in range(1, n + 1):
        height = n // width
        pattern = [(r % height * width + r // height + c) % n for r in range(n) for c in range(n)]
        if all(len({pattern[cell] for cell in house.cells}) == n for house in layout.houses):
            return tuple(names[x] for x in pattern)
    grid = next(plain_search(State.empty(layout)))
    return tuple(names[digit - 1] for digit in grid)


def near(layout: Layout, rng: random.Random, blanks: int, closed: float) -> State:
    """A complete grid with blanks, some candidates that are not in it closed at random."""
    grid = some_solution(layout, rng)
    digits = list(grid)
    for cell in rng.sample(range(layout.cells), blanks):
        digits[cell] = 0
    state = State.from_digits(digits, layout)
    others = state.open & ~as_mask(grid, layout)
    return state.without(sum(1 << k for k in bits(others) if rng.random() < closed))


def assert_solutions(found: list[tuple[int, ...]], state: State) -> None:
    """Every grid is a solution, and no two are equal."""
    layout = state.layout
    everything = set(range(1, layout.size + 1))
    for digits in found:
        assert isinstance(digits, tuple)
        assert len(digits) == layout.cells
        for house in layout.houses:
            assert {digits[cell] for cell in house.cells} == everything
        assert not as_mask(digits, layout) & ~state.open
    assert len(set(found)) == len(found)


def assert_agrees(engine: Engine, state: State, most: int = 3000) -> int:
    """Count, solutions and support are those of the plain search; returns the number."""
    expected = list(islice(plain_search(state), most))
    assert len(expected) < most, "the test wants states with fewer solutions"
    number = len(expected)
    for limit in {1, max(1, number - 1), max(1, number), number + 1}:
        count = engine.count(state, limit)
        assert (count.value, count.complete, count.stopped_by) == (
            (number, True, None) if number <= limit else (limit, False, "limit")
        )
    found = list(engine.solutions(state))
    assert_solutions(found, state)
    assert set(found) == set(expected)
    support = engine.support(state)
    occurs = 0
    for digits in expected:
        occurs |= as_mask(digits, state.layout)
    assert (support.occurs, support.undecided) == (occurs, 0)
    assert (support.complete, support.stopped_by) == (True, None)
    return number


def test_engine_says_its_name(engine: Engine) -> None:
    assert isinstance(engine, Engine)
    assert engine.name in ENGINES
    result = engine.count(State.empty(boxes(2, 2)), 5)
    assert result.engine == engine.name
    assert result.row()["engine"] == engine.name
    assert all(isinstance(value, int) for value in result.effort.values())
    assert result.effort
    assert engine.support(State.empty(boxes(2, 2))).engine == engine.name


def test_unknown_engine_is_named_with_those_that_exist() -> None:
    with pytest.raises(ValueError, match=r"'oracle'.*kernel, sat, cp"):
        get_engine("oracle")


def test_engines_are_imported_only_when_asked_for() -> None:
    code = (
        "import sys, gridcrux.engines;"
        "print([m for m in ('pysat', 'ortools', 'numba', 'pandas') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("layout", "fixed", "number"),
    [
        (boxes(2, 2), 0, 288),  # OEIS A107739
        (latin(4), 0, 576),  # OEIS A002860 (from memory)
        (latin(5), 5, 161_280 // 120),  # the same; the first row is one of 120
        (boxes(2, 3), 6, 28_200_960 // 720),  # "Mathematics of Sudoku", table; one first row of 720
    ],
    ids=["4x4", "latin 4", "latin 5", "6x6"],
)
def test_published_counts(engine: Engine, layout: Layout, fixed: int, number: int) -> None:
    digits = [*range(1, fixed + 1), *[0] * (layout.cells - fixed)]
    count = engine.count(State.from_digits(digits, layout), 10**9)
    assert (count.value, count.complete, count.stopped_by) == (number, True, None)


def test_kernel_counts_all_latin_squares_of_order_five() -> None:
    count = get_engine("kernel").count(State.empty(latin(5)), 10**9)
    assert (count.value, count.complete) == (161_280, True)  # OEIS A002860 (from memory)


@pytest.mark.parametrize("text", PUBLISHED)
def test_published_puzzles_have_one_solution(engine: Engine, text: str) -> None:
    state = puzzle(text)
    count = engine.count(state, 1)
    assert (count.value, count.complete, count.stopped_by) == (1, True, None)
    assert count.unique is Answer.YES
    (solution,) = engine.solutions(state)
    assert_solutions([solution], state)
    assert engine.support(state).occurs == as_mask(solution, NINE)


def test_published_puzzle_without_solution(engine: Engine) -> None:
    state = puzzle(WITHOUT_SOLUTION)
    assert state.broken_rule is None
    count = engine.count(state, 3)
    assert (count.value, count.complete, count.stopped_by) == (0, True, None)
    assert count.unique is Answer.NO
    support = engine.support(state)
    assert (support.occurs, support.undecided, support.complete) == (0, 0, True)


@pytest.mark.parametrize("limit", [1, 2, 7, 8, 9, 287, 288, 289, 100_000])
def test_limit_is_told_from_the_end(engine: Engine, limit: int) -> None:
    count = engine.count(State.empty(boxes(2, 2)), limit)
    if limit < 288:
        assert (count.value, count.complete, count.stopped_by) == (limit, False, "limit")
    else:
        assert (count.value, count.complete, count.stopped_by) == (288, True, None)
    assert count.unique is (Answer.UNKNOWN if limit == 1 else Answer.NO)


@pytest.mark.parametrize("limit", [0, -1])
def test_limit_below_one_is_refused(engine: Engine, limit: int) -> None:
    with pytest.raises(ValueError, match=f"limit is {limit}"):
        engine.count(State.empty(boxes(2, 2)), limit)


def test_very_many_solutions(engine: Engine) -> None:
    """The empty grid has 6,670,903,752,021,072,936,960 (Felgenhauer & Jarvis 2005)."""
    state = State.empty(NINE)
    count = engine.count(state, 300)
    assert (count.value, count.complete, count.stopped_by) == (300, False, "limit")
    assert_solutions(list(islice(engine.solutions(state), 50)), state)
    support = engine.support(state)
    assert (support.occurs, support.complete) == (NINE.full, True)


# Blank cells, and the share of open candidates closed, so that plain search stays short.
NEAR = {
    "4x4": (16, 0.05),
    "4x4 with diagonals": (16, 0.05),
    "Latin square of order 5": (21, 0.2),
    "irregular 5x5": (25, 0.1),
    "6x6": (30, 0.2),
    "2x4": (44, 0.2),
    "9x9": (53, 0.1),
    "9x9 with diagonals": (62, 0.15),
    "12x12": (90, 0.1),
    "16x16": (130, 0.1),
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_states_near_a_grid_agree_with_plain_search(engine: Engine, name: str) -> None:
    """Marks at random over every kind of layout; one state in two loses a known solution."""
    rng = random.Random(name)
    layout = LAYOUTS[name]
    blanks, closed = NEAR[name]
    numbers = []
    for step in range(6):
        state = near(layout, rng, blanks - step, closed * (1 + step % 3))
        if step % 2:
            state = state.without(1 << rng.choice(list(bits(state.open))))
        numbers.append(assert_agrees(engine, state))
    assert max(numbers) > 1
    assert len(set(numbers)) > 2


@pytest.mark.parametrize("name", LAYOUTS)
def test_broken_rules_are_proofs(engine: Engine, name: str) -> None:
    """A cell without a digit, a digit without a place, and givens that are closed."""
    layout = LAYOUTS[name]
    rng = random.Random(name)
    for number in (rng.randrange(layout.cells), rng.randrange(layout.cells, len(layout.rules))):
        for start in (State.empty(layout), near(layout, rng, layout.cells // 3, 0.0)):
            state = start.without(layout.rules[number].mask)
            assert state.broken_rule is not None
            count = engine.count(state, 5)
            assert (count.value, count.complete, count.stopped_by) == (0, True, None)
            assert list(engine.solutions(state)) == []
            support = engine.support(state)
            assert (support.occurs, support.undecided, support.complete) == (0, 0, True)


def test_two_cells_with_the_same_single_digit(engine: Engine) -> None:
    """No rule is broken yet, and each of the two cells looks settled."""
    marks = [[1, 2, 3, 4]] * 16
    marks[0] = marks[3] = [2]
    state = State.from_marks(marks)
    assert state.broken_rule is None
    assert engine.count(state, 1).value == 0
    assert engine.support(state).occurs == 0


def test_complete_grid_is_its_own_solution(engine: Engine) -> None:
    for layout in LAYOUTS.values():
        digits = some_solution(layout, random.Random(1))
        assert assert_agrees(engine, State.from_digits(digits, layout)) == 1
        # The same digits as marks that no one has written yet.
        unwritten = State(layout, as_mask(digits, layout))
        assert assert_agrees(engine, unwritten) == 1


def test_solutions_come_in_the_same_order(engine: Engine) -> None:
    rng = random.Random(8)
    state = near(NINE, rng, 58, 0.0)
    first = list(islice(engine.solutions(state), 40))
    assert_solutions(first, state)
    for other in range(3):
        engine.count(near(NINE, rng, 50, 0.02 * other), 20)
    assert list(islice(engine.solutions(state), 40)) == first
    assert list(islice(get_engine(engine.name).solutions(state), 40)) == first


def test_two_enumerations_at_once(engine: Engine) -> None:
    """Taking turns, and with counts in between, each yields all of its own solutions."""
    states = State.empty(boxes(2, 2)), near(boxes(2, 2), random.Random(3), 12, 0.0)
    expected = [set(plain_search(state)) for state in states]
    assert 1 < len(expected[1]) < len(expected[0]) == 288
    found: list[list[tuple[int, ...]]] = [[], []]
    for pair in zip_longest(*map(engine.solutions, states)):
        for number, digits in enumerate(pair):
            if digits is not None:
                found[number].append(digits)
        if len(found[0]) % 50 == 0:
            assert engine.count(states[1], 2).value == 2
    for number, state in enumerate(states):
        assert_solutions(found[number], state)
        assert set(found[number]) == expected[number]


def test_no_time_gives_no_verdict(engine: Engine) -> None:
    for state in (puzzle(PUBLISHED[0]), puzzle(WITHOUT_SOLUTION), State.empty(NINE)):
        count = engine.count(state, 1, seconds=0)
        assert (count.value, count.complete, count.stopped_by) == (0, False, "seconds")
        assert count.unique is Answer.UNKNOWN
        support = engine.support(state, seconds=0)
        assert (support.occurs, support.undecided) == (0, state.open)
        assert (support.complete, support.stopped_by) == (False, "seconds")


def test_time_ends_a_long_count(engine: Engine) -> None:
    engine.count(State.empty(NINE), 1)
    begin = time.monotonic()
    count = engine.count(State.empty(NINE), 10**18, seconds=0.3)
    assert time.monotonic() - begin < 3.0
    assert count.value > 0
    assert (count.complete, count.stopped_by) == (False, "seconds")


@pytest.mark.parametrize("seconds", [0.0003, 0.001, 0.003, 0.01, 0.03])
def test_support_cut_short_says_nothing_wrong(engine: Engine, seconds: float) -> None:
    """Whatever was seen occurs, whatever occurs was seen or is undecided."""
    state = near(NINE, random.Random(5), 56, 0.0)
    whole = engine.support(state)
    assert whole.complete
    part = engine.support(state, seconds=seconds)
    assert not part.occurs & ~whole.occurs
    assert not whole.occurs & ~(part.occurs | part.undecided)
    assert not part.occurs & part.undecided
    assert not (part.occurs | part.undecided) & ~state.open
    assert part.complete is (part.undecided == 0)
    assert part.stopped_by == (None if part.complete else "seconds")


def test_all_engines_agree_on_support() -> None:
    """States with too many solutions to list."""
    engines = [get_engine(name) for name in ENGINES]
    rng = random.Random(11)
    for layout, blanks in ((NINE, 62), (boxes(2, 4), 52), (NINE.with_diagonals(), 75)):
        state = near(layout, rng, blanks, 0.05)
        results = [engine.support(state) for engine in engines]
        assert all(result.complete for result in results)
        for one, other in pairwise(results):
            assert one.occurs == other.occurs
