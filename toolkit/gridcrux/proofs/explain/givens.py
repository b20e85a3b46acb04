"""Which givens a claim rests on: few givens that already force it, whatever the others are.

A set of givens forces a claim if no grid has them and breaks the claim.  A grid that breaks the
claim differs from the puzzle in some givens, and every set that forces the claim has one of these.
So a smallest set is a smallest hitting set, found as in `smallest`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

from pysat.solvers import Solver

from gridcrux.encodings.clausal import EXTENDED
from gridcrux.engines.limits import Deadline
from gridcrux.engines.solution import as_digits
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits, expect_state
from gridcrux.logic.wording import listing
from gridcrux.proofs.explain.explanation import NotForced
from gridcrux.proofs.explain.fewest import CONFLICTS, fewest
from gridcrux.proofs.refutation import denial


@dataclass(frozen=True)
class FewGivens:
    """Givens of a puzzle that suffice for something, and a lower bound to their number.

    Attributes
    ----------
    start : the puzzle.
    cells : the cells of the givens, ascending: the fewest that were found.
    lower : no set that suffices is smaller.
    stopped_by : None if the set is as small as can be, else "seconds".
    """

    start: State = field(repr=False)
    cells: tuple[int, ...]
    lower: int
    stopped_by: str | None

    @property
    def size(self) -> int:
        return len(self.cells)

    @property
    def exact(self) -> bool:
        """Whether no smaller set suffices."""
        return self.size == self.lower

    @property
    def names(self) -> tuple[str, ...]:
        """The givens by name: ``("r1c2=3",)``."""
        layout, digits = self.start.layout, self.start.puzzle
        return tuple(f"{layout.cell_name(cell)}={digits[cell]}" for cell in self.cells)

    @property
    def state(self) -> State:
        """The puzzle with these givens only."""
        kept = set(self.cells)
        digits = [digit if c in kept else 0 for c, digit in enumerate(self.start.puzzle)]
        return State.from_digits(digits, self.start.layout)

    def as_dict(self) -> dict[str, Any]:
        """The givens as JSON can hold them."""
        return {"givens": list(self.names), "size": self.size, "lower_bound": self.lower}

    def _repr_html_(self) -> str:
        return f"<p>{escape(str(self))}</p>{self.state._repr_svg_()}"


@dataclass(frozen=True)
class ForcingGivens(FewGivens):
    """Givens that force some claims, none of which can be spared, and a lower bound.

    Attributes
    ----------
    claims : what is claimed.
    """

    claims: tuple[Claim, ...]

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        return {
            "claims": " ".join(map(str, self.claims)),
            "givens": self.size,
            "lower_bound": self.lower,
            "exact": self.exact,
            "names": " ".join(self.names),
        }

    def __str__(self) -> str:
        few = f"{self.size}" if self.exact else f"{self.size} (at least {self.lower} are needed)"
        noun = "given" if few == "1" else "givens"
        return f"{listing(self.claims)} is forced by {few} {noun}: {listing(self.names)}"


def forcing_givens(state: State, *claims: Claim, seconds: float | None = 10.0) -> ForcingGivens:
    """A smallest set of a puzzle's givens that forces some claims by all rules.

    Parameters
    ----------
    state : a state that tells its givens; what it has excluded since plays no part.
    seconds : limit, after which an irreducible set and a lower bound are returned.

    Raises
    ------
    NotForced : all givens together do not force the claims.
    TimeoutError : not even this was found out in time.
    """
    expect_state(state)
    deadline = Deadline(seconds)
    start = State.from_digits(state.puzzle, state.layout)
    against = _Contrary(start, claims, deadline)
    contrary = against.grid(against.givens)
    if contrary is not None:
        true = sum(1 << literal - 1 for literal in contrary if literal > 0)
        raise NotForced(claims, as_digits(true, start.layout))
    best, lower = fewest(against, against.irreducible(against.givens))
    stopped = None if len(best) == lower else "seconds"
    return ForcingGivens(start, tuple(sorted(best)), lower, stopped, claims)


class _Contrary:
    """Looks for grids that have some givens and break one of the claims, by python-sat."""

    def __init__(self, start: State, claims: Sequence[Claim], deadline: Deadline) -> None:
        layout = start.layout
        self.claims, self.deadline = claims, deadline
        self.givens = tuple(bits(start.givens))
        digits = start.puzzle
        self.literal = {c: (digits[c] - 1) * layout.cells + c + 1 for c in self.givens}
        clauses = EXTENDED(layout).distinct().clauses
        self.solver = Solver("minisat22", bootstrap_with=[*clauses, denial(claims)])

    def grid(self, cells: Sequence[int]) -> list[int] | None:
        """The true literals of a grid with the givens in some cells, or None if there is none.

        Raises
        ------
        TimeoutError : the time was up first.
        """
        asked = [self.literal[cell] for cell in cells]
        while True:
            self.solver.conf_budget(CONFLICTS)
            answer = self.solver.solve_limited(assumptions=asked)
            if answer is not None:
                return self.solver.get_model() if answer else None
            if self.deadline.passed:
                raise TimeoutError(
                    f"whether the givens force {listing(self.claims)} was not found out in time"
                )

    def core(self) -> list[int]:
        """The cells of the givens that the last refutation rested on."""
        core = set(self.solver.get_core() or ())
        return [cell for cell in self.givens if self.literal[cell] in core]

    def irreducible(self, cells: Sequence[int]) -> tuple[int, ...]:
        """Givens that force the claims and of which none can be spared, out of some that do."""
        self.grid(cells)
        kept = self.core()
        for cell in list(kept):
            if cell not in kept:
                continue
            rest = [other for other in kept if other != cell]
            if self.grid(rest) is None:
                kept = [other for other in rest if other in self.core()]
        return tuple(kept)

    def gaps(self, cells: Sequence[int]) -> list[list[int]]:
        """Sets of givens without a common one, each missing in a grid that has those in cells."""
        found: list[list[int]] = []
        asked = list(cells)
        while (grid := self.grid(asked)) is not None:
            gap = self._missing(grid)
            for cell in list(gap):
                have = [c for c in self.givens if c not in gap]
                if cell in gap and (more := self.grid([*have, cell])) is not None:
                    gap = self._missing(more)
            found.append(gap)
            asked += gap
        return found

    def _missing(self, grid: list[int]) -> list[int]:
        """The cells of the givens that a grid does not have."""
        return [cell for cell in self.givens if grid[self.literal[cell] - 1] < 0]
