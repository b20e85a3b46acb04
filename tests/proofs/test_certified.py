"""What own techniques find is checked before anything is judged by it, and the fault is shown."""

from __future__ import annotations

import pickle
import re
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from gridcrux.corpus.study import study
from gridcrux.figures.storyboard import storyboard
from gridcrux.grids.names import Claim, parse_candidate, parse_claim
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction, bare
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs import certified
from gridcrux.proofs.certified import Unsound, refuse_unsound
from gridcrux.proofs.certify import counterexample
from gridcrux.proofs.essential import Crux, crux, judge
from gridcrux.proofs.explain.coverage import coverage
from gridcrux.proofs.hard.demand import demand
from gridcrux.proofs.hard.fewest import fewest_hard_steps
from gridcrux.proofs.hard.profile import crux_profile
from gridcrux.proofs.hard.ways import shortest_ways
from gridcrux.proofs.hard.widths import least_total_width, least_widest_step
from gridcrux.proofs.hard.without import way_round
from gridcrux.proofs.monotone import monotone_exceptions
from gridcrux.proofs.reach import reaching
from gridcrux.proofs.sufficient import technique_sets
from gridcrux.techniques.own import own_technique
from gridcrux.techniques.repertoires import FIRST_FAMILY, LEVELS, SINGLES
from gridcrux.techniques.solve import available, route

# By us; needs three hard steps.
PUZZLE = ".............1..324..9..85..6..2......9..7.81..54.6....7.6...........2169.....7.."
START = read_puzzle(PUZZLE)

# From our sample of seed 4; has a hidden rectangle.
WITH_RECTANGLE = ".2..8.79....3..1..3.7.5..8.4...2...7..6..53.....7.1...9..43..............68.7...9"


def guess(state: State) -> Iterator[Deduction]:
    """r1c1 is 3, why not."""
    true = parse_candidate(state.layout, "r1c1=3")
    if state.is_open(true):
        yield bare(state, [Claim(true, True)], [0])


def hasty(state: State) -> Iterator[Deduction]:
    """Not 3 in r1c1, as there is something in r1c2 and r1c3."""
    yield bare(state, [parse_claim(state.layout, "r1c1!=3")], [1, 2])


def with_hasty() -> Repertoire:
    # Not kept, as there is room for so many own techniques only.
    return FIRST_FAMILY.plus(own_technique(hasty), before="full-house")


DOORS: dict[str, Callable[[Repertoire], Any]] = {
    "crux": lambda mine: crux(START, mine),
    "judge": lambda mine: judge(route(START, mine)),
    "eliminations": lambda mine: Crux(route(START, mine), {}, ()).eliminations,
    "technique_sets": lambda mine: technique_sets(START, mine),
    "monotone_exceptions": lambda mine: monotone_exceptions(START, mine, 5, 0),
    "fewest_hard_steps": lambda mine: fewest_hard_steps(START, mine),
    "least_total_width": lambda mine: least_total_width(START, mine),
    "least_widest_step": lambda mine: least_widest_step(START, mine),
    "crux_profile": lambda mine: crux_profile(route(START, mine)),
    "offered": lambda mine: crux_profile(route(START, FIRST_FAMILY), offered=mine),
    "shortest_ways": lambda mine: shortest_ways(fewest_hard_steps(START), mine),
    "way_round": lambda mine: way_round(START, "full-house", mine),
    "demand": lambda mine: demand(route(START, mine)),
    "coverage": lambda mine: coverage(START, mine, 1),
    "reaching": lambda mine: reaching(START, [parse_claim(START.layout, "r1c1!=3")], mine),
    "storyboard": lambda mine: storyboard(START, mine),
    "study": lambda mine: study([PUZZLE], repertoire=mine),
}


@pytest.mark.parametrize("door", DOORS)
def test_whatever_judges_by_a_technique_refuses_what_does_not_follow(door: str) -> None:
    with pytest.raises(
        Unsound, match=r"hasty\)? does not follow: by cell r1c2 and cell r1c3, r1c1=3"
    ):
        DOORS[door](with_hasty())
    # A route alone takes its word, whatever was asked before.
    assert route(START, with_hasty()).steps[0].technique == "hasty"


def test_a_guess_is_told_with_step_state_and_counterexample() -> None:
    with pytest.raises(Unsound) as raised:
        crux(START, SINGLES.plus(own_technique(guess), before="full-house"))
    error = raised.value
    assert re.fullmatch(
        r"step 1 \(guess\) does not follow: by cell r1c1, r1c1=3 need not be true, as "
        r"(r\dc\d=\d, ){2}r\dc\d=\d and \d+ more may be; these premises hold with "
        rf"r1c1=\d; the state is {PUZZLE}",
        str(error),
    )
    assert (error.step, error.state) == (1, START)
    named = re.findall(r"r\dc\d=\d", str(error))
    assert all(START.is_open(parse_candidate(START.layout, name)) for name in named)
    assert_contradicts(error)


