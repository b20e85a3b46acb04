"""One suite over every engine and counter: it is tested by being listed.

What is listed in `COUNTERS` has to count.  What is listed in `ENGINES` also has to give solutions
and support.  The engines that others rely on, and that share no code, are tested in depth; of the
many variants of a solver each gets the same tests with fewer states.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from itertools import islice, pairwise, zip_longest
from typing import TypeVar

import pytest

from gridcrux.engines import COUNTERS, ENGINES, get_counter, get_engine
from gridcrux.engines.protocol import Answer, Counter, Engine
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


IN_DEPTH = ("kernel", "sat", "cp", "cover")
VARIANTS = [name for name in ENGINES if name not in IN_DEPTH]
ONLY_COUNTING = [name for name in COUNTERS if name not in ENGINES]
NINE_BY_NINE_ONLY = ("bands",)

T = TypeVar("T")


def pairs(
    names: Iterable[str], cases: Iterable[T], fits: Callable[[str, T], bool]
) -> list[tuple[str, T]]:
    """Which engine or counter is tested with what."""
    return [(name, case) for name in names for case in cases if fits(name, case)]


def made_for(name: str, layout: str) -> bool:
    return layout == "9x9" or name not in NINE_BY_NINE_ONLY


@pytest.fixture(scope="module", params=ENGINES)
def engine(request: pytest.FixtureRequest) -> Engine:
    """One engine for all tests: what it learns from one state must not harm the next."""
    return get_engine(request.param)


@pytest.fixture(scope="module", params=IN_DEPTH)
def thorough(request: pytest.FixtureRequest) -> Engine:
    """One of the engines that are tested in depth."""
    return get_engine(request.param)


@pytest.fixture(scope="module", params=COUNTERS)
def counter(request: pytest.FixtureRequest) -> Counter:
    """One of all that count; the libraries of some do not exist for Windows."""
    try:
        return get_counter(request.param)
    except ModuleNotFoundError as missing:
        pytest.skip(str(missing))


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


def test_counter_says_its_name(counter: Counter) -> None:
    assert isinstance(counter, Counter)
    assert counter.name in COUNTERS
    result = counter.count(puzzle(PUBLISHED[1]), 5)
    assert result.engine == counter.name
    assert result.row()["engine"] == counter.name
    assert all(type(value) is int for value in result.effort.values())
    assert any(result.effort.values())


def test_engine_says_its_name(engine: Engine) -> None:
    assert isinstance(engine, Engine)
    result = engine.support(State.empty(boxes(2, 2)))
    assert result.engine == engine.name
    assert any(result.effort.values())


@pytest.mark.parametrize("name", ONLY_COUNTING)
def test_what_only_counts_is_no_engine(name: str) -> None:
    with pytest.raises(ValueError, match=f"'{name}' only counts"):
        get_engine(name)


@pytest.mark.parametrize("counter", NINE_BY_NINE_ONLY, indirect=True)
def test_counter_says_which_layout_it_is_made_for(counter: Counter) -> None:
    for layout in (boxes(2, 2), NINE.with_diagonals()):
        with pytest.raises(ValueError, match="9x9"):
            counter.count(State.empty(layout), 1)


def test_unknown_engine_is_named_with_those_that_exist() -> None:
    known = r"'oracle'.*kernel, sat, cp.*cadical195/minimal/fresh.*glucose42"
    with pytest.raises(ValueError, match=known):
        get_engine("oracle")
    with pytest.raises(ValueError, match=known.replace("cp", "cp, cover, ganak, bands")):
        get_counter("oracle")


@pytest.mark.parametrize(
    ("path", "message"),
    [
        ("kernel/fresh", "'kernel/fresh'; nothing can follow 'kernel'"),
        ("cp/integers/fresh", "one part can follow 'cp'"),
        ("cp/letters", "'letters'.*integers"),
        ("cadical195/largest", "'largest'.*minimal"),
        ("cadical195/minimal/often", "often.*solver/encoding/use"),
        ("cadical195/fresh/minimal", "cadical195/fresh/minimal"),
        ("kissat404", "cannot be used incrementally.*kissat404/fresh"),
    ],
)
def test_part_of_a_path_that_does_not_exist_is_named(path: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        get_engine(path)


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("cadical195/extended/incremental", "cadical195"),
        ("cadical195/extended/fresh", "cadical195/fresh"),
        ("cadical195/incremental", "cadical195"),
        ("glucose3/dual-ladder", "glucose3/dual-ladder"),
        ("cp/booleans", "cp"),
    ],
)
def test_what_is_usual_is_left_out_of_a_name(path: str, name: str) -> None:
    assert get_engine(path).name == name


LIBRARIES = ("pysat", "ortools", "numba", "pandas", "xcover", "pyganak", "pyapproxmc")


@pytest.mark.parametrize(
    ("ask", "needed"),
    [
        ("", ()),
        ("g.get_engine('cp')", ("ortools",)),
        ("g.get_engine('cadical195')", ()),
        ("g.get_engine('cadical195').count(State.empty(boxes(2, 2)), 1)", ("pysat",)),
        # The library itself is imported elsewhere; pysat.card writes the clauses.
        ("g.get_counter('ganak').count(State.empty(boxes(2, 2)), 1)", ("pysat",)),
    ],
)
def test_engines_are_imported_only_when_asked_for(ask: str, needed: tuple[str, ...]) -> None:
    code = (
        "import sys\nimport gridcrux.engines as g\nfrom gridcrux.grids.state import State\n"
        f"from gridcrux.grids.layout import boxes\n{ask}\n"
        f"print([m for m in {LIBRARIES} if m in sys.modules and m not in ('numba', 'pandas')])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == str(list(needed))


# A layout, digits written in its first row, and the number of solutions.
COUNTED = {
    "4x4": (boxes(2, 2), 0, 288),  # OEIS A107739
    "latin 4": (latin(4), 0, 576),  # OEIS A002860 (from memory)
    "latin 5": (latin(5), 5, 161_280 // 120),  # the same; the first row is one of 120
    # "Mathematics of Sudoku", table; the first row is one of 720
    "6x6": (boxes(2, 3), 6, 28_200_960 // 720),
}


@pytest.mark.parametrize(
    ("counter", "published"),
    pairs(COUNTERS, COUNTED, lambda name, _: name in IN_DEPTH)
    + pairs(COUNTERS, ["4x4"], lambda name, _: name not in (*IN_DEPTH, *NINE_BY_NINE_ONLY)),
    indirect=["counter"],
)
def test_published_counts(counter: Counter, published: str) -> None:
    layout, fixed, number = COUNTED[published]
    digits = [*range(1, fixed + 1), *[0] * (layout.cells - fixed)]
    count = counter.count(State.from_digits(digits, layout), 10**9)
    assert (count.value, count.complete, count.stopped_by) == (number, True, None)


def test_kernel_counts_all_latin_squares_of_order_five() -> None:
    count = get_engine("kernel").count(State.empty(latin(5)), 10**9)
    assert (count.value, count.complete) == (161_280, True)  # OEIS A002860 (from memory)


@pytest.mark.parametrize("text", PUBLISHED)
def test_published_puzzles_have_one_solution(counter: Counter, text: str) -> None:
    state = puzzle(text)
    count = counter.count(state, 1)
    assert (count.value, count.complete, count.stopped_by) == (1, True, None)
    assert count.unique is Answer.YES


@pytest.mark.parametrize("text", PUBLISHED)
def test_solution_of_published_puzzles_is_all_that_can_be(engine: Engine, text: str) -> None:
    state = puzzle(text)
    (solution,) = engine.solutions(state)
    assert_solutions([solution], state)
    assert engine.support(state).occurs == as_mask(solution, NINE)


def test_published_puzzle_without_solution(counter: Counter) -> None:
    state = puzzle(WITHOUT_SOLUTION)
    assert state.broken_rule is None
    count = counter.count(state, 3)
    assert (count.value, count.complete, count.stopped_by) == (0, True, None)
    assert count.unique is Answer.NO


def test_nothing_can_be_in_a_published_puzzle_without_solution(engine: Engine) -> None:
    state = puzzle(WITHOUT_SOLUTION)
    assert list(engine.solutions(state)) == []
    support = engine.support(state)
    assert (support.occurs, support.undecided, support.complete) == (0, 0, True)


@pytest.mark.parametrize(
    ("counter", "limit"),
    pairs(IN_DEPTH, [1, 2, 7, 8, 9, 287, 288, 289, 100_000], lambda *_: True)
    + pairs([*VARIANTS, *ONLY_COUNTING], [1, 9], lambda name, _: made_for(name, "4x4")),
    indirect=["counter"],
)
def test_limit_is_told_from_the_end(counter: Counter, limit: int) -> None:
    count = counter.count(State.empty(boxes(2, 2)), limit)
    if limit < 288:
        assert (count.value, count.complete, count.stopped_by) == (limit, False, "limit")
    else:
        assert (count.value, count.complete, count.stopped_by) == (288, True, None)
    assert count.unique is (Answer.UNKNOWN if limit == 1 else Answer.NO)


@pytest.mark.parametrize("limit", [0, -1])
def test_limit_below_one_is_refused(counter: Counter, limit: int) -> None:
    with pytest.raises(ValueError, match=f"limit is {limit}"):
        counter.count(State.empty(NINE), limit)


def test_very_many_solutions(thorough: Engine) -> None:
    """The empty grid has 6,670,903,752,021,072,936,960 (Felgenhauer & Jarvis 2005)."""
    state = State.empty(NINE)
    count = thorough.count(state, 300)
    assert (count.value, count.complete, count.stopped_by) == (300, False, "limit")
    assert_solutions(list(islice(thorough.solutions(state), 50)), state)
    support = thorough.support(state)
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


def states_near(name: str, number: int) -> Iterator[State]:
    """Marks at random; one state in two loses a known solution."""
    rng = random.Random(name)
    layout = LAYOUTS[name]
    blanks, closed = NEAR[name]
    for step in range(number):
        state = near(layout, rng, blanks - step, closed * (1 + step % 3))
        yield state.without(1 << rng.choice(list(bits(state.open)))) if step % 2 else state


@pytest.mark.parametrize("name", LAYOUTS)
def test_states_near_a_grid_agree_with_plain_search(thorough: Engine, name: str) -> None:
    """Over every kind of layout."""
    numbers = [assert_agrees(thorough, state) for state in states_near(name, 6)]
    assert max(numbers) > 1
    assert len(set(numbers)) > 2


@pytest.mark.parametrize("name", ["4x4 with diagonals", "irregular 5x5", "9x9", "12x12"])
@pytest.mark.parametrize("engine", VARIANTS, indirect=True)
def test_states_near_a_grid_agree_for_every_variant(engine: Engine, name: str) -> None:
    for state in states_near(name, 2):
        assert_agrees(engine, state)


@pytest.mark.parametrize(
    ("counter", "name"),
    pairs(ONLY_COUNTING, ["4x4 with diagonals", "irregular 5x5", "9x9"], made_for),
    indirect=["counter"],
)
def test_numbers_near_a_grid_are_those_of_plain_search(counter: Counter, name: str) -> None:
    for state in states_near(name, 2):
        number = sum(1 for _ in plain_search(state))
        count = counter.count(state, max(1, number))
        assert (count.value, count.complete, count.stopped_by) == (number, True, None)
        if number > 1:
            count = counter.count(state, number - 1)
            assert (count.value, count.complete, count.stopped_by) == (number - 1, False, "limit")


def broken(name: str) -> Iterator[State]:
    """A cell without a digit, a digit without a place, and givens that are closed."""
    layout = LAYOUTS[name]
    rng = random.Random(name)
    for number in (rng.randrange(layout.cells), rng.randrange(layout.cells, len(layout.rules))):
        for start in (State.empty(layout), near(layout, rng, layout.cells // 3, 0.0)):
            state = start.without(layout.rules[number].mask)
            assert state.broken_rule is not None
            yield state


@pytest.mark.parametrize(
    ("counter", "name"), pairs(COUNTERS, LAYOUTS, made_for), indirect=["counter"]
)
def test_broken_rules_are_proofs(counter: Counter, name: str) -> None:
    for state in broken(name):
        count = counter.count(state, 5)
        assert (count.value, count.complete, count.stopped_by) == (0, True, None)


@pytest.mark.parametrize("name", LAYOUTS)
def test_nothing_can_be_where_a_rule_is_broken(engine: Engine, name: str) -> None:
    for state in broken(name):
        assert list(engine.solutions(state)) == []
        support = engine.support(state)
        assert (support.occurs, support.undecided, support.complete) == (0, 0, True)


def test_two_cells_with_the_same_single_digit(counter: Counter) -> None:
    """No rule is broken yet, and each of the two cells looks settled."""
    layout = NINE if counter.name in NINE_BY_NINE_ONLY else boxes(2, 2)
    marks = [list(range(1, layout.size + 1))] * layout.cells
    marks[0] = marks[3] = [2]
    state = State.from_marks(marks)
    assert state.broken_rule is None
    assert counter.count(state, 1).value == 0
    if isinstance(counter, Engine):
        assert counter.support(state).occurs == 0


def test_complete_grid_is_its_own_solution(thorough: Engine) -> None:
    for layout in LAYOUTS.values():
        digits = some_solution(layout, random.Random(1))
        assert assert_agrees(thorough, State.from_digits(digits, layout)) == 1
        # The same digits as marks that no one has written yet.
        unwritten = State(layout, as_mask(digits, layout))
        assert assert_agrees(thorough, unwritten) == 1


@pytest.mark.parametrize(
    ("counter", "name"), pairs(COUNTERS, ["4x4", "9x9"], made_for), indirect=["counter"]
)
def test_complete_grid_counts_as_one(counter: Counter, name: str) -> None:
    layout = LAYOUTS[name]
    digits = some_solution(layout, random.Random(1))
    for state in (State.from_digits(digits, layout), State(layout, as_mask(digits, layout))):
        count = counter.count(state, 1)
        assert (count.value, count.complete, count.stopped_by) == (1, True, None)


def test_solutions_come_in_the_same_order(engine: Engine) -> None:
    most = 40 if engine.name in IN_DEPTH else 10
    rng = random.Random(8)
    state = near(NINE, rng, 58, 0.0)
    first = list(islice(engine.solutions(state), most))
    assert_solutions(first, state)
    for other in range(3):
        engine.count(near(NINE, rng, 50, 0.02 * other), most // 2)
    assert list(islice(engine.solutions(state), most)) == first
    assert list(islice(get_engine(engine.name).solutions(state), most)) == first


def test_two_enumerations_at_once(engine: Engine) -> None:
    """Taking turns, and with counts in between, each yields all of its own solutions."""
    start = State.empty(boxes(2, 2))
    if engine.name not in IN_DEPTH:
        start = start.with_placed(0)
    states = start, near(boxes(2, 2), random.Random(3), 12, 0.0)
    expected = [set(plain_search(state)) for state in states]
    assert 1 < len(expected[1]) < len(expected[0])
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


def test_no_time_gives_no_verdict(counter: Counter) -> None:
    for state in (puzzle(PUBLISHED[0]), puzzle(WITHOUT_SOLUTION), State.empty(NINE)):
        count = counter.count(state, 1, seconds=0)
        assert (count.value, count.complete, count.stopped_by) == (0, False, "seconds")
        assert count.unique is Answer.UNKNOWN
        if isinstance(counter, Engine):
            support = counter.support(state, seconds=0)
            assert (support.occurs, support.undecided) == (0, state.open)
            assert (support.complete, support.stopped_by) == (False, "seconds")


def test_time_ends_a_long_count(counter: Counter) -> None:
    counter.count(puzzle(PUBLISHED[0]), 1)
    begin = time.monotonic()
    count = counter.count(State.empty(NINE), 10**30, seconds=0.3)
    assert time.monotonic() - begin < 3.0
    assert (count.complete, count.stopped_by) == (False, "seconds")
    # What does not visit solutions has found none.
    assert (count.value > 0) is isinstance(counter, Engine)


@pytest.mark.parametrize(
    ("engine", "seconds"),
    pairs(IN_DEPTH, [0.0003, 0.001, 0.003, 0.01, 0.03], lambda *_: True)
    + pairs(VARIANTS, [0.001, 0.01], lambda *_: True),
    indirect=["engine"],
)
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
    rng = random.Random(11)
    for layout, blanks in ((NINE, 62), (boxes(2, 4), 52), (NINE.with_diagonals(), 75)):
        state = near(layout, rng, blanks, 0.05)
        names = ENGINES if layout is NINE else IN_DEPTH
        results = [get_engine(name).support(state) for name in names]
        assert all(result.complete for result in results)
        for one, other in pairwise(results):
            assert one.occurs == other.occurs
