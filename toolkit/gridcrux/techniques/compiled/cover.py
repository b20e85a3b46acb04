"""Compiled finders of singles and of the cover family: each writes what it finds as records.

A finder writes at most `limit` records from row `row` on and returns how many it wrote: one
when a route takes its next step, all of them when the alternatives are listed.  It changes
nothing on the board but the notes of where there is nothing to find.

A *matrix* is n base rules crossed by n cover rules such that the candidate of a base at
position j belongs to cover j.  Cells against digits of a house, digits against cells of a
house, and rows against columns for a digit are three shapes of the same thing, which is why
one search finds naked sets, hidden sets and fish.
"""

from __future__ import annotations

from numba import njit

from gridcrux.grids.bitwise import lowest, popcount
from gridcrux.logic.records import PLACES, REMOVES, TECHNIQUE
from gridcrux.techniques.compiled.board import (
    CHANGED,
    CHOSEN,
    CLOCK,
    FACTS,
    FORBIDDEN,
    FULL,
    GUARD,
    LINES,
    MASKS,
    READY,
    ROWS,
    SEEN,
    TARGETS,
    UNIONS,
    WRITTEN,
    bit,
    seen_at,
)
from gridcrux.techniques.compiled.notes import add_premise, begin
from gridcrux.techniques.compiled.shapes import (
    CLAIMING,
    FISH,
    FULL_HOUSE,
    HIDDEN,
    HIDDEN_SINGLE,
    NAKED,
    NAKED_SINGLE,
    POINTING,
    SIZES,
)
from gridcrux.techniques.compiled.tables import (
    BLOCK,
    INSIDE,
    OTHER,
    OUTSIDE,
    Ints,
    Tables,
)


@njit(cache=True)
def next_member(board: Ints, section: int, start: int, stop: int) -> int:
    """The lowest member of a set that is at least `start` and below `stop`, or -1."""
    if start >= stop:
        return -1
    word = start >> 6
    left = board[section, word] & ~(bit(start) - 1)
    while not left:
        word += 1
        if word << 6 >= stop:
            return -1
        left = board[section, word]
    member = (word << 6) + lowest(left)
    return member if member < stop else -1


@njit(cache=True)
def record_placement(
    tables: Tables, technique: int, rule: int, position: int, records: Ints, row: int
) -> None:
    """The rule has no other candidate left than the one at this position, so it is true."""
    candidate = tables.candidates[rule, position]
    records[row, TECHNIQUE] = technique
    records[row, PLACES] = candidate
    words = tables.rules.shape[1]
    for word in range(REMOVES + 2 * words, records.shape[1]):
        records[row, word] = 0
    records[row, REMOVES + 2 * words + (rule >> 6)] = bit(rule)
    for word in range(words):
        records[row, REMOVES + word] = tables.conflicts[candidate, word]
        records[row, REMOVES + words + word] = tables.rules[rule, word]
    records[row, REMOVES + words + (candidate >> 6)] &= ~bit(candidate)


@njit(cache=True)
def find_full_houses(
    tables: Tables, board: Ints, technique: int, barred: int, records: Ints, row: int, limit: int
) -> int:
    """Houses with one cell to fill; `barred` is a rule not to be used."""
    found = 0
    house = next_member(board, FULL, 0, tables.houses)
    while house >= 0 and found < limit:
        first = tables.cells + house * tables.size
        for position in range(tables.size):
            cell = tables.candidates[first, position]
            mask = board[MASKS, cell]
            if mask and not board[WRITTEN, cell]:
                rule = first + lowest(mask)
                if rule != barred:
                    record_placement(tables, technique, rule, position, records, row + found)
                    found += 1
        house = next_member(board, FULL, house + 1, tables.houses)
    return found


@njit(cache=True)
def find_singles(
    tables: Tables,
    board: Ints,
    technique: int,
    first: int,
    last: int,
    barred: int,
    records: Ints,
    row: int,
    limit: int,
) -> int:
    """Rules from `first` up to `last` with one candidate left; `barred` is not to be used."""
    found = 0
    rule = next_member(board, READY, first, last)
    while rule >= 0 and found < limit:
        mask = board[MASKS, rule]
        if mask and rule != barred:
            record_placement(tables, technique, rule, lowest(mask), records, row + found)
            found += 1
        rule = next_member(board, READY, rule + 1, last)
    return found


