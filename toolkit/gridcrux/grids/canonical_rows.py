"""The least row that a line of givens can give after the rows above it.

Givens fix a column only once they tell it from its neighbours.  As blanks come first, the
columns of a stack that are blank in all rows so far stand first in it, in no order yet (they
are free), and the stacks that are blank so far stand before the others (they are loose).  So
the least line that a row can give is found by sorting: blanks, then digits that have a name,
then the others, which take the next names as they come.  A choice is left only where several
digits without a name stand in columns or stacks that nothing tells apart.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from gridcrux.grids.bitwise import lowest
from gridcrux.grids.inner import inner

Digits = NDArray[np.int8]
Masks = NDArray[np.int64]

BEYOND = 127
"""Stands in the best rows where none is known yet; more than any name."""


class Sheet(NamedTuple):
    """What a search works on: n rows in bands of `height`, s stacks of `width` columns.

    The lines are the rows, and if the transpose counts too, the columns behind them.
    Level k is what is decided after k rows.

    Attributes
    ----------
    lines : (n or 2 n, n) the givens line by line, 0 for a blank.
    before : (n or 2 n,) the line that has to be taken before this one, both being blank; else -1.
    best : (n, n) the least rows so far.
    taken : (n,) line taken at each level.
    columns : (n + 1, n) column at each place, where it is fixed.
    stacks : (n + 1, s) stack at each position behind the loose ones; -1 for a choice still open.
    names : (n + 1, n + 1) name of each digit; 0 for blanks, n + 1 where there is none yet.
    places : (n + 1, n) places at which the row taken last left a choice.
    opens : (n + 1, n) whether that choice is also one between stacks.
    counts : (n + 1, 2) `NAMED`, the names given, and `CHOICES`, the choices that were left.
    left : (n + 1,) mask of the lines not taken.
    loose : (n + 1,) mask of the loose stacks.
    free : (n + 1, s) mask of the free columns in the stack at each position.
    options : (n + 1, n) mask of the columns that may stand at each of `places`.
    untried : (n + 1, n + 1) mask of those to be tried; behind the last choice, of the next lines.
    used : (n + 1, n + 1) mask of the columns chosen before.
    orbits : (n + 1, n + 1) for each choice of the first way to `best`, how many options lead there.
    values, order, keys : (n,) room for sorting columns of a stack, and loose stacks.
    """

    height: int
    width: int
    lines: Digits
    before: Digits
    best: Digits
    taken: Digits
    columns: Digits
    stacks: Digits
    names: Digits
    places: Digits
    opens: Digits
    counts: Digits
    left: Masks
    loose: Masks
    free: Masks
    options: Masks
    untried: Masks
    used: Masks
    orbits: Digits
    values: Digits
    order: Digits
    keys: Masks


NAMED, CHOICES = range(2)
"""Columns of `Sheet.counts`."""


def new_sheet(n: int, height: int, width: int, turns: bool) -> Sheet:
    """Room for a search; `turns` says whether the transpose counts too."""

    def digits(*shape: int) -> Digits:
        return np.zeros(shape, np.int8)

    def masks(*shape: int) -> Masks:
        return np.zeros(shape, np.int64)

    lines, levels, stacks = n * (1 + turns), n + 1, n // width
    return Sheet(
        height,
        width,
        lines=digits(lines, n),
        before=digits(lines),
        best=digits(n, n),
        taken=digits(n),
        columns=digits(levels, n),
        stacks=digits(levels, stacks),
        names=digits(levels, n + 1),
        places=digits(levels, n),
        opens=digits(levels, n),
        counts=digits(levels, 2),
        left=masks(levels),
        loose=masks(levels),
        free=masks(levels, stacks),
        options=masks(levels, n),
        untried=masks(levels, n + 1),
        used=masks(levels, n + 1),
        orbits=digits(levels, n + 1),
        values=digits(n),
        order=digits(n),
        keys=masks(n),
    )


@inner
def members_of(width: int, stack: int) -> int:
    """The mask of the columns of a stack, or of the lines of a band."""
    return ((1 << width) - 1) << (stack * width)


@inner
def _sort_columns(sheet: Sheet, level: int, line: int, columns: int) -> int:
    """Put the names in some columns of a line in order; how many there are."""
    values = sheet.values
    count = 0
    while columns:
        value = sheet.names[level, sheet.lines[line, lowest(columns)]]
        columns &= columns - 1
        i = count
        while i > 0 and values[i - 1] > value:
            values[i] = values[i - 1]
            i -= 1
        values[i] = value
        count += 1
    return count


@inner
def sort_stacks(sheet: Sheet, level: int, line: int) -> int:
    """Put the loose stacks in the order in which a line is least; how many there are."""
    order, keys = sheet.order, sheet.keys
    loose = sheet.loose[level]
    count = 0
    while loose:
        stack = lowest(loose)
        loose &= loose - 1
        key = 0
        for i in range(_sort_columns(sheet, level, line, members_of(sheet.width, stack))):
            key = key << 5 | sheet.values[i]
        i = count
        while i > 0 and keys[i - 1] > key:
            keys[i], order[i] = keys[i - 1], order[i - 1]
            i -= 1
        keys[i], order[i] = key, stack
        count += 1
    return count


@inner
def _compare(sheet: Sheet, level: int, line: int) -> int:
    """Whether a line at this level is less (-1) than the best, equal (0) or more (1).

    If it is less, it becomes the best.
    """
    width, unnamed = sheet.width, sheet.names.shape[1]
    loose = sort_stacks(sheet, level, line)
    named = sheet.counts[level, NAMED]
    less = False
    for position in range(sheet.stacks.shape[1]):
        if position < loose:
            members = members_of(width, sheet.order[position])
        else:
            members = sheet.free[level, position]
        free = _sort_columns(sheet, level, line, members)
        for i in range(width):
            place = position * width + i
            if i < free:
                value = sheet.values[i]
            else:
                value = sheet.names[level, sheet.lines[line, sheet.columns[level, place]]]
            if value == unnamed:
                named += 1
                value = named
            if not less:
                if value > sheet.best[level, place]:
                    return 1
                less = value < sheet.best[level, place]
            if less:
                sheet.best[level, place] = value
    return -1 if less else 0


@inner
def next_lines(sheet: Sheet, level: int) -> int:
    """The mask of the lines that may come next."""
    if level % sheet.height == 0:
        return sheet.left[level]
    return sheet.left[level] & members_of(sheet.height, sheet.taken[level - 1] // sheet.height)


@inner
def least_lines(sheet: Sheet, level: int) -> int:
    """The mask of the next lines that give the best row, which may become less by them."""
    lines, left = next_lines(sheet, level), sheet.left[level]
    found = 0
    while lines:
        line = lowest(lines)
        lines &= lines - 1
        before = sheet.before[line]
        if before >= 0 and left >> before & 1:
            continue
        compared = _compare(sheet, level, line)
        if compared < 0:
            found = 0
            sheet.orbits[0, 0] = 0
            if level + 1 < sheet.taken.size:
                sheet.best[level + 1, 0] = BEYOND
        if compared <= 0:
            found |= 1 << line
    return found
