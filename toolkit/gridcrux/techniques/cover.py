"""Base rules covered by as many cover rules: the rest of the covers is false.

Theorem.  Take k rules (the bases), no two sharing a candidate, whose open candidates all lie
in k rules (the covers).  Then every candidate of a cover outside the bases is false.

Why.  Each base has a true candidate; these are k different ones, all in the covers.  No cover
holds more than one true candidate, so each holds exactly one, and it is a base's.

The premises are the k bases; that a cover holds at most one true candidate is seen for free.
Locked candidates, naked sets, hidden sets and fish are the cases with a digit in one house
(k = 1), cells of a house, digits of a house, and a digit in parallel lines as bases.
"""

from __future__ import annotations

from collections.abc import Callable

from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import Technique, technique
from gridcrux.logic.wording import (
    cells_in_words,
    cells_of,
    digits_of,
    houses_in_words,
    listing,
)
from gridcrux.techniques.compiled.shapes import CLAIMING, FISH, HIDDEN, NAKED, POINTING, SIZES


def _cover(name: str, shape: int, size: int) -> Callable[[Callable[[Deduction], str]], Technique]:
    """Make a technique of the function that explains it."""
    return technique("cover", name, shape * SIZES + size, size)


def _locked_sentence(step: Deduction) -> str:
    digit = digits_of(step.layout, step.removes)[0]
    (home,) = step.base_houses
    touched = set(cells_of(step.layout, step.roles["base"] | step.removes))
    cover = next(h for h in step.layout.houses if h is not home and touched <= set(h.cells))
    return (
        f"{digit} in {home.name} has places only in {cover.name}, "
        f"so no other cell of {cover.name} is {digit}."
    )


def _naked_sentence(step: Deduction) -> str:
    cells = cells_of(step.layout, step.roles["base"])
    digits = listing(digits_of(step.layout, step.roles["base"]), "or")
    homes = [house for house in step.layout.houses if set(cells) <= set(house.cells)]
    return (
        f"{cells_in_words(step.layout, cells)} hold only {digits}, "
        f"so no other cell of {houses_in_words(homes)} is {digits}."
    )


def _hidden_sentence(step: Deduction) -> str:
    cells = cells_in_words(step.layout, cells_of(step.layout, step.roles["base"]))
    digits = listing(digits_of(step.layout, step.roles["base"]))
    (home,) = step.base_houses
    return f"In {home.name}, {digits} have places only in {cells}, which hold nothing else."


def _fish_sentence(step: Deduction) -> str:
    layout = step.layout
    digit = digits_of(step.layout, step.removes)[0]
    bases = step.base_houses
    cells = cells_of(step.layout, step.roles["base"])
    crossing = layout.houses[layout.size : 2 * layout.size]
    if bases[0] in crossing:
        crossing = layout.houses[: layout.size]
    covers = [house for house in crossing if set(house.cells) & set(cells)]
    return (
        f"In {houses_in_words(bases)}, {digit} has places only in {houses_in_words(covers)}, "
        f"so no other cell of {houses_in_words(covers)} is {digit}."
    )


@_cover("pointing", POINTING, 1)
def pointing(step: Deduction) -> str:
    """If a digit's places in a box all lie in another house, that house has it nowhere else.

    The digit has a place in the box, so one of those, and it is once in the other house.
    Cover theorem with k = 1.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([0, 0, 0, 0] + [2, 3, 0, 0] + [0] * 8)
    >>> print(available(state, "pointing")[0])
    1 in box 1 has places only in row 1, so no other cell of row 1 is 1.
    """
    return _locked_sentence(step)


@_cover("claiming", CLAIMING, 1)
def claiming(step: Deduction) -> str:
    """If a digit's places in a line all lie in another house, that house has it nowhere else.

    As pointing, with the digit looked up in a row, a column or whatever house is no box.
    Cover theorem with k = 1.  Common practice.

    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_digits([0, 0, 2, 3] + [0] * 12)
    >>> print(available(state, "claiming")[0])
    1 in row 1 has places only in box 1, so no other cell of box 1 is 1.
    """
    return _locked_sentence(step)


@_cover("naked-pair", NAKED, 2)
def naked_pair(step: Deduction) -> str:
    """Two cells of a house with two digits between them keep these digits from other cells.

    Two cells need two digits, so they use up both, in every house that contains the cells.
    Cover theorem with two cells as bases; a preemptive set of size 2 in Crook, "A
    pencil-and-paper algorithm for solving Sudoku puzzles", Notices of the AMS 56 (2009).

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> state = State.from_marks([[1, 2], [1, 2], [1, 2, 3]] + [[1, 2, 3]] * 6, latin(3))
    >>> print(available(state, "naked-pair")[0])
    r1c1 and r1c2 hold only 1 or 2, so no other cell of row 1 is 1 or 2.
    """
    return _naked_sentence(step)


@_cover("hidden-pair", HIDDEN, 2)
def hidden_pair(step: Deduction) -> str:
    """Two digits with two places between them in a house keep other digits from these cells.

    Two digits need two cells, so they fill both.  Cover theorem with two digits of a house as
    bases; the pigeonhole rule of Provan, "Sudoku: strategy versus structure", American
    Mathematical Monthly 116 (2009), read for digits.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> marks = [[1, 2, 3], [1, 2, 4], [3, 4], [3, 4]] + [[1, 2, 3, 4]] * 12
    >>> print(available(State.from_marks(marks, latin(4)), "hidden-pair")[0])
    In row 1, 1 and 2 have places only in r1c1 and r1c2, which hold nothing else.
    """
    return _hidden_sentence(step)


