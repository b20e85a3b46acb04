"""A puzzle with one solution never lets two digits be exchanged.

Theorem.  Take four cells that are not given, such that every house with one of them has two,
neighbours on the way round (two rows, two columns and two boxes, say), and two digits.  If the
puzzle has exactly one solution, some corner holds another digit.

Why.  If the corners held the two digits only, neighbours would hold different ones.  Exchanging
the digits would leave every house what it has: a second solution, as no given is touched.

A candidate of a corner with another digit is a *guard*; a corner without guards is *bare*.  The
premises are what leads from a candidate that is tried to four corners with two digits: the cells
of bare corners, and the digits of houses where only two neighbouring corners have room.  That
the cells are not given is seen for free.  Nothing here follows from the premises alone:
`proofs.certify_unique` checks that they lead to what can be exchanged.
"""

from __future__ import annotations

from functools import partial

from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import technique
from gridcrux.techniques.compiled.shapes import (
    AVOIDABLE_CORNER,
    AVOIDABLE_GUARDS,
    AVOIDABLE_LOCK,
    AVOIDABLE_SUBSET,
    GRAVE,
    GUARDED_GRAVE,
    HIDDEN_RECTANGLE,
    MASKED_RECTANGLE,
    UNIQUE_CORNER,
    UNIQUE_CROSS_LOCK,
    UNIQUE_SCATTER,
    UNIQUE_SIDE,
    UNIQUE_SIDE_LOCK,
    UNIQUE_SUBSET,
)
from gridcrux.techniques.unique_sentences import (
    exchange_sentence,
    grave_sentence,
    guards_sentence,
    subset_sentence,
)

_rectangle = partial(technique, "rectangle", assumes_unique=True)
_grave = partial(technique, "grave", assumes_unique=True)


@_rectangle("unique-corner", UNIQUE_CORNER, 3)
def unique_corner(step: Deduction) -> str:
    """If three corners hold two digits only, the fourth holds neither.

    With one of them in the fourth corner, the two digits could be exchanged.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> pair, rest = [1, 2], [1, 2, 3, 4]
    >>> state = State.from_marks([pair, rest, pair, rest, pair] + [rest] * 11)
    >>> print(available(state, Repertoire((unique_corner,)))[0])
    r1c1, r1c3 and r2c1 hold only 1 or 2; with r2c3=1 or r2c3=2 only 1 and 2 would be in r1c1, r1c3,
    r2c1 and r2c3 and could be exchanged there, so r2c3=1 and r2c3=2 are false.
    """
    return exchange_sentence(step)


@_rectangle("unique-side", UNIQUE_SIDE, 4)
def unique_side(step: Deduction) -> str:
    """If two neighbouring corners have guards of one digit, what sees both loses that digit.

    One of the guards is true, and it excludes the digit from all that shares a house with it.
    Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> pair, rest = [1, 2], [1, 2, 3, 4]
    >>> three = [1, 2, 3]
    >>> state = State.from_marks([pair, rest, pair, rest, three, rest, three] + [rest] * 9)
    >>> print(available(state, Repertoire((unique_side,)))[0])
    1 and 2 could be exchanged in r1c1, r1c3, r2c1 and r2c3 if these held nothing else, so one of
    r2c1 and r2c3 is 3, and r2c2=3 and r2c4=3 are false.
    """
    return guards_sentence(step)


@_rectangle("unique-scatter", UNIQUE_SCATTER, 4)
def unique_scatter(step: Deduction) -> str:
    """If corners that are no side have guards of one digit, what sees them all loses it.

    As unique-side, with the guards in two corners across, or in three or four.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> pair, rest = [1, 2], [1, 2, 3, 4]
    >>> three = [1, 2, 3]
    >>> state = State.from_marks([pair, rest, three, rest, three, rest, pair] + [rest] * 9)
    >>> print(available(state, Repertoire((unique_scatter,)))[0])
    1 and 2 could be exchanged in r1c1, r1c3, r2c1 and r2c3 if these held nothing else, so one of
    r1c3 and r2c1 is 3, and r1c2=3 and r2c4=3 are false.
    """
    return guards_sentence(step)


@_rectangle("unique-subset", UNIQUE_SUBSET, 5, any_length=True)
def unique_subset(step: Deduction) -> str:
    """Guards in two neighbouring corners can be part of a naked subset as if they were one cell.

    One of the two corners holds a guard; with k cells of their house that have, with the
    guards, k + 1 digits, it uses these digits up.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> pair, rest = [1, 2], [1, 2, 3, 4]
    >>> row = [[1, 2, 3], [3, 4], [1, 2, 4], rest]
    >>> state = State.from_marks([pair, rest, pair, rest] + row + [rest] * 8)
    >>> print(available(state, Repertoire((unique_subset,)))[0])
    1 and 2 could be exchanged in r1c1, r1c3, r2c1 and r2c3 if these held nothing else, so one of
    r2c1 and r2c3 is 3 or 4; with r2c2 that uses up 3 and 4 in row 2, so r2c4=3 and r2c4=4 are
    false.
    """
    return subset_sentence(step)


