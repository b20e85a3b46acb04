"""The rules in the languages of solvers: every clausal encoding by name."""

from __future__ import annotations

from collections.abc import Callable

from gridcrux.encodings.cnf import Cnf, extended, minimal
from gridcrux.grids.layout import Layout

ENCODINGS: dict[str, Callable[[Layout], Cnf]] = {"minimal": minimal, "extended": extended}
"""Every encoding as clauses, the fewest clauses first; variable k + 1 is candidate k."""
