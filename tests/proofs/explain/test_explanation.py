"""What an explanation says of itself, against what it holds."""

from __future__ import annotations

import json

import pytest

from gridcrux.grids.layout import NINE, boxes
from gridcrux.grids.names import Claim, parse_claim
from gridcrux.grids.state import State, bits
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import UNNAMED
from gridcrux.proofs.explain.explanation import Explanation, NotForced
from gridcrux.proofs.explain.smallest import Explainer, smallest_explanation

START = read_puzzle("1234 34.. 2... 4..1")
LAYOUT = START.layout


def test_a_single_is_told_in_full():
    claim = parse_claim(LAYOUT, "r3c4!=4")
    why = smallest_explanation(START, claim, start="givens")
    assert why.premise_names == tuple(LAYOUT.rules[rule].name for rule in why.premises)
    assert why.row() == {
        "claims": "r3c4!=4",
        "size": 0,
        "lower_bound": 0,
        "exact": True,
        "from": "givens",
        "premises": "",
        "technique": why.technique,
    }
    assert str(why) == "r3c4!=4: 0 premises"
    placed = smallest_explanation(START, parse_claim(LAYOUT, "r3c3=4"))
    assert placed.start == "marks"
    assert str(placed) == f"r3c3=4: 1 premise: {placed.premise_names[0]}"
    assert placed.technique == "naked-single"
    assert placed.deduction.technique == placed.technique
    assert placed.deduction.places == placed.claims[0].candidate
    told = json.loads(json.dumps(placed.as_dict()))
    assert told["premises"] == list(placed.premise_names)
    assert (told["size"], told["lower_bound"], told["from"]) == (1, 1, "marks")
    assert told["technique"] == placed.technique


def test_its_deduction_excludes_what_is_claimed_by_its_premises():
    claims = [Claim(c, False, LAYOUT) for c in bits(START.open)]
    for claim in claims:
        try:
            why = smallest_explanation(START, claim)
        except NotForced:
            continue
        step = why.deduction
        assert step.premises == why.premises
        assert step.width == why.size
        assert step.eliminates == 1 << claim.candidate
        mask = 0
        for rule in why.premises:
            mask |= LAYOUT.rules[rule].mask
        assert step.relies == mask & ~START.open


def test_what_has_no_technique_has_no_name():
    """A digit written and another excluded together is no technique's conclusion."""
    claims = [parse_claim(LAYOUT, name) for name in ("r3c3=4", "r2c3!=2")]
    why = smallest_explanation(START, *claims)
    assert why.technique is None
    assert why.deduction.technique == UNNAMED
    assert why.deduction.places is None
    assert why.deduction.removes >> claims[1].candidate & 1
    assert why.row()["claims"] == "r3c3=4 r2c3!=2"


def test_bounds_are_told_where_it_is_not_exact():
    claim = Claim(5, False)
    unsure = Explanation(State.empty(), (claim,), (3, 90, 200), 2, stopped_by="seconds")
    assert not unsure.exact
    assert unsure.bounds == "between 2 and 3"
    assert str(unsure).startswith("r1c6!=1: between 2 and 3 premises: ")
    sure = Explanation(State.empty(), (claim,), (3, 90, 200), 3)
    assert sure.exact
    assert sure.bounds == "3"
    assert sure.row()["lower_bound"] == sure.as_dict()["lower_bound"] == 3


def test_the_page_holds_the_sentence_and_the_board():
    why = smallest_explanation(START, parse_claim(LAYOUT, "r3c3=4"))
    page = why._repr_html_()
    assert page.startswith(f"<p>{why}</p>")
    assert "<svg" in page


def test_a_refusal_carries_the_solution():
    error = NotForced([Claim(0, True), Claim(1, False)], (1, 2))
    assert error.solution == (1, 2)
    assert "r1c1=1" in str(error)
    assert "r1c2!=1" in str(error)
    with pytest.raises(ValueError, match="expected the same"):
        Explainer(State.empty(boxes(2, 2))).smallest(Claim(0, False, NINE))
