"""Any python-sat solver as it is, with any clausal encoding, fresh or incremental.

These engines are there to be compared: solvers with each other, encodings, and ways to use a
solver.  Incremental CaDiCaL is as fast as `sat` where a solution has to be unique; for many
solutions and for support, `sat` is faster, as it propagates first and makes small formulas.

- *Incremental*: one standing solver a layout, which keeps what it learns.  The state comes as
  assumptions, and what excludes a solution hangs on an activation literal.
- *Fresh*: a solver for each state, with the givens as unit clauses and solutions excluded by
  clauses.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import count
from typing import Any

from gridcrux.encodings import get_encoding
from gridcrux.encodings.cnf import Clause, Cnf, givens_as_units
from gridcrux.engines.limits import Deadline, check_limit
from gridcrux.engines.probing import probe
from gridcrux.engines.protocol import Count, Support
from gridcrux.engines.solution import as_digits
from gridcrux.engines.successive import Search, Standing
from gridcrux.grids.layout import Layout
from gridcrux.grids.state import State

USUAL_ENCODING, USUAL_USE = "extended", "incremental"
USES = ("incremental", "fresh")

_ALL = ("conflicts", "decisions", "propagations", "restarts")
_WITHOUT_PROPAGATIONS = ("conflicts", "decisions", "restarts")


@dataclass(frozen=True)
class Traits:
    """What a solver of python-sat can do, as found by trying it.

    Attributes
    ----------
    assumes : it answers under assumptions and takes clauses after it has answered.
    gives_up : it can be told to give up after a number of conflicts, and asked again.
    reports : its own measures of work.
    """

    assumes: bool = True
    gives_up: bool = True
    reports: tuple[str, ...] = _ALL


# Glucose 3 and Gluecard 3 look at their number of conflicts at restarts only, and were seen to
# overrun it by a thousand.  Maplesat and MapleCM report 0 propagations whatever they do.  Kissat
# ends the process if it gets a clause after an answer; it gives up when told, but cannot go on.
SOLVERS: dict[str, Traits] = {
    "cadical103": Traits(),
    "cadical153": Traits(),
    "cadical195": Traits(),
    "cadical300": Traits(),
    "gluecard3": Traits(),
    "gluecard4": Traits(),
    "glucose3": Traits(),
    "glucose4": Traits(),
    "glucose42": Traits(),
    "kissat404": Traits(assumes=False, gives_up=False, reports=()),
    "lingeling": Traits(gives_up=False),
    "maplechrono": Traits(),
    "maplecm": Traits(reports=_WITHOUT_PROPAGATIONS),
    "maplesat": Traits(reports=_WITHOUT_PROPAGATIONS),
    "mergesat3": Traits(),
    "minicard": Traits(),
    "minisat22": Traits(),
    "minisatep": Traits(),
    "minisatgh": Traits(),
}
"""The solvers by name, each with what it can do."""


def _solver(name: str, clauses: Sequence[Clause]) -> Any:
    from pysat.solvers import Solver, SolverNames

    return Solver(name=getattr(SolverNames, name)[0], bootstrap_with=clauses)


def _candidates(search: Search) -> int:
    """The mask of the candidates that are true in the model just found."""
    return sum(1 << variable - 1 for variable in search.true_variables(assumed=True))


class _Remade:
    """A solver that answers once, behind the interface of one that can be asked again."""

    def __init__(self, name: str, clauses: Sequence[Clause]) -> None:
        self._name = name
        self._clauses = list(clauses)
        self._model: list[int] = []

    def add_clause(self, clause: Sequence[int]) -> None:
        self._clauses.append(tuple(clause))

    def solve(self, assumptions: Sequence[int]) -> bool:
        units = [(literal,) for literal in assumptions]
        with _solver(self._name, [*self._clauses, *units]) as solver:
            satisfiable: bool = solver.solve()
            if satisfiable:
                self._model = solver.get_model()
        return satisfiable

    def get_model(self) -> list[int]:
        return self._model


def path_of(solver: str, encoding: str = USUAL_ENCODING, use: str = USUAL_USE) -> str:
    """The name of an engine, without what is usual.

    >>> path_of("cadical195", "extended", "fresh")
    'cadical195/fresh'
    """
    parts = [solver]
    parts += [encoding] if encoding != USUAL_ENCODING else []
    parts += [use] if use != USUAL_USE else []
    return "/".join(parts)


class PlainEngine:
    """Decides and counts by one solver, one encoding and one use of both.

    Parameters
    ----------
    solver : a name of `SOLVERS`.
    encoding : a name that `encodings.get_encoding` knows; each clause is given once.
    use : "incremental" or "fresh".

    The limit in seconds is looked at every few hundred conflicts.  Lingeling and Kissat cannot
    be interrupted: there it is looked at between two calls, so a single call may overrun it by
    any time.  It does not cover the writing down of an encoding at the first use of a layout.

    A state with a broken rule is answered without the solver: from a minimal encoding a solver
    may not see in any reasonable time that ten pigeons do not fit into nine holes.

    `effort` has the calls and what the solver reports of conflicts, decisions, propagations and
    restarts.  For incremental use `count` and `support` depend in it on earlier states; `solutions`
    has a solver of its own, so that their order does not.  One engine serves one thread.

    Raises
    ------
    ValueError : there is no such solver, encoding or use, or the solver cannot be used so.
    """

    def __init__(self, solver: str, encoding: str = USUAL_ENCODING, use: str = USUAL_USE) -> None:
        if solver not in SOLVERS:
            raise ValueError(f"no solver is called {solver!r}; there are {', '.join(SOLVERS)}")
        if use not in USES:
            raise ValueError(f"use {use!r}: expected {' or '.join(USES)}")
        traits = SOLVERS[solver]
        if use == "incremental" and not traits.assumes:
            raise ValueError(
                f"{solver} cannot be used incrementally, as it takes no assumptions and no clause "
                f"after an answer; ask for {path_of(solver, encoding, 'fresh')}"
            )
        self.name = path_of(solver, encoding, use)
        self._encoding = get_encoding(encoding)
        self._solver = solver
        self._fresh = use == "fresh"
        self._traits = traits
        self._manner = traits.gives_up, traits.reports
        self._by_layout: dict[Layout, tuple[Cnf, Standing]] = {}

    @classmethod
    def from_path(cls, path: str) -> PlainEngine:
        """The engine of a name ``solver/encoding/use``; encoding and use may be left out.

        Raises
        ------
        ValueError : a part is unknown, or there is one too many.

        >>> PlainEngine.from_path("minisat22/minimal").name
        'minisat22/minimal'
        """
        solver, *rest = path.split("/")
        use = rest.pop() if rest and rest[-1] in USES else USUAL_USE
        encoding = rest.pop(0) if rest else USUAL_ENCODING
        if rest:
            raise ValueError(
                f"{path!r} says {', '.join(rest)} beyond a solver and an encoding; expected "
                f"solver/encoding/use, the use {' or '.join(USES)}"
            )
        return cls(solver, encoding, use)

    def _make(self, clauses: Sequence[Clause]) -> Any:
        if not self._traits.assumes:
            return _Remade(self._solver, clauses)
        return _solver(self._solver, clauses)

    def _stand(self, cnf: Cnf) -> Standing:
        make = partial(self._make, cnf.clauses)
        return Standing(make, cnf.candidates, cnf.variables, *self._manner)

    def _search(self, state: State, alone: bool = False) -> Search:
        """The state in a solver; in one of its own, if it is to know nothing of other states."""
        layout = state.layout
        if layout not in self._by_layout:
            cnf = self._encoding(layout).distinct()
            self._by_layout[layout] = cnf, self._stand(cnf)
        cnf, standing = self._by_layout[layout]
        units = givens_as_units(state)
        if self._fresh:
            unused = count(cnf.variables + 1)
            solver = self._make([*cnf.clauses, *units])
            return Search(solver, cnf.candidates, unused, (), None, *self._manner)
        if alone:
            standing = self._stand(cnf)
        return standing.search([literal for (literal,) in units])

    def _effort(self, search: Search | None = None) -> dict[str, int]:
        if search is None:
            return dict.fromkeys(("calls", *self._traits.reports), 0)
        return {"calls": search.questions, **search.effort}

    def count(self, state: State, limit: int, seconds: float | None = None) -> Count:
        check_limit(limit)
        deadline = Deadline(seconds)
        if state.broken_rule is not None:
            return Count(0, True, None, self.name, self._effort())
        if deadline.passed:
            return Count(0, False, "seconds", self.name, self._effort())
        search = self._search(state)
        value, stopped_by = search.models(limit, deadline)
        effort = self._effort(search)
        search.retire()
        return Count(value, stopped_by is None, stopped_by, self.name, effort)

    def solutions(self, state: State) -> Iterator[tuple[int, ...]]:
        if state.broken_rule is not None:
            return
        search = self._search(state, alone=True)
        never = Deadline(None)
        while search.decide(never):
            yield as_digits(_candidates(search), state.layout)
            search.exclude(search.true_variables())

    def support(self, state: State, seconds: float | None = None) -> Support:
        deadline = Deadline(seconds)
        if state.broken_rule is not None:
            return Support(0, 0, True, None, self.name, self._effort())
        if deadline.passed:
            return Support(0, state.open, False, "seconds", self.name, self._effort())
        search = self._search(state)

        def ask(trial: Sequence[int], _: int) -> int | None:
            answer = search.decide(deadline, search.one_of([k + 1 for k in trial]))
            if not answer:
                return None if answer is None else 0
            return _candidates(search)

        def close(trial: Sequence[int]) -> None:
            for candidate in trial:
                search.exclude([candidate + 1])

        occurs, undecided = probe(state.open, ask, close)
        effort = self._effort(search)
        search.retire()
        stopped_by = "seconds" if undecided else None
        return Support(occurs, undecided, not undecided, stopped_by, self.name, effort)
