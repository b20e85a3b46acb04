"""Almost locked sets: cells of a house that have one digit more than they are cells.

Theorem.  If an almost locked set does not hold one of its digits, it holds all of the others:
so of any two of its digits at least one is in it, a strong link between the places of the one
and the places of the other.  Chains of such links exclude what any chain does (`chains`).  In a
loop each set loses one of two digits, so it holds all its others, which are false elsewhere
where they see all their places in the set.

Why.  Without one digit the set has as many digits as cells, and every cell needs one.

The premises are the cells of the sets.  A cell with two digits is a set of one cell.  Sets of up
to four cells are looked for.
"""

from __future__ import annotations

from functools import partial

from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import technique
from gridcrux.techniques.chains import chain_sentence
from gridcrux.techniques.compiled import shapes
from gridcrux.techniques.reading.stems import read_stem

_set = partial(technique, "almost locked set")


def _stem_sentence(step: Deduction) -> str:
    stem = read_stem(step.layout, step.roles["base"], step.premises, step.eliminates)
    return step.plain_sentence if stem is None else stem.sentence(step.eliminates)


@_set("xyz-wing", shapes.XYZ_WING, 3)
def xyz_wing(step: Deduction) -> str:
    """A cell with digits x, y and z that sees one with x and z and one with y and z.

    Whichever digit the first cell holds, one of the three holds z; what sees all three is not
    z. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "cell r4c6: 2 6",
    ...     "cell r5c6: 2 3 6",
    ...     "cell r6c5: 3 6",
    ... )
    >>> print(available(state, "xyz-wing")[0])
    r5c6 is 2, 3 or 6: if it is 2, r4c6 loses it and 6 is in r4c6; if it is 3, r6c5 loses it and
    6 is in r6c5; if it is 6, that is the 6. r6c6 would see it each time, so r6c6 is not 6.
    """
    return _stem_sentence(step)


@_set("als-xz", shapes.ALS_XZ, 3, any_length=True)
def als_xz(step: Deduction) -> str:
    """Two almost locked sets, all of whose places for x see each other: one of them holds z.

    They do not both hold x, the restricted common digit; the one without it holds z, and what
    sees every z of both is not z. Chain theorem with two sets, one of which may be a cell.
    Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r2c3: 1 3",
    ...     "cell r3c3: 3 4",
    ...     "cell r3c4: 3 4",
    ...     "cell r4c4: 1 4",
    ... )
    >>> print(available(state, "als-xz")[5])
    r2c3 and r3c3 hold all but one of 1, 3 and 4; r3c4 and r4c4 hold all but one of 1, 3 and 4.
    It cannot be both that r3c3 is 4 and that 4 is in r3c4 or r4c4, so r2c3 is 1 or r4c4 is 1:
    r1c4=1, r2c4=1 and r4c3=1 are false.
    """
    return chain_sentence(step)


@_set("als-loop", shapes.ALS_LOOP, 3, any_length=True)
def als_loop(step: Deduction) -> str:
    """Two almost locked sets with two restricted common digits lock all their digits.

    Each holds exactly one of the two, and all of its other digits. The second half of the
    chain theorem with two sets. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r3c1: 2 4",
    ...     "cell r3c2: 1 2",
    ...     "cell r3c3: 2 4",
    ...     "cell r3c4: 1 3",
    ... )
    >>> print(available(state, "als-loop")[1])
    The links close to a loop: if r3c1 is not 2, r3c1 is 4 (its other digit); if r3c3 is not 4,
    2 is in r3c2 or r3c3 (r3c2, r3c3 and r3c4 hold all but one of 1, 2, 3 and 4); and that
    excludes the first again. So of any two neighbours that exclude each other one is true and
    every set keeps its other digits: r1c4=3, r2c4=3, r3c4=1, r4c3=3 and r4c4=3 are false.
    """
    return chain_sentence(step)


