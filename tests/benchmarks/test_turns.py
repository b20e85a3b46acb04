"""Turns, ratios and their intervals."""

from __future__ import annotations

import time

import numpy as np
import pytest

from cases.outcome import ahead
from cases.turns import Comparison, blocks, figure, take_turns


def comparison(ours: list[float], peer: list[float], name: str = "peer") -> Comparison:
    return Comparison("case", "ours", name, 10, tuple(ours), tuple(peer))


def test_sides_take_turns_in_beginning() -> None:
    order: list[str] = []

    def piece(name: str):
        def work() -> int:
            order.append(name)
            return 1

        return work

    take_turns([[piece("a")] * 3, [piece("b")] * 3])
    assert "".join(order) == "abbaab"
    order.clear()
    take_turns([[piece("a")] * 2, [piece("b")] * 2], first=1)
    assert "".join(order) == "baab"


def test_seconds_are_those_of_an_item() -> None:
    def nap(seconds: float, items: int):
        def work() -> int:
            time.sleep(seconds)
            return items

        return work

    slow, fast = take_turns([[nap(0.02, 1), nap(0.02, 1)], [nap(0.02, 10), nap(0.02, 10)]])
    assert 0.02 <= slow < 0.04
    assert slow / fast == pytest.approx(10, rel=0.5)


def test_sides_have_equally_many_pieces() -> None:
    with pytest.raises(ValueError, match=r"longer|shorter"):
        take_turns([[lambda: 1], [lambda: 1] * 2])


def test_blocks_are_all_numbers() -> None:
    assert [list(each) for each in blocks(5, 2)] == [[0, 1], [2, 3], [4]]
    assert blocks(0, 2) == []


def test_ratio_is_that_of_the_medians() -> None:
    found = comparison([1, 2, 9], [10, 30, 20])
    assert found.ratio == 10
    low, high = found.interval
    assert low <= 10 <= high


def test_a_disturbance_of_both_sides_is_no_uncertainty() -> None:
    """Rounds are resampled in pairs: three times as slow for both leaves the ratio as it was."""
    rounds = np.array([1.0, 3.0, 1.1, 2.0, 1.3])
    found = comparison(list(rounds), list(7 * rounds))
    assert found.interval == pytest.approx((7, 7))
    apart = comparison(list(rounds), list(7 * rounds[::-1]))
    assert apart.interval[1] > 1.2 * apart.interval[0]


def test_interval_covers_the_true_ratio_about_as_often_as_it_says() -> None:
    random = np.random.default_rng(3)
    hits = 0
    for _ in range(60):
        ours, peer = random.lognormal(0, 0.1, (2, 9))
        low, high = comparison(list(ours), list(5 * peer)).interval
        hits += low <= 5 <= high
    assert 50 <= hits <= 60


def test_few_rounds_have_no_interval() -> None:
    found = comparison([1, 1], [5, 6])
    assert found.interval is None
    assert found.text == "5.5 (-)"
    assert found.row()["interval"] is None


def test_figures_have_three_digits() -> None:
    assert [figure(each) for each in (0.00012345, 9.876, 99.97, 100.4)] == [
        "0.000123", "9.88", "100", "100",
    ]  # fmt: skip


def test_the_bar_is_for_the_lower_end() -> None:
    clear = comparison([1, 1, 1], [70, 70, 70], "clear")
    near = comparison([1, 1, 1], [55, 65, 70], "near")
    assert "at least 60 times ahead of all 1; the nearest is clear" in ahead("It", [clear], 60)
    assert "of 1 of 2 (lower end of the interval), but not of near 65" in ahead(
        "It", [clear, near], 60
    )
