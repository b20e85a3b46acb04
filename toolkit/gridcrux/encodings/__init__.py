"""The rules in the languages of solvers: every clausal encoding by name."""

from __future__ import annotations

from dataclasses import replace

from gridcrux.encodings.at_most_one import AT_MOST_ONE
from gridcrux.encodings.clausal import SUFFICIENT, Encoding

ENCODINGS: dict[str, Encoding] = {encoding.name: encoding for encoding in SUFFICIENT}
"""Every set of halves that suffices, with the usual at-most-one; candidate k is variable k + 1."""


def get_encoding(name: str) -> Encoding:
    """The encoding of the given name: one of `ENCODINGS`, also with another at-most-one.

    Raises
    ------
    ValueError : there is no encoding of that name.

    >>> get_encoding("extended-ladder").at_most_one
    'ladder'
    """
    for known, encoding in ENCODINGS.items():
        if name == known:
            return encoding
        way = name.removeprefix(f"{known}-")
        if way != name and way in AT_MOST_ONE:
            return replace(encoding, at_most_one=way)
    raise ValueError(
        f"no encoding is called {name!r}; there are {', '.join(ENCODINGS)}, and each with a way "
        f"to write at-most-one behind it, as 'extended-ladder': {', '.join(AT_MOST_ONE)}"
    )
