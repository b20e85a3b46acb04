"""Ways round, checked by what is in them and by plain closures."""

from __future__ import annotations

import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.engines import get_engine
from gridcrux.grids.names import NotationError
from gridcrux.grids.state import State
from gridcrux.logic.repertoire import UnknownTechnique
from gridcrux.proofs.essential import ESSENTIAL, crux
from gridcrux.proofs.hard.without import NothingToAvoid, way_round
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import closure


def starts(count, seed):
    return [State.from_digits(item.puzzle.tolist()) for item in minimal(count, seed)]


def test_techniques_can_be_avoided_where_the_rest_solves():
    answers = set()
    for state in starts(60, 71):
        if not closure(state, FIRST_FAMILY).is_solved:
            continue
        for name in ("pointing", "claiming", "hidden-single"):
            found = way_round(state, [name], FIRST_FAMILY)
            end = closure(state, FIRST_FAMILY.without(name))
            assert found.avoidable == end.is_solved
            assert found.end.open == end.open
            if found.avoidable:
                assert name not in {step.technique for step in found.round.route}
                assert found.longer >= 0
            answers.add((found.avoidable, found.longer))
    assert {avoidable for avoidable, _ in answers} == {True, False}
    assert any(longer for _, longer in answers)


def test_an_essential_step_cannot_be_avoided_and_others_can():
    seen = set()
    for state in starts(25, 72):
        judged = crux(state, FIRST_FAMILY)
        if not judged.solved:
            continue
        for step, status in judged:
            if step.places is not None or status == "idle":
                continue
            names = [name.replace("=", "!=") for name in step.elimination_names]
            found = way_round(state, names, FIRST_FAMILY)
            assert found.avoidable == (status != ESSENTIAL)
            if found.avoidable:
                for other in found.round.route:
                    assert other.places is not None or not other.eliminates & step.eliminates
            seen.add(status)
    assert len(seen) == 2


def test_sentences():
    judged = (crux(state, FIRST_FAMILY) for state in starts(60, 73))
    found = next(each for each in judged if each.solved and each.essential)
    state, name = found.route.start, found.essential[0]
    stuck = way_round(state, [name], FIRST_FAMILY)
    assert str(stuck).startswith(f"The puzzle cannot be solved without {name}: ")
    free = way_round(state, ["jellyfish"], FIRST_FAMILY)
    assert "without jellyfish, in no more hard steps" in str(free)
    assert free.row()["longer"] == 0
    assert stuck.as_dict()["avoidable"] is False
    assert "<svg" in stuck._repr_html_()


def test_errors():
    state = starts(1, 74)[0]
    with pytest.raises(UnknownTechnique, match="did you mean"):
        way_round(state, ["pointin"], FIRST_FAMILY)
    open_ = next(iter(state.marks))
    digit = state.marks[open_][0]
    with pytest.raises(NothingToAvoid, match="no elimination"):
        way_round(state, [f"{open_}={digit}"])
    closed = next(d for d in range(1, 10) if d not in state.marks[open_])
    with pytest.raises(NothingToAvoid, match="excluded by the givens"):
        way_round(state, [f"{open_}!={closed}"])
    with pytest.raises(NotationError):
        way_round(state, ["r1=2"])
    with pytest.raises(NotationError):
        way_round(state, "r4c5")
    true = next(get_engine("sat").solutions(state))[0]
    if state.is_open((true - 1) * 81):
        with pytest.raises(NothingToAvoid, match="is false"):
            way_round(state, f"r1c1!={true}")
