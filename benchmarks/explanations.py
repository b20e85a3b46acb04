"""Smallest explanations: how fast, how often exact, against other programs, and whether right.

    python benchmarks/explanations.py [--claims 600] [--peers 16] [--out benchmarks/README.md]

Claims are false candidates drawn at random in states of minimal puzzles where singles stall.  The
peers get the same formula, at-most-one halves as hard clauses and at-least-one halves as soft
ones, reduced to what is open; each claim in a process of its own with a limit.
"""

from __future__ import annotations

import argparse
import itertools
import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from pysat.solvers import Solver
from tqdm import tqdm

from gridcrux.corpus.sample import minimal
from gridcrux.grids.names import Claim
from gridcrux.grids.state import State, bits
from gridcrux.proofs.certify import certify, irreducible
from gridcrux.proofs.explain.explanation import Explanation
from gridcrux.proofs.explain.narrow import narrow
from gridcrux.proofs.explain.smallest import Explainer, smallest_explanation
from gridcrux.proofs.prove import Verdict, prove
from gridcrux.techniques.repertoires import DEFAULT, SINGLES
from gridcrux.techniques.solve import available, closure, route
from report import replace_section

SEED = 77
LIMIT = 20.0
"""Seconds for our side; a claim that takes longer does not count as exact."""

PEER_LIMIT = 60.0
SMALL = 3
"""Sizes up to which minimality is checked by trying all smaller sets."""

Clauses = list[list[int]]


class Case(NamedTuple):
    """A claim that a candidate is false, in a state."""

    state: State
    candidate: int

    @property
    def claim(self) -> Claim:
        return Claim(self.candidate, False, self.state.layout)


def stalled(seed: int) -> Iterator[tuple[State, int]]:
    """States of minimal puzzles in which singles stall, and the solution; without end."""
    for batch in itertools.count():
        for item in minimal(100, seed + batch):
            end = closure(State.from_digits(item.puzzle.tolist()), SINGLES)
            if not end.is_solved:
                yield end, State.from_digits(item.solution.tolist()).open


def cases(count: int, seed: int, per_state: int = 3) -> list[Case]:
    """Random true claims."""
    random = np.random.default_rng(seed)
    found: list[Case] = []
    for state, truth in stalled(seed):
        false = list(bits(state.open & ~truth))
        picked = random.choice(false, min(per_state, len(false)), replace=False)
        found += [Case(state, int(candidate)) for candidate in picked]
        if len(found) >= count:
            return found[:count]
    return found


def timed(action: Callable[[], Any]) -> tuple[Any, float]:
    begun = time.perf_counter()
    result = action()
    return result, time.perf_counter() - begun


def explained(asked: Sequence[Case]) -> tuple[pd.DataFrame, list[Explanation]]:
    """Explain every claim by itself, nothing known beforehand."""
    rows, explanations = [], []
    for case in tqdm(asked, "smallest", unit="claim"):
        found, seconds = timed(partial(smallest_explanation, case.state, case.claim, seconds=LIMIT))
        rows.append({"size": found.size, "exact": found.exact, "seconds": seconds})
        explanations.append(found)
    return pd.DataFrame(rows), explanations


def by_size(rows: pd.DataFrame) -> str:
    lines = ["| size | claims | exact | median, ms | slowest, ms |", "|---|---:|---:|---:|---:|"]
    groups: list[tuple[str, pd.DataFrame]] = [(str(k), g) for k, g in rows.groupby("size")]
    for name, group in [*groups, ("up to 10", rows[rows["size"] <= 10]), ("all", rows)]:
        ms = 1000 * group["seconds"]
        lines.append(
            f"| {name} | {len(group)} | {group['exact'].mean():.1%} | {ms.median():.2f} | "
            f"{ms.max():.0f} |"
        )
    return "\n".join(lines)


def verdicts(asked: Sequence[Case]) -> str:
    """Verdict, certificate and both checks, without an explanation."""
    seconds, ways = [], []
    for case in tqdm(asked, "certificates", unit="claim"):
        proof, took = timed(partial(prove, case.state, case.claim, explain=False))
        assert proof.verdict is Verdict.FORCED
        assert proof.certificate is not None
        seconds.append(took)
        ways.append(len(proof.certificate.checked))
    ms = 1000 * np.array(seconds)
    return (
        f"Verdict, certificate and check of {len(asked)} claims: median {np.median(ms):.0f} ms, "
        f"slowest {ms.max():.0f} ms (bars 200 and 2,000); {sum(w > 1 for w in ways)} are refuted "
        "by unit propagation too."
    )


