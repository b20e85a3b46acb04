"""Singles among a few rules, and reasons looked up backwards."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.names import parse_candidate
from gridcrux.grids.state import bits
from gridcrux.logic.following import Fact, World
from gridcrux.techniques.sketch import sketch


def world(layout: Layout, *facts: str) -> World:
    state = sketch(layout, *facts)
    rules = [layout.rule_numbers[fact.partition(":")[0]] for fact in facts]
    return World(layout, {rule: layout.rules[rule].mask & state.open for rule in rules})


def told(world: World, due: frozenset[int]) -> list[str]:
    return [world.layout.candidate_name(world.facts[n].candidate) for n in world.trace(due)]


def test_what_is_assumed_is_the_first_reason_and_the_earliest_the_next() -> None:
    corner = world(NINE, "cell r5c1: 1 2", "cell r6c6: 2 3", "cell r5c5: 4 3")
    corner.settle()
    assert not corner.facts
    corner.assume(parse_candidate(NINE, "r5c9=1"))
    corner.settle()
    # r5c1=2, and whatever r6c6 and r5c5 are is open.
    assert told(corner, frozenset({1})) == ["r5c9=1", "r5c1=2"]
    lost = 1 << parse_candidate(NINE, "r5c2=2")
    assert corner.reasons(lost) == {1}
    inner = corner.copy()
    inner.assume(parse_candidate(NINE, "r6c2=2"))
    inner.settle()
    assert inner.reasons(lost) == {2}, "an assumption is told anyway"
    assert told(inner, inner.reasons(lost)) == ["r6c2=2"]
    assert len(corner.facts) == 2, "a copy is a world of its own"
    assert inner.reasons(lost, before=2) == {1}


def test_a_reason_that_is_wanted_anyway_is_preferred() -> None:
    lines = world(NINE, "cell r1c1: 1", "cell r2c2: 1", "cell r9c9: 1 2")
    lines.learn(Fact(parse_candidate(NINE, "r1c8=5"), True, 0, None))
    lines.learn(Fact(parse_candidate(NINE, "r2c9=5"), True, 1, None))
    lost = 1 << parse_candidate(NINE, "r3c7=5")
    assert lines.reasons(lost) == {0}
    assert lines.reasons(lost, wanted={1}) == {1}


def test_no_reason_is_given_that_another_makes_superfluous() -> None:
    three = world(NINE, "cell r9c9: 1 2 3")
    for name in ("r1c1=5", "r5c5=5", "r9c9=5"):
        three.assume(parse_candidate(NINE, name))
    one_or_two, two_or_three, two = (
        1 << parse_candidate(NINE, name) for name in ("r1c5=5", "r5c9=5", "r5c6=5")
    )
    assert three.reasons(one_or_two) == {0}
    assert three.reasons(one_or_two | two) == {1}
    assert three.reasons(one_or_two | two_or_three) == {1}


def test_what_is_given_needs_no_reason() -> None:
    layout = boxes(2, 2)
    rules = {0: layout.rules[0].mask}
    given = sum(1 << parse_candidate(layout, name) for name in ("r1c1=1", "r1c1=2", "r1c1=3"))
    settled = World(layout, rules, given)
    settled.settle()
    assert [fact.candidate for fact in settled.facts] == [parse_candidate(layout, "r1c1=4")]
    assert settled.trace([0]) == {0: frozenset()}


def random_worlds(layout: Layout, count: int) -> Iterator[World]:
    random = np.random.default_rng(3)
    for _ in range(count):
        rules = {}
        for rule in sorted(random.choice(len(layout.rules), 8, replace=False).tolist()):
            mask = layout.rules[rule].mask
            rules[rule] = sum(1 << c for c in bits(mask) if random.random() < 0.35)
        started = World(layout, rules)
        started.assume(int(random.integers(layout.candidates)), bool(random.random() < 0.7))
        yield started


@pytest.mark.parametrize("layout", [boxes(2, 2), latin(5), NINE], ids=lambda x: x.name)
def test_singles_are_followed_to_the_end_and_traced_to_what_gives_them(layout: Layout) -> None:
    singles = broken = 0
    for started in random_worlds(layout, 300):
        started.settle()
        assert started.broken == [r for r in started.rules if not started.left(r)]
        for rule in started.rules:
            left = started.left(rule)
            assert started.broken or left & left - 1 or left & started.true
        for number, fact in enumerate(started.facts):
            if fact.rule is None:
                continue
            singles += 1
            ((last, due),) = list(started.trace([number]).items())[-1:]
            assert last == number
            assert all(earlier < number for earlier in due)
            again = World(layout, started.rules)
            for earlier in due:
                again.assume(started.facts[earlier].candidate, started.facts[earlier].holds)
            assert again.left(fact.rule) == 1 << fact.candidate
        broken += bool(started.broken)
    assert singles > 50
    assert broken > 20
