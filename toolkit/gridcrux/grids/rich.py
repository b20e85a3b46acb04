"""How a result shows itself in a notebook: as a table of names and values."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import Enum
from html import escape


def facts(values: Mapping[str, object]) -> str:
    """A table with a row a value, as HTML; colours and fonts are those of the page.

    >>> facts({"lower_bound": 1234, "exact": False})
    '<table><tr><th>lower bound</th><td>1,234</td></tr><tr><th>exact</th><td>no</td></tr></table>'
    """
    rows = "".join(
        f"<tr><th>{escape(name.replace('_', ' '))}</th><td>{escape(_said(value))}</td></tr>"
        for name, value in values.items()
    )
    return f"<table>{rows}</table>"


def _said(value: object) -> str:
    """A value as it stands in a table; nothing for None."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case int():
            return f"{value:,}"
        case float():
            return f"{value:g}"
        case Enum():
            return str(value.value)
        case str():
            return value
        case Mapping():
            return ", ".join(f"{name}: {_said(each)}" for name, each in value.items())
        case Iterable():
            return ", ".join(map(_said, value))
    return str(value)
