"""An explanation told as an argument: what is supposed, what follows, and where it ends.

An explanation is bare: these premises leave the claims no other way.  A person wants to be led
through it.  So what is claimed is supposed to be otherwise, singles are followed among the
premises alone, and where they stall a premise is gone through case by case, until in each case a
premise has nothing left.  Where nothing needs to be supposed, nothing is.

Of the proofs by cases the one with the least to tell is looked for (`search`), and of what
follows only what is of use is told.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits
from gridcrux.logic.deduction import Deduction, bare
from gridcrux.logic.following import World
from gridcrux.logic.wording import listing
from gridcrux.proofs.story.search import Satisfied, shortest
from gridcrux.proofs.story.shape import can_have_shape, known_names, named
from gridcrux.proofs.story.tree import Node, direct_proof, proof_by_contradiction
from gridcrux.proofs.story.words import Line, html, lines


class NoExplanation(ValueError):
    """Premises that leave a claim open.

    Attributes
    ----------
    claim : what they do not explain.
    selection : candidates of which no two conflict, with one of every premise, though the claim
        is wrong; ascending.
    """

    def __init__(self, claim: Claim, selection: Sequence[int]) -> None:
        self.claim, self.selection = claim, tuple(selection)
        chosen = listing(map(claim.layout.candidate_name, self.selection)) or "nothing"
        super().__init__(
            f"the premises do not explain {claim}: though it is wrong, they are all satisfied "
            f"by {chosen}; give premises that are not"
        )

    def __reduce__(self) -> tuple[type, tuple[Claim, tuple[int, ...]]]:
        return type(self), (self.claim, self.selection)


@dataclass(frozen=True)
class Story:
    """The argument that premises make for claims; it prints as text.

    Attributes
    ----------
    state : where it applies.
    claims : what is shown, in the order in which it is told.
    premises : the rules whose candidates are looked up, ascending.
    proofs : a proof for each claim.
    """

    state: State = field(repr=False)
    claims: tuple[Claim, ...]
    premises: tuple[int, ...]
    proofs: tuple[Node, ...] = field(repr=False)

    @property
    def size(self) -> int:
        """Number of steps."""
        return sum(node.size for node in self.proofs)

    @property
    def depth(self) -> int:
        """How many cases there are within each other; 0 if nothing is gone through."""
        return max(node.depth for node in self.proofs)

    @cached_property
    def techniques(self) -> tuple[str, ...]:
        """The techniques whose shape the premises have, the most special first."""
        return known_names(self._bare, self.state) if can_have_shape(self.claims) else ()

    @cached_property
    def named_sentence(self) -> str | None:
        """The argument in the words of the most special technique; None if it has none for it."""
        name = next(iter(self.techniques), None)
        if name is None or (name.endswith("contradiction") and len(self.claims) > 1):
            return None  # A contradiction is about one candidate.
        told = named(self._bare, name).sentence
        return None if told == self._bare.plain_sentence else told

    @property
    def _bare(self) -> Deduction:
        return bare(self.state, self.claims, self.premises)

    @cached_property
    def _lines(self) -> tuple[tuple[Line, ...], ...]:
        """Per claim what is told of it."""
        told = zip(self.claims, self.proofs, strict=True)
        return tuple(tuple(lines(self.state.layout, claim, node)) for claim, node in told)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The argument sentence by sentence; within a case each begins with its number."""
        return tuple(line.labelled for told in self._lines for line in told)

    def as_dict(self) -> dict[str, Any]:
        """The argument as JSON can hold it, every name in full."""
        rules = self.state.layout.rules
        return {
            "claims": [str(claim) for claim in self.claims],
            "premises": [rules[rule].name for rule in self.premises],
            "size": self.size,
            "depth": self.depth,
            "techniques": list(self.techniques),
            "named_sentence": self.named_sentence,
            "proofs": [self._node_dict(node) for node in self.proofs],
            "sentences": list(self.sentences),
        }

    def _node_dict(self, node: Node) -> dict[str, Any]:
        layout = self.state.layout
        found: dict[str, Any] = {
            "assumed": None if node.assumed is None else str(node.assumed),
            "steps": [
                {
                    "rule": layout.rules[step.rule].name,
                    "candidate": layout.candidate_name(step.candidate),
                    "because": [str(claim) for claim in step.because],
                }
                for step in node.steps
            ],
        }
        end = {
            "rule": None if node.rule is None else layout.rules[node.rule].name,
            "left": [layout.candidate_name(candidate) for candidate in node.left],
            "because": [str(claim) for claim in node.because],
        }
        if not node.cases:
            return {**found, "ends": end}
        return {**found, "splits": end, "cases": [self._node_dict(part) for part in node.cases]}

    def __str__(self) -> str:
        return "\n".join(line.indented for told in self._lines for line in told)

    def _repr_html_(self) -> str:
        return "".join(map(html, self._lines))


def tell(state: State, claims: Sequence[Claim], premises: Sequence[int]) -> Story:
    """Lead through an explanation.

    Parameters
    ----------
    state : what is open.
    claims : what is explained, each of them on its own.
    premises : numbers of the rules that explain it.

    Raises
    ------
    NoExplanation : a claim does not follow from these premises.
    ValueError : nothing is claimed, a claim is on another layout, or there is no such rule.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.grids.names import parse_claim
    >>> from gridcrux.techniques.sketch import sketch
    >>> layout = boxes(2, 2)
    >>> state = sketch(layout, "cell r1c3: 1 4", "cell r2c3: 1 4")
    >>> print(tell(state, [parse_claim(layout, "r1c4!=1")], [2, 6]))
    Suppose that r1c4 is 1.
    Then r1c3 can only be 4.
    With r1c4=1 and r1c3=4, cell r2c3 has no digit left.
    So r1c4 is not 1.
    """
    layout = state.layout
    if not claims:
        raise ValueError("nothing is claimed; give at least one claim like r4c5!=7")
    for claim in claims:
        if claim.layout != layout:
            raise ValueError(
                f"{claim} is claimed on layout {claim.layout.name!r}, the state is on "
                f"{layout.name!r}; claim it on the same layout"
            )
    for rule in premises:
        if not 0 <= rule < len(layout.rules):
            raise ValueError(f"there is no rule {rule}; expected 0 to {len(layout.rules) - 1}")
    ascending = tuple(sorted(set(premises)))
    proofs = tuple(_proof(state, claim, ascending) for claim in claims)
    return Story(state, tuple(claims), ascending, proofs)


def _proof(state: State, claim: Claim, premises: tuple[int, ...]) -> Node:
    if not claim.holds and not state.is_open(claim.candidate):
        return Node(None, (), None, (), (), ())
    rules = {rule: state.layout.rules[rule].mask & state.open for rule in premises}
    # A closed candidate is false anyhow: that it is claimed shows that nothing is possible.
    denial = Claim(claim.candidate, not claim.holds, state.layout)
    supposed = denial if state.is_open(claim.candidate) else None
    world = World(state.layout, rules)
    if supposed is not None:
        world.assume(supposed.candidate, supposed.holds)
    world.settle()
    try:
        plan = shortest(world)
    except Satisfied as satisfied:
        raise NoExplanation(claim, tuple(bits(satisfied.world.true))) from None
    told = proof_by_contradiction(world, plan, supposed)
    direct = direct_proof(World(state.layout, rules), claim)
    # What is supposed is one thing more to tell, and cases are more still.
    if direct is not None and (told.cases or direct.size <= told.size + 1):
        return direct
    return told
