"""A technique written in Python is one like any other: a twin of a known one changes nothing."""

from __future__ import annotations

import gc
import pickle
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study import study
from gridcrux.grids.arrays import to_words, word_count
from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State
from gridcrux.logic.deduction import Deduction, bare
from gridcrux.logic.records import new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.certified import Unsound, certified, refuse_unsound
from gridcrux.proofs.essential import crux, judge, reaches
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.sufficient import technique_sets
from gridcrux.proofs.uniqueness import NotUnique
from gridcrux.techniques.compiled.families import plan_of
from gridcrux.techniques.compiled.own import FinderFault, _finders
from gridcrux.techniques.compiled.shapes import FAMILY
from gridcrux.techniques.compiled.tables import tables
from gridcrux.techniques.own import own_technique
from gridcrux.techniques.policies import POLICIES
from gridcrux.techniques.repertoires import FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import available, board_of, closure, route

TWINS = ("pointing", "naked-pair", "hidden-pair", "x-wing")


def starts(count: int) -> list[State]:
    return [State.from_digits(item.puzzle.tolist()) for item in minimal(count, 4)]


def twin_of(name: str) -> Repertoire:
    """The first family with a technique written in Python in the place of one of its own."""

    def find(state: State) -> list[Deduction]:
        """What the known technique finds."""
        return available(state, name)

    after = FIRST_FAMILY.names[FIRST_FAMILY.names.index(name) + 1]
    mine = own_technique(find, f"my-{name}", width=FIRST_FAMILY[name].width, any_length=False)
    return FIRST_FAMILY.without(name).plus(mine, before=after)


def wings(state: State) -> Iterator[Deduction]:
    """An x-wing, and then one that excludes what is not excluded."""
    layout = state.layout
    for step in available(state, "x-wing"):
        yield step
        others = (c for c in range(layout.candidates) if (state.open & ~step.removes) >> c & 1)
        yield replace(step, removes=step.removes | 1 << next(others))


def only_digits(state: State) -> Iterator[Deduction]:
    """A cell with one digit has it."""
    for cell in range(state.layout.cells):
        if len(digits := state.digits_of(cell)) == 1:
            true = (digits[0] - 1) * state.layout.cells + cell
            # Of a digit that is written it follows, and need not be told, what it removes.
            yield replace(bare(state, [Claim(true, True)], [cell]), removes=0)


@pytest.mark.parametrize("name", TWINS)
def test_routes_and_statuses_are_those_of_the_twin(name: str) -> None:
    repertoire, used = twin_of(name), 0
    for state in starts(60):
        known, own = crux(state, FIRST_FAMILY), crux(state, repertoire)
        assert [step.technique.removeprefix("my-") for step in own.route] == [
            step.technique for step in known.route
        ]
        assert (own.route.records.table[:, 1:] == known.route.records.table[:, 1:]).all()
        assert (own.route.ending, own.route.flaw) == (known.route.ending, None)
        assert own.statuses == known.statuses
        assert [*own.techniques.values()] == [*known.techniques.values()]
        assert own.eliminations == known.eliminations
        assert refuse_unsound(own.route) is own.route
        used += own.route.counts()[f"my-{name}"]
    assert used > 0


@pytest.mark.parametrize("policy", POLICIES)
def test_every_policy_takes_it(policy: str) -> None:
    repertoire = twin_of("naked-pair")
    for state in starts(4):
        own, known = route(state, repertoire, policy), route(state, FIRST_FAMILY, policy)
        assert (own.records.table[:, 1:] == known.records.table[:, 1:]).all()


def test_hard_steps_and_sets_of_techniques_are_those_of_the_twin() -> None:
    repertoire, asked = twin_of("naked-pair"), 0
    for state in starts(40):
        if route(state, repertoire).counts()["my-naked-pair"]:
            own, known = (fewest_hard_steps(state, r) for r in (repertoire, FIRST_FAMILY))
            assert (own.lower, own.upper) == (known.lower, known.upper)
            mine = technique_sets(state, repertoire, always=SINGLES.names).sufficient
            theirs = technique_sets(state, FIRST_FAMILY, always=SINGLES.names).sufficient
            assert {frozenset(n.removeprefix("my-") for n in names) for names in mine} == {
                *map(frozenset, theirs)
            }
            asked += 1
    assert asked > 2


