"""Chains in plain English."""

from __future__ import annotations

from typing import TYPE_CHECKING

from gridcrux.grids.layout import Layout
from gridcrux.grids.state import bits
from gridcrux.logic.wording import candidate_names, cells_in_words, falsehood, listing
from gridcrux.techniques.reading.links import Link

if TYPE_CHECKING:
    from gridcrux.techniques.reading.chain import Chain


def _node(layout: Layout, node: int, holds: bool = True) -> str:
    """That a node holds the true candidate, or that it does not, in words."""
    numbers = list(bits(node))
    digit = numbers[0] // layout.cells + 1
    cells = [layout.cell_name(number % layout.cells) for number in numbers]
    if len(cells) == 1:
        return f"{cells[0]} is {'' if holds else 'not '}{digit}"
    if holds:
        return f"{digit} is in {listing(cells, 'or')}"
    if len(cells) == 2:
        return f"neither {listing(cells, 'nor')} is {digit}"
    return f"none of {listing(cells)} is {digit}"


def _places(layout: Layout, node: int) -> str:
    return listing((layout.cell_name(number % layout.cells) for number in bits(node)), "or")


def _strong(layout: Layout, link: Link) -> str:
    """A strong link in words, from its premises."""
    if link.kind == "set":
        plane = range(layout.size)
        every = link.a | link.b | link.spare
        shift = (1 << layout.cells) - 1
        digits = [d + 1 for d in plane if every >> d * layout.cells & shift]
        return f"{cells_in_words(layout, link.premises)} hold all but one of {listing(digits)}"
    if link.kind == "cell":
        digits = sorted(number // layout.cells + 1 for number in bits(link.a | link.b))
        return f"{layout.cell_name(link.premises[0])} is {listing(digits, 'or')}"
    house, digit = divmod(link.premises[0] - layout.cells, layout.size)
    if link.kind == "house":
        where = _places(layout, link.a | link.b)
    else:
        where = f"{_places(layout, link.a)}, or else in {_places(layout, link.b)}"
    return f"in {layout.houses[house].name}, {digit + 1} is in {where}"


def _exclusion(layout: Layout, one: int, two: int) -> str:
    """A weak link in words."""
    first, second = list(bits(one)), list(bits(two))
    digits = {number // layout.cells + 1 for number in first + second}
    cells = sorted({number % layout.cells for number in first + second})
    if len(digits) == 1 and len(first) == len(second) == 1:
        return f"{cells_in_words(layout, cells)} are not both {digits.pop()}"
    if len(cells) == 1:
        return f"{layout.cell_name(cells[0])} is not both {listing(sorted(digits))}"
    return f"it cannot be both that {_node(layout, one)} and that {_node(layout, two)}"


def _capital(text: str) -> str:
    # A cell keeps its small r: names are names.
    named = text[:1] == "r" and text[1:2].isdigit()
    return text if named else text[:1].upper() + text[1:]


def _in_any_case(chain: Chain) -> str | None:
    """That a node holds, in words, if it is what both ends of a chain come to."""
    one, two = chain.links[0].a, chain.links[-1].b
    either = one | two
    return f"{_node(chain.layout, either)} in any case" if either in (one, two) else None


def short_sentence(chain: Chain, shown: int) -> str:
    """A chain of two links: what the rules say, and what follows."""
    layout = chain.layout
    one, two = chain.links
    ends = f"{_node(layout, one.a)} or {_node(layout, two.b)}"
    return (
        f"{_capital(_strong(layout, one))}; {_strong(layout, two)}. "
        f"{_capital(_exclusion(layout, one.b, two.a))}, so {_in_any_case(chain) or ends}: "
        f"{falsehood(layout, shown)}."
    )


def long_sentence(chain: Chain, shown: int) -> str:
    """A chain step by step: from what is excluded and back to it, or to what holds in any case."""
    layout = chain.layout
    starts = [_node(layout, link.a, False) for link in chain.links]
    ends = [f"{_node(layout, link.b)} ({_reason(layout, link)})" for link in chain.links]
    steps = [f"{start}, so {end}" for start, end in zip(starts, ends, strict=True)]
    certain = _in_any_case(chain)
    if certain:
        told = "; ".join((f"{starts[0]}, {ends[0]}", *steps[1:]))
        return f"If {told}. So {certain}: {falsehood(layout, shown)}."
    tried = listing(candidate_names(layout, shown), "or")
    each = "any of these" if shown.bit_count() > 1 else tried
    return (
        f"If {tried} were true: {'; '.join(steps)}; "
        f"but that excludes {each}. So {falsehood(layout, shown)}."
    )


def _reason(layout: Layout, link: Link) -> str:
    """Why the second node follows once the first is excluded."""
    if link.kind == "cell":
        return "its other digit"
    if link.kind == "set":
        return _strong(layout, link)
    house = (link.premises[0] - layout.cells) // layout.size
    return (
        f"the only place{'s' if link.kind == 'group' else ''} left in {layout.houses[house].name}"
    )


def loop_sentence(chain: Chain, shown: int) -> str:
    """A loop, link by link."""
    layout = chain.layout
    steps = [
        f"if {_node(layout, link.a, False)}, {_node(layout, link.b)} ({_reason(layout, link)})"
        for link in chain.links
    ]
    kept = " and every set keeps its other digits" if any(k.spare for k in chain.links) else ""
    return (
        f"The links close to a loop: {'; '.join(steps)}; and that excludes the first again. "
        f"So of any two neighbours that exclude each other one is true{kept}: "
        f"{falsehood(layout, shown)}."
    )