@_rectangle("unique-side-lock", UNIQUE_SIDE_LOCK, 3)
def unique_side_lock(step: Deduction) -> str:
    """Two neighbouring corners hold two digits only, and one of these is confined to a side.

    One digit in one of the other corners leaves the bare ones no choice, and the lock fills
    the last.  If the lock is on the side with the guards, both corners lose the other digit.
    Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> pair, rest = [1, 2], [1, 2, 3, 4]
    >>> row = [rest, [2, 3, 4], rest, [2, 3, 4]]
    >>> state = State.from_marks([pair, rest, pair, rest] + row + [rest] * 8)
    >>> print(available(state, Repertoire((unique_side_lock,)))[0])
    r1c1 and r1c3 hold only 1 or 2 and 1 in row 2 has places only in r2c1 and r2c3; with r2c1=2 or
    r2c3=2 only 1 and 2 would be in r1c1, r1c3, r2c1 and r2c3 and could be exchanged there, so
    r2c1=2 and r2c3=2 are false.
    """
    return exchange_sentence(step)


@_rectangle("unique-cross-lock", UNIQUE_CROSS_LOCK, 3)
def unique_cross_lock(step: Deduction) -> str:
    """If two corners across are bare and a digit is locked at a third, the fourth loses it.

    The digit in the fourth corner gives the bare ones the other digit, and so the third has
    it by the lock.  Two parallel locks, an X-wing, exclude it from both.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> pair, rest = [1, 2], [1, 2, 3, 4]
    >>> row = [rest, [2, 3, 4], pair, [2, 3, 4]]
    >>> state = State.from_marks([pair, rest, rest, rest] + row + [rest] * 8)
    >>> print(available(state, Repertoire((unique_cross_lock,)))[0])
    r1c1 and r2c3 hold only 1 or 2 and 1 in row 2 has places only in r2c1 and r2c3; with r1c3=1 only
    1 and 2 would be in r1c1, r1c3, r2c1 and r2c3 and could be exchanged there, so r1c3=1 is false.
    """
    return exchange_sentence(step)


@_rectangle("hidden-rectangle", HIDDEN_RECTANGLE, 3)
def hidden_rectangle(step: Deduction) -> str:
    """If one corner is bare and two locks fill two more, the last loses the digit that does it.

    Most often the locks are a digit's in the row and the column of the corner opposite to the
    bare one: the other digit falls from there.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> pair, rest, other = [1, 2], [1, 2, 3, 4], [2, 3, 4]
    >>> rows = [[pair, rest, rest, rest], [rest, other, rest, other], [rest, rest, other, rest]]
    >>> state = State.from_marks(rows[0] + rows[1] + rows[2] * 2)
    >>> print(available(state, Repertoire((hidden_rectangle,)))[0])
    r1c1 holds only 1 or 2, 1 in row 2 has places only in r2c1 and r2c3 and 1 in column 3 has places
    only in r1c3 and r2c3; with r2c3=2 only 1 and 2 would be in r1c1, r1c3, r2c1 and r2c3 and could
    be exchanged there, so r2c3=2 is false.
    """
    return exchange_sentence(step)


@_rectangle("masked-rectangle", MASKED_RECTANGLE, 3)
def masked_rectangle(step: Deduction) -> str:
    """If no corner is bare, three locks can fill a rectangle from its fourth corner.

    As the hidden rectangle, with a third lock instead of the bare corner.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> rest, other = [1, 2, 3, 4], [2, 3, 4]
    >>> rows = [[rest, [1, 3, 4]] * 2, [rest, other] * 2, [rest, rest, other, rest]]
    >>> state = State.from_marks(rows[0] + rows[1] + rows[2] * 2)
    >>> print(available(state, Repertoire((masked_rectangle,)))[0])
    2 in row 1 has places only in r1c1 and r1c3, 1 in row 2 has places only in r2c1 and r2c3 and 1
    in column 3 has places only in r1c3 and r2c3; with r2c3=2 only 1 and 2 would be in r1c1, r1c3,
    r2c1 and r2c3 and could be exchanged there, so r2c3=2 is false.
    """
    return exchange_sentence(step)


@_rectangle("avoidable-corner", AVOIDABLE_CORNER, 3)
def avoidable_corner(step: Deduction) -> str:
    """If three corners, written but not given, hold two digits only, the fourth holds neither.

    As unique-corner.  What was written by solving can be exchanged as well as what is blank;
    one or two of the corners may be bare instead of written.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([0] * 15 + [4])
    >>> for candidate in (0, 16 + 2, 16 + 4):
    ...     state = state.with_placed(candidate)
    >>> print(available(state, Repertoire((avoidable_corner,)))[0])
    r1c1=1, r1c3=2 and r2c1=2 are written and not given; with r2c3=1 only 1 and 2 would be in r1c1,
    r1c3, r2c1 and r2c3, none of them given, and could be exchanged there, so r2c3=1 is false.
    """
    return exchange_sentence(step)


