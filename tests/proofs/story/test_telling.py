"""Stories are followed step by step, from the definitions of rules and conflicts alone."""

from __future__ import annotations

import json
import pickle
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from itertools import combinations, permutations

import pytest

from gridcrux.grids.layout import NINE, Layout, boxes, latin
from gridcrux.grids.names import Claim, parse_claim
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction
from gridcrux.proofs.story import NoExplanation, Story, tell
from gridcrux.proofs.story import search as story_search
from gridcrux.proofs.story.tree import Node
from gridcrux.techniques.repertoires import EVERYTHING
from gridcrux.techniques.sketch import sketch
from gridcrux.techniques.solve import available
from samples import JAGGED, thinned_or_ended

QUICK = EVERYTHING.without_uniqueness().without(
    *(t.name for t in EVERYTHING if t.family == "forcing")
)
STATES = {NINE: 10, boxes(2, 2): 10, boxes(2, 3): 6, latin(5): 6, JAGGED: 6}
RARE = (
    sketch(NINE, *(f"cell {cell}: 1 2" for cell in ("r1c1", "r1c5", "r5c5", "r5c8"))),
    sketch(latin(6), *(f"{digit} in row 1: r1c1 r1c2 r1c3 r1c4" for digit in range(1, 5))),
    sketch(latin(5), *(f"1 in row {r}: r{r}c1 r{r}c2 r{r}c3 r{r}c4" for r in range(1, 5))),
    sketch(
        boxes(2, 2),
        "4 in row 1: r1c2 r1c4",
        "4 in row 3: r3c1 r3c2",
        "4 in column 1: r3c1 r4c1",
        "4 in column 2: r1c2 r3c2",
        "4 in column 3: r2c3 r4c3",
        "4 in column 4: r1c4 r4c4",
        "4 in box 2: r1c4 r2c3",
        "4 in box 4: r4c3 r4c4",
    ),
)
"""A remote pair, a hidden quad, a jellyfish and places in two colours."""

MOST = 6
"""Deductions of one technique taken from one state."""

Told = list[tuple[Deduction, Claim, Story]]


def conflict(layout: Layout, one: int, two: int) -> bool:
    """Two digits of a cell, or the same digit twice in a house."""
    (digit, cell), (other, place) = divmod(one, layout.cells), divmod(two, layout.cells)
    if cell == place:
        return digit != other
    return digit == other and any({cell, place} <= set(house.cells) for house in layout.houses)


class Checker:
    """Walks through a proof and believes nothing but the definitions."""

    def __init__(self, state: State, claim: Claim, premises: tuple[int, ...]) -> None:
        self.state, self.claim, self.premises = state, claim, premises
        self.used: set[int] = set()

    def gone(self, candidate: int, facts: tuple[Claim, ...]) -> bool:
        return any(
            conflict(self.state.layout, fact.candidate, candidate)
            if fact.holds
            else fact.candidate == candidate
            for fact in facts
        )

    def kept(self, rule: int, known: tuple[Claim, ...], because: tuple[Claim, ...]) -> list[int]:
        """What a premise has left, which must follow from the facts that are named alone."""
        assert rule in self.premises
        assert set(because) <= set(known)
        self.used.add(rule)
        mask = self.state.layout.rules[rule].mask & self.state.open
        left = [c for c in bits(mask) if not self.gone(c, because)]
        assert left == [c for c in bits(mask) if not self.gone(c, known)]
        for spare in because:
            without = tuple(fact for fact in because if fact != spare)
            assert any(self.gone(c, because) and not self.gone(c, without) for c in bits(mask))
        return left

    def check(self, proof: Node) -> None:
        claim = self.claim
        denied = Claim(claim.candidate, not claim.holds, claim.layout)
        if proof.rule is None:
            assert not claim.holds
            assert not self.state.open >> claim.candidate & 1
            assert proof == Node(None, (), None, (), (), ())
            return
        assert proof.assumed in (None, denied)
        self.part(proof, ())

    def part(self, node: Node, known: tuple[Claim, ...]) -> set[Claim]:
        """Check a part; give the facts that it refers to."""
        assert node.rule is not None
        if node.assumed is not None:
            known = (*known, node.assumed)
        told, needed = set(), set(node.because)
        for step in node.steps:
            assert self.kept(step.rule, known, step.because) == [step.candidate]
            fact = Claim(step.candidate, True, self.claim.layout)
            assert fact not in known
            known = (*known, fact)
            told.add(fact)
            needed |= set(step.because)
        assert tuple(self.kept(node.rule, known, node.because)) == node.left
        if node.cases:
            assert tuple(case.assumed for case in node.cases) == tuple(
                Claim(candidate, True, self.claim.layout) for candidate in node.left
            )
            for case in node.cases:
                needed |= self.part(case, known)
        elif node.left:
            assert len(known) == len(told), "nothing is supposed here"
            for candidate in node.left:
                if self.claim.holds:
                    assert candidate == self.claim.candidate
                else:
                    assert conflict(self.claim.layout, candidate, self.claim.candidate)
        assert told <= needed, "a step that nothing refers to"
        return needed


