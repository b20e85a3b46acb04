"""The rules as clauses in a python-sat solver.

A rule is one at-least-one clause and one at-most-one clause for each pair; all at-most-one
clauses of a candidate together say that it excludes `Layout.conflicts`.  Three uses of a solver,
each the fastest of those tried with it:

- unit propagation by a solver that holds the rules and never searches, so that what it says
  depends on the state alone; many easy puzzles need no more;
- the first few solutions by a *standing* solver, which holds the rules of a layout and keeps what
  it learns from one state to the next; the state comes as assumptions, and what excludes a
  solution already found hangs on an activation literal, so that the rules stay unharmed;
- many solutions, and support, by a solver made for one state from the candidates that unit
  propagation leaves open.  It is a fraction of the size, which pays from a few calls on.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations, count

from pysat.solvers import Solver

from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.probing import probe
from gridcrux.engines.protocol import Count, Support
from gridcrux.engines.solution import as_digits
from gridcrux.engines.successive import MEASURES, Search, Standing
from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State, bits

SOLVERS = ("minisat22", "glucose3", "gluecard3")
"""The python-sat solvers that do all that is asked of them here."""

_FEW = 8
"""Solutions looked for by the standing solver before one is made for the state."""

_NOTHING = dict.fromkeys(MEASURES, 0)


def clauses(rules: Sequence[Sequence[int]]) -> list[tuple[int, ...]]:
    """Exactly one of the variables of each rule is true; no clause comes twice."""
    pairs: dict[tuple[int, ...], None] = {}
    for variables in rules:
        pairs.update(dict.fromkeys(combinations([-variable for variable in variables], 2)))
    return [*map(tuple, rules), *pairs]


def _mask(candidates: Iterable[int]) -> int:
    return sum(1 << candidate for candidate in candidates)


@dataclass(frozen=True)
class _Root:
    """What unit propagation makes of a state: candidates that are true, and those still open."""

    assumptions: list[int]
    true: list[int]
    open: int


class _Rules:
    """The rules of one layout in a propagating solver and in a searching one."""

    def __init__(self, solver: str, layout: Layout) -> None:
        self._name = solver
        self.layout = layout
        self._clauses = clauses([[k + 1 for k in bits(rule.mask)] for rule in layout.rules])
        self._propagator = Solver(name=solver, bootstrap_with=self._clauses)
        self._standing = Standing(
            partial(Solver, name=solver, bootstrap_with=self._clauses),
            layout.candidates,
            layout.candidates,
        )

    def assumptions(self, state: State) -> list[int]:
        """The state as literals: cells with one candidate, then what else is closed.

        A true candidate closes what is in conflict with it, so the givens of a puzzle say all.
        """
        layout, cells = self.layout, self.layout.cells
        one = more = 0
        for digit in range(layout.size):
            plane = state.open >> digit * cells & (1 << cells) - 1
            more |= one & plane
            one |= plane
        single = one & ~more
        closed = layout.full & ~state.open
        literals = []
        for digit in range(layout.size):
            for cell in bits(state.open >> digit * cells & single):
                candidate = digit * cells + cell
                literals.append(candidate + 1)
                closed &= ~layout.conflicts[candidate]
        literals.extend(-1 - candidate for candidate in bits(closed))
        return literals

    def root(self, state: State) -> _Root | None:
        """The state after unit propagation; None if that already shows a contradiction."""
        layout = self.layout
        assumptions = self.assumptions(state)
        consistent, implied = self._propagator.propagate(assumptions=assumptions)
        if not consistent:
            return None
        true = [literal - 1 for literal in implied if literal > 0]
        if len(true) == layout.cells:
            return _Root(assumptions, true, 0)
        open_ = state.open
        for candidate in true:
            open_ &= ~(layout.conflicts[candidate] | 1 << candidate)
        return _Root(assumptions, true, open_)

    def standing(self, root: _Root) -> Search:
        """The state in the standing solver."""
        return self._standing.search(root.assumptions)

    def own(self, root: _Root, warm_start: bool) -> tuple[Search, list[int]]:
        """The state in a solver of its own, and the candidates that its variables stand for.

        A solver that starts warm keeps its trail from one model to the next, which suits
        successive models without assumptions and nothing else.
        """
        candidates = list(bits(root.open))
        variable = {candidate: number for number, candidate in enumerate(candidates, 1)}
        settled = _mask(root.true)
        rules = [
            [variable[candidate] for candidate in bits(rule.mask & root.open)]
            for rule in self.layout.rules
            if not rule.mask & settled
        ]
        solver = Solver(name=self._name, bootstrap_with=clauses(rules), warm_start=warm_start)
        return Search(solver, len(candidates), count(len(candidates) + 1)), candidates


class SatEngine:
    """Decides and counts by python-sat.

    Parameters
    ----------
    solver : name of the python-sat solver, one of `SOLVERS`.  Over all questions none is faster
        on 9x9 than MiniSat 2.2; CaDiCaL is a little for uniqueness (`plain`), but cannot start
        warm.

    The limit in seconds is looked at every few hundred conflicts.  It does not cover the writing
    down of rules, at the first use of a layout or for a solver of a state: milliseconds for 9x9,
    seconds for 25x25.
    `effort` counts conflicts, decisions and propagations; those of `count` depend on what the
    standing solver has learnt before.  One engine serves one thread.

    Raises
    ------
    ValueError : the solver is not one of `SOLVERS`.
    """

    name = "sat"

    def __init__(self, solver: str = "minisat22") -> None:
        if solver not in SOLVERS:
            raise ValueError(
                f"solver {solver!r}: expected {', '.join(SOLVERS)}; others cannot propagate, take "
                f"a budget or start warm, or fail at it"
            )
        self._solver = solver
        self._by_layout: dict[Layout, _Rules] = {}
        self._latest: _Rules | None = None

    def _rules(self, layout: Layout) -> _Rules:
        # A layout is long to hash, and the next state mostly has the same one.
        if self._latest is None or self._latest.layout is not layout:
            if layout not in self._by_layout:
                self._by_layout[layout] = _Rules(self._solver, layout)
            self._latest = self._by_layout[layout]
            self._latest.layout = layout
        return self._latest

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        check_limit(limit)
        deadline = Deadline(seconds)
        if deadline.passed:
            return Count(0, False, "seconds", self.name, _NOTHING)
        rules = self._rules(state.layout)
        root = rules.root(state)
        if root is None or not root.open:
            return Count(0 if root is None else 1, True, None, self.name, _NOTHING)
        search = rules.standing(root)
        value, stopped_by = search.models(min(limit, _FEW), deadline)
        effort = search.effort
        search.retire()
        if stopped_by == "limit" and limit > _FEW:
            search, _ = rules.own(root, warm_start=True)
            value, stopped_by = search.models(limit, deadline)
            effort.update(search.effort)
        return Count(value, stopped_by is None, stopped_by, self.name, dict(effort))

    def solutions(self, state: State) -> Iterator[tuple[int, ...]]:
        rules = self._rules(state.layout)
        root = rules.root(state)
        if root is None:
            return
        settled = _mask(root.true)
        search, candidates = rules.own(root, warm_start=True)
        never = Deadline(None)
        while search.decide(never):
            model = search.true_variables()
            solution = settled | _mask(candidates[variable - 1] for variable in model)
            yield as_digits(solution, state.layout)
            search.exclude(model)

    def support(self, state: State, seconds: float | None = None) -> Support:
        deadline = Deadline(seconds)
        if deadline.passed:
            return Support(0, state.open, False, "seconds", self.name, _NOTHING)
        rules = self._rules(state.layout)
        root = rules.root(state)
        if root is None:
            return Support(0, 0, True, None, self.name, _NOTHING)
        settled = _mask(root.true)
        search, candidates = rules.own(root, warm_start=False)
        variable = {candidate: number for number, candidate in enumerate(candidates, 1)}

        def ask(trial: Sequence[int], _: int) -> int | None:
            answer = search.decide(deadline, search.one_of([variable[k] for k in trial]))
            if not answer:
                return None if answer is None else 0
            return settled | _mask(candidates[v - 1] for v in search.true_variables())

        def close(trial: Sequence[int]) -> None:
            for candidate in trial:
                search.exclude([variable[candidate]])

        occurs, undecided = probe(settled | root.open, ask, close)
        stopped_by = "seconds" if undecided else None
        effort = dict(search.effort)
        return Support(occurs, undecided, not undecided, stopped_by, self.name, effort)
