"""The JSON file beside a corpus that says how it was made: method, seed, settings, command."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from gridcrux.grids.sources import PuzzleError


def made_as_stated(path: Path) -> dict[str, Any]:
    """What FILE.json beside FILE.csv (or FILE.csv.gz) says of how it was made.

    It is a statement of that kind if it is an object with a `method`; else nothing is stated.

    Raises
    ------
    PuzzleError : there is such a file, and it cannot be read.
    """
    stem = path.with_suffix("") if path.suffix in (".gz", ".bz2", ".xz") else path
    beside = stem.with_suffix(".json")
    if beside == path or not beside.is_file():
        return {}
    try:
        said = json.loads(beside.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise PuzzleError(
            str(beside), None, None, f"cannot be read ({error}); expected how {path.name} was made"
        ) from error
    return said if isinstance(said, dict) and "method" in said else {}
