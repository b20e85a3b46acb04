"""The published clause counts, family by family, and the forms a formula is handed out in."""

from __future__ import annotations

from itertools import combinations

import pytest
from pysat.formula import CNF

from gridcrux.encodings import get_encoding
from gridcrux.encodings.clausal import EXTENDED, MINIMAL
from gridcrux.encodings.cnf import Cnf, givens_as_units, reduced
from gridcrux.grids.layout import NINE, boxes, latin
from gridcrux.grids.state import State

# Called the hardest in Ercsey-Ravasz & Toroczkai, "The chaos within Sudoku", 2012.
HARD = "000000012000000003002300400001800005060070800000009000008500000900040500470006000"


def puzzle(text: str) -> State:
    return State.from_digits([int(mark) for mark in text])


def test_published_numbers_of_clauses() -> None:
    """Lynce & Ouaknine, "Sudoku as a SAT problem", ISAIM 2006."""
    assert len(MINIMAL(NINE).clauses) == 8_829
    assert len(EXTENDED(NINE).clauses) == 11_988
    assert MINIMAL(NINE).variables == EXTENDED(NINE).variables == 729


def test_distinct_clauses() -> None:
    """1,458 clauses stand twice and none three times, recomputed from the definition."""
    assert len(MINIMAL(NINE).distinct().clauses) == 7_371
    assert len(EXTENDED(NINE).distinct().clauses) == 10_530
    assert set(EXTENDED(NINE).clauses) == set(EXTENDED(NINE).distinct().clauses)


def test_clauses_without_repetition_by_sign() -> None:
    """TPTP problem PUZ006+0: 10,206 negative and 324 positive clauses."""
    clauses = EXTENDED(NINE).distinct().clauses
    assert sum(all(literal > 0 for literal in clause) for clause in clauses) == 324
    assert sum(all(literal < 0 for literal in clause) for clause in clauses) == 10_206


def test_clauses_are_those_of_the_formulas_in_the_article() -> None:
    """Built again from row, column and digit, as the article writes them down."""

    def s(row: int, column: int, digit: int) -> int:
        return digit * 81 + row * 9 + column + 1

    n, three = range(9), range(3)
    cells = [tuple(s(x, y, z) for z in n) for x in n for y in n]
    rows = [(-s(x, y, z), -s(x, i, z)) for z in n for x in n for y, i in combinations(n, 2)]
    columns = [(-s(x, y, z), -s(i, y, z)) for z in n for y in n for x, i in combinations(n, 2)]
    in_box = [(x, y) for x in three for y in three]
    boxed = [
        (-s(3 * i + x, 3 * j + y, z), -s(3 * i + k, 3 * j + m, z))
        for z in n
        for i in three
        for j in three
        for (x, y), (k, m) in combinations(in_box, 2)
    ]
    assert sorted(MINIMAL(NINE).clauses) == sorted(cells + rows + columns + boxed)
    one_digit = [(-s(x, y, z), -s(x, y, i)) for x in n for y in n for z, i in combinations(n, 2)]
    places = [tuple(s(x, y, z) for y in n) for x in n for z in n]
    places += [tuple(s(x, y, z) for x in n) for y in n for z in n]
    places += [
        tuple(s(3 * i + x, 3 * j + y, z) for x, y in in_box)
        for i in three
        for j in three
        for z in n
    ]
    assert sorted(EXTENDED(NINE).clauses) == sorted([*MINIMAL(NINE).clauses, *one_digit, *places])


def test_latin_square_has_no_repetition() -> None:
    formula = EXTENDED(latin(5))
    assert formula.distinct().clauses == formula.clauses
    # 75 rules with one positive clause and 10 pairs each.
    assert len(formula.clauses) == 75 * 11


def test_reduced_formula_of_a_published_puzzle() -> None:
    """257 variables and 2,085 clauses, from the article of 2012 (from memory; recomputed)."""
    formula = reduced(EXTENDED(NINE), puzzle(HARD))
    assert formula.mentioned() == 257
    assert len(formula.clauses) == 2_085


def test_reduced_formula_of_a_complete_grid_is_empty() -> None:
    state = State.from_digits([1, 2, 3, 4, 3, 4, 1, 2, 2, 1, 4, 3, 4, 3, 2, 1])
    assert reduced(EXTENDED(state.layout), state).clauses == ()


def test_reduced_formula_shows_a_broken_rule() -> None:
    layout = boxes(2, 2)
    state = State.empty(layout).without(layout.rules[5].mask)
    assert () in reduced(MINIMAL(layout), state).clauses


def test_units_of_a_puzzle_are_its_givens() -> None:
    state = puzzle(HARD)
    expected = [((digit - 1) * 81 + cell + 1,) for cell, digit in enumerate(state.puzzle) if digit]
    assert sorted(givens_as_units(state)) == sorted(expected)
    assert len(expected) == 21


def test_units_name_what_else_is_closed() -> None:
    state = puzzle(HARD).without(1 << 728)
    assert state.open != puzzle(HARD).open
    assert givens_as_units(state) == (*givens_as_units(puzzle(HARD)), (-729,))


@pytest.mark.parametrize(
    "formula",
    [MINIMAL(boxes(2, 2)), EXTENDED(latin(3)), get_encoding("extended-sequential")(latin(3))],
)
def test_dimacs_is_read_back(formula: Cnf) -> None:
    text = formula.to_dimacs()
    told = "c variables from 28 on are auxiliary\n" if formula.auxiliary else ""
    assert text.startswith(f"c {formula.name}\n{told}p cnf {formula.variables} ")
    read = CNF(from_string=text)
    assert read.nv == formula.variables
    assert tuple(map(tuple, read.clauses)) == formula.clauses


def test_auxiliary_variables_stay_what_they_are() -> None:
    layout = boxes(2, 2)
    formula = get_encoding("minimal-ladder")(layout)
    assert (formula.candidates, formula.auxiliary) == (64, 48 * 5)
    state = State.empty(layout).with_placed(0).without(1 << 63)
    for other in (formula.distinct(), reduced(formula, state)):
        assert (other.candidates, other.auxiliary) == (64, 48 * 5)
    kept = {abs(x) for clause in reduced(formula, state).clauses for x in clause}
    assert kept >= set(range(65, formula.variables + 1))
    assert not kept & {abs(unit) for (unit,) in givens_as_units(state)}


def test_pysat_formula_keeps_unmentioned_variables() -> None:
    formula = Cnf("three of five", 5, ((1, -2), (3,)))
    assert formula.to_pysat().nv == 5
    assert formula.to_pysat().clauses == [[1, -2], [3]]
    assert formula.mentioned() == 3
