"""How large the clausal encodings are: variables, clauses and literals as a table."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from gridcrux.encodings.clausal import Encoding
from gridcrux.grids.layout import Layout

if TYPE_CHECKING:
    import pandas as pd

SIZES_COLUMNS = {
    "layout": "name of the layout",
    "encoding": "name of the encoding",
    "variables": "variables, of candidates and auxiliary ones",
    "auxiliary": "auxiliary variables among them",
    "clauses": "clauses, with the repetitions of the source",
    "distinct": "clauses without repetitions",
    "literals": "literals in all clauses, with the repetitions",
}
"""Meaning of the columns of `sizes_table`."""


def sizes_table(layouts: Iterable[Layout], encodings: Iterable[Encoding]) -> pd.DataFrame:
    """A row for each layout and encoding, in their order; columns as in `SIZES_COLUMNS`.

    >>> from gridcrux.encodings.clausal import EXTENDED, MINIMAL
    >>> from gridcrux.grids.layout import NINE
    >>> sizes_table([NINE], [MINIMAL, EXTENDED]).clauses.to_list()
    [8829, 11988]
    """
    import pandas as pd

    encodings = list(encodings)
    rows = []
    for layout in layouts:
        for encoding in encodings:
            cnf = encoding(layout)
            rows.append(
                {
                    "layout": layout.name,
                    "encoding": encoding.name,
                    "variables": cnf.variables,
                    "auxiliary": cnf.auxiliary,
                    "clauses": len(cnf.clauses),
                    "distinct": len(cnf.distinct().clauses),
                    "literals": sum(map(len, cnf.clauses)),
                }
            )
    return pd.DataFrame(rows, columns=list(SIZES_COLUMNS))