@_cover("x-wing", FISH, 2)
def x_wing(step: Deduction) -> str:
    """A digit whose places in two rows lie in two columns is nowhere else in these columns.

    Two rows need the digit twice, in different columns, so both columns have it there; the
    same with rows and columns exchanged.  Cover theorem with one digit in two parallel lines
    as bases.  Common practice.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> marks = [[1, 2, 3], [1, 2, 3], [2, 3]] * 2 + [[1, 2, 3]] * 3
    >>> print(available(State.from_marks(marks, latin(3)), "x-wing")[0])
    In rows 1 and 2, 1 has places only in columns 1 and 2, so no other cell of columns 1 and 2
    is 1.
    """
    return _fish_sentence(step)


@_cover("naked-triple", NAKED, 3)
def naked_triple(step: Deduction) -> str:
    """Three cells of a house with three digits between them keep these from other cells.

    As the naked pair, with three cells; no cell needs to hold all three digits.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> marks = [[1, 2], [2, 3], [1, 3]] + [[1, 2, 3, 4]] * 13
    >>> print(available(State.from_marks(marks, latin(4)), "naked-triple")[0])
    r1c1, r1c2 and r1c3 hold only 1, 2 or 3, so no other cell of row 1 is 1, 2 or 3.
    """
    return _naked_sentence(step)


@_cover("hidden-triple", HIDDEN, 3)
def hidden_triple(step: Deduction) -> str:
    """Three digits with three places between them in a house keep other digits from there.

    As the hidden pair, with three digits; no digit needs to have all three places.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> row = [[1, 2, 4], [2, 3, 5], [1, 3, 4], [4, 5], [4, 5]]
    >>> state = State.from_marks(row + [[1, 2, 3, 4, 5]] * 20, latin(5))
    >>> print(available(state, "hidden-triple")[0])
    In row 1, 1, 2 and 3 have places only in r1c1, r1c2 and r1c3, which hold nothing else.
    """
    return _hidden_sentence(step)


@_cover("swordfish", FISH, 3)
def swordfish(step: Deduction) -> str:
    """A digit whose places in three rows lie in three columns is nowhere else in these.

    As the X-wing, with three lines; no line needs to have all three places.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> some, rest = [1, 2, 3, 4], [2, 3, 4]
    >>> rows = [some, some, rest, rest] + [rest, some, some, rest] + [some, rest, some, rest]
    >>> print(available(State.from_marks(rows + [some] * 4, latin(4)), "swordfish")[0])
    In rows 1, 2 and 3, 1 has places only in columns 1, 2 and 3, so no other cell of
    columns 1, 2 and 3 is 1.
    """
    return _fish_sentence(step)


@_cover("naked-quad", NAKED, 4)
def naked_quad(step: Deduction) -> str:
    """Four cells of a house with four digits between them keep these from other cells.

    As the naked pair, with four cells.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> marks = [[1, 2], [2, 3], [3, 4], [1, 4]] + [[1, 2, 3, 4, 5]] * 21
    >>> print(available(State.from_marks(marks, latin(5)), "naked-quad")[0])
    r1c1, r1c2, r1c3 and r1c4 hold only 1, 2, 3 or 4, so no other cell of row 1 is 1, 2, 3 or 4.
    """
    return _naked_sentence(step)


@_cover("hidden-quad", HIDDEN, 4)
def hidden_quad(step: Deduction) -> str:
    """Four digits with four places between them in a house keep other digits from there.

    As the hidden pair, with four digits.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> row = [[1, 2, 5], [2, 3, 6], [3, 4, 5], [1, 4, 6], [5, 6], [5, 6]]
    >>> state = State.from_marks(row + [[1, 2, 3, 4, 5, 6]] * 30, latin(6))
    >>> print(available(state, "hidden-quad")[0])
    In row 1, 1, 2, 3 and 4 have places only in r1c1, r1c2, r1c3 and r1c4, which hold nothing
    else.
    """
    return _hidden_sentence(step)


@_cover("jellyfish", FISH, 4)
def jellyfish(step: Deduction) -> str:
    """A digit whose places in four rows lie in four columns is nowhere else in these.

    As the X-wing, with four lines.

    >>> from gridcrux.grids.layout import latin
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.techniques.solve import available
    >>> some, rest = [1, 2, 3, 4, 5], [2, 3, 4, 5]
    >>> rows = [some, some, rest, rest, rest] + [rest, some, some, rest, rest]
    >>> rows += [rest, rest, some, some, rest] + [some, rest, rest, some, rest]
    >>> print(available(State.from_marks(rows + [some] * 5, latin(5)), "jellyfish")[0])
    In rows 1, 2, 3 and 4, 1 has places only in columns 1, 2, 3 and 4, so no other cell of
    columns 1, 2, 3 and 4 is 1.
    """
    return _fish_sentence(step)


TECHNIQUES = (
    pointing,
    claiming,
    naked_pair,
    hidden_pair,
    x_wing,
    naked_triple,
    hidden_triple,
    swordfish,
    naked_quad,
    hidden_quad,
    jellyfish,
)
