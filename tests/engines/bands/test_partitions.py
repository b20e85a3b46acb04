"""The partitions against their definition."""

from __future__ import annotations

from math import factorial

import numpy as np

from gridcrux.engines.bands.partitions import partitions


def test_there_are_as_many_as_a_multinomial_says() -> None:
    index = partitions()
    assert len(index.line) == factorial(9) // factorial(3) ** 3 == 1680
    assert len(np.unique(index.line, axis=0)) == 1680
    code = index.line @ 3 ** np.arange(8, -1, -1)
    assert (index.number[code] == np.arange(1680)).all()
    assert (index.number >= 0).sum() == 1680


def test_crossing_partitions_fill_a_box() -> None:
    """216 for each: three digits of a row go to three columns in 3! ways, in three rows."""
    index = partitions()
    for one in range(0, 1680, 97):
        for other in index.crossing[one]:
            cells = set(zip(index.line[one].tolist(), index.line[other].tolist(), strict=True))
            assert len(cells) == 9
        assert len(set(index.crossing[one].tolist())) == 216


def test_partitions_apart_give_each_digit_every_line() -> None:
    index = partitions()
    for one in range(0, 1680, 97):
        for second, third in index.apart[one]:
            lines = index.line[[one, second, third]]
            assert (np.sort(lines, axis=0) == np.arange(3)[:, None]).all()
        assert len({tuple(pair) for pair in index.apart[one].tolist()}) == 56