def test_what_does_not_follow_is_named() -> None:
    careless = SINGLES.plus(own_technique(lambda state: list(wings(state))[1::2], "careless"))
    refused = 0
    for state in starts(150):
        found = route(state, careless)
        wrong = [n for n, each in enumerate(certified(found), 1) if not each.holds]
        if wrong:
            with pytest.raises(Unsound, match=rf"^step {wrong[0]} \(careless\) does not follow"):
                refuse_unsound(found)
            refused += 1
    assert refused > 0


def test_what_a_finder_raises_comes_out_wherever_it_is_called() -> None:
    def failing(state: State) -> list[Deduction]:
        raise KeyError("a fault of the finder")

    state = State.empty(NINE)
    repertoire = SINGLES.plus(own_technique(failing))
    found = route(state, SINGLES)
    for ask in (
        lambda: route(state, repertoire),
        lambda: route(state, repertoire, "narrowest"),
        lambda: closure(state, repertoire),
        lambda: available(state, repertoire),
        lambda: crux(state, repertoire),
        lambda: study([state.line], repertoire=repertoire),
    ):
        with pytest.raises(KeyError, match="a fault of the finder") as raised:
            ask()
        assert "raised by the finder of failing in the state ....." in raised.value.__notes__[0]
    assert not found.solved


def test_a_digit_is_written_by_a_single_once_its_rivals_are_gone() -> None:
    state = State.from_digits([1, 2, 3, 0] + [0] * 12)
    found = route(state, SINGLES.plus(own_technique(only_digits), before="full-house"))
    first, second, *_ = found
    assert (first.technique, first.places, first.premises) == ("only-digits", None, (3,))
    assert first.eliminates == state.layout.conflicts[3 * 16 + 3] & state.open
    assert (second.technique, second.placement_name) == ("full-house", "r1c4=4")
    assert found.flaw is None
    assert all(step.eliminates for step in found if step.places is None)
    assert all(each.holds for each in certified(found))


def test_no_deduction_is_wider_than_wanted() -> None:
    wide = own_technique(lambda state: available(state, "naked-pair"), "pair")
    state = next(s for s in starts(60) if available(closure(s, SINGLES), "naked-pair"))
    repertoire = SINGLES.plus(wide)
    assert "pair" in route(state, repertoire.widest(2)).counts()
    assert route(state, repertoire.widest(2)).counts()["pair"] > 0
    assert route(state, repertoire.widest(1)).counts()["pair"] == 0


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda step: "a pair", "'a pair'; expected a Deduction"),
        (lambda step: replace(step, premises=()), "a deduction with no premises"),
        (lambda step: replace(step, layout=boxes(2, 2)), "a deduction with layout '2x2'"),
        (lambda step: replace(step, removes=1 << 729), "a deduction about what is no candidate"),
        (lambda step: replace(step, places=-1), "a deduction about what is no candidate"),
        (
            lambda step: replace(step, relies=step.layout.full),
            ".* absence of r1c1=1, ",
        ),
    ],
    ids=["type", "premises", "layout", "removes", "places", "relies"],
)
def test_what_is_no_deduction_in_the_state_is_refused(spoil, said) -> None:  # type: ignore[no-untyped-def]
    step = bare(State.empty(NINE), [Claim(80, False)], [0])
    repertoire = SINGLES.plus(own_technique(lambda state: [spoil(step)], "spoilt"))
    with pytest.raises(FinderFault, match=f"the finder of spoilt gave {said}"):
        route(State.empty(NINE), repertoire)


@pytest.mark.parametrize(
    ("give", "said"),
    [
        (lambda state: [bare(state, [Claim(99999, False)], [0])], ": 99999 is no candidate; exp"),
        (lambda state: [bare(state, [Claim(80, False)], [999])], ": 999 is no premise; expected"),
        (lambda state: [bare(state, [Claim(80, False)], [-1])], ": -1 is no premise; expected"),
        (lambda state: [bare(state, ["r1c1!=2"], [0])], ": 'r1c1!=2' is no claim; expected a Cl"),
        (lambda state: [bare(state, [Claim("r1c1=2", True)], [0])], ": 'r1c1=2' is no candidate;"),
        (lambda state: [bare(state, [Claim(80, False)], ["row 1"])], ": 'row 1' is no premise; "),
        (lambda state: [bare(state, Claim(80, False), [0])], ": .* was given as claims; expected"),
        (lambda state: [bare(state, [Claim(80, False)], 0)], ": 0 was given as premises; expect"),
        (lambda state: None, " gave None; expected deductions to go through: let it yield each"),
        (lambda state: bare(state, [Claim(80, False)], [0]), r" gave Deduction\(.* to go through"),
    ],
)
def test_usual_mistakes_are_told_with_the_technique(give, said) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(FinderFault, match=f"^the finder of mistaken{said}"):
        route(State.empty(NINE), SINGLES.plus(own_technique(give, "mistaken")))


