"""Each policy takes what its definition says, worked out here from what is available."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.state import State
from gridcrux.grids.text import read_puzzle
from gridcrux.logic.deduction import Deduction
from gridcrux.logic.repertoire import Repertoire
from gridcrux.logic.route import Route
from gridcrux.techniques import policies
from gridcrux.techniques.policies import POLICIES, UnknownPolicy, lookahead, step_by_step
from gridcrux.techniques.repertoires import DEFAULT, FIRST_FAMILY, SINGLES
from gridcrux.techniques.solve import available, closure, route

REPERTOIRES = {
    "as it is": FIRST_FAMILY,
    "backwards": Repertoire(FIRST_FAMILY.techniques[::-1]),
    "singles last": Repertoire((*FIRST_FAMILY.techniques[3:], *SINGLES.techniques)),
    "any length": DEFAULT,
    "any length only": DEFAULT.only(*SINGLES.names, *(t.name for t in DEFAULT if t.any_length)),
    "any length, limited": DEFAULT.widest(5),
}
LAYOUTS = [boxes(2, 3), latin(6), NINE, NINE.with_diagonals()]


def starts(layout: Layout, count: int, seed: int) -> list[State]:
    return [State.from_digits(item.puzzle, layout) for item in minimal(count, seed, layout)]


def moments(found: Route) -> list[tuple[State, Deduction]]:
    """Each step with the state in which it was taken."""
    return list(zip(found.states(), found.steps, strict=False))


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
@pytest.mark.parametrize("policy", POLICIES)
def test_a_route_stands_and_ends_where_nothing_is_left_to_do(layout: Layout, policy: str) -> None:
    for state in starts(layout, 4, 11):
        found = route(state, FIRST_FAMILY, policy=policy)
        assert found.policy == policy
        assert found.flaw is None
        assert found.sliced().flaw is None
        if not found.solved:
            assert available(found.end, FIRST_FAMILY) == []
        # With the whole family the closure does not depend on the order.
        assert found.end == closure(state, FIRST_FAMILY)
        for before, step in moments(found):
            assert step in available(before, FIRST_FAMILY)


@pytest.mark.parametrize("repertoire", REPERTOIRES.values(), ids=REPERTOIRES)
def test_narrowest_takes_the_first_with_the_fewest_premises(repertoire: Repertoire) -> None:
    wide = 0
    for state in starts(NINE, 30, 12):
        found = route(state, repertoire, "narrowest")
        steps = moments(found)
        if not found.solved:
            assert available(found.end, repertoire) == []
        for before, step in [m for m in steps if m[1].width > 1] + steps[::20]:
            assert step == min(available(before, repertoire), key=lambda each: each.width)
            wide += step.width > 1
    assert wide > 5


@pytest.mark.parametrize("policy", POLICIES)
def test_nothing_is_left_to_do_with_deductions_of_any_length(policy: str) -> None:
    for state in starts(boxes(2, 3), 5, 18):
        found = route(state, DEFAULT, policy)
        assert found.flaw is None
        if not found.solved:
            assert available(found.end, DEFAULT) == []


def touched(step: Deduction, before: State) -> set[int]:
    """The cells that a deduction touches, as `policies.nearest` defines it."""
    cells = step.layout.cells
    masks = [step.layout.rules[rule].mask & before.open for rule in step.premises]
    if step.places is None:
        masks.append(step.eliminates)
    return {c % cells for mask in masks for c in range(cells * 9) if mask >> c & 1}


def changed(before: State, after: State) -> set[int]:
    cells = before.layout.cells
    lost = before.open & ~after.open
    written = before.placed ^ after.placed
    return {c % cells for c in range(cells * 9) if lost >> c & 1} | {
        cell for cell in range(cells) if written >> cell & 1
    }


def distance(one: set[int], other: set[int]) -> tuple[int, float]:
    pairs = [(divmod(a, 9), divmod(b, 9)) for a in one for b in other]
    nearest = min(float(np.hypot(a[0] - b[0], a[1] - b[1])) for a, b in pairs)
    if one & other:
        return 0, 0.0
    together = any(
        a[0] == b[0] or a[1] == b[1] or (a[0] // 3 == b[0] // 3 and a[1] // 3 == b[1] // 3)
        for a, b in pairs
    )
    return (1 if together else 2), nearest


def test_nearest_takes_the_nearest_of_the_easiest() -> None:
    kinds, other = set(), 0
    for state in starts(NINE, 8, 13):
        found = route(state, FIRST_FAMILY, policy="nearest")
        assert found.steps[0] == available(state, FIRST_FAMILY)[0]
        for (past, _), (before, step) in pairwise(moments(found)):
            offered = available(before, FIRST_FAMILY)
            easiest = [each for each in offered if each.technique == offered[0].technique]
            last = changed(past, before)
            far = [distance(touched(each, before), last) for each in easiest]
            assert step == easiest[far.index(min(far))]
            kinds.add(min(far)[0])
            other += step != easiest[0]
    assert kinds == {0, 1, 2}
    assert other > 20


def left(state: State, step: Deduction, repertoire: Repertoire) -> tuple[State, int]:
    """The state after a deduction and all singles, and how much is open in it."""
    singles = repertoire.only(*(t.name for t in repertoire if t.family == "single"))
    after = closure(state.without(step.removes), singles)
    return after, after.open.bit_count()


def expected(state: State, repertoire: Repertoire, depth: int) -> Deduction:
    """What "fewest" and "fewest-2" take, by the definition."""
    offered = available(state, repertoire)
    free = [step for step in offered if step.places is not None]
    if free:
        return free[0]
    ranked = []
    for number, step in enumerate(offered):
        after, value = left(state, step, repertoire)
        further = [
            left(after, more, repertoire)[1]
            for more in available(after, repertoire)
            if depth == 2 and not after.is_solved
        ]
        ranked.append((min(further, default=value), value, step.width, number))
    return offered[min(ranked)[3]]


@pytest.mark.parametrize("name", ["as it is", "backwards"])
@pytest.mark.parametrize(("policy", "depth"), [("fewest", 1), ("fewest-2", 2)])
def test_fewest_takes_what_leaves_least(policy: str, depth: int, name: str) -> None:
    chosen = other = 0
    repertoire = REPERTOIRES[name]
    for state in starts(NINE, 12, 14):
        for before, step in moments(route(state, repertoire, policy)):
            if step.places is not None and before.placed.bit_count() % 5:
                continue
            assert step == expected(before, repertoire, depth)
            chosen += step.places is None
            other += step.places is None and step != available(before, repertoire)[0]
    assert chosen > 10
    assert other > 5


def test_fewest_needs_fewer_hard_steps_than_easiest() -> None:
    def hard(policy: str) -> int:
        routes = [route(state, FIRST_FAMILY, policy=policy) for state in starts(NINE, 60, 15)]
        return sum(int((found.records.places < 0).sum()) for found in routes if found.solved)

    assert hard("fewest-2") <= hard("fewest") < hard("easiest")


def test_looking_ahead_without_singles_or_anything_else() -> None:
    (state,) = starts(NINE, 1, 16)
    sets = FIRST_FAMILY.without(*SINGLES.names)
    found = route(state, sets, "fewest-2")
    assert found.status == "stuck"
    assert available(found.end, sets) == []
    assert len(found) > 0


def test_room_grows_until_all_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    (state,) = starts(NINE, 1, 19)
    expected = available(state, FIRST_FAMILY)
    assert len(expected) > 10
    monkeypatch.setattr(policies, "ROOM", 1)
    assert available(state, FIRST_FAMILY) == expected


@pytest.mark.parametrize("policy", POLICIES)
def test_ends_of_all_kinds(policy: str) -> None:
    assert route(read_puzzle("1234341221434321"), FIRST_FAMILY, policy=policy).status == "solved"
    assert (
        route(read_puzzle("123........4...."), FIRST_FAMILY, policy=policy).status
        == "contradiction"
    )
    assert len(route(State.empty(), FIRST_FAMILY, policy=policy)) == 0
    empty = route(State.from_digits([1] + [0] * 15), Repertoire(()), policy)
    assert (empty.status, len(empty)) == ("stuck", 0)


def test_no_step_is_wider_than_the_repertoire_allows() -> None:
    for state in starts(NINE, 6, 17):
        for policy in POLICIES:
            steps = route(state, FIRST_FAMILY.widest(2), policy).steps
            assert max(step.width for step in steps) <= 2


def test_every_policy_says_what_it_does() -> None:
    meanings = [policy.__doc__ for policy in POLICIES.values()]
    assert all(meanings)
    assert len(set(meanings)) >= len(meanings) - 1


def test_an_unknown_policy_names_the_nearest() -> None:
    with pytest.raises(UnknownPolicy, match=r"no policy 'Narowest'; did you mean narrowest"):
        route(State.empty(), FIRST_FAMILY, policy="Narowest")
    with pytest.raises(UnknownPolicy, match="known: easiest, narrowest, nearest, fewest"):
        route(State.empty(), FIRST_FAMILY, policy="zzz")


def test_a_depth_below_one_is_refused() -> None:
    with pytest.raises(ValueError, match="depth 0: expected 1 or more"):
        step_by_step(lookahead(0))
