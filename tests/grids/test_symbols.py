"""Symbols are digits in either case or blanks, and anything else is named for what it is."""

from __future__ import annotations

import pytest

from gridcrux.grids.layout import SYMBOLS
from gridcrux.grids.symbols import BAD, GAPS, digits_in_words, first_bad, misprint, table


@pytest.mark.parametrize("n", [1, 4, 9, 10, 16, 25])
def test_the_table_knows_the_first_n_symbols_and_the_blanks(n):
    for byte in range(256):
        mark = chr(byte)
        if mark in ".0_":
            expected = 0
        elif byte < 128 and mark.upper() in SYMBOLS[:n]:
            expected = SYMBOLS.index(mark.upper()) + 1
        else:
            expected = BAD
        assert table(n)[byte] == expected
        assert table(n, GAPS)[byte] == (0 if byte in GAPS else expected)


def test_the_first_bad_byte_is_behind_symbols_and_gaps():
    assert first_bad(b"1 2|.4", 4) == -1
    assert first_bad(b"1 2|.5x", 4) == 5
    assert first_bad(b"", 4) == -1


@pytest.mark.parametrize(
    ("n", "words"), [(1, "1"), (4, "1-4"), (9, "1-9"), (10, "1-9, A"), (25, "1-9, A-P")]
)
def test_digits_in_words(n, words):
    assert digits_in_words(n) == words


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        (b"x12", "'x'"),
        (b"\x00", "'\\x00'"),
        ("é".encode(), "'é'"),
        (b"\xf0\x9f\x8e\xb2", "'\N{GAME DIE}'"),
        (b"\xff123", "byte 0xff"),
        ("\ufffd".encode(), "byte 0xef"),
    ],
)
def test_a_misprint_is_shown(text, shown):
    assert (
        misprint(text, 9) == f"{shown} is not a digit; expected 1-9, or '.', '0', '_' for a blank"
    )
