"""A repertoire is an immutable, ordered selection of techniques."""

from __future__ import annotations

import pickle

import pytest

from gridcrux.logic.repertoire import Repertoire, UnknownTechnique
from gridcrux.techniques.repertoires import FIRST_FAMILY, SINGLES


def test_selection_keeps_the_order_and_changes_nothing() -> None:
    names = FIRST_FAMILY.names
    chosen = FIRST_FAMILY.only("x-wing", "naked-single")
    assert chosen.names == ("naked-single", "x-wing")
    assert FIRST_FAMILY.names == names
    assert chosen == FIRST_FAMILY.without(*(n for n in names if n not in chosen.names))
    assert set(FIRST_FAMILY.without("jellyfish").names) == set(names) - {"jellyfish"}


def test_width_selects_by_number_of_premises() -> None:
    for width in range(5):
        chosen = FIRST_FAMILY.widest(width)
        assert all(technique.width <= width for technique in chosen)
        assert all(t.width > width for t in FIRST_FAMILY if t not in chosen)
    assert len(FIRST_FAMILY.widest(0)) == 0
    assert set(SINGLES.names) < set(FIRST_FAMILY.widest(1).names)


def test_further_techniques_come_last_or_before_a_named_one() -> None:
    fish, wide = FIRST_FAMILY["x-wing"], SINGLES.widest(1)
    assert wide.plus(fish).names == (*SINGLES.names, "x-wing")
    first, *others = SINGLES.names
    assert wide.plus(fish, before=others[0]).names == (first, "x-wing", *others)
    assert (wide.plus(fish).limit, SINGLES.plus()) == (1, SINGLES)
    with pytest.raises(ValueError, match="'x-wing' is twice"):
        FIRST_FAMILY.plus(fish)
    with pytest.raises(UnknownTechnique, match="did you mean naked-single"):
        SINGLES.plus(fish, before="naked-sngle")


def test_membership_by_name_and_by_value() -> None:
    technique = FIRST_FAMILY["swordfish"]
    assert technique in FIRST_FAMILY
    assert "swordfish" in FIRST_FAMILY
    assert technique not in SINGLES
    assert "swordfish" not in SINGLES


def test_numbers_and_names_are_unique_and_give_the_order() -> None:
    assert len(set(FIRST_FAMILY.names)) == len(FIRST_FAMILY.by_number) == len(FIRST_FAMILY)
    back = [FIRST_FAMILY.by_number[number].name for number in FIRST_FAMILY.order.tolist()]
    assert tuple(back) == FIRST_FAMILY.names
    with pytest.raises(ValueError, match="read-only"):
        FIRST_FAMILY.order[0] = 3


def test_the_same_technique_twice_is_refused() -> None:
    twice = (*SINGLES.techniques, SINGLES["naked-single"])
    with pytest.raises(ValueError, match="'naked-single' is twice"):
        Repertoire(twice)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: FIRST_FAMILY["Swordfsh"],
        lambda: FIRST_FAMILY.only("sword fish"),
        lambda: FIRST_FAMILY.without("sword_fish"),
    ],
)
def test_an_unknown_name_gets_a_suggestion(ask) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(UnknownTechnique, match="did you mean swordfish"):
        ask()


def test_a_name_like_no_other_gets_the_list() -> None:
    with pytest.raises(UnknownTechnique, match=r"known: full-house, hidden-single, naked-single$"):
        SINGLES["zzzz"]


def test_pickling_keeps_equality() -> None:
    assert pickle.loads(pickle.dumps(FIRST_FAMILY)) == FIRST_FAMILY