def check(story: Story) -> set[int]:
    """Check all proofs of a story; the premises that they use."""
    used = set()
    assert len(story.proofs) == len(story.claims)
    for claim, proof in zip(story.claims, story.proofs, strict=True):
        checker = Checker(story.state, claim, story.premises)
        checker.check(proof)
        used |= checker.used
    return used


def satisfied(state: State, claim: Claim, premises: tuple[int, ...]) -> bool:
    """Whether some choice has a candidate of every premise and denies the claim, by trying all."""
    layout = state.layout
    start = () if claim.holds else (claim.candidate,)
    if not claim.holds and not state.open >> claim.candidate & 1:
        return False

    def go(chosen: tuple[int, ...], rest: tuple[int, ...]) -> bool:
        if not rest:
            return True
        return any(
            go(chosen if c in chosen else (*chosen, c), rest[1:])
            for c in bits(layout.rules[rest[0]].mask & state.open)
            if not (claim.holds and c == claim.candidate)
            and not any(conflict(layout, c, other) for other in chosen)
        )

    return go(start, premises)


def states() -> Iterator[State]:
    for place, (layout, count) in enumerate(STATES.items()):
        for state, _ in thinned_or_ended(layout, count, 70 + place, 0.6):
            yield state
    yield from RARE


def deductions() -> Iterator[tuple[Deduction, State]]:
    for state in states():
        for name in QUICK.names:
            for step in available(state, name)[:MOST]:
                yield step, state


@pytest.fixture(scope="module")
def told() -> Told:
    """Deductions, one conclusion of each as a claim, and the story of it."""
    found: Told = []
    for step, state in deductions():
        claim = Claim(next(bits(step.eliminates)), False, step.layout) if step.eliminates else None
        if step.places is not None:
            claim = Claim(step.places, True, step.layout)
        assert claim is not None
        found.append((step, claim, tell(state, [claim], step.premises)))
    return found


def test_every_technique_is_told_on_every_layout(told: Told) -> None:
    met = {step.technique for step, _, _ in told}
    assert met == set(QUICK.names)
    assert {step.layout for step, _, _ in told} > set(STATES)
    assert len(told) > 500
    assert {1, 2, 3, 4, 5, 6} <= {step.width for step, _, _ in told}


def test_every_step_follows_and_every_case_is_gone_through(told: Told) -> None:
    assert {story.depth for _, _, story in told} >= {0, 1, 2}
    for _, _, story in told:
        check(story)


def test_what_can_be_spared_is_what_is_not_needed(told: Told) -> None:
    """Without a premise there is an explanation if and only if no choice denies the claim."""
    spared = needed = 0
    for step, claim, story in told[::3]:
        irreducible = True
        for dropped in step.premises:
            fewer = tuple(rule for rule in step.premises if rule != dropped)
            if satisfied(story.state, claim, fewer):
                with pytest.raises(NoExplanation, match="do not explain r") as caught:
                    tell(story.state, [claim], fewer)
                check_selection(caught.value, story.state, fewer)
                needed += 1
            else:
                check(tell(story.state, [claim], fewer))
                irreducible = False
                spared += 1
        if irreducible:
            assert check(story) == set(step.premises)
    assert needed > 300
    assert spared > 20


def check_selection(error: NoExplanation, state: State, premises: tuple[int, ...]) -> None:
    chosen, claim = error.selection, error.claim
    assert not any(conflict(state.layout, *pair) for pair in combinations(chosen, 2))
    assert (claim.candidate in chosen) != claim.holds
    for rule in premises:
        assert sum(state.layout.rules[rule].mask >> candidate & 1 for candidate in chosen) == 1
    assert all(state.open >> candidate & 1 for candidate in chosen)
    assert all(state.layout.candidate_name(candidate) in str(error) for candidate in chosen)