@_set("als-chain", shapes.ALS_CHAIN, 3, any_length=True)
def als_chain(step: Deduction) -> str:
    """Three almost locked sets or more, each with a restricted common digit with the next.

    Chain theorem with sets only. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "cell r4c6: 2 6",
    ...     "cell r5c6: 2 3 6",
    ...     "cell r6c5: 3 6",
    ...     "cell r6c6: 3 6",
    ... )
    >>> print(available(state, "als-chain")[3])
    If r3c5=6, r4c5=6, r5c6=6 or r6c6=6 were true: r4c6 is not 6, so r4c6 is 2 (its other
    digit); r5c6 is not 2, so 3 is in r5c6 or r6c6 (r5c6 and r6c6 hold all but one of 2, 3 and
    6); r6c5 is not 3, so r6c5 is 6 (its other digit); but that excludes any of these. So
    r3c5=6, r4c5=6, r5c6=6 and r6c6=6 are false.
    """
    return chain_sentence(step)


@_set("stem-cell", shapes.STEM_CELL, 3, any_length=True)
def stem_cell(step: Deduction) -> str:
    """A cell and for each of its digits an almost locked set that would lose it; all sets share z.

    Whichever digit the cell holds, its set loses that digit and so holds z; what sees the z
    of all sets is not z. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 3),
    ...     "cell r1c3: 3 4 5",
    ...     "cell r2c1: 2 3 4",
    ...     "cell r2c2: 2 5",
    ...     "cell r2c5: 4 6",
    ...     "cell r2c6: 5 6",
    ...     "cell r6c3: 4 5",
    ... )
    >>> print(available(state, "stem-cell")[0])
    r1c3 is 3, 4 or 5: if it is 3, r2c1, r2c2, r2c5 and r2c6 lose it and 4 is in r2c1 or r2c5;
    if it is 4, that is the 4; if it is 5, r6c3 loses it and 4 is in r6c3. r2c3 would see it
    each time, so r2c3 is not 4.
    """
    return _stem_sentence(step)


@_set("set-chain", shapes.SET_CHAIN, 2, any_length=True)
def set_chain(step: Deduction) -> str:
    """Chains through cells, houses, groups and almost locked sets.

    Chain theorem with all links that are known. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r1c1: 1 4",
    ...     "cell r4c1: 1 2 4",
    ...     "cell r4c3: 1 2",
    ...     "1 in row 3: r3c1 r3c2",
    ...     "1 in row 4: r4c1 r4c3",
    ...     "2 in box 4: r4c3 r4c4",
    ... )
    >>> print(available(state, "set-chain")[0])
    If r1c2=1 or r2c2=1 were true: r1c1 is not 1, so r1c1 is 4 (its other digit); r4c1 is not 4,
    so 2 is in r4c1 or r4c3 (r4c1 and r4c3 hold all but one of 1, 2 and 4); r4c4 is not 2, so
    r4c3 is 2 (the only place left in box 4); r4c3 is not 1, so r4c1 is 1 (the only place left
    in row 4); r3c1 is not 1, so r3c2 is 1 (the only place left in row 3); but that excludes any
    of these. So r1c2=1 and r2c2=1 are false.
    """
    return chain_sentence(step)


@_set("set-loop", shapes.SET_LOOP, 2, any_length=True)
def set_loop(step: Deduction) -> str:
    """A chain through cells, houses, groups and sets whose end excludes its start.

    The second half of the chain theorem: weak links exclude what sees both ends, sets keep
    their other digits. Common practice.

    >>> from gridcrux.grids.layout import boxes
    >>> from gridcrux.techniques.sketch import sketch
    >>> from gridcrux.techniques.solve import available
    >>> state = sketch(
    ...     boxes(2, 2),
    ...     "cell r3c3: 1 4",
    ...     "cell r3c4: 1 3",
    ...     "1 in column 4: r3c4 r4c4",
    ... )
    >>> print(available(state, "set-loop")[5])
    The links close to a loop: if neither r3c3 nor r3c4 is 1, r3c4 is 3 (r3c3 and r3c4 hold all
    but one of 1, 3 and 4); if r3c4 is not 1, r4c4 is 1 (the only place left in column 4); and
    that excludes the first again. So of any two neighbours that exclude each other one is true
    and every set keeps its other digits: r1c3=4, r2c3=4, r3c1=4, r3c2=4, r4c3=1, r4c3=4 and
    r4c4=4 are false.
    """
    return chain_sentence(step)


TECHNIQUES = (
    xyz_wing,
    als_xz,
    als_loop,
    als_chain,
    stem_cell,
    set_chain,
    set_loop,
)
