"""Which halves of the rules define a puzzle, tried out, and how an encoding is named."""

from __future__ import annotations

import subprocess
import sys
from itertools import product

import pytest
from pysat.solvers import Solver

from gridcrux.encodings import ENCODINGS, get_encoding
from gridcrux.encodings.at_most_one import AT_MOST_ONE
from gridcrux.encodings.clausal import EXTENDED, MINIMAL, Encoding
from gridcrux.grids.layout import NINE, Layout, boxes, latin, regions

HALVES = list(product((False, True), repeat=4))
DEFINING = [halves for halves in HALVES if all(halves[:2]) or all(halves[2:])]


def broken(layout: Layout, true: set[int]) -> list[str]:
    """The rules of which not exactly one candidate is true."""
    mask = sum(1 << variable - 1 for variable in true)
    return [rule.name for rule in layout.rules if (rule.mask & mask).bit_count() != 1]


def has_false_model(layout: Layout, halves: tuple[bool, ...]) -> bool:
    """Whether clauses from the definition, of these halves alone, are met by something else.

    Asks for a model in which a rule is broken, one rule and one way after the other.
    """
    n, cells = layout.size, layout.cells
    some_cell, house_once, cell_once, some_house = halves
    cell_rules = [[d * cells + c + 1 for d in range(n)] for c in range(cells)]
    house_rules = [[d * cells + c + 1 for c in h.cells] for h in layout.houses for d in range(n)]
    clauses: list[list[int]] = []
    for rules, some, once in (
        (cell_rules, some_cell, cell_once),
        (house_rules, some_house, house_once),
    ):
        for rule in rules:
            clauses += [list(rule)] if some else []
            clauses += [[-x, -y] for x in rule for y in rule if x < y] if once else []
    with Solver("minisat22", bootstrap_with=clauses) as solver:
        for rule in cell_rules + house_rules:
            if solver.solve(assumptions=[-x for x in rule]):
                return True
            if any(solver.solve(assumptions=[x, y]) for x in rule for y in rule if x < y):
                return True
    return False


@pytest.mark.parametrize("layout", [boxes(2, 2), latin(3), regions("AAB ABB CCC", "jagged")])
@pytest.mark.parametrize("halves", HALVES)
def test_halves_define_the_puzzle_or_are_refused(layout: Layout, halves: tuple[bool, ...]) -> None:
    """All sixteen sets: those with a model that is no solution are those that are refused."""
    assert has_false_model(layout, halves) is (halves not in DEFINING)
    if halves in DEFINING:
        Encoding(*halves)
    else:
        with pytest.raises(ValueError, match="do not define the puzzle"):
            Encoding(*halves)


ALL = set(range(1, 65))


@pytest.mark.parametrize(
    ("halves", "reason", "model"),
    [
        ((False, True, True, False), "the empty grid would be", set()),
        ((False, False, False, False), "the empty grid would be", set()),
        ((True, False, False, True), "all digits in every cell would be", ALL),
        ((True, False, True, False), "the same digit in all cells would be", set(range(1, 17))),
        (
            (False, True, False, True),
            "all digits in the same n cells would be",
            {
                16 * digit + 4 * row + column + 1
                for digit in range(4)
                for row, column in enumerate((0, 2, 1, 3))
            },
        ),
    ],
)
def test_refusal_says_what_would_be_a_solution(
    halves: tuple[bool, ...], reason: str, model: set[int]
) -> None:
    """And that is a model of those halves, and no solution."""
    with pytest.raises(ValueError, match=reason):
        Encoding(*halves)
    layout = boxes(2, 2)
    assert broken(layout, model)
    cells, houses = layout.rules[:16], layout.rules[16:]
    mask = sum(1 << variable - 1 for variable in model)
    for wanted, rules, some in zip(
        halves, (cells, houses, cells, houses), (1, 0, 0, 1), strict=True
    ):
        if wanted:
            numbers = [(rule.mask & mask).bit_count() for rule in rules]
            assert min(numbers) >= 1 if some else max(numbers) <= 1


def test_halves_are_blocks_of_the_extended_encoding() -> None:
    """In one order, so that every set is the extended encoding without the other blocks."""
    layout = boxes(2, 3)
    cells, houses = layout.cells, len(layout.rules) - layout.cells
    lengths = (cells, houses * 15, cells * 15, houses)
    starts = [sum(lengths[:k]) for k in range(5)]
    whole = EXTENDED(layout).clauses
    assert starts[4] == len(whole)
    for halves in DEFINING:
        blocks = [whole[starts[k] : starts[k + 1]] for k in range(4) if halves[k]]
        assert Encoding(*halves)(layout).clauses == tuple(c for block in blocks for c in block)


def test_names() -> None:
    assert MINIMAL is not EXTENDED
    assert MINIMAL == ENCODINGS["minimal"] == get_encoding("minimal-pairwise")
    assert EXTENDED == ENCODINGS["extended"] == Encoding()
    assert ENCODINGS["dual"] == Encoding(cells_some=False, houses_not_two=False)
    assert ENCODINGS["minimal-exact-cells"] == Encoding(houses_some=False)
    assert ENCODINGS["minimal-exact-houses"] == Encoding(cells_not_two=False)
    assert ENCODINGS["dual-exact-cells"] == Encoding(houses_not_two=False)
    assert ENCODINGS["dual-exact-houses"] == Encoding(cells_some=False)
    assert len(ENCODINGS) == len(DEFINING) == 7
    assert MINIMAL(NINE).name == "minimal 3x3"


@pytest.mark.parametrize("way", AT_MOST_ONE)
@pytest.mark.parametrize("halves", ENCODINGS)
def test_every_name_is_read_back(halves: str, way: str) -> None:
    encoding = get_encoding(f"{halves}-{way}")
    assert encoding.at_most_one == way
    assert encoding.name == (halves if way == "pairwise" else f"{halves}-{way}")
    assert get_encoding(encoding.name) == encoding


@pytest.mark.parametrize("name", ["", "maximal", "extended-", "-ladder", "ladder", "extended-rope"])
def test_unknown_name_is_told_what_there_is(name: str) -> None:
    with pytest.raises(
        ValueError, match=f"'{name}'.*minimal, .*extended.*extended-ladder.*product"
    ):
        get_encoding(name)


def test_unknown_at_most_one() -> None:
    with pytest.raises(ValueError, match="'rope'; there are pairwise, sequential"):
        Encoding(at_most_one="rope")


def test_solvers_are_imported_only_when_asked_for() -> None:
    code = (
        "import sys, gridcrux.encodings, gridcrux.encodings.cp, gridcrux.encodings.sizes;"
        "print([m for m in ('pysat', 'ortools', 'numba', 'pandas') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