@njit(cache=True)
def add_cover(tables: Tables, rule: int, records: Ints, row: int) -> None:
    """Note the candidates of a cover in `removes`."""
    for word in range(tables.rules.shape[1]):
        records[row, REMOVES + word] |= tables.rules[rule, word]


@njit(cache=True)
def finish_cover(tables: Tables, board: Ints, records: Ints, row: int) -> None:
    """Turn the candidates of the covers and of the bases into what is excluded and relied on.

    What is in the covers and not in the bases is false, given that no base leaves the covers.
    """
    words = tables.rules.shape[1]
    for word in range(words):
        covers, bases = records[row, REMOVES + word], records[row, REMOVES + words + word]
        records[row, REMOVES + word] = covers & ~bases & ~board[FORBIDDEN, word]
        records[row, REMOVES + words + word] = bases & ~covers


@njit(cache=True)
def find_locked(
    tables: Tables, board: Ints, technique: int, shape: int, records: Ints, row: int, limit: int
) -> int:
    """Digits of a house whose open places, two or more, all lie in another house."""
    n, crossings = tables.size, tables.crossings
    found = 0
    for house in range(tables.houses):
        seen = seen_at(tables, shape, 1, house)
        if board[SEEN, seen] >= board[CHANGED, house]:
            continue
        if tables.boxed[house] != (shape == POINTING):
            continue
        before = found
        for rule in range(tables.cells + house * n, tables.cells + house * n + n):
            mask = board[MASKS, rule]
            j = 0
            while mask & (mask - 1) and crossings[house, j, OTHER] >= 0:
                if not mask & ~crossings[house, j, INSIDE]:
                    cover = rule + (crossings[house, j, OTHER] - house) * n
                    loses = board[MASKS, cover] & board[GUARD, cover]
                    if loses & crossings[house, j, OUTSIDE]:
                        begin(records, row + found, technique)
                        add_premise(tables, rule, records, row + found)
                        add_cover(tables, cover, records, row + found)
                        finish_cover(tables, board, records, row + found)
                        found += 1
                        if found == limit:
                            return found
                j += 1
        if found == before:
            board[SEEN, seen] = board[FACTS, CLOCK]
    return found


@njit(cache=True)
def base_rule(tables: Tables, shape: int, matrix: int, line: int) -> int:
    """A base of a matrix.

    Matrix h of a naked or hidden shape is house h, its bases the cells or the digits.  Matrix
    2d of the fish is digit d in the rows, 2d + 1 in the columns.
    """
    n = tables.size
    if shape == NAKED:
        return tables.candidates[tables.cells + matrix * n, line]
    if shape == HIDDEN:
        return tables.cells + matrix * n + line
    return tables.cells + ((matrix & 1) * n + line) * n + (matrix >> 1)


@njit(cache=True)
def cover_rule(tables: Tables, shape: int, matrix: int, position: int) -> int:
    """A cover of a matrix: a base of the matrix that crosses it."""
    if shape == NAKED:
        return base_rule(tables, HIDDEN, matrix, position)
    if shape == HIDDEN:
        return base_rule(tables, NAKED, matrix, position)
    return base_rule(tables, FISH, matrix ^ 1, position)


@njit(cache=True)
def record_matrix(
    tables: Tables, board: Ints, technique: int, matrix: int, records: Ints, row: int
) -> None:
    """The chosen lines of a matrix as premises, the positions they share as covers."""
    shape, size = technique // SIZES, technique % SIZES
    begin(records, row, technique)
    for depth in range(size):
        line = board[LINES, board[CHOSEN, depth]]
        add_premise(tables, base_rule(tables, shape, matrix, line), records, row)
    left = board[UNIONS, size]
    while left:
        position = lowest(left)
        left &= left - 1
        if shape == NAKED:
            add_common_covers(tables, board, matrix, size, position, records, row)
        else:
            add_cover(tables, cover_rule(tables, shape, matrix, position), records, row)
    finish_cover(tables, board, records, row)


