"""Techniques that show a claim: all of a state, and the first along a route."""

from __future__ import annotations

from gridcrux.grids.names import parse_claim
from gridcrux.grids.state import bits
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.reach import earliest, establishes, reaching, stand
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY
from gridcrux.techniques.solve import available, route

EXAMPLE = read_puzzle(
    "53..7....6..195....98....6.8...6...34..8.3..17...2...6.6....28....419..5....8..79"
)
"""The example of the encyclopaedia article "Sudoku"."""


def claims(*names: str):
    return [parse_claim(EXAMPLE.layout, name) for name in names]


def test_what_reaches_a_claim_is_all_that_excludes_it():
    for state in list(route(EXAMPLE, FIRST_FAMILY).states())[:9:4]:
        offered = available(state, DEFAULT)
        for candidate in list(bits(state.open))[::9]:
            claim = parse_claim(state.layout, f"{state.layout.candidate_name(candidate)}")
            denied = [parse_claim(state.layout, str(claim).replace("=", "!="))]
            found = reaching(state, denied, DEFAULT)
            assert [step.width for step in found] == sorted(step.width for step in found)
            expected = [
                step
                for step in offered
                if step.removes >> candidate & 1
                or (
                    step.places is not None and state.layout.conflicts[step.places] >> candidate & 1
                )
            ]
            assert sorted(map(repr, found)) == sorted(map(repr, expected))
            assert all(step.places == candidate for step in reaching(state, [claim], DEFAULT))


def test_the_earliest_is_not_in_reach_before():
    way = route(EXAMPLE, FIRST_FAMILY)
    asked = claims("r1c3!=2")
    found = list(earliest(way, asked))
    assert found
    assert len({step.technique for _, step in found}) == len(found)
    states = list(way.states())
    for number, step in found:
        assert establishes(step, asked)
        for before in states[: number - 1]:
            assert step.technique not in {
                s.technique for s in reaching(before, asked, FIRST_FAMILY)
            }
    last = max(number for number, _ in found)
    assert not stand(states[last - 1], asked)


def test_a_route_that_begins_with_the_claim_reaches_nothing():
    asked = claims("r1c3!=5")
    assert stand(EXAMPLE, asked)
    assert list(earliest(route(EXAMPLE, FIRST_FAMILY), asked)) == []


def test_a_digit_written_excludes_its_rivals():
    asked = claims("r5c5=5")
    (step,) = reaching(EXAMPLE, asked, DEFAULT)
    assert step.technique == "naked-single"
    assert step in reaching(EXAMPLE, claims("r5c8!=5"), DEFAULT)
    assert not establishes(step, claims("r5c5=5", "r1c3!=4"))