@pytest.mark.parametrize("door", ["crux", "judge", "crux_profile", "demand", "storyboard"])
def test_what_is_asked_of_a_route_tells_the_step(door: str) -> None:
    with pytest.raises(Unsound, match=r"^step 1 \(hasty\) does not follow"):
        DOORS[door](with_hasty())


def test_open_candidates_are_named_before_closed_ones() -> None:
    def sweeping(state: State) -> Iterator[Deduction]:
        excluded = [parse_claim(state.layout, text) for text in ("r1c2!=1", "r1c1!=3")]
        yield bare(state, excluded, [2])

    state = START.without(1 << parse_candidate(START.layout, "r1c2=1"))
    mine = SINGLES.plus(own_technique(sweeping), before="full-house")
    with pytest.raises(Unsound, match="cell r1c3, r1c1=3 need not be false") as raised:
        crux(state, mine)
    assert parse_candidate(START.layout, "r1c1=3") in raised.value.counterexample


def assert_contradicts(error: Unsound) -> None:
    """No two of the counterexample conflict, each premise has one of it, and one is said false."""
    deduction, true = error.certificate.deduction, sum(1 << c for c in error.counterexample)
    layout = deduction.layout
    assert true & deduction.removes
    assert not true & deduction.relies
    assert all(layout.rules[rule].mask & true for rule in deduction.premises)
    assert not any(layout.conflicts[candidate] & true for candidate in bits(true))


def test_a_false_elimination_is_named_with_a_counterexample() -> None:
    with pytest.raises(
        Unsound, match=r"by cell r1c2 and cell r1c3, r1c1=3 need not be f"
    ) as raised:
        refuse_unsound(route(START, with_hasty()))
    assert_contradicts(raised.value)
    assert len(raised.value.counterexample) == 3
    again = pickle.loads(pickle.dumps(raised.value))
    assert (str(again), again.step, again.state) == (str(raised.value), 1, START)


def test_what_is_found_on_a_way_round_alone_is_refused_too() -> None:
    """Sound wherever the route comes, it is not where a step of the route is forbidden."""
    plain = route(START, LEVELS["locked"])
    seen = {(state.open, state.placed) for state in plain.states()}

    def elsewhere(state: State) -> list[Deduction]:
        return [] if (state.open, state.placed) in seen else list(guess(state))

    mine = LEVELS["locked"].plus(own_technique(elsewhere))
    found = route(START, mine)
    assert refuse_unsound(found) is found
    with pytest.raises(Unsound, match=r"^a deduction of elsewhere does not follow") as raised:
        judge(found)
    assert raised.value.step is None
    assert (raised.value.state.open, raised.value.state.placed) not in seen
    assert_contradicts(raised.value)


def test_techniques_that_are_built_in_are_not_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise AssertionError("checked")

    monkeypatch.setattr(certified, "certify", fail)
    assert crux(START).solved
    with pytest.raises(AssertionError, match="checked"):
        crux(START, with_hasty())


def test_only_some_steps_may_be_checked() -> None:
    found = route(START, with_hasty())
    assert refuse_unsound(found, ["x-wing"]) is found
    with pytest.raises(Unsound):
        refuse_unsound(found, ["hasty"])


def test_an_argument_from_uniqueness_is_checked_by_exchange() -> None:
    mine = SINGLES.plus(own_technique(hasty, assumes_unique=True), before="full-house")
    with pytest.raises(
        Unsound, match=r"r1c1=3 need not be false; .* nothing to exchange"
    ) as raised:
        crux(START, mine)
    assert raised.value.counterexample == ()


def test_a_sound_argument_from_uniqueness_may_be_used() -> None:
    def rectangle(state: State) -> list[Deduction]:
        return available(state, "hidden-rectangle")

    way = route(read_puzzle(WITH_RECTANGLE), LEVELS["uniqueness"], unique=True)
    place = [step.technique for step in way].index("hidden-rectangle")
    state, step = list(way.states())[place], way.steps[place]
    claims = [Claim(candidate, False) for candidate in bits(step.eliminates)]
    known = own_technique(rectangle, assumes_unique=True)
    assert [each.technique for each in reaching(state, claims, Repertoire((known,)))]
    careless = own_technique(rectangle, "careless")
    with pytest.raises(Unsound, match="a deduction of careless does not follow"):
        reaching(state, claims, Repertoire((careless,)))


def test_there_is_no_counterexample_to_what_follows() -> None:
    steps = [step for step in route(START, FIRST_FAMILY) if step.places is None]
    assert steps
    for step in steps:
        assert all(counterexample(step, candidate) == () for candidate in bits(step.removes))
        left = step.roles["base"] & ~step.removes
        assert all(candidate in counterexample(step, candidate) for candidate in bits(left))
