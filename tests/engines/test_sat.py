"""One solver serves many states: nothing of one may show in the next."""

from __future__ import annotations

import random
import time
from itertools import combinations, islice

import pytest

from gridcrux.engines import sat, successive
from gridcrux.engines.sat import SOLVERS, SatEngine, clauses
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State, bits

# The encyclopaedia article "Sudoku": 30 givens, solved by unit propagation alone.
EASY = "530070000600195000098000060800060003400803001700020006060000280000419005000080079"
# Inkala 2010, as printed by newspapers: needs search.
HARD = "005300000800000020070010500400005300010070006003200080060500009004000030000009700"


def puzzle(text: str) -> State:
    return State.from_digits([int(mark) for mark in text])


def variations(number: int) -> list[State]:
    """A puzzle with givens taken away and candidates closed: none, one and many solutions."""
    rng = random.Random(4)
    states = []
    for _ in range(number):
        digits = list(puzzle(HARD).puzzle)
        for cell in rng.sample([c for c in range(81) if digits[c]], rng.randrange(3)):
            digits[cell] = 0
        state = State.from_digits(digits)
        closed = [k for k in bits(state.open) if rng.random() < 0.01 * rng.randrange(2)]
        states.append(state.without(sum(1 << k for k in closed)))
    return states


@pytest.mark.parametrize("layout", [NINE, boxes(2, 3).with_diagonals(), latin(5)])
def test_clauses_say_what_a_candidate_excludes(layout: Layout) -> None:
    found = clauses([[k + 1 for k in bits(rule.mask)] for rule in layout.rules])
    assert len({tuple(clause) for clause in found}) == len(found)
    positive = [clause for clause in found if clause[0] > 0]
    assert [sum(1 << k - 1 for k in clause) for clause in positive] == [
        rule.mask for rule in layout.rules
    ]
    excluded = {(-a - 1, -b - 1) for a, b in found[len(positive) :]}
    assert excluded == {
        (k, other) for k, mask in enumerate(layout.conflicts) for other in bits(mask) if other > k
    }


def test_clauses_of_nine_by_nine() -> None:
    """TPTP problem PUZ006+0: 324 positive and 10,206 negative clauses."""
    found = clauses([[k + 1 for k in bits(rule.mask)] for rule in NINE.rules])
    assert sum(clause[0] > 0 for clause in found) == 324
    assert sum(clause[0] < 0 for clause in found) == 10_206


def test_easy_puzzle_needs_no_search() -> None:
    count = SatEngine().count(puzzle(EASY), 1)
    assert (count.value, count.complete) == (1, True)
    assert set(count.effort.values()) == {0}
    assert SatEngine().count(puzzle(HARD), 1).effort["decisions"] > 0


def test_results_do_not_depend_on_what_went_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where the standing solver is made anew in between."""
    states = variations(12)
    expected = [(SatEngine().count(s, 20).value, SatEngine().support(s).occurs) for s in states]
    assert len({value for value, _ in expected}) > 2
    for activations in (1000, 3):
        monkeypatch.setattr(successive, "ACTIVATIONS", activations)
        engine = SatEngine()
        order = [*range(12), *reversed(range(12))]
        found = [
            (engine.count(states[i], 20).value, engine.support(states[i]).occurs) for i in order
        ]
        assert found == [expected[i] for i in order]


def test_equal_layouts_share_their_rules() -> None:
    """Layouts that came through a file or a process are equal and not identical."""
    engine = SatEngine()
    twin = Layout(NINE.name, NINE.size, NINE.houses)
    for layout in (NINE, twin, boxes(2, 2), NINE, twin):
        digits = [0] * layout.cells
        assert engine.count(State.from_digits(digits, layout), 3).value == 3
    assert len(engine._by_layout) == 2


def test_few_and_many_solutions_take_different_ways_to_the_same_number() -> None:
    engine = SatEngine()
    state = State.empty(boxes(2, 2))
    for limit in range(sat._FEW - 2, sat._FEW + 3):
        assert engine.count(state, limit).value == limit
    # 288 grids (OEIS A107739); two cells of the first row leave two of its 24 orders.
    for blanks in combinations(range(4), 2):
        digits = [0 if cell in blanks else cell + 1 for cell in range(4)] + [0] * 12
        assert engine.count(State.from_digits(digits), 1000).value == 288 * 2 // 24


@pytest.mark.parametrize("solver", SOLVERS)
def test_every_solver_gives_the_same_answers(solver: str) -> None:
    engine, usual = SatEngine(solver), SatEngine()
    for state in variations(4):
        assert engine.count(state, 500).value == usual.count(state, 500).value
        assert engine.support(state).occurs == usual.support(state).occurs
        assert set(islice(engine.solutions(state), 500)) <= set(usual.solutions(state))


@pytest.mark.parametrize("solver", ["cadical153", "glucose42", "no such solver"])
def test_unfit_solver_is_refused(solver: str) -> None:
    with pytest.raises(ValueError, match=f"'{solver}': expected minisat22"):
        SatEngine(solver)


def test_deadline_ends_one_long_search() -> None:
    """Eleven rows have ten columns left for one digit, which takes resolution very long to see."""
    layout = latin(20)
    engine = SatEngine()
    assert engine.count(State.empty(layout), 1).value == 1
    closed = sum(1 << row * 20 + column for row in range(11) for column in range(10, 20))
    state = State.empty(layout).without(closed)
    assert state.broken_rule is None
    begin = time.monotonic()
    count = engine.count(state, 1, seconds=0.3)
    assert (count.value, count.complete, count.stopped_by) == (0, False, "seconds")
    assert count.effort["conflicts"] > 0
    assert time.monotonic() - begin < 5.0
    support = engine.support(state, seconds=0.3)
    assert (support.occurs, support.undecided, support.complete) == (0, state.open, False)
