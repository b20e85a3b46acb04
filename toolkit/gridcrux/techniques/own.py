"""A technique that a user writes in Python, for routes and all that is made of them.

A finder is a function from a state to deductions (`logic.deduction.bare` makes them).
`own_technique` makes a technique of it, which goes into a repertoire like any other
(`Repertoire.plus`): the route of that repertoire is found under every policy, judged, certified,
told and drawn.  What it finds is taken at its word here; `proofs` checks it by SAT before it
judges by it (`proofs.certified`).
"""

from __future__ import annotations

import weakref
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from gridcrux.logic.deduction import Deduction
from gridcrux.logic.technique import Technique
from gridcrux.techniques.compiled.own import Finder, dismiss, enrol
from gridcrux.techniques.repertoires import EVERYTHING


@dataclass(frozen=True)
class OwnTechnique(Technique):
    """A technique whose finder is a function in Python; `own_technique` makes it.

    Attributes
    ----------
    finder : the function, from a state to deductions.
    """

    finder: Finder = field(default=lambda state: (), compare=False, repr=False)

    def __reduce__(self) -> Any:
        # Made anew where it is unpickled, as numbers are given out process by process.
        made = partial(
            own_technique,
            width=self.width,
            any_length=self.any_length,
            assumes_unique=self.assumes_unique,
        )
        return made, (self.finder, self.name)


def own_technique(
    finder: Finder,
    name: str | None = None,
    *,
    width: int = 1,
    any_length: bool = True,
    assumes_unique: bool = False,
) -> OwnTechnique:
    """Make a technique of a function that finds deductions.

    What the finder gives is passed over where it excludes nothing new.  Where it writes a
    digit, the rivals of the digit are excluded and the writing is left to the singles of the
    repertoire.  The same state must give the same deductions in the same order; a route takes
    the first.

    Parameters
    ----------
    finder : from a state to its deductions; each needs its premises, what it relies on and
        what it removes or places.  Its docstring says what the technique is.
    name : by which steps are called; that of the function, if none is given.
    width : fewest premises of its deductions.
    any_length : whether some have more.
    assumes_unique : whether it holds only in puzzles that have exactly one solution.

    Raises
    ------
    ValueError : a technique of this name is built in, or there are too many own ones.

    A cell with two digits, one of which its neighbour holds already, is no technique of its own
    (a naked single does it), but shows how one is written:

    >>> from gridcrux.grids.names import Claim
    >>> from gridcrux.grids.state import State
    >>> from gridcrux.logic.deduction import bare
    >>> from gridcrux.techniques.repertoires import SINGLES
    >>> from gridcrux.techniques.solve import route
    >>> def lonely(state):
    ...     for cell in range(state.layout.cells):
    ...         if len(digits := state.digits_of(cell)) == 1:
    ...             true = (digits[0] - 1) * state.layout.cells + cell
    ...             yield bare(state, [Claim(true, True)], [cell])
    >>> state = State.from_digits([1, 2, 3, 0] + [0] * 12)
    >>> repertoire = SINGLES.plus(own_technique(lonely), before="full-house")
    >>> for step in list(route(state, repertoire))[:2]:
    ...     print(step.technique, step.sentence)
    lonely By cell r1c4, r2c3=4, r2c4=4, r3c4=4 and r4c4=4 are false.
    full-house r1c4 is the last blank cell of row 1, and 4 the digit that row 1 misses.
    """
    function = finder.func if isinstance(finder, partial) else finder
    name = name or function.__name__.replace("_", "-")
    if name in EVERYTHING:
        raise ValueError(f"a technique called {name!r} is built in; give another name")

    def explain(deduction: Deduction) -> str:
        return deduction.plain_sentence

    explain.__module__, explain.__doc__ = function.__module__, function.__doc__
    explain.__name__, explain.__qualname__ = function.__name__, function.__qualname__
    number = enrol(finder, name, assumes_unique)
    # Not of the technique, of which there may be changed copies: these share what explains them.
    weakref.finalize(explain, dismiss, number)
    return OwnTechnique(
        name, number, width, "own", explain, any_length, assumes_unique, finder=finder
    )
