"""A proof in plain English: a sentence for what is supposed, for each step and for each end.

Cases are numbered along their path: case 2.1 is the first case within case 2.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import NamedTuple

from gridcrux.grids.layout import Layout
from gridcrux.grids.names import Claim
from gridcrux.logic.wording import (
    candidates_in_words,
    listing,
    nothing_left,
    single_in_words,
    verdict_in_words,
)
from gridcrux.proofs.story.tree import Node


class Line(NamedTuple):
    """A sentence, and the case that it stands in.

    Attributes
    ----------
    path : number of the case, of the case within it, and so on; empty outside cases.
    text : the sentence.
    opens : whether it says what the case supposes.
    """

    path: tuple[int, ...]
    text: str
    opens: bool = False

    @property
    def label(self) -> str:
        """The case by its number: ``"Case 2.1: "``; nothing outside cases."""
        return f"Case {'.'.join(map(str, self.path))}: " if self.path else ""

    @property
    def labelled(self) -> str:
        """The sentence with its case, as it stands alone."""
        return self.label + self.text

    @property
    def indented(self) -> str:
        """The sentence as a line of the whole, in which a case is named where it opens."""
        if self.opens:
            return "  " * (len(self.path) - 1) + self.labelled
        return "  " * len(self.path) + self.text


def lines(layout: Layout, claim: Claim, proof: Node) -> Iterator[Line]:
    """A proof sentence by sentence."""
    shown = verdict_in_words(layout, claim.candidate, claim.holds)
    if proof.rule is None:
        yield Line((), f"{shown}: it is excluded already.")
        return
    yield from _part(layout, claim, proof, ())
    if proof.left and not proof.cases:
        return  # The end says the claim.
    so = "No case is possible, so" if proof.cases else "So"
    if proof.assumed is None:
        so += " there is no solution, and whatever is claimed holds:"
    yield Line((), f"{so} {shown}.")


def _part(layout: Layout, claim: Claim, node: Node, path: tuple[int, ...]) -> Iterator[Line]:
    """What is supposed, the steps, and the end or the cases."""
    last = node.assumed
    if last is not None:
        supposed = verdict_in_words(layout, last.candidate, last.holds)
        text = f"{supposed}." if path else f"Suppose that {supposed}."
        yield Line(path, text, opens=bool(path))
    for step in node.steps:
        text = single_in_words(layout, step.rule, step.candidate)
        yield Line(path, _since(step.because, last, text))
        last = Claim(step.candidate, True, layout)
    yield Line(path, _since(node.because, last, _end(layout, claim, node)))
    for number, part in enumerate(node.cases, 1):
        yield from _part(layout, claim, part, (*path, number))


def _since(because: Sequence[Claim], last: Claim | None, text: str) -> str:
    """A sentence with what it is due to, in short if that is what was told last."""
    if not because:
        return f"{text[0].upper()}{text[1:]}." if text.startswith("cell ") else f"{text}."
    if list(because) == [last]:
        return f"Then {text}."
    known = listing(because)
    return f"With {known}, {text}."


def _end(layout: Layout, claim: Claim, node: Node) -> str:
    """What a part comes to: nothing left, cases, or candidates that all lead to the claim."""
    assert node.rule is not None
    if not node.left:
        return nothing_left(layout, node.rule)
    name = layout.candidate_name(claim.candidate)
    if node.cases:
        return _left(layout, node.rule, node.left)
    if len(node.left) > 1:
        return f"{_left(layout, node.rule, node.left)}, and each of them excludes {name}"
    single = single_in_words(layout, node.rule, node.left[0])
    if not claim.holds:
        return f"{single}, which excludes {name}"
    if node.rule < layout.cells:
        return single
    return f"{single}, so {verdict_in_words(layout, claim.candidate)}"


def _left(layout: Layout, rule: int, left: Sequence[int]) -> str:
    """Which candidates a rule has left, two or more."""
    mask = sum(1 << candidate for candidate in left)
    if rule < layout.cells:
        named = candidates_in_words(layout, rule, mask, "or")
        return f"{layout.cell_name(rule)} can only be {named}"
    return f"{layout.rules[rule].name} has places only in {candidates_in_words(layout, rule, mask)}"


def html(told: Sequence[Line]) -> str:
    """Sentences, with a list for the cases of each split."""
    parts, depth = ["<div>"], 0
    for line in told:
        deeper = len(line.path)
        parts.append("</li></ul>" * (depth - deeper))
        if line.opens:
            parts.append("<ul><li>" if deeper > depth else "</li><li>")
        parts.append(escape(line.labelled if line.opens else line.text) + " ")
        depth = deeper
    return "".join(parts) + "</div>"
