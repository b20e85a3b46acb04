"""Successive models of a formula in a python-sat solver, which may serve many states in turn.

A state comes as assumptions, and what excludes a model already found hangs on an activation
literal: once that is made false, nothing of the state is left in the solver but what it learnt.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import count
from typing import Any

from gridcrux.engines.limits import Deadline

CONFLICTS_BETWEEN_CLOCK_CHECKS = 500
"""Some milliseconds on a 9x9 state; a search without a conflict ends by itself."""

ACTIVATIONS = 1000
"""Used activation literals after which a solver is made anew, as each costs a little."""

MEASURES = ("conflicts", "decisions", "propagations")


@contextmanager
def _interruptible() -> Iterator[None]:
    """Let Ctrl-C in a solver be what it is everywhere else; python-sat has an error of its own."""
    import pysolvers

    try:
        yield
    except pysolvers.error as error:
        if "keyboard interrupt" in str(error).lower():
            raise KeyboardInterrupt from None
        raise


class Search:
    """Successive models under assumptions, with what they cost.

    Models are told apart by the variables that are true in them, so the formula must be one in
    which no model has all that is true in another, as with the solutions of a puzzle.

    Parameters
    ----------
    solver : a python-sat solver that holds the formula.
    variables : how many of its variables are looked at in a model; they are the lowest.
    unused : further variables of which nothing has been said yet.
    assumptions : literals that hold in every model looked for.
    activation : a variable among the assumptions on which the exclusions hang; None if nobody
        else will use the solver.
    can_be_cut_short : whether the solver takes a number of conflicts after which to give up.  If
        not, a deadline is looked at before each call only.
    measures : what `effort` is to have of the solver's own statistics.
    """

    def __init__(
        self,
        solver: Any,
        variables: int,
        unused: Iterator[int],
        assumptions: Sequence[int] = (),
        activation: int | None = None,
        can_be_cut_short: bool = True,
        measures: Sequence[str] = MEASURES,
    ) -> None:
        self._solver = solver
        self._variables = variables
        self._unused = unused
        self._assumptions = list(assumptions)
        self._assumed = set(assumptions)
        self._activation = [] if activation is None else [-activation]
        self._can_be_cut_short = can_be_cut_short
        self._measures = measures
        self._before = solver.accum_stats() if measures else {}
        self.questions = 0

    def decide(self, deadline: Deadline, trial: Sequence[int] = ()) -> bool | None:
        """Whether there is a model in which the literals of `trial` are true; None if too late."""
        assumptions = [*self._assumptions, *trial]
        if deadline.never or not self._can_be_cut_short:
            if deadline.passed:
                return None
            self.questions += 1
            with _interruptible():
                return bool(self._solver.solve(assumptions=assumptions))
        self.questions += not deadline.passed
        while not deadline.passed:
            self._solver.conf_budget(CONFLICTS_BETWEEN_CLOCK_CHECKS)
            with _interruptible():
                answer: bool | None = self._solver.solve_limited(assumptions=assumptions)
            if answer is not None:
                return answer
        return None

    def true_variables(self, assumed: bool = False) -> list[int]:
        """The variables that are true in the model just found; on request also the assumed ones."""
        model = self._solver.get_model()[: self._variables]
        known = () if assumed else self._assumed
        return [variable for variable in model if variable > 0 and variable not in known]

    def one_of(self, variables: Sequence[int]) -> list[int]:
        """Literals under which at least one of the variables is true."""
        if len(variables) < 2:
            return list(variables)
        chosen = next(self._unused)
        self._solver.add_clause([-chosen, *variables])
        return [chosen]

    def exclude(self, model: Sequence[int]) -> None:
        """No further model in which all these variables are true."""
        self._solver.add_clause([*self._activation, *(-variable for variable in model)])

    def models(self, limit: int, deadline: Deadline) -> tuple[int, str | None]:
        """The number of models, at most `limit`, and what ended the search for more."""
        for number in range(limit + 1):
            answer = self.decide(deadline)
            if not answer:
                return number, None if answer is False else "seconds"
            if number < limit:
                self.exclude(self.true_variables())
        return limit, "limit"

    def retire(self) -> None:
        """What was excluded is allowed again, to those who use the solver next."""
        if self._activation:
            self.exclude([])

    @property
    def effort(self) -> Counter[str]:
        if not self._measures:
            return Counter()
        now = self._solver.accum_stats()
        return Counter({name: now[name] - self._before[name] for name in self._measures})


class Standing:
    """A solver that keeps what it learns from one state to the next.

    Parameters
    ----------
    make : a new solver that holds the formula.
    looked_at, variables : how many variables are looked at in a model, and how many there are.
    """

    def __init__(
        self,
        make: Callable[[], Any],
        looked_at: int,
        variables: int,
        can_be_cut_short: bool = True,
        measures: Sequence[str] = MEASURES,
    ) -> None:
        self._make = make
        self._looked_at = looked_at
        self._variables = variables
        self._manner = can_be_cut_short, measures
        self._left = 0
        self._solver: Any = None
        self._unused = count()

    def search(self, assumptions: Sequence[int]) -> Search:
        """The formula under assumptions; `retire` it before the next search."""
        if not self._left:
            self._solver = self._make()
            self._unused = count(self._variables + 1)
            self._left = ACTIVATIONS
        self._left -= 1
        activation = next(self._unused)
        everything = [*assumptions, activation]
        return Search(
            self._solver, self._looked_at, self._unused, everything, activation, *self._manner
        )
