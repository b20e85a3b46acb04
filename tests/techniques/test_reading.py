"""Chains read out of premise sets hold link by link, and say so in words."""

from __future__ import annotations

import numpy as np
import pytest

from gridcrux.corpus.sample import minimal
from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.names import parse_candidate
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.proofs.certify import certify
from gridcrux.techniques.reading import Chain, chains, loops, read_chain, seen_from
from gridcrux.techniques.reading.links import almost_locked, rule_links
from gridcrux.techniques.sketch import sketch
from samples import JAGGED


def _mask(layout: Layout, text: str) -> int:
    return sum(1 << parse_candidate(layout, name) for name in text.split())


def _names(layout: Layout, mask: int) -> str:
    return " ".join(layout.candidate_name(candidate) for candidate in bits(mask))


def _read(removes: str, *facts: str, layout: Layout = NINE) -> tuple[State, Chain | None]:
    """The chain of the rules that the facts are about."""
    state = sketch(layout, *facts)
    rules = tuple(sorted(layout.rule_numbers[fact.partition(":")[0]] for fact in facts))
    return state, read_chain(layout, state.open, rules, _mask(layout, removes))


def _check(chain: Chain, state: State, premises: tuple[int, ...]) -> None:
    """Everything that the definition asks of a chain, from the conflicts of candidates alone."""
    layout = chain.layout
    used = [rule for link in chain.links for rule in link.premises]
    assert sorted(used) == sorted(premises)
    assert len(chain.links) > 1
    for link in chain.links:
        assert link.a
        assert link.b
        assert not link.a & link.b
        left = 0
        for rule in link.premises:
            left |= layout.rules[rule].mask & state.open
        if link.kind == "set":
            # One digit too many: without either node's digit some cell is left without a digit.
            digits = {number // layout.cells for number in bits(left)}
            assert len(digits) == len(link.premises) + 1
            assert left == link.a | link.b | link.spare
            homes = [set(layout.houses_of[cell]) for cell in link.premises]
            assert set.intersection(*homes)
        else:
            assert left == link.a | link.b
            assert (link.kind == "group") == (left.bit_count() > 2)
            assert (link.kind == "cell") == (link.premises[0] < layout.cells)
        for node in (link.a, link.b):
            assert len({number // layout.cells for number in bits(node)}) == 1
    for one, two in chain.weak_links:
        for candidate in bits(one):
            assert not two & ~layout.conflicts[candidate]
    ends = chain.links[0].a, chain.links[-1].b
    for candidate in bits(ends[1]):
        if chain.closed:
            assert not ends[0] & ~layout.conflicts[candidate]
    if not chain.closed:
        for target in bits(chain.removes):
            assert not (ends[0] | ends[1]) & ~layout.conflicts[target]
    assert not chain.removes & ~chain.falls


def test_a_chain_of_houses_is_read_in_order() -> None:
    state, chain = _read(
        "r2c3=5", "5 in row 1: r1c2 r1c8", "5 in row 7: r7c5 r7c3", "5 in row 4: r4c8 r4c5"
    )
    assert chain is not None
    nodes = [_names(NINE, node) for link in chain.links for node in (link.a, link.b)]
    assert nodes in (
        order := ["r1c2=5", "r1c8=5", "r4c8=5", "r4c5=5", "r7c5=5", "r7c3=5"],
        order[::-1],
    )
    assert [link.kind for link in chain.links] == ["house"] * 3
    assert not chain.is_loop
    assert not chain.closed
    assert chain.falls & state.open == _mask(NINE, "r2c3=5 r3c3=5 r8c2=5 r9c2=5")


def test_a_loop_excludes_at_every_weak_link() -> None:
    state, chain = _read(
        "r1c8=3 r6c4=2 r1c1=4",
        "1 in row 1: r1c1 r1c8",
        "2 in column 8: r1c8 r6c8",
        "2 in column 1: r6c1 r1c1",
    )
    assert chain is not None
    assert chain.closed
    assert chain.is_loop
    assert len(chain.weak_links) == 3
    expected = [f"r1c{c}={d}" for c in (1, 8) for d in range(3, 10)]
    expected += [f"r6c{c}=2" for c in range(2, 10) if c != 8]
    assert chain.falls & state.open == _mask(NINE, " ".join(expected))


def test_a_loop_that_is_cut_where_the_target_falls_is_read_as_a_chain() -> None:
    _, chain = _read(
        "r6c4=2", "1 in row 1: r1c1 r1c8", "2 in column 8: r1c8 r6c8", "2 in column 1: r6c1 r1c1"
    )
    assert chain is not None
    assert not chain.closed
    assert chain.is_loop


def test_a_set_in_a_loop_keeps_its_other_digits() -> None:
    state, chain = _read(
        "r1c7=3 r2c1=1 r1c9=2",
        "cell r1c1: 1 2 3",
        "cell r1c2: 2 3",
        "3 in column 5: r1c5 r7c5",
        "cell r7c1: 1 3",
    )
    assert chain is not None
    _check(chain, state, tuple(rule for link in chain.links for rule in link.premises))
    assert {link.kind for link in chain.links} == {"set", "house", "cell"}
    assert "every set keeps its other digits" in chain.sentence()
    # Without the digit that the set keeps in two cells of one row, r2c5 is not seen by both.
    assert read_chain(NINE, state.open, chain.links[0].premises, chain.removes) is None


def test_cells_are_cells_before_they_are_a_set() -> None:
    """Two cells of a row with two digits each would be an almost locked set of two cells too."""
    _, chain = _read("r5c5=3", "cell r1c1: 1 2", "cell r1c5: 1 3", "cell r5c1: 2 3")
    assert chain is not None
    assert [link.kind for link in chain.links] == ["cell"] * 3


def test_the_fewest_links_are_taken_among_sets() -> None:
    facts = (
        "cell r1c1: 1 2 4",
        "cell r1c2: 2 4",
        "cell r5c1: 1 5 6",
        "cell r5c3: 5 6",
        "cell r5c8: 4 5",
    )
    state, chain = _read("r1c8=4", *facts)
    assert chain is not None
    assert [link.kind for link in chain.links] == ["set", "set"]
    rules = tuple(sorted(NINE.rule_numbers[fact.partition(":")[0]] for fact in facts))
    lengths = [len(c.links) for c in chains(NINE, state.open, rules, chain.removes, sets=True)]
    assert lengths == sorted(lengths)
    assert set(lengths) == {2, 3}


def test_every_reading_of_sets_uses_every_premise_once() -> None:
    """Few digits in few cells near each other: many sets, most of which overlap."""
    random = np.random.default_rng(2)
    found = several = 0
    near = [cell for cell in range(81) if cell < 12 or cell in (18, 19, 27, 28, 36)]
    for _ in range(150):
        rules = tuple(sorted(random.choice(near, 5, replace=False).tolist()))
        facts = [
            f"cell {NINE.cell_name(cell)}: "
            + " ".join(map(str, sorted(random.choice(5, random.integers(2, 4), replace=False) + 1)))
            for cell in rules
        ]
        state = sketch(NINE, *facts)
        for target in bits(state.open & (1 << 5 * 81) - 1):
            for search in (chains, loops):
                for chain in search(NINE, state.open, rules, 1 << target, sets=True):
                    _check(chain, state, rules)
                    found += 1
                    several += len(chain.links) > 2
    assert found > 1000
    assert several > 200


def test_the_crossing_of_a_box_belongs_to_either_group() -> None:
    layout = NINE
    state = sketch(layout, "5 in box 1: r1c3 r2c1 r2c3 r3c3")
    links = rule_links(layout, state.open, layout.rule_numbers["5 in box 1"])
    splits = {frozenset((_names(layout, link.a), _names(layout, link.b))) for link in links}
    assert splits == {
        frozenset(("r2c1=5", "r1c3=5 r2c3=5 r3c3=5")),
        frozenset(("r2c1=5 r2c3=5", "r1c3=5 r3c3=5")),
    }


def test_no_group_reaches_over_more_than_two_houses() -> None:
    state = sketch(NINE, "5 in box 1: r1c1 r2c2 r3c3", "5 in row 5: r5c1 r5c4 r5c7")
    for name in ("5 in box 1", "5 in row 5"):
        assert rule_links(NINE, state.open, NINE.rule_numbers[name]) == []
    assert rule_links(latin(9), latin(9).full, latin(9).rule_numbers["5 in row 5"]) == []


def test_cells_with_three_digits_are_no_link_but_may_be_in_a_set() -> None:
    state = sketch(NINE, "cell r1c1: 1 2 3", "cell r2c2: 2 3", "cell r5c5: 1 2")
    assert rule_links(NINE, state.open, 0) == []
    found = almost_locked(NINE, state.open, (0, 10, 40))
    assert found == [(0b011, (0, 10), (0, 1, 2)), (0b110, (10, 40), (0, 1, 2))][:1]


def test_everything_conflicts_with_no_candidate() -> None:
    assert seen_from(NINE, 0) == NINE.full
    assert seen_from(NINE, 1) == NINE.conflicts[0]


@pytest.mark.parametrize(
    ("removes", "facts"),
    [
        ("r2c9=5", ("5 in row 1: r1c2 r1c5 r1c8", "5 in row 4: r4c2 r4c9")),
        ("r2c8=5", ("5 in row 1: r1c2 r1c8", "5 in row 4: r4c2 r4c9")),
        ("r2c9=5", ("5 in row 1: r1c2 r1c8", "5 in row 4: r4c3 r4c9")),
        ("r5c5=3", ("cell r1c1: 1 2", "cell r1c5: 1 3", "cell r5c1: 2 4")),
        ("r5c5=3", ("cell r1c1: 1 2", "cell r1c5: 1 3", "cell r5c1: 2 3", "cell r9c9: 2 3")),
        ("r1c3=1", ("1 in box 1: r1c1 r1c2",)),
    ],
)
def test_what_is_no_chain_is_not_read(removes: str, facts: tuple[str, ...]) -> None:
    assert _read(removes, *facts)[1] is None


def test_nothing_to_exclude_is_no_chain() -> None:
    assert _read("", "5 in row 1: r1c2 r1c8", "5 in row 4: r4c2 r4c9")[1] is None


SENTENCES = [
    (
        "r1c1=3",
        ("1 in row 1: r1c1 r1c5", "2 in row 1: r1c1 r1c5"),
        "In row 1, 1 is in r1c1 or r1c5; in row 1, 2 is in r1c1 or r1c5. r1c5 is not both 1 and "
        "2, so r1c1 is 1 or r1c1 is 2: r1c1=3 is false.",
    ),
    (
        "r2c1=2",
        ("7 in row 2: r2c1 r2c2", "7 in column 1: r1c1 r2c1"),
        "In row 2, 7 is in r2c1 or r2c2; in column 1, 7 is in r1c1 or r2c1. r1c1 and r2c2 are not "
        "both 7, so r2c1 is 7 in any case: r2c1=2 is false.",
    ),
    (
        "r2c1=4 r3c3=7",
        ("7 in row 2: r2c1 r2c2", "7 in box 1: r2c1 r2c2", "7 in box 4: r4c2 r5c2"),
        "If r2c1 is not 7, r2c2 is 7 (the only place left in row 2); r4c2 is not 7, so r5c2 is 7 "
        "(the only place left in box 4); r2c2 is not 7, so r2c1 is 7 (the only place left in box "
        "1). So r2c1 is 7 in any case: r2c1=4 and r3c3=7 are false.",
    ),
    (
        "r2c2=5",
        ("5 in row 1: r1c1 r1c3 r1c7", "5 in row 5: r5c2 r5c7", "5 in column 1: r1c1 r4c1"),
        "If neither r1c1 nor r1c3 is 5, r1c7 is 5 (the only places left in row 1); r5c7 is not 5, "
        "so r5c2 is 5 (the only place left in row 5); r4c1 is not 5, so r1c1 is 5 (the only place "
        "left in column 1). So 5 is in r1c1 or r1c3 in any case: r2c2=5 is false.",
    ),
    (
        "r2c9=5 r6c8=5",
        ("5 in row 1: r1c2 r1c8", "5 in row 4: r4c2 r4c9"),
        "In row 1, 5 is in r1c2 or r1c8; in row 4, 5 is in r4c2 or r4c9. r1c2 and r4c2 are not "
        "both 5, so r1c8 is 5 or r4c9 is 5: r2c9=5 and r6c8=5 are false.",
    ),
    (
        "r2c8=5",
        ("5 in box 1: r2c1 r2c2 r1c3 r3c3", "5 in row 7: r7c3 r7c8"),
        "In row 7, 5 is in r7c3 or r7c8; in box 1, 5 is in r1c3 or r3c3, or else in r2c1 or r2c2. "
        "It cannot be both that r7c3 is 5 and that 5 is in r1c3 or r3c3, so r7c8 is 5 or 5 is in "
        "r2c1 or r2c2: r2c8=5 is false.",
    ),
    (
        "r5c5=3",
        ("cell r1c1: 1 2", "cell r1c5: 1 3", "cell r5c1: 2 3"),
        "If r5c5=3 were true: r1c5 is not 3, so r1c5 is 1 (its other digit); r1c1 is not 1, so "
        "r1c1 is 2 (its other digit); r5c1 is not 2, so r5c1 is 3 (its other digit); but that "
        "excludes r5c5=3. So r5c5=3 is false.",
    ),
    (
        "r7c1=1",
        ("cell r1c1: 1 2 3", "cell r1c2: 2 3", "3 in column 5: r1c5 r7c5", "cell r7c4: 1 3"),
        "If r7c1=1 were true: r7c4 is not 1, so r7c4 is 3 (its other digit); r7c5 is not 3, so "
        "r1c5 is 3 (the only place left in column 5); neither r1c1 nor r1c2 is 3, so r1c1 is 1 "
        "(r1c1 and r1c2 hold all but one of 1, 2 and 3); but that excludes r7c1=1. So r7c1=1 is "
        "false.",
    ),
    (
        "r1c3=1 r2c1=2",
        ("cell r1c1: 1 2", "cell r1c2: 1 2"),
        "The links close to a loop: if r1c1 is not 1, r1c1 is 2 (its other digit); if r1c2 is not "
        "2, r1c2 is 1 (its other digit); and that excludes the first again. So of any two "
        "neighbours that exclude each other one is true: r1c3=1 and r2c1=2 are false.",
    ),
]


@pytest.mark.parametrize(("removes", "facts", "sentence"), SENTENCES)
def test_a_chain_says_itself_in_words(removes: str, facts: tuple[str, ...], sentence: str) -> None:
    _, chain = _read(removes, *facts)
    assert chain is not None
    assert chain.sentence() == sentence


def test_a_sentence_names_what_is_asked_for() -> None:
    _, chain = _read("r2c9=5 r6c8=5", "5 in row 1: r1c2 r1c8", "5 in row 4: r4c2 r4c9")
    assert chain is not None
    assert chain.sentence(_mask(NINE, "r6c8=5")).endswith(": r6c8=5 is false.")


@pytest.mark.parametrize(
    "layout",
    [JAGGED, boxes(2, 3), latin(6), NINE, NINE.with_diagonals()],
    ids=lambda layout: layout.name,
)
def test_chains_in_random_states_hold(layout: Layout) -> None:
    """Random walks over strong links; what is read of them is checked, and by SAT."""
    random = np.random.default_rng(4)
    read = closed = several = 0
    for sampled in minimal(16, 4, layout):
        true = (sampled.solution.astype(int) - 1) * layout.cells + np.arange(layout.cells)
        lost = random.random(layout.candidates) < random.uniform(0.5, 0.75)
        lost[true] = False
        open_ = layout.full & ~sum(1 << number for number in np.flatnonzero(lost).tolist())
        state = State(layout, open_)
        links = [
            link
            for rule in range(len(layout.rules))
            for one in rule_links(layout, open_, rule)
            for link in (one, one.turned)
        ]
        for _ in range(100):
            path = [links[random.integers(len(links))]]
            for _ in range(random.integers(1, 5)):
                sees = seen_from(layout, path[-1].b)
                used = {link.premises for link in path}
                after = [k for k in links if not k.a & ~sees and k.premises not in used]
                if not after:
                    break
                path.append(after[random.integers(len(after))])
            falls = seen_from(layout, path[0].a | path[-1].b) & open_
            premises = tuple(sorted(rule for link in path for rule in link.premises))
            if len(path) < 2 or not falls:
                continue
            chain = read_chain(layout, open_, premises, falls)
            assert chain is not None
            _check(chain, state, premises)
            assert falls & ~chain.falls == 0
            read += 1
            several += len(chain.links) > 2
            for loop in loops(layout, open_, premises, falls):
                _check(loop, state, premises)
                closed += 1
                assert _certified(state, premises, loop.falls)
            assert _certified(state, premises, chain.falls)
    assert read > 40
    assert several > 10
    assert closed > 3


def _certified(state: State, premises: tuple[int, ...], falls: int) -> bool:
    every = 0
    for rule in premises:
        every |= state.layout.rules[rule].mask
    made = Deduction(
        state.layout,
        "a chain",
        len(premises),
        premises,
        falls,
        every & ~state.open,
        falls & state.open,
        None,
    )
    return certify(made).holds
