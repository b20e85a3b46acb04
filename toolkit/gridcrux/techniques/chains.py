"""Chains: strong links, each of whose ends excludes the start of the next.

Theorem.  Take links, each with two nodes of which at least one is true, in an order in which
everything in the second node of a link conflicts with everything in the first node of the
next.  Then the first node of all or the last node of all is true, and what conflicts with both
is false.  If the last node conflicts with the first too, the links are a loop: of the two nodes
between which two links meet exactly one is true, and what conflicts with both is false.

Why.  If the first node is false, the second of its link is true, so the first of the next link
is false, and so on to the end.

A link is a premise with two candidates left, or with two groups of candidates where each group
lies in two houses; a group is true if one of its candidates is.  That the second node of a link
and the first of the next exclude each other is seen for free.  The general techniques find the
special cases as well; in a repertoire the special ones come first and give these their names.
Of the techniques of any length a finder writes, for each candidate, the chain with the fewest
premises.
"""

from __future__ import annotations

from functools import partial

from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import technique
from gridcrux.logic.wording import cells_in_words, cells_of, digits_of, listing
from gridcrux.techniques.compiled import shapes
from gridcrux.techniques.reading import read_chain

_chain = partial(technique, "chain")


def chain_sentence(step: Deduction) -> str:
    """The links in their order and what they come to; the premises alone if there is no order."""
    chain = read_chain(step.layout, step.roles["base"], step.premises, step.eliminates)
    return step.plain_sentence if chain is None else chain.sentence(step.eliminates)


def _colour_sentence(step: Deduction) -> str:
    """The places in their two colours, and what sees both."""
    layout = step.layout
    chain = read_chain(layout, step.roles["base"], step.premises, step.eliminates)
    if chain is None:
        return step.plain_sentence
    one = cells_in_words(layout, [c for link in chain.links for c in cells_of(layout, link.a)])
    two = cells_in_words(layout, [c for link in chain.links for c in cells_of(layout, link.b)])
    digit = (step.premises[0] - layout.cells) % layout.size + 1
    fall = cells_of(layout, step.eliminates)
    sees = "sees" if len(fall) == 1 else "see"
    return (
        f"Along houses with two places for {digit}, either {one} are all {digit} and {two} are "
        f"not, or the other way round. {cells_in_words(layout, fall)} {sees} places of both "
        f"colours, so {step.verdict}."
    )


def _remote_sentence(step: Deduction) -> str:
    """The cells in their order, and what sees both ends."""
    layout, plane = step.layout, (1 << step.layout.cells) - 1
    low = (step.eliminates & -step.eliminates).bit_length() - 1
    one_digit = step.eliminates & plane << low // layout.cells * layout.cells
    chain = read_chain(layout, step.roles["base"], step.premises, one_digit)
    if chain is None:
        return step.plain_sentence
    ends = [chain.links[0].premises[0], chain.links[-1].premises[0]]
    order = cells_in_words(layout, [link.premises[0] for link in chain.links])
    digits = digits_of(layout, step.roles["base"])
    fall = cells_of(layout, step.eliminates)
    return (
        f"{order} hold only {listing(digits, 'or')}, and each sees the next, so they alternate and "
        f"{cells_in_words(layout, ends)} hold both digits. What sees both of these is neither: "
        f"{cells_in_words(layout, fall)}."
    )


@_chain("skyscraper", shapes.SKYSCRAPER, 2)
def skyscraper(step: Deduction) -> str:
    """Two parallel lines with two places for a digit each, one place of each in a common house.

    The places that see each other are not both true, so one of the other two is; what sees
    both of them is false. Chain theorem with two links. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "4 in column 2: r1c2 r3c2",
    ...     "4 in column 4: r1c4 r4c4",
    ... )
    >>> print(available(state, "skyscraper")[0])
    In column 2, 4 is in r1c2 or r3c2; in column 4, 4 is in r1c4 or r4c4. r1c2 and r1c4 are not
    both 4, so r3c2 is 4 or r4c4 is 4: r3c3=4 and r4c1=4 are false.
    """
    return chain_sentence(step)


@_chain("two-string-kite", shapes.TWO_STRING_KITE, 2)
def two_string_kite(step: Deduction) -> str:
    """A row and a column with two places for a digit each, one place of each in a common box.

    The places in the box are not both true, so one of the other two is; the cell that sees
    both of them loses the digit. Chain theorem with two links. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "6 in row 4: r4c4 r4c5",
    ...     "6 in column 6: r3c6 r6c6",
    ... )
    >>> print(available(state, "two-string-kite")[0])
    In row 4, 6 is in r4c4 or r4c5; in column 6, 6 is in r3c6 or r6c6. r3c6 and r4c5 are not
    both 6, so r4c4 is 6 or r6c6 is 6: r5c4=6 and r6c4=6 are false.
    """
    return chain_sentence(step)