@njit(cache=True)
def add_common_covers(
    tables: Tables, board: Ints, matrix: int, size: int, digit: int, records: Ints, row: int
) -> None:
    """Cover a digit in every house that contains all cells chosen from a naked matrix."""
    links = tables.links
    first = base_rule(tables, NAKED, matrix, board[LINES, board[CHOSEN, 0]])
    # The number of a cell is that of digit 0 in it.
    for j in range(1, links.shape[1]):
        house = links[first, j, BLOCK]
        shared = 0
        for depth in range(size):
            cell = base_rule(tables, NAKED, matrix, board[LINES, board[CHOSEN, depth]])
            for i in range(1, links.shape[1]):
                if links[cell, i, BLOCK] == house:
                    shared += 1
        if house >= 0 and shared == size:
            add_cover(tables, tables.cells + house * tables.size + digit, records, row)


@njit(cache=True)
def others_lose(board: Ints, n: int, size: int, positions: int) -> bool:
    """Whether a line that is not chosen has one of the positions, and may lose it."""
    depth = 0
    for line in range(n):
        if depth < size and board[LINES, board[CHOSEN, depth]] == line:
            depth += 1
        elif board[TARGETS, line] & positions:
            return True
    return False


@njit(cache=True)
def search_matrix(
    tables: Tables, board: Ints, technique: int, matrix: int, records: Ints, row: int, limit: int
) -> int:
    """Sets of lines, in lexicographic order, that share as many positions as they are.

    A line counts with two open positions or more: with one it is a single, and a set with a
    single in it is a smaller set.  Some other line must have something left to lose.
    """
    n = tables.size
    shape, size = technique // SIZES, technique % SIZES
    count = 0
    for line in range(n):
        rule = base_rule(tables, shape, matrix, line)
        mask = board[MASKS, rule]
        board[TARGETS, line] = mask & board[GUARD, rule]
        if mask & (mask - 1) and popcount(mask) <= size:
            board[ROWS, count] = mask
            board[LINES, count] = line
            count += 1
    found = 0
    depth = 0 if count >= size else -1
    board[CHOSEN, 0] = -1
    board[UNIONS, 0] = 0
    while depth >= 0:
        choice = board[CHOSEN, depth] + 1
        board[CHOSEN, depth] = choice
        if choice > count - size + depth:
            depth -= 1
            continue
        union = board[UNIONS, depth] | board[ROWS, choice]
        if popcount(union) > size:
            continue
        board[UNIONS, depth + 1] = union
        if depth + 1 < size:
            depth += 1
            board[CHOSEN, depth] = choice
        elif popcount(union) == size and others_lose(board, n, size, union):
            record_matrix(tables, board, technique, matrix, records, row + found)
            found += 1
            if found == limit:
                break
    return found


@njit(cache=True)
def find_in_matrices(
    tables: Tables, board: Ints, technique: int, records: Ints, row: int, limit: int
) -> int:
    """Naked sets, hidden sets or fish, lowest matrix first.

    A matrix whose block has not changed since nothing was found in it is passed over.
    """
    shape, size = technique // SIZES, technique % SIZES
    found = 0
    for matrix in range(2 * tables.size if shape == FISH else tables.houses):
        seen = seen_at(tables, shape, size, matrix)
        block = tables.houses + (matrix >> 1) if shape == FISH else matrix
        if board[SEEN, seen] >= board[CHANGED, block]:
            continue
        here = search_matrix(tables, board, technique, matrix, records, row + found, limit - found)
        found += here
        if found == limit:
            break
        if not here:
            board[SEEN, seen] = board[FACTS, CLOCK]
    return found


@njit(cache=True)
def find_first_family(
    tables: Tables, board: Ints, technique: int, barred: int, records: Ints, row: int, limit: int
) -> int:
    """Find deductions of any technique in this file; `barred` as in `driver.find`."""
    shape = technique // SIZES
    if shape == FULL_HOUSE:
        return find_full_houses(tables, board, technique, barred, records, row, limit)
    if shape == HIDDEN_SINGLE or shape == NAKED_SINGLE:
        first = tables.cells if shape == HIDDEN_SINGLE else 0
        last = tables.rules.shape[0] if shape == HIDDEN_SINGLE else tables.cells
        return find_singles(tables, board, technique, first, last, barred, records, row, limit)
    if shape == POINTING or shape == CLAIMING:
        return find_locked(tables, board, technique, shape, records, row, limit)
    return find_in_matrices(tables, board, technique, records, row, limit)
