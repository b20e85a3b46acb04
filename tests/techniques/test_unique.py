"""Arguments from uniqueness, judged by solutions and by SAT; and where they must say nothing."""

from __future__ import annotations

import doctest
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, islice, product

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.technique import Technique
from gridcrux.proofs.certify import certify
from gridcrux.proofs.certify_unique import certify_unique
from gridcrux.techniques import unique
from gridcrux.techniques.compiled.board import GIVENS, load_givens, new_board
from gridcrux.techniques.compiled.rectangles import PARTS, is_exchangeable
from gridcrux.techniques.compiled.tables import tables
from gridcrux.techniques.deadly import pattern
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import available, board_of, closure, route
from samples import JAGGED

FAMILY = Repertoire(unique.TECHNIQUES)
WITH_FIRST = Repertoire((*FIRST_FAMILY, *FAMILY))
GRAVES = ("bivalue-grave", "guarded-grave")
STATES: dict[Layout, int] = {
    boxes(2, 2): 60,
    JAGGED: 80,
    boxes(2, 3): 80,
    latin(6): 80,
    boxes(2, 4): 80,
    NINE: 120,
    NINE.with_diagonals(): 40,
    boxes(3, 4): 4,
}
MOST = 2
"""Deductions of one technique taken from one state."""

Found = list[tuple[Deduction, State, int]]


def _solution(layout: Layout, digits: np.ndarray) -> int:  # type: ignore[type-arg]
    return sum(1 << ((int(d) - 1) * layout.cells + c) for c, d in enumerate(digits))


def _states(layout: Layout, count: int, seed: int) -> Iterator[tuple[State, int]]:
    """States on a route and beyond, where more is written and excluded than the route has.

    What is true may be written and what is false excluded by whatever argument: uniqueness is
    about the givens alone.
    """
    random = np.random.default_rng(seed)
    for sampled in minimal(count, seed, layout):
        solution = _solution(layout, sampled.solution)
        start = State.from_digits(sampled.puzzle, layout)
        yield closure(start, FIRST_FAMILY), solution
        passed = list(route(start, FIRST_FAMILY).states())
        for _ in range(4):
            state = passed[random.integers(len(passed))]
            blanks = [c for c in range(layout.cells) if not state.placed >> c & 1]
            share = random.uniform(0, 0.8)
            for cell in random.permutation(blanks)[: int(share * len(blanks))].tolist():
                digit = int(sampled.solution[cell]) - 1
                state = state.with_placed(digit * layout.cells + cell)
            lost = random.random(layout.candidates) < random.uniform(0, 0.6)
            excluded = sum(1 << c for c in np.flatnonzero(lost).tolist())
            yield state.without(excluded & ~solution), solution
        for _ in range(3):
            yield _aimed(start, sampled.solution.tolist(), random), solution


def _aimed(start: State, digits: list[int], random: np.random.Generator) -> State:
    """A start where the corners of some rectangles have three digits at most, or are written."""
    layout, n = start.layout, start.layout.size
    used: set[int] = set()
    for _ in range(60):
        (top, bottom), (left, right) = (random.permutation(n)[:2].tolist() for _ in range(2))
        corners = [top * n + left, top * n + right, bottom * n + right, bottom * n + left]
        held = sorted({digits[cell] for cell in corners})
        held += [d for d in random.permutation(n) + 1 if d not in held][: 3 - len(held)]
        if len(held) > 3 or any(start.placed >> c & 1 or c in used for c in corners):
            continue
        used.update(corners)
        some = [d for d in held if d != held[random.integers(3)]]
        for cell in corners:
            kept = {*(some if random.random() < 0.5 else held), digits[cell]}
            lost = [d for d in range(n) if d + 1 not in kept]
            start = start.without(sum(1 << d * layout.cells + cell for d in lost))
            if random.random() < 0.2:
                start = start.with_placed((digits[cell] - 1) * layout.cells + cell)
    return start


