"""Names of cells, candidates and claims are read as they are written, and nothing else is."""

from __future__ import annotations

import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.names import (
    Claim,
    NotationError,
    parse_candidate,
    parse_cell,
    parse_claim,
)

SIXTEEN = boxes(4, 4)
layouts = st.sampled_from([boxes(2, 2), latin(7), NINE, SIXTEEN, boxes(5, 5)])


@given(layouts, st.data())
def test_names_are_read_back(layout, data):
    candidate = data.draw(st.integers(0, layout.candidates - 1))
    cell = candidate % layout.cells
    assert parse_cell(layout, layout.cell_name(cell)) == cell
    assert parse_candidate(layout, layout.candidate_name(candidate)) == candidate
    for holds in (True, False):
        claim = Claim(candidate, holds, layout)
        assert parse_claim(layout, str(claim)) == claim


def test_names_are_decimal_and_count_from_one():
    assert parse_cell(NINE, "r4c5") == 31
    assert parse_candidate(NINE, "r4c5=7") == 6 * 81 + 31
    assert parse_candidate(SIXTEEN, "r10c12=14") == 13 * 256 + 9 * 16 + 11
    assert parse_claim(NINE, "r4c5=7") == Claim(6 * 81 + 31, True)
    assert parse_claim(NINE, "r4c5!=7") == Claim(6 * 81 + 31, False)
    assert str(Claim(6 * 81 + 31, False)) == "r4c5!=7"
    assert Claim(0, True, SIXTEEN) != Claim(0, True)


@pytest.mark.parametrize("text", ["R4C5=7", " r4c5=7\n", "r4c5 = 7", "r04c05=07"])
def test_harmless_variants_are_read(text):
    assert parse_candidate(NINE, text) == 6 * 81 + 31


def test_a_sign_of_inequality_is_read():
    for text in ("r4c5≠7", "r4c5 ≠ 7"):
        assert parse_claim(NINE, text) == parse_claim(NINE, "r4c5!=7")
        with pytest.raises(NotationError, match="not the name of a candidate"):
            parse_candidate(NINE, text)


@pytest.mark.parametrize(
    ("text", "expected"),
    [("r1c1!=A", "10 for A"), ("r1c1=g", "16 for g"), ("R1C1 ≠ b", "11 for b")],
)
def test_a_letter_for_a_digit_is_told_its_number(text, expected):
    with pytest.raises(NotationError) as caught:
        parse_claim(SIXTEEN, text)
    assert (caught.value.what, caught.value.expected) == ("digits are named in decimal", expected)
    with pytest.raises(NotationError, match="not the name of a claim"):
        parse_claim(SIXTEEN, "r1c1=H")


@pytest.mark.parametrize("parse", [parse_cell, parse_candidate, parse_claim])
@pytest.mark.parametrize(
    "text",
    ["", "r4", "c5r4", "r4c5=", "r4c5==7", "r4c5!7", "r4c5<7", "r4c5=A", "r4c5=7.", "r4c-5=7",
     "r4c5=7 r1c1=2", "4c5=7", "r٤c5=7", "r4c5=1234", "r4c5\x00=7", "r" * 100_000],
)  # fmt: skip
def test_text_that_is_no_name_says_what_was_expected(parse, text):
    with pytest.raises(NotationError) as caught:
        parse(NINE, text)
    error = caught.value
    assert isinstance(error, ValueError)
    assert error.what.startswith("not the name of a c")
    assert "like r4c2" in error.expected
    assert str(error) == f"{error.where}: {error.what}; expected {error.expected}"
    assert len(str(error)) < 200
    assert "\n" not in str(error)
    assert str(pickle.loads(pickle.dumps(error))) == str(error)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("r0c5=7", "there is no row 0"),
        ("r10c5=7", "there is no row 10"),
        ("r4c0=7", "there is no column 0"),
        ("r4c12=7", "there is no column 12"),
        ("r4c5=0", "there is no digit 0"),
        ("r4c5=10", "there is no digit 10"),
        ("r4c5!=10", "there is no digit 10"),
    ],
)
def test_numbers_outside_the_layout_are_named(text, what):
    with pytest.raises(NotationError) as caught:
        parse_claim(NINE, text)
    assert (caught.value.what, caught.value.expected) == (what, "1 to 9")
    assert caught.value.where == f"claim {text!r}"


def test_each_kind_of_name_is_only_that():
    for parse, text in [
        (parse_cell, "r4c5=7"),
        (parse_candidate, "r4c5"),
        (parse_candidate, "r4c5!=7"),
        (parse_claim, "r4c5"),
    ]:
        with pytest.raises(NotationError):
            parse(NINE, text)