def closures(states: Sequence[State]) -> str:
    """All eliminations of at most two premises."""
    found = [timed(partial(narrow, state)) for state in states]
    ms = 1000 * np.array([took for _, took in found])
    return (
        f"All eliminations of width 1 and 2 in {len(states)} states: median {np.median(ms):.2f} "
        f"ms, slowest {ms.max():.1f} ms (bar 10)."
    )


# The same question for others.


def formula(case: Case) -> tuple[Clauses, Clauses]:
    """Hard clauses and soft ones, over the candidates that do not conflict with the claimed one."""
    layout, state = case.state.layout, case.state
    left = state.open & ~layout.conflicts[case.candidate]
    hard = [
        [-c - 1, -other - 1]
        for c in bits(left)
        for other in bits(layout.conflicts[c] & left)
        if c < other
    ]
    # A rule that has lost everything contradicts the claim; OptUx cannot take an empty clause.
    soft = [
        [c + 1 for c in bits(rule.mask & left)] or [-case.candidate - 1] for rule in layout.rules
    ]
    return [*hard, [case.candidate + 1]], soft


def by_optux(hard: Clauses, soft: Clauses) -> int:
    from pysat.examples.optux import OptUx
    from pysat.formula import WCNF

    weighted = WCNF()
    weighted.extend(hard)
    weighted.extend(soft, weights=[1] * len(soft))
    with OptUx(weighted) as tool:
        return len(tool.compute())


def by_cpmpy(hard: Clauses, soft: Clauses) -> int:
    import cpmpy
    from cpmpy.tools.explain import smus

    x = cpmpy.boolvar(shape=1 + max(abs(k) for clause in hard + soft for k in clause))
    terms = [[cpmpy.any([x[k] if k > 0 else ~x[-k] for k in c]) for c in s] for s in (hard, soft)]
    return len(smus(soft=terms[1], hard=terms[0]))


PEERS = {"python-sat OptUx": by_optux, "CPMpy smus": by_cpmpy}


def peer(name: str, case: Case) -> tuple[int, float] | None:
    """Size and seconds of a peer, or None if it was stopped."""
    hard, soft = formula(case)
    text = json.dumps({"name": name, "hard": hard, "soft": soft})
    try:
        done = subprocess.run(
            [sys.executable, __file__, "--peer"],
            input=text,
            capture_output=True,
            text=True,
            timeout=PEER_LIMIT + 5,
            check=True,
        )
    except subprocess.TimeoutExpired:
        return None
    told = json.loads(done.stdout.splitlines()[-1])
    return told["size"], told["seconds"]


def answer_as_peer() -> None:
    asked = json.loads(sys.stdin.read())
    size, seconds = timed(lambda: PEERS[asked["name"]](asked["hard"], asked["soft"]))
    print(json.dumps({"size": size, "seconds": seconds}))


def against(asked: Sequence[Case], rows: pd.DataFrame, count: int) -> str:
    """Every peer on some of the claims, as many of each size as there are."""
    order = rows.groupby("size").cumcount().sort_values(kind="stable").index[:count]
    lines = [
        f"| claims | {' | '.join(f'{name}, s' for name in PEERS)} | ours, s |",
        "|---" + "|---:" * (len(PEERS) + 1) + "|",
    ]
    ratios: dict[str, list[float]] = {name: [] for name in PEERS}
    stopped = dict.fromkeys(PEERS, 0)
    for i in tqdm(sorted(order, key=lambda i: rows["size"][i]), "peers", unit="claim"):
        cells = []
        for name in PEERS:
            found = peer(name, asked[i])
            if found is None:
                stopped[name] += 1
                cells.append(f"> {PEER_LIMIT:.0f}")
                continue
            assert found[0] == rows["size"][i], (name, found, asked[i])
            ratios[name].append(found[1] / rows["seconds"][i])
            cells.append(f"{found[1]:.2f}")
        lines.append(f"| size {rows['size'][i]} | {' | '.join(cells)} | {rows['seconds'][i]:.4f} |")
    for name, all_ratios in ratios.items():
        told = (
            f"times as long: median {np.median(all_ratios):,.0f}, least {min(all_ratios):,.0f} "
            "(bar 100)"
            if all_ratios
            else "nothing"
        )
        lines.append(
            f"\n{name}: {len(all_ratios)} of {len(order)} done, {stopped[name]} stopped after "
            f"{PEER_LIMIT:.0f} s; {told}."
        )
    return "\n".join(lines)


