"""What a repertoire covers: the share of all narrow eliminations that its techniques find.

In a state every candidate that no solution has is excluded by some premises; the fewest of them
are its width.  A repertoire covers it if one of its techniques excludes it there.  What it does
not cover are techniques to which nobody has given a name, or which it has left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from gridcrux.engines import get_engine
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits
from gridcrux.logic.repertoire import Repertoire
from gridcrux.proofs.explain.explanation import Explanation
from gridcrux.proofs.explain.narrow import narrow
from gridcrux.proofs.explain.smallest import Explainer
from gridcrux.proofs.trust import certifying
from gridcrux.proofs.uniqueness import require_unique
from gridcrux.techniques.repertoires import DEFAULT
from gridcrux.techniques.solve import available

if TYPE_CHECKING:
    import pandas as pd

COLUMNS = {
    "state": "number of the state, from 1, in the order in which they came",
    "candidate": "the candidate that no solution has",
    "width": "fewest premises that exclude it",
    "premises": "such premises",
    "shape": "technique that has this shape, missing if none has",
    "found_by": "first technique of the repertoire that excludes it, missing if none does",
    "found_width": "fewest premises of a deduction of the repertoire that excludes it",
}
"""Meaning of the columns of `coverage`."""

SHARES = {
    "width": "fewest premises that exclude a candidate",
    "eliminations": "candidates of this width, in all states",
    "covered": "those that the repertoire excludes",
    "covered_share": "covered / eliminations",
    "as_narrow": "those that it excludes by no more premises than are needed",
    "as_narrow_share": "as_narrow / eliminations",
}
"""Meaning of the columns of `coverage_table`."""


def narrow_eliminations(state: State, most: int) -> Iterator[Explanation]:
    """For each open candidate that at most `most` premises exclude, a smallest explanation."""
    quick = narrow(state, min(most, 2))
    support = get_engine("kernel").support(state)
    explainer = Explainer(state)
    for candidate in bits(state.open & ~support.occurs):
        claim = Claim(candidate, False, state.layout)
        if candidate in quick:
            premises = quick[candidate]
            yield Explanation(state, (claim,), premises, len(premises))
        elif most > 2 and (found := explainer.within(most, claim)) is not None:
            yield found


@certifying()
def coverage(
    states: State | Iterable[State], repertoire: Repertoire = DEFAULT, most: int = 3
) -> pd.DataFrame:
    """Every elimination of at most `most` premises, and what finds it.

    Parameters
    ----------
    states : a state or several, such as those of a route.
    most : 3 takes about a second for a hundred states of a hard puzzle, more takes longer.

    Returns
    -------
    DataFrame with the columns of `COLUMNS`, a row for each candidate; those whose `found_by` is
    missing are the missed ones.

    Raises
    ------
    NotUnique : the repertoire assumes one solution, and a puzzle has not.
    Unsound : a technique that a user wrote finds what does not follow.
    """
    import pandas as pd

    rows = []
    for number, state in enumerate([states] if isinstance(states, State) else states, 1):
        require_unique(state, repertoire)
        offered = available(state, repertoire)
        for explanation in narrow_eliminations(state, most):
            candidate = explanation.claims[0].candidate
            finders = [step for step in offered if step.eliminates >> candidate & 1]
            rows.append(
                {
                    "state": number,
                    "candidate": state.layout.candidate_name(candidate),
                    "width": explanation.size,
                    "premises": "; ".join(explanation.premise_names),
                    "shape": explanation.technique,
                    "found_by": finders[0].technique if finders else None,
                    "found_width": min((step.width for step in finders), default=None),
                }
            )
    table = pd.DataFrame(rows, columns=list(COLUMNS))
    return table.astype({"found_width": "Int64"})


def coverage_table(found: pd.DataFrame) -> pd.DataFrame:
    """The share of the eliminations of each width that is covered.

    Parameters
    ----------
    found : as `coverage` returns it.

    Returns
    -------
    DataFrame with the columns of `SHARES`, a row a width.
    """
    marked = found.assign(
        covered=found["found_by"].notna(),
        as_narrow=(found["found_width"] <= found["width"]).fillna(False).astype(bool),
    )
    table = marked.groupby("width", as_index=False).agg(
        eliminations=("candidate", "size"),
        covered=("covered", "sum"),
        as_narrow=("as_narrow", "sum"),
    )
    table["covered_share"] = table["covered"] / table["eliminations"]
    table["as_narrow_share"] = table["as_narrow"] / table["eliminations"]
    return table[list(SHARES)]
