"""Put a table between two marks of a page."""

from __future__ import annotations

import re
from pathlib import Path


def replace_section(page: Path, name: str, text: str) -> None:
    """Replace what stands between ``<!-- name -->`` and the next ``<!-- end -->``.

    Raises
    ------
    ValueError : the page has no such section.
    """
    marks = re.compile(f"(<!-- {name} -->\n).*?(<!-- end -->)", re.DOTALL)
    before = page.read_text()
    if not marks.search(before):
        raise ValueError(f"{page}: no section '<!-- {name} -->' that ends with '<!-- end -->'")
    page.write_text(marks.sub(lambda m: f"{m[1]}{text}\n{m[2]}", before))