@_chain("turbot-chain", shapes.TURBOT_CHAIN, 2)
def turbot_chain(step: Deduction) -> str:
    """Two houses, not both of them lines, with two places for a digit each, joined by a weak link.

    As a skyscraper, with a box, a region or another house in place of a line. Chain theorem
    with two links. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "4 in row 6: r6c2 r6c5",
    ...     "4 in box 2: r1c5 r2c5",
    ... )
    >>> print(available(state, "turbot-chain")[0])
    In row 6, 4 is in r6c2 or r6c5; in box 2, 4 is in r1c5 or r2c5. r1c5 and r6c5 are not both
    4, so r6c2 is 4 or r2c5 is 4: r2c2=4 is false.
    """
    return chain_sentence(step)


@_chain("empty-rectangle", shapes.EMPTY_RECTANGLE, 2)
def empty_rectangle(step: Deduction) -> str:
    """A box whose places for a digit lie in one row and one column, and a line with two places.

    The rest of the box is a rectangle without the digit. If the line has it not in the row
    (or column) of the box, it has it at its other end; if it has it there, the box has it in
    the column (or row). What sees both is false. The line may also have two groups of places.
    Chain theorem with a grouped link. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "1 in column 5: r4c5 r6c5",
    ...     "1 in box 3: r3c2 r4c1 r4c2",
    ... )
    >>> print(available(state, "empty-rectangle")[0])
    In column 5, 1 is in r4c5 or r6c5; in box 3, 1 is in r4c1 or r4c2, or else in r3c2. It
    cannot be both that r4c5 is 1 and that 1 is in r4c1 or r4c2, so r6c5 is 1 or r3c2 is 1:
    r6c2=1 is false.
    """
    return chain_sentence(step)


@_chain("simple-colouring", shapes.SIMPLE_COLOURING, 3, any_length=True)
def simple_colouring(step: Deduction) -> str:
    """Places of a digit in two colours that alternate along houses with two places each.

    One colour is true and the other false. What sees two places of different colours is
    false; and a place that sees another of its own colour is false, for they would both be
    true. The links at every second step are the premises: the others are used only as far as
    two places exclude each other. With two links the shapes have names of their own. Common
    practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "4 in row 1: r1c2 r1c4",
    ...     "4 in row 3: r3c1 r3c2",
    ...     "4 in column 1: r3c1 r4c1",
    ...     "4 in column 2: r1c2 r3c2",
    ...     "4 in column 3: r2c3 r4c3",
    ...     "4 in column 4: r1c4 r4c4",
    ...     "4 in box 2: r1c4 r2c3",
    ...     "4 in box 4: r4c3 r4c4",
    ... )
    >>> print(available(state, "simple-colouring")[0])
    Along houses with two places for 4, either r4c1, r3c2 and r1c4 are all 4 and r3c1, r1c2 and
    r4c4 are not, or the other way round. r4c3 sees places of both colours, so r4c3=4 is false.
    """
    return _colour_sentence(step)


@_chain("multi-colouring", shapes.MULTI_COLOURING, 3, any_length=True)
def multi_colouring(step: Deduction) -> str:
    """Two chains of coloured places of a digit, joined where one sees the other.

    These two places are not both true, so the opposite colour of one chain or that of the
    other is true; what sees a place of each is false. Chain theorem with one weak link that
    is no pair. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "4 in row 1: r1c2 r1c4",
    ...     "4 in row 3: r3c1 r3c2",
    ...     "4 in column 1: r3c1 r4c1",
    ...     "4 in column 2: r1c2 r3c2",
    ...     "4 in column 3: r2c3 r4c3",
    ...     "4 in column 4: r1c4 r4c4",
    ...     "4 in box 2: r1c4 r2c3",
    ...     "4 in box 4: r4c3 r4c4",
    ... )
    >>> print(available(state, "multi-colouring")[3])
    If r1c4=4 were true: r1c2 is not 4, so r3c2 is 4 (the only place left in column 2); r3c1 is
    not 4, so r4c1 is 4 (the only place left in column 1); r4c3 is not 4, so r2c3 is 4 (the only
    place left in column 3); but that excludes r1c4=4. So r1c4=4 is false.
    """
    return chain_sentence(step)


