"""Whether a claim is forced, why, and a certificate of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape
from typing import Any

from gridcrux.engines import get_engine
from gridcrux.engines.limits import Deadline
from gridcrux.engines.protocol import ThreeValued
from gridcrux.grids.names import Claim, parse_claim
from gridcrux.grids.state import State, expect_state
from gridcrux.logic.wording import listing
from gridcrux.proofs.counts import how_many
from gridcrux.proofs.explain.explanation import Explanation
from gridcrux.proofs.explain.smallest import Explainer, Progress
from gridcrux.proofs.refutation import Refutation, refutation, refute


class Verdict(ThreeValued):
    """What became of a claim."""

    FORCED = "forced"
    REFUTED = "refuted"
    UNKNOWN = "unknown"


@dataclass(frozen=True, eq=False)
class Proof:
    """A claim with its verdict and what bears it out.

    Attributes
    ----------
    state : where the claim is made.
    claims : what is claimed, all of it together.
    verdict : forced if the claims hold in all solutions of the state.
    counterexample : n*n digits from 1 of a solution in which one of the claims fails, where it
        is refuted.
    failing : the claim that fails in it.
    stopped_by : None, or "seconds" if the verdict is unknown.
    solutions : "none", "one", "several" or "unknown", of the state.
    certificate : a checked proof that all rules together force the claims.
    explanation : the fewest premises that force them; None if not forced or not asked for.
    reduced_certificate : a checked proof that these premises alone do.
    """

    state: State = field(repr=False)
    claims: tuple[Claim, ...]
    verdict: Verdict
    counterexample: tuple[int, ...] | None = field(default=None, repr=False)
    failing: Claim | None = None
    stopped_by: str | None = None
    solutions: str = "unknown"
    certificate: Refutation | None = field(default=None, repr=False)
    explanation: Explanation | None = field(default=None, repr=False)
    reduced_certificate: Refutation | None = field(default=None, repr=False)

    @property
    def sentence(self) -> str:
        """The verdict as an English sentence."""
        what = listing(self.claims)
        verb = "is" if len(self.claims) == 1 else "are"
        if self.verdict is Verdict.UNKNOWN:
            return f"{what}: unknown, as the time was up before it was decided."
        if self.verdict is Verdict.REFUTED:
            assert self.failing is not None
            cell = self.failing.candidate % self.state.layout.cells
            name = self.state.layout.cell_name(cell)
            digit = (self.counterexample or ())[cell]
            return f"{what} {verb} not forced: there is a solution with {name}={digit}."
        if self.solutions == "none":
            return f"{what} {verb} forced, as anything is where there is no solution."
        return f"{what} {verb} forced."

    def row(self) -> dict[str, Any]:
        """Scalars for a table."""
        why = self.explanation
        return {
            "claims": " ".join(map(str, self.claims)),
            "verdict": self.verdict.value,
            "stopped_by": self.stopped_by,
            "solutions": self.solutions,
            "size": None if why is None else why.size,
            "lower_bound": None if why is None else why.lower,
            "technique": None if why is None else why.technique,
            "checked": None if self.certificate is None else "; ".join(self.certificate.checked),
        }

    def as_dict(self) -> dict[str, Any]:
        """The proof as JSON can hold it; the certificates in full."""
        shown = self.counterexample
        return {
            "claims": [str(claim) for claim in self.claims],
            "verdict": self.verdict.value,
            "stopped_by": self.stopped_by,
            "solutions": self.solutions,
            "explanation": None if self.explanation is None else self.explanation.as_dict(),
            "counterexample": shown and State.from_digits(shown, self.state.layout).line,
            "certificate": None if self.certificate is None else self.certificate.as_dict(),
        }

    def __str__(self) -> str:
        if self.explanation is None:
            return self.sentence
        return f"{self.sentence}\n{self.explanation}\n{self.explanation.story}"

    def _repr_html_(self) -> str:
        why = self.explanation
        picture = "" if why is None else f"{why._repr_html_()}{why.story._repr_html_()}"
        return f"<p><b>{escape(self.sentence)}</b></p>{picture}"


def claims_in(state: State, claim: Claim | str | Iterable[Claim]) -> tuple[Claim, ...]:
    """What is claimed, as claims: a text names them with spaces or commas between.

    Raises
    ------
    NotationError : a name is none, or outside the layout.
    ValueError : nothing is claimed.
    """
    expect_state(state)
    if isinstance(claim, str):
        names = claim.replace(",", " ").split()
        found = tuple(parse_claim(state.layout, name) for name in names)
    else:
        found = (claim,) if isinstance(claim, Claim) else tuple(claim)
    if not found:
        raise ValueError("nothing is claimed; name at least one candidate like r4c5!=7")
    return tuple(dict.fromkeys(found))


def prove(
    state: State,
    claim: Claim | str | Iterable[Claim],
    *,
    explain: bool = True,
    seconds: float | None = 20.0,
    progress: Progress | None = None,
) -> Proof:
    """Say whether a claim is forced, with a certificate and a smallest explanation.

    Parameters
    ----------
    state : where it is claimed; what is closed there is taken for granted.
    claim : one or several, which then are proved together: ``"r5c2!=4"``, ``"r5c2!=4 r5c3!=4"``.
    explain : whether a smallest explanation is looked for.
    seconds : limit of each of the verdict, its certificate, and the explanation.
    progress : told of better bounds while the explanation takes long.

    Raises
    ------
    NotationError, ValueError : as for `claims_in`.

    >>> from gridcrux.grids.text import read_puzzle
    >>> print(prove(read_puzzle("1234 34.. 2... 4..1"), "r2c3!=2"))
    r2c3!=2 is forced.
    r2c3!=2: 1 premise: cell r2c4
    r2c4 can only be 2, which excludes r2c3=2.
    """
    return prove_each(state, [claim], explain=explain, seconds=seconds, progress=progress)[0]


def prove_each(
    state: State,
    claims: str | Sequence[Claim | str | Iterable[Claim]],
    *,
    explain: bool = True,
    seconds: float | None = 20.0,
    progress: Progress | None = None,
) -> list[Proof]:
    """Prove several claims, each on its own; parameters as for `prove`.

    What is learnt of the state serves all of them.  One text is one claim, or one joint claim.
    """
    claims = [claims] if isinstance(claims, str) else claims
    asked = [claims_in(state, claim) for claim in claims]
    also = 0
    for each in asked:
        for claim in each:
            also |= 1 << claim.candidate
    explainer = Explainer(state, also=also)
    solutions = how_many(state, seconds)
    return [_prove(state, each, solutions, explainer, explain, seconds, progress) for each in asked]


def _prove(
    state: State,
    claims: tuple[Claim, ...],
    solutions: str,
    explainer: Explainer,
    explain: bool,
    seconds: float | None,
    progress: Progress | None,
) -> Proof:
    decided, failing, grid = _counterexample(state, claims, Deadline(seconds))
    if failing is not None:
        return Proof(state, claims, Verdict.REFUTED, grid, failing, None, solutions)
    if not decided:
        return Proof(state, claims, Verdict.UNKNOWN, None, None, "seconds", solutions)
    certificate = _certificate(state, claims, None, seconds)
    why = reduced = None
    if explain:
        why = explainer.smallest(*claims, seconds=seconds, progress=progress)
        reduced = _certificate(state, claims, why.premises, seconds)
    return Proof(
        state,
        claims,
        Verdict.FORCED,
        solutions=solutions,
        certificate=certificate,
        explanation=why,
        reduced_certificate=reduced,
    )


def _counterexample(
    state: State, claims: Sequence[Claim], deadline: Deadline
) -> tuple[bool, Claim | None, tuple[int, ...] | None]:
    """Whether it was decided; if so, a claim that fails in a solution, and the solution."""
    engine = get_engine("kernel")
    decided = True
    for claim in claims:
        if claim.holds:
            denied = state.without(1 << claim.candidate)
        elif state.is_open(claim.candidate):
            denied = state.with_placed(claim.candidate)
        else:
            continue
        count = engine.count(denied, 1, deadline.remaining)
        if count.value:
            return True, claim, next(iter(engine.solutions(denied)))
        decided = decided and count.complete
    return decided, None, None


def _certificate(
    state: State,
    claims: Sequence[Claim],
    premises: Sequence[int] | None,
    seconds: float | None,
) -> Refutation | None:
    """A checked proof, or None if the time ran out.

    Raises
    ------
    RuntimeError : the solver finds a solution where the kernel found none.
    """
    found = refute(refutation(state, claims, premises), seconds)
    if found is None or isinstance(found, Refutation):
        return found
    raise RuntimeError(
        f"two engines disagree about {listing(claims)} in {state!r}: one of them has a bug; "
        "please report the puzzle"
    )
