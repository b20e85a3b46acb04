"""Each way to write at-most-one says that and no more, and has the size that its source gives."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations, product
from math import ceil, isqrt, log2

import pytest
from pysat.solvers import Solver

from gridcrux.encodings.at_most_one import AT_MOST_ONE, AtMostOne


@pytest.fixture(params=AT_MOST_ONE)
def write(request: pytest.FixtureRequest) -> AtMostOne:
    return AT_MOST_ONE[request.param]


def sizes(name: str, n: int) -> tuple[int, int]:
    clauses, auxiliary = AT_MOST_ONE[name](range(1, n + 1), n + 1)
    return len(clauses), auxiliary


@pytest.mark.parametrize("n", range(11))
def test_all_assignments(write: AtMostOne, n: int) -> None:
    """Those with at most one true literal can be continued to the auxiliary variables."""
    literals = [2 * k + 1 if k % 3 else -(2 * k + 1) for k in range(n)]
    clauses, _ = write(literals, 50)
    with Solver("minisat22", bootstrap_with=clauses) as solver:
        for signs in product((-1, 1), repeat=n):
            chosen = [sign * literal for sign, literal in zip(signs, literals, strict=True)]
            assert solver.solve(assumptions=chosen) is (signs.count(1) <= 1)


@pytest.mark.parametrize("n", [1, 2, 9, 16, 25, 49])
def test_propagation_from_one_true_literal(write: AtMostOne, n: int) -> None:
    """As much as pairwise: all others are false; and none is, while no literal is true."""
    literals = list(range(1, n + 1))
    clauses, _ = write(literals, n + 1)
    with Solver("minisat22", bootstrap_with=clauses) as solver:
        consistent, implied = solver.propagate()
        assert consistent
        assert not set(map(abs, implied)) & set(literals)
        assert solver.solve(assumptions=[-literal for literal in literals])
        for one in literals:
            consistent, implied = solver.propagate([one])
            assert consistent
            assert {x for x in implied if abs(x) <= n} >= {-x for x in literals if x != one}
            assert solver.solve(assumptions=[one])
        for pair in combinations(literals, 2):
            assert not solver.solve(assumptions=pair)


@pytest.mark.parametrize("n", [0, 1, 2, 3, 6, 7, 10, 25])
def test_auxiliary_variables_are_those_that_were_free(write: AtMostOne, n: int) -> None:
    literals = [3 * k + 2 for k in range(n)]
    clauses, auxiliary = write(literals, 1000)
    used = {abs(literal) for clause in clauses for literal in clause}
    assert used - set(literals) == set(range(1000, 1000 + auxiliary))
    assert n < 2 or used >= set(literals)
    assert write(literals, 1000) == (clauses, auxiliary)
    assert all(isinstance(clause, tuple) for clause in clauses)


@pytest.mark.parametrize("n", [7, 8, 9, 10, 16, 25])
def test_what_decides_the_auxiliary_variables(n: int) -> None:
    """Commanders follow from their groups; rows and columns from the literal that is true."""
    for name, first in (("commander", 0), ("product", 1)):
        clauses, auxiliary = AT_MOST_ONE[name](range(1, n + 1), n + 1)
        with Solver("minisat22", bootstrap_with=clauses) as solver:
            for one in range(first, n + 1):
                _, implied = solver.propagate([k if k == one else -k for k in range(1, n + 1)])
                assert set(map(abs, implied)) == set(range(1, n + auxiliary + 1))
                assert any(literal > n for literal in implied) is (one > 0)


SOURCES: dict[str, Callable[[int], tuple[int, int]]] = {
    "pairwise": lambda n: (n * (n - 1) // 2, 0),
    # Sinz, "Towards an optimal CNF encoding of Boolean cardinality constraints", CP 2005.
    "sequential": lambda n: (3 * n - 4, n - 1),
    # Prestwich, "CNF encodings", Handbook of Satisfiability, 2009.
    "bitwise": lambda n: (n * ceil(log2(n)), ceil(log2(n))),
    # Gent & Nightingale, "A new encoding of AllDifferent into SAT", 2004: exactly one of m values
    # has m - 1 variables in m - 2 clauses, and 3 m - 2 that link them; m is n + 1, for none.
    "ladder": lambda n: ((n - 1) + 3 * (n + 1) - 2, n + 1),
    # Measured; a totalizer of sums up to two, in which each input costs the same.
    "k-modulo-totalizer": lambda n: (4 * n - 4, 2 * n - 2),
}


@pytest.mark.parametrize("name", SOURCES)
@pytest.mark.parametrize("n", [3, 4, 5, 6, 7, 9, 10, 16, 25, 40])
def test_sizes_in_the_sources(name: str, n: int) -> None:
    assert sizes(name, n) == SOURCES[name](n)


@pytest.mark.parametrize("n", [3, 4, 5, 6, 9, 16, 25])
def test_totalizer_is_a_tree_of_unary_sums(n: int) -> None:
    """Bailleux & Boufkhad, CP 2003: a + b outputs over a and b inputs, (a+1)(b+1) - 1 clauses."""

    def tree(leaves: int) -> tuple[int, int]:
        if leaves == 1:
            return 0, 0
        a, b = leaves // 2, leaves - leaves // 2
        (left, more), (right, further) = tree(a), tree(b)
        return left + right + (a + 1) * (b + 1) - 1, more + further + leaves

    clauses, auxiliary = tree(n)
    assert sizes("totalizer", n) == (clauses + 1, auxiliary)


@pytest.mark.parametrize("power", [2, 3, 4, 5])
def test_networks_have_three_clauses_and_two_outputs_a_comparator(power: int) -> None:
    """Batcher 1968 has (p*p - p + 4) 2^(p-2) - 1 comparators for 2^p inputs; with the larger two
    outputs alone, as Asin et al. (SAT 2009) keep them, 2n - 3 are left."""
    n = 2**power
    sorting = (power * power - power + 4) * n // 4 - 1
    assert sizes("sorting-network", n) == (3 * sorting + 1, 2 * sorting)
    assert sizes("cardinality-network", n) == (3 * (2 * n - 3) + 1, 2 * (2 * n - 3))


@pytest.mark.parametrize(("n", "expected"), [(9, (24, 6)), (16, (44, 8)), (25, (70, 10))])
def test_product_by_hand(n: int, expected: tuple[int, int]) -> None:
    """A square with side s: 2n clauses to rows and columns, and s(s - 1)/2 for each of the two."""
    side = isqrt(n)
    assert sizes("product", n) == expected == (2 * n + side * (side - 1), 2 * side)


@pytest.mark.parametrize("side", [7, 10, 30, 49, 100, 150])
def test_product_grows_as_in_its_source(side: int) -> None:
    """Chen: 2n + 4 sqrt(n) + O(n^(1/4)) clauses and 2 sqrt(n) + O(n^(1/4)) variables."""
    clauses, auxiliary = sizes("product", side * side)
    assert 0 <= clauses - 2 * side * side - 4 * side <= 12 * side**0.5
    assert 0 <= auxiliary - 2 * side <= 8 * side**0.5


@pytest.mark.parametrize("power", [2, 3, 4, 5, 6])
def test_commander_with_groups_of_three(power: int) -> None:
    """Klieber & Kwon: about 3.5 n clauses and n/2 variables (from memory).

    Seven clauses and a variable a group, until three literals are left.
    """
    n = 3**power
    groups = (n - 3) // 2
    assert sizes("commander", n) == (7 * groups + 3, groups)
    assert 0 <= 3.5 * n - (7 * groups + 3) <= 8


@pytest.mark.parametrize("name", ["product", "commander"])
def test_never_more_clauses_than_pairwise(name: str) -> None:
    for n in range(1, 40):
        assert sizes(name, n)[0] <= sizes("pairwise", n)[0]
    assert sizes(name, 6)[1] == 0 < sizes(name, 7)[1]