# Whether it is right.


def refuted(case: Case, premises: Sequence[int], solver: Any, selectors: Sequence[int]) -> bool:
    return not solver.solve(
        assumptions=[case.candidate + 1, *(selectors[rule] for rule in premises)]
    )


def minimal_by_brute_force(case: Case, size: int) -> bool:
    """Whether no set of fewer rules than `size` explains the claim, all of them tried."""
    layout, state = case.state.layout, case.state
    first = layout.candidates + 1
    selectors = [first + rule for rule in range(len(layout.rules))]
    clauses = [
        [-c - 1, -other - 1]
        for c in bits(state.open)
        for other in bits(layout.conflicts[c] & state.open)
        if c < other
    ]
    clauses += [
        [-selectors[r], *(c + 1 for c in bits(rule.mask & state.open))]
        for r, rule in enumerate(layout.rules)
    ]
    held = [r for r, rule in enumerate(layout.rules) if (rule.mask & state.open).bit_count() != 1]
    with Solver("minisat22", bootstrap_with=clauses) as solver:
        return not any(
            refuted(case, premises, solver, selectors)
            for width in range(1, size)
            for premises in itertools.combinations(held, width)
        )


def checks(asked: Sequence[Case], found: Sequence[Explanation], brute: int) -> str:
    """Certified, irreducible, and of small ones that there is none smaller."""
    bad = 0
    for case, each in zip(tqdm(asked, "certified", unit="claim"), found, strict=True):
        step = each.deduction
        bad += not (certify(step, case.state).holds and irreducible(step, case.state))
    small = [(case, each.size) for case, each in zip(asked, found, strict=True)]
    for case in cases(5 * brute, SEED + 500):
        small.append((case, smallest_explanation(case.state, case.claim, seconds=1).size))
    small = [(case, size) for case, size in small if 1 < size <= SMALL][:brute]
    not_least = sum(
        not minimal_by_brute_force(case, size)
        for case, size in tqdm(small, "brute force", unit="claim")
    )
    return (
        f"Of {len(found)} explanations {bad} are not certified by SAT or have a premise to spare. "
        f"Of {len(small)} of size 2 and {SMALL}, trying all smaller sets finds a smaller one in "
        f"{not_least} cases."
    )


def never_narrower(count: int, seed: int) -> str:
    """Deductions of all techniques against the smallest explanations of what they exclude."""
    compared = narrower = tight = 0
    with tqdm(total=count, desc="techniques", unit="deduction") as bar:
        for state, _ in stalled(seed):
            for before in [state, *list(route(state, DEFAULT).states())[4:20:8]]:
                if before.is_solved:
                    continue
                explainer = Explainer(before)
                known: dict[int, int] = {}
                for step in available(before, DEFAULT):
                    for candidate in list(bits(step.eliminates))[:2]:
                        if candidate not in known:
                            claim = Claim(candidate, False, before.layout)
                            known[candidate] = explainer.smallest(claim).size
                        narrower += step.width < known[candidate]
                        tight += step.width == known[candidate]
                        compared += 1
                bar.update(min(compared, count) - bar.n)
            if compared >= count:
                return (
                    f"{compared:,} eliminations by techniques of the default level: {narrower} by "
                    f"fewer premises than the smallest explanation has; {tight / compared:.0%} by "
                    "as many."
                )
    return ""


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--claims", type=int, default=600)
    parser.add_argument("--certificates", type=int, default=300)
    parser.add_argument("--peers", type=int, default=16)
    parser.add_argument("--brute", type=int, default=200)
    parser.add_argument("--deductions", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    parser.add_argument("--peer", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args(arguments)
    if options.peer:
        answer_as_peer()
        return
    asked = cases(options.claims, options.seed)
    explained(asked[:20])
    rows, found = explained(asked)
    states = list(dict.fromkeys(case.state for case in asked))
    closures(states[:3])
    verdicts(asked[:3])
    parts = [
        f"{len(asked)} claims (seed {options.seed}); mean size {rows['size'].mean():.1f}.",
        by_size(rows),
        closures(states),
        verdicts(asked[: options.certificates]),
        checks(asked, found, options.brute),
        never_narrower(options.deductions, options.seed + 1000),
    ]
    if options.peers:
        parts.append(against(asked, rows, options.peers))
    text = "\n\n".join(parts)
    print(text)
    if options.out:
        replace_section(options.out, "explanations", text)


if __name__ == "__main__":
    main()