@_chain("x-chain", shapes.X_CHAIN, 3, any_length=True)
def x_chain(step: Deduction) -> str:
    """Three houses or more with two places for a digit each, end to end.

    Chain theorem for one digit. With two links the shapes have names of their own. Common
    practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "4 in column 1: r3c1 r4c1",
    ...     "4 in column 2: r1c2 r3c2",
    ...     "4 in column 4: r1c4 r4c4",
    ... )
    >>> print(available(state, "x-chain")[0])
    If r1c3=4 were true: r1c2 is not 4, so r3c2 is 4 (the only place left in column 2); r3c1 is
    not 4, so r4c1 is 4 (the only place left in column 1); r4c4 is not 4, so r1c4 is 4 (the only
    place left in column 4); but that excludes r1c3=4. So r1c3=4 is false.
    """
    return chain_sentence(step)


@_chain("grouped-x-chain", shapes.GROUPED_X_CHAIN, 2, any_length=True)
def grouped_x_chain(step: Deduction) -> str:
    """Houses in which a digit has two places or two groups of places, end to end.

    Places in the crossing of two houses count as one place: what sees them all is false if
    one of them is true. Chain theorem for one digit. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "1 in row 1: r1c1 r1c3 r1c4",
    ...     "1 in box 2: r1c4 r2c4 r2c5",
    ...     "1 in box 6: r5c4 r6c4",
    ... )
    >>> print(available(state, "grouped-x-chain")[1])
    If r2c1=1, r2c2=1 or r2c3=1 were true: neither r1c1 nor r1c3 is 1, so r1c4 is 1 (the only
    places left in row 1); r5c4 is not 1, so r6c4 is 1 (the only place left in box 6); r1c4 is
    not 1, so 1 is in r2c4 or r2c5 (the only places left in box 2); but that excludes any of
    these. So r2c1=1, r2c2=1 and r2c3=1 are false.
    """
    return chain_sentence(step)


@_chain("xy-wing", shapes.XY_WING, 3)
def xy_wing(step: Deduction) -> str:
    """A cell with digits x and y that sees one with x and z and one with y and z.

    One of the two others holds z, whichever the first cell holds; what sees both of them is
    not z. Chain theorem with three cells. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r2c3: 1 3",
    ...     "cell r3c3: 3 4",
    ...     "cell r4c4: 1 4",
    ... )
    >>> print(available(state, "xy-wing")[0])
    If r1c4=1, r2c4=1 or r4c3=1 were true: r2c3 is not 1, so r2c3 is 3 (its other digit); r3c3
    is not 3, so r3c3 is 4 (its other digit); r4c4 is not 4, so r4c4 is 1 (its other digit); but
    that excludes any of these. So r1c4=1, r2c4=1 and r4c3=1 are false.
    """
    return chain_sentence(step)


@_chain("w-wing", shapes.W_WING, 3)
def w_wing(step: Deduction) -> str:
    """Two cells with the same two digits, each seeing one of the two places of a digit in a house.

    The digit takes one of its two places in the house, so one of the two cells holds the
    other digit; what sees both cells loses that one. Chain theorem with cell, house and cell.
    Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r3c1: 2 4",
    ...     "cell r4c3: 2 4",
    ...     "2 in column 2: r3c2 r4c2",
    ... )
    >>> print(available(state, "w-wing")[0])
    If r3c3=4, r3c4=4, r4c1=4 or r4c2=4 were true: r3c1 is not 4, so r3c1 is 2 (its other
    digit); r3c2 is not 2, so r4c2 is 2 (the only place left in column 2); r4c3 is not 2, so
    r4c3 is 4 (its other digit); but that excludes any of these. So r3c3=4, r3c4=4, r4c1=4 and
    r4c2=4 are false.
    """
    return chain_sentence(step)


@_chain("remote-pair", shapes.REMOTE_PAIR, 4, any_length=True)
def remote_pair(step: Deduction) -> str:
    """An even number of cells with the same two digits, each seeing the next.

    The digits alternate along the cells, so the two ends hold both of them; what sees both
    ends is neither. Four cells or more: two are a naked pair. Chain theorem, once for each
    digit. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "cell r1c4: 1 4",
    ...     "cell r2c2: 1 4",
    ...     "cell r6c2: 1 4",
    ...     "cell r6c4: 1 4",
    ... )
    >>> print(available(state, "remote-pair")[0])
    r1c4, r6c4, r6c2 and r2c2 hold only 1 or 4, and each sees the next, so they alternate and
    r1c4 and r2c2 hold both digits. What sees both of these is neither: r1c1, r1c2, r1c3, r2c4,
    r2c5 and r2c6.
    """
    return _remote_sentence(step)


