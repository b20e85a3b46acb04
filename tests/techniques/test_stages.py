"""Stages of forcing deductions, carried out again by the definition of a single."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import bits
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.wording import nothing_left, single_in_words, verdict_in_words
from gridcrux.techniques.repertoires import FIRST_FAMILY
from gridcrux.techniques.solve import available
from gridcrux.techniques.stages import Stage, stages
from samples import thinned_or_ended

NAMES = ("cell-forcing", "house-forcing", "contradiction", "nested-contradiction")


@pytest.fixture(scope="module")
def found() -> list[Deduction]:
    random, taken = np.random.default_rng(4), []
    for layout, count in ((boxes(2, 3), 12), (latin(6), 12), (NINE, 6)):
        for state, _ in thinned_or_ended(layout, count, 21, 0.6):
            for name in NAMES:
                offered = available(state, name)
                chosen = random.permutation(len(offered))[:4]
                taken += [offered[i] for i in chosen]
    return taken


def _false(step: Deduction, stage: Stage, known: int = 0) -> int:
    """What is false at the end of a stage, once each of its consequences has been checked."""
    conflicts, rules, base = step.layout.conflicts, step.layout.rules, step.roles["base"]
    false = known | conflicts[stage.assumed]
    for each in stage.follows:
        assert each.holds == (each.rule is not None) == (each.refutation is None)
        if each.rule is not None:
            assert each.rule in step.premises
            assert rules[each.rule].mask & base & ~false == 1 << each.candidate
            false |= conflicts[each.candidate]
        if each.refutation is not None:
            assert each.refutation.assumed == each.candidate
            _false(step, each.refutation, false)
            false |= 1 << each.candidate
    if stage.broken is None:
        assert stage.excludes
        assert not stage.excludes & ~false
    else:
        assert stage.broken in step.premises
        assert not stage.excludes
        assert not rules[stage.broken].mask & base & ~false
    return false


def test_every_consequence_is_a_single_or_refuted(found: list[Deduction]) -> None:
    met = Counter[str]()
    for step in found:
        told = stages(step)
        assert told, step
        for stage in told:
            _false(step, stage)
            met[step.technique] += 1
            met["nested"] += not all(each.holds for each in stage.follows)
            met["broken case"] += stage.start is not None and stage.broken is not None
    assert min(met[name] for name in NAMES) >= 30, met
    assert met["nested"] >= 20, met
    assert met["broken case"], met


def test_every_candidate_of_the_start_has_its_stage(
    found: list[Deduction],
) -> None:
    for step in found:
        told = stages(step)
        starts = {stage.start for stage in told}
        assert len(starts) == 1
        (start,) = starts
        if start is None:
            assert step.technique.endswith("contradiction")
            assert [1 << stage.assumed for stage in told] == [step.eliminates]
        else:
            assert (start >= step.layout.cells) == (step.technique == "house-forcing")
            left = step.layout.rules[start].mask & step.roles["base"]
            assert [stage.assumed for stage in told] == list(bits(left))
            shown = {stage.excludes for stage in told if stage.broken is None}
            assert shown <= {step.eliminates}


def test_stages_are_in_the_order_of_the_sentence(found: list[Deduction]) -> None:
    for step in found:
        layout, rest = step.layout, step.sentence
        for stage in stages(step):
            words = [
                verdict_in_words(layout, each.candidate, False)
                if each.rule is None
                else single_in_words(layout, each.rule, each.candidate)
                for each in stage.follows
            ]
            if stage.broken is not None:
                words.append(nothing_left(layout, stage.broken))
            for each in words:
                before, found_it, rest = rest.partition(each)
                assert found_it, (step, each, before)


def test_other_deductions_have_no_stages() -> None:
    state, _ = next(thinned_or_ended(boxes(2, 3), 1, 3, 0.5))
    offered = available(state, FIRST_FAMILY)
    assert offered
    assert all(stages(step) == () for step in offered)
