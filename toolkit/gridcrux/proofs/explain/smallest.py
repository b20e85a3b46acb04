"""Smallest explanations, exactly: the fewest premises from which a claim follows.

An explanation meets every gap of every choice that agrees with the denial (`choices`), and a set
of rules that meets all of these gaps is an explanation.  So a smallest explanation is a smallest
hitting set of gaps, which are found as they are needed: implicit hitting sets, as in Ignatiev,
Previti, Liffiton and Marques-Silva, "Smallest MUS extraction with minimal hitting set
dualization", CP 2015, and in Gamba, Bogaerts and Guns, "Efficiently explaining CSPs with
unsatisfiable subset optimization", JAIR 78 (2023).  What differs: the models are grown by local
search to choices as large as may be, so that gaps are small, and are kept for all claims of a
state; sets that meet them are searched in compiled code (`hitting`), and only where that takes
long by CP-SAT (`covering`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import inf

import numpy as np

from gridcrux.engines.limits import Deadline
from gridcrux.engines.solution import as_digits
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits, expect_state
from gridcrux.proofs.explain.covering import smallest_meeting
from gridcrux.proofs.explain.explanation import Explanation, NotForced
from gridcrux.proofs.explain.ground import ground_of
from gridcrux.proofs.explain.hitting import EXCLUDED, FALSE, TRUE, excluded_by
from gridcrux.proofs.explain.question import Question, positions, words_of
from gridcrux.techniques.compiled.tables import Ints

MOST_KEPT = 20_000
"""Choices kept for the claims of a state."""

ORDERS = 12
"""Irreducible explanations of which the smallest is the first bound."""

Progress = Callable[[int, int], None]
"""Told the lower bound and the size of the smallest explanation so far."""


class Explainer:
    """Explains claims in one state; what it learns of one claim serves the others.

    Parameters
    ----------
    state : where the claims are made.
    start : how explanations call it ("marks" or "givens").
    also : mask of candidates that may be claimed to be true though nothing rivals them any more.
    seed : of the random choices, which decide how fast an explanation is found, and which of
        several smallest ones.  The size does not depend on it.
    """

    def __init__(self, state: State, start: str = "marks", also: int = 0, seed: int = 1) -> None:
        self.state, self.start = state, start
        self._ground = ground_of(state, also)
        # An xorshift generator must not start from zero.
        self._random = np.array([seed * 0x9E3779B97F4A7C1 % (1 << 62) + 1], np.int64)
        self._live = {candidate: i for i, candidate in enumerate(self._ground.candidates.tolist())}
        self._words = self._ground.members.shape[1]
        self._closed = np.zeros(self._words, np.int64)
        self._choices = np.empty((0, self._words), np.int64)
        self._gaps = np.empty((0, self._ground.touches.shape[1]), np.int64)
        self._explanations: dict[tuple[int, ...], None] = {}

    def advance(self, state: State) -> None:
        """Go on to a later state, in which more is closed.

        Choices without what is closed are still choices, so what was learnt serves on.

        Raises
        ------
        ValueError : the state has another layout, or something open that was closed; or it has
            closed the last candidate of a rule that needed no premise any more.
        """
        if state.layout != self.state.layout or state.open & ~self.state.open:
            raise ValueError("the state is no later one; make an Explainer of its own for it")
        gone = list(bits(self.state.open & ~state.open))
        for candidate in gone:
            # Its rules are not in the ground: that they have nothing left would not be seen.
            if candidate not in self._live:
                name = state.layout.candidate_name(candidate)
                raise ValueError(f"{name} had no rival; make an Explainer of its own for the state")
        self._closed |= words_of([self._live[candidate] for candidate in gone], self._words)
        self.state = state

    def smallest(
        self,
        *claims: Claim,
        seconds: float | None = None,
        progress: Progress | None = None,
    ) -> Explanation:
        """A smallest explanation of some claims together.

        Parameters
        ----------
        seconds : limit, after which the best explanation and the best bound are returned.
        progress : told of better bounds while it takes long.

        Raises
        ------
        NotForced : the claims do not follow.
        ValueError : nothing is claimed.
        """
        question = self._question(claims)
        rules, lower = self._smallest(claims, question, Deadline(seconds), progress)
        assert rules is not None
        self._keep(question)
        return self._told(claims, rules, lower)

    def within(self, most: int, *claims: Claim, seconds: float | None = None) -> Explanation | None:
        """A smallest explanation if it has at most `most` premises, None if there is none.

        Claims that do not follow have none.

        Raises
        ------
        TimeoutError : it was not found out in so many seconds.
        """
        question = self._question(claims)
        try:
            rules, lower = self._smallest(claims, question, Deadline(seconds), most=most)
        except NotForced:
            return None
        self._keep(question)
        if lower > most:
            return None
        if rules is None or len(rules) > lower:
            raise TimeoutError(
                f"not found out in {seconds:g} s whether {lower} premises explain "
                f"{' '.join(map(str, claims))}; give more time"
            )
        return self._told(claims, rules, lower)

    def all_smallest(
        self, *claims: Claim, limit: int = 1000, seconds: float | None = None
    ) -> tuple[list[Explanation], bool]:
        """Smallest explanations, by their premises, and whether these are all there are.

        Parameters
        ----------
        limit : most that are listed.
        seconds : limit, after which one of them is returned, or the best that was found.

        Raises
        ------
        NotForced : the claims do not follow.
        """
        question, deadline = self._question(claims), Deadline(seconds)
        rules, lower = self._smallest(claims, question, deadline)
        assert rules is not None
        found = None
        if len(rules) == lower:
            found = question.sets(lower, limit + 1, deadline)
        self._keep(question)
        if found is None:
            return [self._told(claims, rules, lower)], False
        every = [self._told(claims, each, lower) for each in sorted(map(sorted, found))]
        return every[:limit], len(every) <= limit

    def excluded(self, premises: Sequence[int]) -> int:
        """Mask of the open candidates that some premises exclude."""
        number = {rule: i for i, rule in enumerate(self._ground.rules.tolist())}
        taken = [number[rule] for rule in premises if rule in number]
        flags = excluded_by(
            self._ground,
            words_of(taken, self._gaps.shape[1]),
            self._closed,
            self._random,
        )
        gone: list[int] = self._ground.candidates[flags].tolist()
        return sum(1 << candidate for candidate in gone)

    # Below, rules and candidates have their numbers in the ground.

    def _smallest(
        self,
        claims: Sequence[Claim],
        question: Question,
        deadline: Deadline,
        progress: Progress | None = None,
        most: float = inf,
    ) -> tuple[Sequence[int] | None, int]:
        """The rules of the best explanation, and the lower bound.

        With `most`, nothing is asked that is of no use once the bound is above it; then there
        may be no explanation, or one that is too large.
        """
        lower = 0
        while lower <= most:
            found = self._known(question, lower) or question.sets(lower, 1, deadline, patient=False)
            self._need_gaps(claims, question)
            if found is None:
                break
            if found:
                return found[0], lower
            lower += 1
        if lower > most:
            return None, lower
        best = self._bound(claims, question) if most == inf else None
        question.enrich()
        self._need_gaps(claims, question)
        while lower <= most and (best is None or len(best) > lower) and not deadline.passed:
            if progress is not None and best is not None:
                progress(lower, len(best))
            meeting = smallest_meeting(question.known, lower, deadline.remaining)
            lower = meeting.lower
            if meeting.elements is None:
                break
            if question.gaps_beside(meeting.elements) == 0 and (
                best is None or len(meeting.elements) < len(best)
            ):
                best = meeting.elements
            self._need_gaps(claims, question)
        return best, lower

    def _need_gaps(self, claims: Sequence[Claim], question: Question) -> None:
        """Refuse claims that are known to fail: a choice that has no gap cannot be met."""
        if question.whole_choice is not None:
            raise NotForced(claims, self._solution(question.whole_choice))

    def _bound(self, claims: Sequence[Claim], question: Question) -> Sequence[int]:
        """Some explanation, as small as can be had quickly."""
        best: Sequence[int] = self._irreducible(claims)
        for rules in sorted(self._explanations, key=len):
            if len(rules) < len(best) and question.explained_by(rules):
                return rules
        return best

    def _known(self, question: Question, size: int) -> list[list[int]]:
        """An explanation of another claim that explains this one too, if one has that size."""
        for rules in self._explanations:
            if len(rules) == size > 1 and question.explained_by(rules):
                return [list(rules)]
        return []

    def _question(self, claims: Sequence[Claim]) -> Question:
        """The denials of some claims, with what is known of them already."""
        if not claims:
            raise ValueError("nothing is claimed; name at least one candidate like r4c5!=7")
        rows = [row for claim in claims if (row := self._denial(claim)) is not None]
        denials = np.array(rows, np.int64).reshape(len(rows), 3, self._words)
        agree = np.zeros(len(self._choices), np.bool_)
        for denial in denials:
            there = ((self._choices & denial[TRUE]) == denial[TRUE]).all(axis=1)
            agree |= there & ~(self._choices & denial[FALSE]).any(axis=1)
        return Question.of(
            self._ground, denials, self._random, self._choices[agree], self._gaps[agree]
        )

    def _denial(self, claim: Claim) -> Ints | None:
        """How a claim can fail; None if it cannot, as the state shows."""
        if claim.layout != self.state.layout:
            raise ValueError(
                f"{claim} is about layout {claim.layout.name!r}, the state about "
                f"{self.state.layout.name!r}; expected the same"
            )
        is_open = self.state.is_open(claim.candidate)
        if not claim.holds and not is_open:
            return None
        row = np.zeros((3, self._words), np.int64)
        row[FALSE] = self._closed
        number = self._live.get(claim.candidate)
        if number is None:
            if claim.holds and is_open:
                name = self.state.layout.candidate_name(claim.candidate)
                raise ValueError(f"{name} had no rival; name it in Explainer(also=...)")
            return row
        row[FALSE if claim.holds else TRUE] |= words_of([number], self._words)
        if not claim.holds:
            row[EXCLUDED] = self._ground.conflicts[number]
        return row

    def _keep(self, question: Question) -> None:
        """Keep what was learnt for other claims."""
        if len(self._choices) >= MOST_KEPT:
            return
        choices = np.concatenate([self._choices, question.choices[: question.count]])
        gaps = np.concatenate([self._gaps, question.gaps[: question.count]])
        _, first = np.unique(choices, axis=0, return_index=True)
        first.sort()
        self._choices, self._gaps = choices[first], gaps[first]

    def _irreducible(self, claims: Sequence[Claim]) -> list[int]:
        """An explanation of which no premise can be spared, by python-sat: the best of some."""
        from pysat.examples.musx import MUSX
        from pysat.formula import WCNF

        hard = [
            [-i - 1, -j - 1]
            for i, row in enumerate(self._ground.conflicts)
            for j in positions(row)
            if i < j
        ]
        hard += [[-i - 1] for i in positions(self._closed)]
        denial, holds = [], False
        for claim in claims:
            number = self._live.get(claim.candidate)
            # What is closed, or has no rival, is no news: its denial holds, or cannot.
            holds = holds or (number is None and claim.holds != self.state.is_open(claim.candidate))
            if number is not None:
                denial.append(-number - 1 if claim.holds else number + 1)
        hard += [] if holds else [denial]
        rules = [[i + 1 for i in positions(row)] for row in self._ground.members]
        random = np.random.default_rng(len(hard))
        found = []
        for _ in range(ORDERS):
            # Which one is found depends on the order in which premises are tried.
            order = random.permutation(len(rules)).tolist()
            formula = WCNF()
            formula.extend(hard)
            formula.extend([rules[rule] for rule in order], weights=[1] * len(rules))
            with MUSX(formula, solver="minisat22", verbosity=0) as extraction:
                core = extraction.compute()
                if core is None:
                    model = set(extraction.oracle.get_model())
                    whole = [i for i in range(len(self._ground.conflicts)) if i + 1 in model]
                    raise NotForced(claims, self._solution(whole))
                found.append([order[number - 1] for number in core])
        return min(found, key=len)

    def _solution(self, choice: Sequence[int]) -> tuple[int, ...]:
        """The solution that a choice without a gap is."""
        chosen = {int(self._ground.candidates[i]) for i in choice}
        alone = set(bits(self.state.open)) - set(self._live)
        return as_digits(sum(1 << c for c in chosen | alone), self.state.layout)

    def _told(self, claims: Sequence[Claim], rules: Sequence[int], lower: int) -> Explanation:
        self._explanations.setdefault(tuple(sorted(rules)))
        premises = tuple(sorted(self._ground.rules[list(rules)].tolist()))
        stopped = None if len(premises) == lower else "seconds"
        return Explanation(self.state, tuple(claims), premises, lower, self.start, stopped)


def smallest_explanation(
    state: State,
    *claims: Claim,
    seconds: float | None = None,
    start: str = "marks",
    progress: Progress | None = None,
) -> Explanation:
    """The fewest premises from which some claims follow together in a state.

    At most one of a rule's candidates is true: this is free, and so is what the state has
    closed; a premise is a rule in which one looks up that at least one is true.

    Parameters
    ----------
    claims : what has to follow.
    seconds, progress : as for `Explainer.smallest`.
    start : how the explanation calls the state.

    Raises
    ------
    NotForced : the claims do not follow.
    """
    expect_state(state)
    also = 0
    for claim in claims:
        also |= 1 << claim.candidate
    return Explainer(state, start, also).smallest(*claims, seconds=seconds, progress=progress)