def test_a_digit_that_is_excluded_cannot_be_written() -> None:
    state = State.from_digits([1, 2, 0, 0] + [0] * 12)
    closed = own_technique(lambda state: [bare(state, [Claim(3, True)], [3])], "closed")
    with pytest.raises(FinderFault, match=r"the finder of closed gave .* writes r1c4=1, which is"):
        route(state, SINGLES.plus(closed))


def test_a_route_that_excludes_a_written_digit_ends_where_it_can_be_shown() -> None:
    state = State.from_digits([1, 2, 0, 0] + [0] * 12)
    careless = own_technique(lambda state: [bare(state, [Claim(0, False)], [3])], "careless")
    found = route(state, SINGLES.plus(careless, before="full-house"))
    assert (found.status, len(found), found.end.line) == ("contradiction", 1, ".2..............")
    assert "contradiction" in found._repr_html_()


def test_numbers_out_of_arrays_are_numbers() -> None:
    state = State.empty(NINE)
    by_array = bare(state, [Claim(np.int64(80), False)], np.array([3]))  # type: ignore[arg-type]
    assert by_array == bare(state, [Claim(80, False)], [3])
    assert by_array.removes == 1 << 80


def test_uniqueness_is_asked_for() -> None:
    several = SINGLES.plus(own_technique(lambda state: (), "nothing", assumes_unique=True))
    with pytest.raises(NotUnique):
        crux(State.empty(boxes(2, 2)), several)


def test_names_come_from_the_function_and_are_not_those_of_others() -> None:
    mine = own_technique(only_digits)
    assert (mine.name, mine.fact) == ("only-digits", "A cell with one digit has it.")
    with pytest.raises(ValueError, match="called 'x-wing' is built in"):
        own_technique(only_digits, "x-wing")
    with pytest.raises(ValueError, match="'only-digits' is twice"):
        SINGLES.plus(mine, own_technique(only_digits))


def test_numbers_of_techniques_that_nobody_has_are_given_out_again() -> None:
    gc.collect()
    kept = own_technique(only_digits, "kept")
    for turn in range(2 * FAMILY):
        assert own_technique(only_digits, f"turn-{turn}").number != kept.number
    copy = replace(own_technique(only_digits, "first"), width=1)
    assert own_technique(only_digits, "second").number != copy.number
    # Other tests may still hold some.
    gc.collect()
    free = FAMILY - len(_finders)
    many = [own_technique(only_digits, f"many-{turn}") for turn in range(free)]
    with pytest.raises(ValueError, match="100 own techniques already"):
        own_technique(only_digits)
    assert len({each.number for each in (*many, kept, copy)}) == free + 2
    assert len(_finders) == FAMILY
    assert len(route(State.from_digits([1, 2, 3, 0] + [0] * 12), SINGLES.plus(kept))) > 0


def test_pickling_makes_it_anew() -> None:
    state = State.from_digits([1, 2, 3, 0] + [0] * 12)
    repertoire = SINGLES.plus(own_technique(only_digits, width=1), before="full-house")
    known = route(state, repertoire)
    again = route(state, pickle.loads(pickle.dumps(repertoire)))
    assert repertoire.names == again.repertoire.names
    assert [step.sentence for step in again] == [step.sentence for step in known]


def test_statuses_do_not_trust_the_order_of_an_unknown_finder() -> None:
    """A finder that sees nothing once anything is done: what it is tried before matters."""
    ways_round = 0
    for start in (closure(state, SINGLES) for state in starts(100)):

        def early(state: State, start: State = start) -> list[Deduction]:
            return available(state, "naked-pair") if state.open == start.open else []

        found = route(start, LEVELS["locked"].plus(own_technique(early), before="full-house"))
        if found.counts()["early"]:
            board = board_of(start)
            way_round = reaches(
                tables(start.layout),
                board.copy(),
                board,
                plan_of(found.repertoire),
                to_words(found.steps[0].eliminates, word_count(start.layout)),
                -1,
                board_of(found.end),
                new_records(1, start.layout),
            )
            if way_round:
                assert judge(found).statuses[0] != "essential"
            ways_round += way_round
    assert ways_round > 0


def test_who_has_no_own_technique_does_not_load_what_calls_them() -> None:
    code = "import gridcrux.proofs.essential, sys; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = done.stdout.split()
    assert "gridcrux.techniques.checking" in loaded
    assert "gridcrux.techniques.compiled.own" not in loaded
