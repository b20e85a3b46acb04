"""Certificates of deductions written by hand, so that the right answer is known beforehand."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import FrozenInstanceError, replace
from itertools import product

import pytest

from gridcrux.grids.layout import Layout, boxes, latin
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.proofs import certify as module
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.techniques.solve import available

FOUR = latin(4)
PAIR = State.from_marks([[1, 2], [1, 2]] + [[1, 2, 3, 4]] * 14, FOUR)


def _mask(layout: Layout, names: Iterable[str]) -> int:
    by_name = {layout.candidate_name(c): 1 << c for c in range(layout.candidates)}
    return sum(by_name[name] for name in names)


def _deduction(
    removes: Iterable[str],
    relies: Iterable[str],
    premises: Iterable[str],
    places: str | None = None,
    layout: Layout = FOUR,
) -> Deduction:
    rules = tuple(sorted(layout.rule_numbers[name] for name in premises))
    excluded = _mask(layout, removes)
    return Deduction(
        layout=layout,
        technique="by hand",
        width=len(rules),
        premises=rules,
        removes=excluded,
        relies=_mask(layout, relies),
        eliminates=excluded,
        places=None if places is None else next(bits(_mask(layout, [places]))),
    )


def _pair(
    removes: Iterable[str] = ("r1c3=1", "r1c3=2", "r1c4=1", "r1c4=2"),
    relies: Iterable[str] = ("r1c1=3", "r1c1=4", "r1c2=3", "r1c2=4"),
    premises: Iterable[str] = ("cell r1c1", "cell r1c2"),
) -> Deduction:
    return _deduction(removes, relies, premises)


def _models(deduction: Deduction, absent: int) -> list[int]:
    """All ways to choose a candidate of each premise without conflict, by enumeration."""
    choices = [bits(deduction.layout.rules[r].mask & ~absent) for r in deduction.premises]
    return [
        sum(1 << c for c in set(chosen))
        for chosen in product(*map(list, choices))
        if not any(deduction.layout.conflicts[a] >> b & 1 for a in chosen for b in chosen)
    ]


def _refuted(deduction: Deduction, absent: int) -> int:
    """What conflicts with every way to satisfy the premises: the certificate without SAT."""
    refuted = deduction.layout.full
    for model in _models(deduction, absent):
        excluded = 0
        for candidate in bits(model):
            excluded |= deduction.layout.conflicts[candidate]
        refuted &= excluded
    return refuted


def test_a_naked_pair_holds_and_needs_both_cells() -> None:
    certificate = certify(_pair())
    assert certificate.holds
    assert certificate.failures == ()
    assert certificate.checked == 4
    assert irreducible(_pair())


def test_only_the_candidate_that_does_not_follow_is_named() -> None:
    certificate = certify(_pair(removes=["r1c3=1", "r1c3=3", "r2c1=1"]))
    assert not certificate.holds
    assert set(certificate.failure_names) == {"r1c3=3", "r2c1=1"}
    assert certificate.row() == {
        "technique": "by hand",
        "reading": "strict",
        "holds": False,
        "checked": 3,
        "failures": "r2c1=1; r1c3=3",
    }


@pytest.mark.parametrize("dropped", ["r1c1=3", "r1c1=4", "r1c2=3", "r1c2=4"])
def test_every_absence_counts_in_the_strict_reading_alone(dropped: str) -> None:
    relies = {"r1c1=3", "r1c1=4", "r1c2=3", "r1c2=4"} - {dropped}
    assert not certify(_pair(relies=relies)).holds
    assert certify(_pair(relies=relies), PAIR).holds


def test_the_local_reading_fails_where_the_absence_is_not_there() -> None:
    more = State(FOUR, PAIR.open | _mask(FOUR, ["r1c2=4"]))
    assert certify(_pair(), PAIR).holds
    assert set(certify(_pair(), more).failures) == set(bits(_pair().eliminates))


def test_the_local_reading_asks_only_for_what_is_eliminated() -> None:
    open_ = _mask(FOUR, ["r1c3=1"])
    step = replace(_pair(removes=["r1c3=1", "r3c3=3"]), eliminates=open_)
    assert not certify(step).holds
    assert certify(step, PAIR).holds
    assert certify(step, PAIR).checked == 1


def test_a_premise_to_spare_is_noticed_in_both_readings() -> None:
    spare = _pair(premises=["cell r1c1", "cell r1c2", "cell r4c4"])
    assert certify(spare).holds
    assert not irreducible(spare)
    assert not irreducible(spare, PAIR)
    assert irreducible(_pair(), PAIR)


def test_without_eliminations_reducibility_is_judged_by_what_is_removed() -> None:
    assert irreducible(replace(_pair(), eliminates=0))
    spare = _pair(premises=["cell r1c1", "cell r1c2", "cell r4c4"])
    assert not irreducible(replace(spare, eliminates=0))


def test_the_solution_of_the_puzzle_is_no_argument() -> None:
    """Digits 1 to 3 of row 1 force r1c4=4, but a premise elsewhere does not show it."""
    state = State.from_digits([1, 2, 3] + [0] * 13, FOUR)
    rival = _deduction(["r2c4=4"], ["r1c4=1", "r1c4=2", "r1c4=3"], ["cell r1c4"])
    assert certify(rival, state).holds
    elsewhere = replace(rival, premises=(FOUR.rule_numbers["cell r3c3"],))
    assert certify(elsewhere, state).failure_names == ("r2c4=4",)


def test_a_placement_must_be_the_only_one_left_of_its_premise() -> None:
    removes = ["r1c2=4", "r2c1=4"]
    whole = _deduction(removes, ["r1c1=1", "r1c1=2", "r1c1=3"], ["cell r1c1"], "r1c1=4")
    assert certify(whole).holds
    rival = replace(whole, relies=_mask(FOUR, ["r1c1=1", "r1c1=2"]), removes=0)
    assert certify(rival).failure_names == ("r1c1=3",)


@pytest.mark.parametrize("placed", ["r3c3=4", "r1c1=1"])
def test_a_placement_that_no_premise_has_left_is_refused(placed: str) -> None:
    step = _deduction([], ["r1c1=1", "r1c1=2", "r1c1=3"], ["cell r1c1"], placed)
    assert certify(step).failure_names == (placed,)


def test_the_rivals_of_a_placement_may_be_refuted_by_other_premises() -> None:
    """r1c1 and r1c2 use up 1 and 2, so of 1, 2 and 3 in r1c3 only 3 is left."""
    relies = ["r1c1=3", "r1c1=4", "r1c2=3", "r1c2=4", "r1c3=4"]
    cells = ["cell r1c1", "cell r1c2", "cell r1c3"]
    assert certify(_deduction(["r2c3=3"], relies, cells, "r1c3=3")).holds
    assert not certify(_deduction(["r2c3=3"], relies, cells[1:], "r1c3=3")).holds


def test_the_answers_are_those_of_plain_enumeration() -> None:
    """On all that a 4x4 state offers: the refuted candidates, each premise dropped in turn."""
    layout = boxes(2, 2)
    marks = [[1, 2], [1, 2], [1, 2, 3, 4], [3, 4]] + [[1, 3], [2, 3, 4]] + [[1, 2, 3, 4]] * 10
    state = State.from_marks(marks, layout)
    steps = [d for name in ("pointing", "claiming", "naked-pair") for d in available(state, name)]
    assert {step.technique for step in steps} >= {"claiming", "naked-pair"}
    for step in steps:
        for premises in {step.premises, step.premises[1:], step.premises[:-1]}:
            changed = replace(step, premises=premises, removes=layout.full)
            failures = sum(1 << c for c in certify(changed).failures)
            assert failures == layout.full & ~_refuted(changed, changed.relies)


def test_a_state_of_another_layout_is_refused() -> None:
    with pytest.raises(ValueError, match=r"on layout 'latin-4', the state on '2x2'"):
        certify(_pair(), State.empty(boxes(2, 2)))


def test_a_certificate_cannot_be_changed() -> None:
    with pytest.raises(FrozenInstanceError):
        certify(_pair()).failures = (1,)  # type: ignore[misc]


def test_premises_of_earlier_deductions_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where the solver is made anew in between."""
    monkeypatch.setattr(module, "_RETIREMENTS", 20)
    opposite = _pair(relies=["r1c1=1", "r1c1=2", "r1c2=1", "r1c2=2"], removes=["r1c3=3"])
    for _ in range(30):
        assert certify(_pair()).holds
        assert certify(opposite).holds
        assert not certify(_pair(removes=["r1c3=3"])).holds