@_chain("xy-chain", shapes.XY_CHAIN, 4, any_length=True)
def xy_chain(step: Deduction) -> str:
    """Four cells or more with two digits each, each sharing a digit with the next and seeing it.

    Chain theorem with cells only. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r1c3: 1 2",
    ...     "cell r1c4: 2 4",
    ...     "cell r2c1: 1 2",
    ...     "cell r2c4: 2 4",
    ... )
    >>> print(available(state, "xy-chain")[0])
    If r1c1=1, r1c2=1 or r2c3=1 were true: r1c3 is not 1, so r1c3 is 2 (its other digit); r1c4
    is not 2, so r1c4 is 4 (its other digit); r2c4 is not 4, so r2c4 is 2 (its other digit);
    r2c1 is not 2, so r2c1 is 1 (its other digit); but that excludes any of these. So r1c1=1,
    r1c2=1 and r2c3=1 are false.
    """
    return chain_sentence(step)


@_chain("alternating-chain", shapes.CHAIN, 2, any_length=True)
def alternating_chain(step: Deduction) -> str:
    """Cells with two digits and houses with two places for a digit, end to end.

    Chain theorem with single candidates as nodes. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r3c1: 2 4",
    ...     "cell r3c3: 2 4",
    ...     "2 in column 2: r3c2 r4c2",
    ... )
    >>> print(available(state, "alternating-chain")[4])
    If r4c1=2 were true: r3c1 is not 2, so r3c1 is 4 (its other digit); r3c3 is not 4, so r3c3
    is 2 (its other digit); r3c2 is not 2, so r4c2 is 2 (the only place left in column 2); but
    that excludes r4c1=2. So r4c1=2 is false.
    """
    return chain_sentence(step)


@_chain("alternating-loop", shapes.LOOP, 2, any_length=True)
def alternating_loop(step: Deduction) -> str:
    """An alternating chain whose end excludes its start: every weak link excludes something.

    The second half of the chain theorem. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r1c1: 1 2",
    ...     "cell r1c3: 1 2",
    ...     "2 in row 2: r2c1 r2c4",
    ... )
    >>> print(available(state, "alternating-loop")[2])
    The links close to a loop: if r1c1 is not 1, r1c1 is 2 (its other digit); if r2c1 is not 2,
    r2c4 is 2 (the only place left in row 2); if r1c3 is not 2, r1c3 is 1 (its other digit); and
    that excludes the first again. So of any two neighbours that exclude each other one is true:
    r1c2=1, r1c2=2, r1c4=1, r1c4=2, r3c1=2 and r4c1=2 are false.
    """
    return chain_sentence(step)


@_chain("grouped-chain", shapes.GROUPED_CHAIN, 2, any_length=True)
def grouped_chain(step: Deduction) -> str:
    """An alternating chain in which places in the crossing of two houses may count as one.

    Chain theorem with groups as nodes. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "cell r5c2: 1 4",
    ...     "1 in row 6: r6c1 r6c2 r6c3 r6c6",
    ...     "4 in row 6: r6c1 r6c2 r6c3 r6c6",
    ... )
    >>> print(available(state, "grouped-chain")[0])
    If r5c1=1 or r5c3=1 were true: r5c2 is not 1, so r5c2 is 4 (its other digit); none of r6c1,
    r6c2 and r6c3 is 4, so r6c6 is 4 (the only places left in row 6); r6c6 is not 1, so 1 is in
    r6c1, r6c2 or r6c3 (the only places left in row 6); but that excludes any of these. So
    r5c1=1 and r5c3=1 are false.
    """
    return chain_sentence(step)


@_chain("grouped-loop", shapes.GROUPED_LOOP, 2, any_length=True)
def grouped_loop(step: Deduction) -> str:
    """A grouped chain whose end excludes its start: every weak link excludes something.

    The second half of the chain theorem, with groups as nodes. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r1c3: 2 4",
    ...     "cell r2c3: 2 4",
    ...     "2 in box 2: r1c3 r2c3 r2c4",
    ... )
    >>> print(available(state, "grouped-loop")[15])
    The links close to a loop: if r1c3 is not 2, r1c3 is 4 (its other digit); if r2c3 is not 4,
    r2c3 is 2 (its other digit); if r1c3 is not 2, 2 is in r2c3 or r2c4 (the only places left in
    box 2); and that excludes the first again. So of any two neighbours that exclude each other
    one is true: r1c4=4, r2c4=4, r3c3=2, r3c3=4, r4c3=2 and r4c3=4 are false.
    """
    return chain_sentence(step)


TECHNIQUES = (
    skyscraper,
    two_string_kite,
    turbot_chain,
    empty_rectangle,
    simple_colouring,
    multi_colouring,
    x_chain,
    grouped_x_chain,
    xy_wing,
    w_wing,
    remote_pair,
    xy_chain,
    alternating_chain,
    alternating_loop,
    grouped_chain,
    grouped_loop,
)