def test_the_shape_is_named_and_told_in_its_own_words(told: Told) -> None:
    for step, claim, story in told:
        assert step.technique in story.techniques
        if story.techniques[0] in EVERYTHING:
            assert story.named_sentence is not None, (step, story.techniques)
            assert story.named_sentence != step.plain_sentence
            cell = step.layout.cell_name(claim.candidate % step.layout.cells)
            general = re.search("no other cell|hold nothing else", story.named_sentence)
            assert general or cell in story.named_sentence


def test_sentences_say_all_that_is_in_the_tree(told: Told) -> None:
    for _, claim, story in told:
        text = str(story)
        assert not re.search(r"\b(SAT|solver|clause|literal|propagat|unit)", text)
        layout = story.state.layout
        digit, cell = divmod(claim.candidate, layout.cells)
        assert f"{layout.cell_name(cell)}" in story.sentences[-1]
        for rule in check(story):
            name = layout.rules[rule].name.removeprefix("cell ")
            assert re.search(rf"{name}\b.* (can only be|has )", text)
        for sentence in story.sentences:
            assert sentence.endswith(".")
        assert text.count("\n") == len(story.sentences) - 1
        assert str(digit + 1) in text


class Lists(HTMLParser):
    """Elements must close in the order in which they opened."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.deepest = 0
        self.text = ""

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag == "li":
            assert self.open[-1] == "ul"
        self.open.append(tag)
        self.deepest = max(self.deepest, self.open.count("ul"))

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.text += data


def test_other_forms_hold_the_same(told: Told) -> None:
    for _, claim, story in told[::7]:
        lists = Lists()
        lists.feed(story._repr_html_())
        assert not lists.open
        assert lists.deepest == story.depth
        assert lists.text.split() == str(story).split()
        as_dict = json.loads(json.dumps(story.as_dict()))
        assert as_dict["claims"] == [str(claim)]
        (proof,) = as_dict["proofs"]
        assert sizes(proof) == story.size == as_dict["size"]
        assert ("cases" in proof) == (story.depth > 0) == ("ends" not in proof)


def sizes(node: dict) -> int:
    return len(node["steps"]) + sum(sizes(case) for case in node.get("cases", ()))


def state_and_rules(layout: Layout, *facts: str) -> tuple[State, list[int]]:
    names = [fact.partition(":")[0] for fact in facts]
    return sketch(layout, *facts), [layout.rule_numbers[name] for name in names]


def story_of(layout: Layout, claims: str, *facts: str) -> Story:
    state, rules = state_and_rules(layout, *facts)
    story = tell(state, [parse_claim(layout, text) for text in claims.split()], rules)
    check(story)
    return story


def test_one_premise_needs_no_assumption() -> None:
    story = story_of(NINE, "r1c7!=9 r1c8!=9", "9 in box 2: r1c4 r1c6")
    assert story.sentences == (
        "9 in box 2 has places only in r1c4 and r1c6, and each of them excludes r1c7=9.",
        "9 in box 2 has places only in r1c4 and r1c6, and each of them excludes r1c8=9.",
    )
    assert story.proofs[0].assumed is None
    assert (story.size, story.depth, story.techniques[0]) == (0, 0, "pointing")
    assert story.named_sentence == (
        "9 in box 2 has places only in row 1, so no other cell of row 1 is 9."
    )


def test_a_last_candidate_is_told_as_such() -> None:
    house = story_of(NINE, "r5c2=4", "4 in column 2: r5c2")
    assert str(house) == "4 in column 2 can only be in r5c2, so r5c2 is 4."
    assert house.named_sentence == "In column 2, 4 has one place left: r5c2."
    cell = story_of(NINE, "r5c2=4", "cell r5c2: 4")
    assert str(cell) == "r5c2 can only be 4."
    assert str(story_of(NINE, "r5c9!=4", "cell r5c2: 4")) == (
        "r5c2 can only be 4, which excludes r5c9=4."
    )


def test_singles_that_nothing_is_supposed_for_come_first() -> None:
    story = story_of(NINE, "r5c2=4", "cell r5c9: 7", "cell r5c2: 4 7")
    assert str(story) == "r5c9 can only be 7.\nThen r5c2 can only be 4."
    assert story.proofs[0].assumed is None
    story = story_of(
        NINE, "r1c7!=9", "8 in row 2: r2c4", "7 in row 2: r2c5", "9 in box 2: r1c4 r2c4 r2c5"
    )
    assert str(story).splitlines() == [
        "7 in row 2 can only be in r2c5.",
        "8 in row 2 can only be in r2c4.",
        "With r2c5=7 and r2c4=8, 9 in box 2 can only be in r1c4, which excludes r1c7=9.",
    ]


def test_a_placement_is_shown_by_supposing_that_it_fails() -> None:
    story = story_of(NINE, "r1c1=3", "cell r1c1: 1 2 3", "cell r1c2: 1 2", "cell r1c3: 1 2")
    assert story.sentences == (
        "Suppose that r1c1 is not 3.",
        "Then r1c1 can only be 1 or 2.",
        "Case 1: r1c1 is 1.",
        "Case 1: Then r1c2 can only be 2.",
        "Case 1: With r1c1=1 and r1c2=2, cell r1c3 has no digit left.",
        "Case 2: r1c1 is 2.",
        "Case 2: Then r1c2 can only be 1.",
        "Case 2: With r1c1=2 and r1c2=1, cell r1c3 has no digit left.",
        "No case is possible, so r1c1 is 3.",
    )
    assert (story.techniques, story.named_sentence) == ((), None)


def test_cases_within_cases() -> None:
    cells = [f"cell r1c{column}: 1 2 3 4" for column in range(1, 5)]
    story = story_of(latin(5), "r1c5!=1", *cells)
    assert story.depth == 2
    assert story.named_sentence is not None
    assert "r1c1, r1c2, r1c3 and r1c4 hold only 1, 2, 3 or 4" in story.named_sentence
    told = str(story).splitlines()
    assert told[2:7] == [
        "Case 1: r1c1 is 2.",
        "  With r1c5=1 and r1c1=2, r1c2 can only be 3 or 4.",
        "  Case 1.1: r1c2 is 3.",
        "    With r1c5=1, r1c1=2 and r1c2=3, r1c3 can only be 4.",
        "    With r1c5=1, r1c1=2, r1c2=3 and r1c3=4, cell r1c4 has no digit left.",
    ]
    assert "Case 3.2: r1c2 is 3." in story.sentences
    deeper = story_of(NINE, "r1c9!=1", *(f"cell r1c{c}: 1 2 3 4 5 6" for c in range(1, 7)))
    assert deeper.depth == 4


def test_a_case_that_cannot_be_is_told_in_the_words_of_the_technique_too() -> None:
    story = story_of(
        NINE, "r1c5!=1", "cell r1c1: 1 2", "2 in row 5: r5c1 r5c5", "2 in column 6: r1c6 r4c6"
    )
    assert story.techniques[0] == "cell-forcing"
    assert story.named_sentence == (
        "Cell r1c1: if 1, it is seen at once; if 2, 2 in row 5 can only be in r5c5 and 2 in "
        "column 6 has no place left, which cannot be. In each case that is possible r1c5 is not 1."
    )
    several = tell(story.state, [*story.claims, parse_claim(NINE, "r1c6!=1")], story.premises)
    assert several.named_sentence is not None
    assert "r1c5 is not 1 and r1c6 is not 1" in several.named_sentence


def test_claims_may_be_closed_already_or_follow_from_an_impossible_state() -> None:
    closed = story_of(NINE, "r1c1!=9", "cell r1c1: 1 2")
    assert str(closed) == "r1c1 is not 9: it is excluded already."
    assert tell(closed.state, closed.claims, ()).proofs == closed.proofs
    facts = ("cell r1c1: 1 2", "cell r1c2: 1 2", "cell r1c3: 1 2")
    assert story_of(NINE, "r1c1=9", *facts).sentences[-1] == (
        "No case is possible, so there is no solution, and whatever is claimed holds: r1c1 is 9."
    )
    story = story_of(NINE, "r9c9=9", "cell r1c1: 1", "cell r1c2: 1")
    assert story.sentences[-1] == (
        "So there is no solution, and whatever is claimed holds: r9c9 is 9."
    )
    assert str(story_of(NINE, "r9c9=9", "cell r1c1:")).startswith("Cell r1c1 has no digit left.")
    for fails in ("r9c9!=9", "r9c9=9"):
        with pytest.raises(NoExplanation) as caught:
            tell(State.empty(), [parse_claim(NINE, fails)], [])
        check_selection(caught.value, State.empty(), ())
        assert pickle.loads(pickle.dumps(caught.value)).selection == caught.value.selection


def test_claims_of_both_kinds_are_told_one_after_the_other() -> None:
    story = story_of(NINE, "r1c1=3 r1c9!=2", "cell r1c1: 2 3", "cell r1c2: 1 2", "cell r1c3: 1 2")
    assert len(story.proofs) == 2
    assert story.techniques == ()
    assert story.named_sentence is None
    assert story.as_dict()["claims"] == ["r1c1=3", "r1c9!=2"]


def test_what_is_asked_wrongly_is_refused() -> None:
    claim = parse_claim(NINE, "r1c1!=1")
    with pytest.raises(ValueError, match="nothing is claimed"):
        tell(State.empty(), [], [1])
    with pytest.raises(ValueError, match="no rule 324"):
        tell(State.empty(), [claim], [324])
    with pytest.raises(ValueError, match="on layout '3x3'"):
        tell(State.empty(latin(5)), [claim], [1])


Rules = dict[int, frozenset[int]]


def reduce(layout: Layout, rules: Rules, candidate: int) -> Rules:
    return {
        rule: frozenset(c for c in left if not conflict(layout, c, candidate))
        for rule, left in rules.items()
    }


def singles(layout: Layout, rules: Rules) -> tuple[Rules, int]:
    """What is left after singles, and how many there were."""
    found: set[int] = set()
    while all(rules.values()):
        new = {c for left in rules.values() if len(left) == 1 for c in left} - found
        if not new:
            break
        found.add(min(new))
        rules = reduce(layout, rules, min(new))
    return rules, len(found)


def cheapest(layout: Layout, rules: Rules) -> int:
    """Cases and facts of the cheapest proof below stalled rules, by trying every split."""
    return min(
        sum(1 + after(layout, reduce(layout, rules, candidate)) for candidate in left)
        for left in rules.values()
        if len(left) > 1
    )


def after(layout: Layout, rules: Rules) -> int:
    """What is still to tell: few singles up to a broken rule, or all of them and then cases."""
    settled, steps = singles(layout, rules)
    if all(settled.values()):
        return steps + cheapest(layout, settled)
    for size in range(1, len(rules) + 1):
        for some in combinations(rules, size):
            ended, few = singles(layout, {rule: rules[rule] for rule in some})
            if not all(ended.values()):
                return few
    raise AssertionError("all of them break a rule")


def test_no_way_of_going_through_cases_is_shorter(told: Told) -> None:
    compared = 0
    split = [entry for entry in told if entry[2].depth and entry[0].width <= 5]
    for step, claim, story in split[::2]:
        layout, (proof,) = story.state.layout, story.proofs
        masks = {r: layout.rules[r].mask & story.state.open for r in step.premises}
        rules: Rules = {rule: frozenset(bits(mask)) for rule, mask in masks.items()}
        if not claim.holds:
            rules = reduce(layout, rules, claim.candidate)
        settled, _ = singles(layout, rules)
        cost = sum(1 + said(case) for case in proof.cases)
        assert cost <= cheapest(layout, settled), story
        compared += 1
    assert compared > 20


def said(node: Node) -> int:
    return len(node.steps) + sum(1 + said(case) for case in node.cases)


def test_a_proof_is_told_where_there_are_too_many_ways_to_try_all(
    monkeypatch: pytest.MonkeyPatch, told: Told
) -> None:
    split = [story for _, _, story in told if story.depth]
    monkeypatch.setattr(story_search, "LIMIT", 5)
    longer = 0
    for story in split:
        hasty = tell(story.state, story.claims, story.premises)
        check(hasty)
        assert all(map(said_no_less, hasty.proofs, story.proofs))
        longer += hasty.proofs != story.proofs
    assert longer > 5


def said_no_less(hasty: Node, best: Node) -> bool:
    return hasty.size + hasty.depth >= 1 and said(hasty) >= said(best)


def test_the_order_of_premises_does_not_matter() -> None:
    state, rules = state_and_rules(NINE, "cell r1c1: 1 2", "cell r1c2: 1 2 3", "cell r1c3: 2 3")
    claim = parse_claim(NINE, "r1c9!=2")
    told = {str(tell(state, [claim], order)) for order in permutations([*rules, rules[0]])}
    assert len(told) == 1
