"""A state made of what one looks at: everything is open but for what is said of some rules."""

from __future__ import annotations

from gridcrux.grids.layout import Layout
from gridcrux.grids.names import parse_cell
from gridcrux.grids.state import State


def sketch(layout: Layout, *facts: str) -> State:
    """The state in which the named rules have just the named candidates, and all else is open.

    Parameters
    ----------
    facts : a rule, a colon, and what it has left: digits for a cell, cells for a digit.

    Raises
    ------
    ValueError : no such rule, digit or cell, or a cell outside the house.

    >>> from gridcrux.grids.layout import boxes
    >>> state = sketch(boxes(2, 2), "cell r1c1: 1 2", "3 in row 2: r2c1 r2c2")
    >>> state.marks["r1c1"], state.marks["r2c3"]
    ([1, 2], [1, 2, 4])
    """
    closed = 0
    for fact in facts:
        name, _, left = fact.partition(":")
        number = layout.rule_numbers.get(name.strip())
        if number is None:
            raise ValueError(f"{fact!r}: no rule {name.strip()!r}; expected 'cell r1c2: 3 4'")
        kept = 0
        for word in left.split():
            if number >= layout.cells:
                digit = (number - layout.cells) % layout.size
                kept |= 1 << digit * layout.cells + parse_cell(layout, word)
            elif word.isdigit() and 1 <= int(word) <= layout.size:
                kept |= 1 << (int(word) - 1) * layout.cells + number
            else:
                raise ValueError(f"{fact!r}: {word} is no digit from 1 to {layout.size}")
        if kept & ~layout.rules[number].mask:
            raise ValueError(f"{fact!r}: not all of these are in the house")
        closed |= layout.rules[number].mask & ~kept
    return State.empty(layout).without(closed)
