"""The search for the least representative of a set of givens: row by row, deciding late.

The search is depth-first, keeps the least rows found so far, and leaves a branch as soon as a
row is larger, so it needs room for one path only.  Choices between columns are made place by
place.  Blank rows and columns are never permuted; whoever counts ways multiplies by their
orders.

Where a second way gives the same rows, what follows the choice at which it parts from the first
way is the same on both sides, so the search goes on with the next option there.  A full row
without anything below thus takes n*n/2 descents, not n!.  The number of ways is the product over
the choices of the first way of the number of options that lead to the same rows, as they are
orbits under the automorphisms that keep the choices before.
"""

from __future__ import annotations

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.grids.canonical_rows import (
    BEYOND,
    CHOICES,
    NAMED,
    Digits,
    Sheet,
    least_lines,
    members_of,
    next_lines,
    sort_stacks,
)
from gridcrux.grids.inner import inner


@inner
def _take(sheet: Sheet, level: int, line: int) -> None:
    """Decide at the next level what a line that gives the best row decides; list the choices."""
    width, after, best = sheet.width, level + 1, sheet.best[level]
    n, named = best.size, sheet.counts[level, NAMED]
    sheet.taken[level] = line
    sheet.left[after] = sheet.left[level] & members_of(n, line // n) & ~(1 << line)
    sheet.used[after, 0] = 0
    for i in range(sheet.stacks.shape[1]):
        sheet.stacks[after, i] = sheet.stacks[level, i]
        sheet.free[after, i] = sheet.free[level, i]
    unnamed, most = 0, named
    for i in range(n):
        sheet.columns[after, i] = sheet.columns[level, i]
        sheet.names[after, i + 1] = sheet.names[level, i + 1]
        if sheet.names[level, sheet.lines[line, i]] == n + 1:
            unnamed |= 1 << i
        most = max(most, best[i])
    sheet.counts[after, NAMED] = most
    sheet.loose[after] = sheet.loose[level]
    loose = sort_stacks(sheet, level, line)
    choices = 0
    for position in range(sheet.stacks.shape[1]):
        first = position * width
        members = sheet.free[level, position]
        options = unnamed & members
        is_tied = False
        if position < loose:
            key = sheet.keys[position]
            if key == 0:
                continue
            stack = sheet.order[position]
            members = members_of(width, stack)
            options = unnamed & members
            sheet.loose[after] &= ~(1 << stack)
            sheet.stacks[after, position] = stack
            for i in range(loose):
                if i != position and sheet.keys[i] == key:
                    is_tied = True
                    sheet.stacks[after, position] = -1
                    options |= unnamed & members_of(width, sheet.order[i])
        blank, rest = 0, members
        while rest:
            column = lowest(rest)
            rest &= rest - 1
            name = sheet.names[level, sheet.lines[line, column]]
            if name == 0:
                blank |= 1 << column
            elif name <= n:
                place = first
                while best[place] != name:
                    place += 1
                sheet.columns[after, place] = column
        sheet.free[after, position] = blank
        for place in range(first, first + width):
            if best[place] <= named:
                continue
            if place < first + popcount(members):
                sheet.places[after, choices] = place
                sheet.options[after, choices] = options
                sheet.opens[after, choices] = is_tied
                is_tied = False
                choices += 1
            else:
                digit = sheet.lines[line, sheet.columns[after, place]]
                sheet.names[after, digit] = best[place]
    sheet.counts[after, CHOICES] = choices


@inner
def _columns_for(sheet: Sheet, level: int, choice: int) -> int:
    """The mask of the columns that a choice is left with by those before it."""
    options, used = sheet.options[level, choice], sheet.used[level, choice]
    if not sheet.opens[level, choice]:
        stack = sheet.stacks[level, sheet.places[level, choice] // sheet.width]
        return options & members_of(sheet.width, stack) & ~used
    for stack in range(sheet.stacks.shape[1]):
        members = members_of(sheet.width, stack)
        if used & members:
            options &= ~members
    return options


@inner
def _choose(sheet: Sheet, level: int, choice: int, column: int) -> None:
    """Put a column in its place, and name its digit."""
    place = sheet.places[level, choice]
    sheet.columns[level, place] = column
    digit = sheet.lines[sheet.taken[level - 1], column]
    sheet.names[level, digit] = sheet.best[level - 1, place]
    sheet.used[level, choice + 1] = sheet.used[level, choice] | 1 << column
    if sheet.opens[level, choice]:
        position, stack = place // sheet.width, column // sheet.width
        sheet.stacks[level, position] = stack
        members = members_of(sheet.width, stack)
        sheet.free[level, position] = members & ~sheet.options[level, choice]


@inner
def _unchoose(sheet: Sheet, level: int, choice: int) -> None:
    """Take the name back, so that nothing rests on it while another column is tried."""
    column = sheet.columns[level, sheet.places[level, choice]]
    digit = sheet.lines[sheet.taken[level - 1], column]
    sheet.names[level, digit] = sheet.names.shape[1]


@inner
def _is_hopeless(sheet: Sheet, level: int, choice: int) -> bool:
    """Whether no next row can be the best, judged by the places up to a choice just made.

    This cuts full rows short, which leave a choice at every place.
    """
    if level == sheet.taken.size or sheet.loose[level]:
        return False
    n, last = sheet.taken.size, sheet.places[level, choice]
    lines = next_lines(sheet, level)
    while lines:
        line = lowest(lines)
        lines &= lines - 1
        place = 0
        while True:
            if place > last or sheet.free[level, place // sheet.width]:
                return False
            value = sheet.names[level, sheet.lines[line, sheet.columns[level, place]]]
            least = sheet.best[level, place]
            if value == n + 1:
                value = sheet.best[level - 1, last] + 1
                if value <= least:
                    return False
            if value < least:
                return False
            if value > least:
                break
            place += 1
    return True


@inner
def _order_blanks(sheet: Sheet) -> None:
    """Say of each blank line which one has to be taken before it, so that one order is left."""
    height, n = sheet.height, sheet.taken.size
    last_band = -1
    for band in range(sheet.before.size // height):
        if band * height == n:
            last_band = -1
        last, blanks = -1, 0
        for line in range(band * height, (band + 1) * height):
            sheet.before[line] = -1
            givens = 0
            for i in range(n):
                givens += sheet.lines[line, i] != 0
            if givens == 0:
                sheet.before[line] = last
                last = line
                blanks += 1
        if blanks == height:
            sheet.before[band * height] = last_band
            last_band = last


@inner
def _start(sheet: Sheet, givens: Digits) -> None:
    """Forget everything, and read givens."""
    n = sheet.taken.size
    for row in range(n):
        sheet.best[row, 0] = BEYOND
        sheet.names[0, row + 1] = n + 1
        for column in range(n):
            sheet.lines[row, column] = givens[row * n + column]
            if sheet.lines.shape[0] > n:
                sheet.lines[n + column, row] = givens[row * n + column]
    for position in range(sheet.stacks.shape[1]):
        sheet.free[0, position] = 0
    sheet.left[0] = (1 << sheet.lines.shape[0]) - 1
    sheet.loose[0] = (1 << sheet.stacks.shape[1]) - 1
    sheet.counts[0, NAMED] = 0
    sheet.counts[0, CHOICES] = 0
    _order_blanks(sheet)


@inner
def _keep(sheet: Sheet, way: Digits) -> None:
    """Write which line, and which column, stands where, and count this way as the first."""
    n = sheet.taken.size
    sheet.orbits[:] = 1
    loose = sheet.loose[n]
    for i in range(n):
        way[i] = sheet.taken[i]
        way[n + i] = sheet.columns[n, i]
    for position in range(sheet.stacks.shape[1]):
        members = sheet.free[n, position]
        if loose:
            members = members_of(sheet.width, lowest(loose))
            loose &= loose - 1
        place = position * sheet.width
        while members:
            way[n + place] = lowest(members)
            members &= members - 1
            place += 1


@inner
def _parting(sheet: Sheet, way: Digits) -> tuple[int, int]:
    """Level and choice at which this way parts from the first."""
    n = sheet.taken.size
    for level in range(n + 1):
        choices = sheet.counts[level, CHOICES]
        for choice in range(choices):
            place = sheet.places[level, choice]
            if sheet.columns[level, place] != way[n + place]:
                return level, choice
        if sheet.taken[level] != way[level]:
            return level, int(choices)
    return n, 0


@inner
def least(sheet: Sheet, givens: Digits, way: Digits) -> None:
    """Find the least representative, which is `sheet.best` then; see also `sheet.orbits`.

    Parameters
    ----------
    givens : (n*n,) digits, 0 for a blank; no digit twice in a row or column.
    way : (2 n,) receives the lines and the columns in the order of the first way.
    """
    _start(sheet, givens)
    n, untried = sheet.taken.size, sheet.untried
    # A plain zero would have numba compile everything once more for that constant.
    level = choice = 0 * sheet.left[0]
    while True:
        if choice < sheet.counts[level, CHOICES]:
            untried[level, choice] = _columns_for(sheet, level, choice)
        elif level < n:
            untried[level, choice] = least_lines(sheet, level)
        elif sheet.orbits[0, 0] == 0:
            untried[level, choice] = 0
            _keep(sheet, way)
        else:
            level, parting = _parting(sheet, way)
            sheet.orbits[level, parting] += 1
            choice = sheet.counts[level, CHOICES]
            while choice > parting:
                choice -= 1
                _unchoose(sheet, level, choice)
        while True:
            rest = untried[level, choice]
            if rest == 0 and choice == 0 and level == 0:
                return
            if rest == 0 and choice == 0:
                level -= 1
                choice = sheet.counts[level, CHOICES]
                continue
            if rest == 0:
                choice -= 1
                _unchoose(sheet, level, choice)
                continue
            untried[level, choice] = rest & (rest - 1)
            if choice == sheet.counts[level, CHOICES]:
                _take(sheet, level, lowest(rest))
                level, choice = level + 1, 0
                break
            _choose(sheet, level, choice, lowest(rest))
            if not _is_hopeless(sheet, level, choice):
                choice += 1
                break
            _unchoose(sheet, level, choice)