@_rectangle("avoidable-guards", AVOIDABLE_GUARDS, 4)
def avoidable_guards(step: Deduction) -> str:
    """As unique-side and unique-scatter, with corners that are written but not given.

    One of the guards is true, or else the corners, none of them given, could be exchanged.
    Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([0] * 15 + [4]).with_placed(0).with_placed(16 + 2)
    >>> state = state.without(1 << 48 + 4 | 1 << 48 + 6)
    >>> print(available(state, Repertoire((avoidable_guards,)))[0])
    r1c1=1 and r1c3=2 are written and not given; 1 and 2 could be exchanged in r1c1, r1c3, r2c1 and
    r2c3, none of them given, if these held nothing else, so one of r2c1 and r2c3 is 3, and r2c2=3
    and r2c4=3 are false.
    """
    return guards_sentence(step)


@_rectangle("avoidable-subset", AVOIDABLE_SUBSET, 5, any_length=True)
def avoidable_subset(step: Deduction) -> str:
    """As unique-subset, with corners that are written but not given.

    The guards stand for one cell of the subset: one of them is true.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([0] * 15 + [4]).with_placed(0).with_placed(16 + 2)
    >>> state = state.without(1 << 5 | 1 << 16 + 5)
    >>> print(available(state, Repertoire((avoidable_subset,)))[0])
    r1c1=1 and r1c3=2 are written and not given; 1 and 2 could be exchanged in r1c1, r1c3, r2c1 and
    r2c3, none of them given, if these held nothing else, so one of r2c1 and r2c3 is 3 or 4; with
    r2c2 that uses up 3 and 4 in row 2, so r2c4=3 is false.
    """
    return subset_sentence(step)


@_rectangle("avoidable-lock", AVOIDABLE_LOCK, 3)
def avoidable_lock(step: Deduction) -> str:
    """As unique-side-lock and its kin, with corners that are written but not given.

    The lock keeps one digit in the corners, so the other digit would leave no choice there.
    Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([0] * 15 + [4]).with_placed(0)
    >>> state = state.without(1 << 32 + 6 | 1 << 48 + 6 | 1 << 16 + 5 | 1 << 16 + 7)
    >>> print(available(state, Repertoire((avoidable_lock,)))[0])
    r1c1=1 is written and not given, r2c3 holds only 1 or 2 and 2 in row 2 has places only in r2c1
    and r2c3; with r1c3=2 only 1 and 2 would be in r1c1, r1c3, r2c1 and r2c3, none of them given,
    and could be exchanged there, so r1c3=2 is false.
    """
    return exchange_sentence(step)


@_grave("bivalue-grave", GRAVE, 7, any_length=True)
def bivalue_grave(step: Deduction) -> str:
    """If all would have two places but for one candidate, that candidate is true.

    Without it every blank cell and every digit in every house has a true and a false place,
    and with all of them exchanged every house would still have every digit once: a second
    solution.  Common practice.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> rest = [[1, 3], [2, 3], [1, 3], [1, 2], [1, 3], [1, 2], [2, 3]]
    >>> state = State.from_marks([[1, 2, 3], [2, 3]] + rest, latin(3))
    >>> print(available(state, Repertoire((bivalue_grave,)))[0])
    Without r1c1=3 every blank cell and every digit in every house would have two places, and
    exchanging the true ones for the others would make a second solution, so r1c1=3 is true, and
    r1c1=1, r1c1=2, r1c2=3, r1c3=3, r2c1=3 and r3c1=3 are false.
    """
    return grave_sentence(step)


@_grave("guarded-grave", GUARDED_GRAVE, 7, any_length=True)
def guarded_grave(step: Deduction) -> str:
    """If all would have two places but for a few candidates, what conflicts with these is false.

    As the bivalue grave: one of the candidates too many is true.  Common practice.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.repertoire import Repertoire
    >>> from gridcrux.techniques.solve import available
    >>> rest = [[1, 3], [2, 3], [1, 3], [1, 2], [1, 3], [1, 2], [2, 3]]
    >>> state = State.from_marks([[1, 2, 3], [1, 2, 3]] + rest, latin(3))
    >>> print(available(state, Repertoire((guarded_grave,)))[0])
    Without r1c1=3 and r1c2=1 every blank cell and every digit in every house would have two places,
    and exchanging the true ones for the others would make a second solution, so one of r1c1=3 and
    r1c2=1 is true, and r1c1=1 and r1c2=3 are false.
    """
    return grave_sentence(step)


TECHNIQUES = (
    unique_corner,
    unique_side,
    avoidable_corner,
    bivalue_grave,
    unique_side_lock,
    unique_cross_lock,
    hidden_rectangle,
    unique_scatter,
    unique_subset,
    avoidable_guards,
    avoidable_lock,
    avoidable_subset,
    masked_rectangle,
    guarded_grave,
)
"""The family, the easiest to spot first."""
