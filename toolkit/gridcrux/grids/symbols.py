"""A cell on paper is one symbol: one of the first n of `layout.SYMBOLS`, or a blank.

Letters are read in either case; blanks are '.', '0' and '_'.  Text is handled as UTF-8 bytes,
so that one `bytes.translate` reads any number of cells.
"""

from __future__ import annotations

from functools import lru_cache

from gridcrux.grids.layout import LARGEST, SYMBOLS

SPACE = b" \t\v\f"
GAPS = SPACE + b"|,"
"""What may stand between the cells of a row."""

RULE = SPACE + b"|-+="
"""What a ruled line is made of."""

BAD = 255
"""What `table` makes of a byte that is no symbol."""


@lru_cache(maxsize=2 * LARGEST)
def table(n: int, gaps: bytes = b"") -> bytes:
    """For `bytes.translate`: symbols to digits, blanks and gaps to 0, all else to `BAD`."""
    made = bytearray([BAD]) * 256
    for blank in b".0_" + gaps:
        made[blank] = 0
    for digit, symbol in enumerate(SYMBOLS[:n], 1):
        made[ord(symbol)] = made[ord(symbol.lower())] = digit
    return bytes(made)


def first_bad(text: bytes, n: int) -> int:
    """Where the first byte stands that is neither symbol nor gap; -1 if there is none."""
    return text.translate(table(n, GAPS)).find(BAD)


@lru_cache(maxsize=LARGEST)
def digits_in_words(n: int) -> str:
    """The symbols of the digits 1 to n, as people write them.

    >>> digits_in_words(16)
    '1-9, A-G'
    """
    runs = [SYMBOLS[: min(n, 9)], SYMBOLS[9:n]]
    return ", ".join(run if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs if run)


@lru_cache(maxsize=1024)
def misprint(text: bytes, n: int) -> str:
    """What to say of text that starts with something that is no symbol."""
    shown = text.decode("utf-8", "replace")[0]
    what = f"byte {text[0]:#04x}" if shown == "\ufffd" else repr(shown)
    return f"{what} is not a digit; expected {digits_in_words(n)}, or '.', '0', '_' for a blank"