@pytest.fixture(scope="module")
def found() -> Found:
    """Deductions, the states in which they are offered, and the masks of their solutions."""
    taken: Found = []
    random = np.random.default_rng(1)
    for place, (layout, count) in enumerate(STATES.items()):
        for state, solution in _states(layout, count, 300 + place):
            offered: dict[str, list[Deduction]] = {}
            for deduction in available(state, FAMILY):
                offered.setdefault(deduction.technique, []).append(deduction)
            for deductions in offered.values():
                chosen = random.permutation(len(deductions))[:MOST]
                taken += [(deductions[i], state, solution) for i in chosen]
    return taken


@pytest.fixture(scope="module")
def sample(found: Found) -> Found:
    """Up to 40 of them for each technique, spread over the layouts."""
    chosen: Found = []
    for name in FAMILY.names:
        mine = [entry for entry in found if entry[0].technique == name]
        chosen += mine[:: -(-len(mine) // 40) or 1]
    return chosen


def test_every_technique_is_met_on_every_kind_of_layout(found: Found) -> None:
    met = Counter(deduction.technique for deduction, _, _ in found)
    assert min(met[name] for name in FAMILY.names if name not in GRAVES) >= 5, met
    assert met["bivalue-grave"]
    assert {deduction.layout for deduction, _, _ in found} == set(STATES)


def test_nothing_of_the_solution_is_removed(found: Found) -> None:
    for deduction, state, solution in found:
        assert not deduction.removes & solution, deduction
        assert not deduction.relies & state.open, "relies on what is open"
        assert deduction.eliminates, "says nothing new"


def test_widths_and_sentences(found: Found) -> None:
    for deduction, _, _ in found:
        technique = FAMILY[deduction.technique]
        assert technique.assumes_unique
        assert deduction.width >= technique.width
        assert technique.any_length or deduction.width == technique.width
        for name in deduction.elimination_names:
            assert name in deduction.sentence


def test_what_is_written_is_told_as_written(found: Found) -> None:
    met = Counter[str]()
    for step, state, _ in found:
        if step.technique in GRAVES:
            continue
        layout = step.layout
        cells = [rule for rule in step.premises if rule < layout.cells]
        written = [cell for cell in cells if state.placed >> cell & 1]
        told, _, rest = step.sentence.rpartition(" written and not given")
        for cell in written:
            (candidate,) = bits(layout.rules[cell].mask & state.open)
            assert layout.candidate_name(candidate) in told
        assert told.count("=") == len(written), step
        assert f"{layout.cell_name(written[0])} hold" not in rest if written else not told
        met[step.technique] += bool(written)
    assert min(met[name] for name in FAMILY.names if name.startswith("avoidable")) >= 5, met


def test_a_pattern_could_be_exchanged_and_is_what_the_sentence_tells(found: Found) -> None:
    for step, state, _ in found:
        shown, layout = pattern(step), step.layout
        if step.technique in GRAVES:
            assert shown is None
            continue
        assert shown is not None
        one, two = shown.digits
        pair, guards = shown.candidates & state.open, 0
        for house in layout.houses:
            assert len(set(house.cells).intersection(shown.cells)) in (0, 2)
        for cell in shown.cells:
            assert not state.givens >> cell & 1
            assert pair & layout.rules[cell].mask
            guards |= layout.rules[cell].mask & state.open & ~pair
        assert guards, "it could be exchanged as it stands"
        names = [layout.cell_name(cell) for cell in shown.cells]
        assert f"{', '.join(names[:3])} and {names[3]}" in step.sentence
        assert f"{one} and {two}" in step.sentence


def test_what_is_no_rectangle_has_no_pattern() -> None:
    start = State.from_digits(next(minimal(1, 5)).puzzle)
    assert all(pattern(step) is None for step in route(start, FIRST_FAMILY).steps)


def test_what_is_excluded_leads_to_an_exchange(found: Found) -> None:
    failed = [c.row() for d, s, _ in found if not (c := certify_unique(d, s)).holds]
    assert not failed, failed[:5]


def test_rectangles_do_not_follow_from_their_premises(found: Found) -> None:
    """Graves do where the puzzle has one solution: their premises are all that is left of it."""
    follows = [certify(d).holds for d, _, _ in found if d.technique not in GRAVES]
    assert sum(follows) <= 0.02 * len(follows)
    assert all(certify(d).holds for d, _, _ in found if d.technique in GRAVES)


def test_no_premise_of_a_rectangle_is_to_spare(sample: Found) -> None:
    spare, tried = Counter[str](), Counter[str]()
    for deduction, state, _ in sample:
        if deduction.technique not in GRAVES:
            tried[deduction.technique] += 1
            premises = deduction.premises
            spare[deduction.technique] += any(
                certify_unique(replace(deduction, premises=rest), state).holds
                for rest in combinations(premises, len(premises) - 1)
            )
    assert max(spare[name] / tried[name] for name in tried) <= 0.05, (spare, tried)


def test_a_missing_absence_is_noticed(sample: Found) -> None:
    tried = noticed = 0
    for deduction, state, _ in sample:
        if deduction.technique not in GRAVES:
            for absence in list(bits(deduction.relies))[:4]:
                tried += 1
                relies = deduction.relies & ~(1 << absence)
                noticed += not certify_unique(replace(deduction, relies=relies), state).holds
    assert noticed >= 0.95 * tried


def test_a_wrong_elimination_is_refused(sample: Found) -> None:
    """The true candidate of a premise is added to `removes`."""
    for deduction, state, solution in sample:
        true = solution & deduction.layout.rules[deduction.premises[0]].mask
        wrong = replace(deduction, removes=deduction.removes | true)
        assert certify_unique(wrong, state).failures == (true.bit_length() - 1,)


@pytest.mark.parametrize(
    "layout",
    [boxes(2, 2), boxes(2, 2).with_diagonals(), latin(4), regions("1112122233343444"), boxes(1, 4)],
    ids=lambda layout: layout.name,
)
def test_which_four_cells_can_exchange_two_digits(layout: Layout) -> None:
    """Against brute force over all sets of four cells and all ways to put two digits there."""
    n = layout.size
    expected, accepted = set(), set()
    for cells in combinations(range(layout.cells), 4):
        for digits in product((0, 1), repeat=4):
            inside = [
                sorted(d for c, d in zip(cells, digits, strict=True) if c in house.cells)
                for house in layout.houses
            ]
            if all(held in ([], [0, 1]) for held in inside):
                expected.add(frozenset(cells))
    for (top, bottom), (left, right) in product(combinations(range(n), 2), repeat=2):
        corners = [top * n + left, top * n + right, bottom * n + right, bottom * n + left]
        rectangle = np.array(corners + [0] * (PARTS - 4), np.int64)
        if is_exchangeable(tables(layout), rectangle):
            accepted.add(frozenset(corners))
    assert accepted == expected


def _four_boxes(layout: Layout) -> State:
    pair, rest = [1, 2], [1, 2, 3, 4]
    row = [pair, rest, pair, rest]
    return State.from_marks([*row, *[rest] * 4, pair, *[rest] * 7], layout)


def test_a_rectangle_over_four_boxes_is_refused() -> None:
    """On a Latin square it is one; moved to boxes the very same deduction has no exchange."""
    state = _four_boxes(latin(4))
    (deduction,) = available(state, FAMILY.only("unique-corner"))
    assert deduction.elimination_names == ("r3c3=1", "r3c3=2")
    assert certify_unique(deduction, state).holds
    assert available(_four_boxes(boxes(2, 2)), FAMILY.only("unique-corner")) == []
    moved = replace(deduction, layout=boxes(2, 2))
    failures = certify_unique(moved, _four_boxes(boxes(2, 2))).failures
    assert failures == tuple(bits(deduction.removes))


def test_a_diagonal_through_one_corner_is_refused() -> None:
    pair, rest = [1, 2], [1, 2, 3, 4]
    marks = [pair, rest, pair, rest, pair] + [rest] * 11
    corner = FAMILY.only("unique-corner")
    assert available(State.from_marks(marks, boxes(2, 2)), corner)
    assert not available(State.from_marks(marks, boxes(2, 2).with_diagonals()), corner)


def _written(givens: int) -> State:
    """Three corners of a rectangle written: r1c1 = 1, r1c3 = 2, r2c1 = 2."""
    state = State.from_digits([0] * 15 + [4])
    for candidate in (0, 16 + 2, 16 + 4):
        state = state.with_placed(candidate)
    return State(state.layout, state.open, state.placed, givens)


def test_a_given_corner_is_not_avoidable() -> None:
    corner = FAMILY.only("avoidable-corner")
    (deduction,) = available(_written(1 << 15), corner)
    assert deduction.elimination_names == ("r2c3=1",)
    for cell in (0, 2, 4):
        assert available(_written(1 << 15 | 1 << cell), corner) == []
        refused = certify_unique(deduction, _written(1 << 15 | 1 << cell))
        assert set(bits(deduction.eliminates)) <= set(refused.failures)


def test_nothing_is_avoidable_where_the_givens_are_not_known() -> None:
    assert available(_written(0), FAMILY) == [
        d for d in available(_written(1 << 15), FAMILY) if not d.technique.startswith("avoidable")
    ]


def test_a_board_knows_what_was_given() -> None:
    for sampled in minimal(3, 7):
        board = new_board(tables(NINE))
        load_givens(tables(NINE), board, sampled.puzzle)
        end = route(State.from_digits(sampled.puzzle), FIRST_FAMILY).end
        for loaded in (board, board_of(end)):
            assert (loaded[GIVENS, :81] == (sampled.puzzle > 0)).all()


def _ambiguous(count: int, seed: int) -> Iterator[tuple[State, list[int]]]:
    """Puzzles with several solutions, ten at most, and all of these."""
    engine = get_engine("kernel")
    for sampled in minimal(count, seed):
        for cell in np.flatnonzero(sampled.puzzle).tolist():
            start = State.from_digits(np.where(np.arange(81) == cell, 0, sampled.puzzle).tolist())
            solutions = list(islice(engine.solutions(start), 11))
            if len(solutions) <= 10:
                yield start, [_solution(NINE, np.array(digits)) for digits in solutions]


def test_with_several_solutions_the_family_is_wrong() -> None:
    """It excludes what is true in some of them, even something of each; the rest never does."""
    wrong, worse = Counter[str](), Counter[str]()
    for start, solutions in _ambiguous(25, 11):
        states = list(route(start, FIRST_FAMILY).states())
        for state in states[:: 1 + len(states) // 4]:
            assert all(not solution & ~state.open for solution in solutions)
            for step in available(state, FAMILY):
                if any(step.removes & solution for solution in solutions):
                    wrong[step.technique] += 1
                    worse[step.technique] += all(step.removes & true for true in solutions)
                    assert certify_unique(step, state).holds
                    assert not certify(step).holds
    assert len(wrong) >= 5, wrong
    assert sum(worse.values()) >= 5, worse


@pytest.mark.parametrize("layout", [boxes(2, 3), latin(5), NINE], ids=lambda layout: layout.name)
def test_a_grave_of_two_solutions(layout: Layout) -> None:
    """What two grids have together is a grave; what is too many for one is said to be true.

    Here the premises can be satisfied, so that certificates are put to the test.
    """
    random, met = np.random.default_rng(3), Counter[str]()
    grids = [_solution(layout, sampled.solution) for sampled in minimal(24, 12, layout)]
    for one, other in zip(grids[::2], grids[1::2], strict=True):
        placed = sum(1 << c % layout.cells for c in bits(one & other))
        grave = State(layout, one | other, placed, placed)
        assert not available(grave, FAMILY.only(*GRAVES))
        free = list(bits(layout.full & ~grave.open & ~_conflicts(layout, one & other)))
        for number in (1, 2, 2, 2):
            spare = sum(1 << c for c in random.permutation(free)[:number].tolist())
            state = State(layout, grave.open | spare, placed, placed)
            seen = layout.full
            for candidate in bits(spare):
                seen &= layout.conflicts[candidate]
            offered = available(state, FAMILY.only(*GRAVES))
            assert bool(offered) == bool(seen & state.open)
            for step in offered:
                met[step.technique] += 1
                assert step.technique == GRAVES[number > 1]
                assert step.removes == seen
                assert certify_unique(step, state).holds
                assert not certify(step).holds
                assert _spare(step, state) == spare
    assert met["bivalue-grave"] >= 10, met
    assert met["guarded-grave"], met


def _spare(step: Deduction, state: State) -> int:
    """What has to go from a state to leave a grave, which is checked rule by rule."""
    layout, blank = state.layout, ~state.placed
    rules = [rule.mask & state.open for rule in layout.rules]
    assert step.premises == tuple(c for c in range(layout.cells) if blank >> c & 1)
    spare = 0
    for candidate in bits(state.open):
        if all(rule.bit_count() > 2 for rule in rules if rule >> candidate & 1):
            spare |= 1 << candidate
    for rule in rules:
        left = list(bits(rule & ~spare))
        assert len(left) == 1 + (blank >> left[0] % layout.cells & 1)
    return spare


def test_a_grave_has_two_places_for_everything(found: Found) -> None:
    met = 0
    for deduction, state, _ in found:
        if deduction.technique in GRAVES:
            met += 1
            seen = deduction.layout.full
            for candidate in bits(_spare(deduction, state)):
                seen &= deduction.layout.conflicts[candidate]
            assert deduction.removes == seen
    assert met


def _conflicts(layout: Layout, candidates: int) -> int:
    mask = 0
    for candidate in bits(candidates):
        mask |= layout.conflicts[candidate]
    return mask


def _plain_corners(state: State) -> set[int]:
    """Unique corners by plain search: three blank cells with the same two digits, and a fourth."""
    layout, n = state.layout, state.layout.size
    lost = set()
    for (top, bottom), (left, right) in product(combinations(range(n), 2), repeat=2):
        corners = [top * n + left, top * n + right, bottom * n + left, bottom * n + right]
        if any(state.placed >> c & 1 for c in corners):
            continue
        homes = [sum(c in house.cells for c in corners) for house in layout.houses]
        if not set(homes) <= {0, 2}:
            continue
        for corner in corners:
            digits = {tuple(state.digits_of(c)) for c in corners if c != corner}
            pair = next(iter(digits))
            if len(digits) == 1 and len(pair) == 2 and set(pair) < set(state.digits_of(corner)):
                lost |= {(digit - 1) * layout.cells + corner for digit in pair}
    return lost


@pytest.mark.parametrize("layout", [boxes(2, 3), latin(6), NINE], ids=lambda layout: layout.name)
def test_no_corner_is_overlooked(layout: Layout) -> None:
    effective = 0
    for state, _ in _states(layout, 4800 // layout.size**2, 17):
        expected = _plain_corners(state)
        steps = available(state, FAMILY.only("unique-corner"))
        assert {c for step in steps for c in bits(step.eliminates)} == expected
        effective += bool(expected)
    assert effective >= 5


def test_the_step_that_a_route_takes_is_the_first_on_offer() -> None:
    taken: Counter[str] = Counter()
    for sampled in minimal(40, 19):
        walked = route(State.from_digits(sampled.puzzle), WITH_FIRST, unique=True)
        for before, step in zip(walked.states(), walked, strict=False):
            if step.technique in FAMILY:
                assert available(before, WITH_FIRST)[0] == step
                taken[step.technique] += 1
        assert walked.flaw is None
    assert len(taken) >= 4, taken


def test_no_deduction_is_wider_than_asked_for(found: Found) -> None:
    met = set()
    for deduction, state, _ in found[:600]:
        for width in (2, 3, 4, 5, 6):
            narrow = Repertoire(FAMILY.techniques, width)
            offered = available(state, narrow.only(deduction.technique))
            assert all(step.width <= width for step in offered)
            assert (deduction in offered) == (deduction.width <= width)
            met.add(bool(offered))
    assert met == {False, True}


@pytest.mark.parametrize("technique", FAMILY, ids=str)
def test_the_doctest_of_every_technique_is_collected(technique: Technique) -> None:
    collected = {test.name: test for test in doctest.DocTestFinder().find(unique)}
    assert collected[f"{unique.__name__}.{technique.__qualname__}"].examples
