"""Which candidates occur in a solution: every engine on the same puzzles with givens removed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
from tqdm import tqdm

from cases.material import SEED, WARM_SEED, Digits, line_of, puzzles, state_of
from cases.outcome import Outcome, Settings, ahead, markdown
from cases.series import Series
from cases.turns import figure
from gridcrux.engines import ENGINES, get_engine
from gridcrux.engines.protocol import Engine, Support
from gridcrux.grids.state import State

PART = {"cp": 20, "cp/integers": 10, "cp/channelled": 10, "maplecm": 20, "kissat404/fresh": 20}
"""How many of the puzzles, the first ones, are put to what takes long for each."""

MOST = 6
BAR = 40


def thinned(digits: Digits) -> list[State]:
    """The first puzzle with one given removed at random, the next with two, up to six, again."""
    states = []
    for number, puzzle in enumerate(digits.copy()):
        random = np.random.default_rng([SEED, number])
        puzzle[random.permutation(np.flatnonzero(puzzle))[: number % MOST + 1]] = 0
        states.append(state_of(puzzle))
    return states


def _ask(engine: Engine, state: State) -> Support:
    return engine.support(state)


def series_of(
    made: Callable[[], Engine],
    states: Sequence[State],
    right: Sequence[int],
    warm: Sequence[State] = (),
) -> Series:
    """An engine that is asked for the support of states, of which the right one is known."""

    def check(support: Support, number: int) -> str | None:
        if support.complete and support.occurs == right[number]:
            return None
        return (
            f"{support.engine} finds {support.occurs.bit_count()} candidates in solutions of "
            f"{line_of(states[number])}, the kernel {right[number].bit_count()}"
        )

    return Series(made, _ask, check, states, warm)


def support(
    settings: Settings,
    engines: Mapping[str, Callable[[], Engine]] = ENGINES,
) -> Outcome:
    """Every engine on the same puzzles."""
    count = settings.few(100, 12)
    states, warm = thinned(puzzles(count)), thinned(puzzles(3, WARM_SEED))
    kernel = get_engine("kernel")
    right = [kernel.support(state).occurs for state in states]
    outcome = Outcome()
    rows = []
    for name in tqdm(engines, desc="support", unit="engine"):
        part = min(PART.get(name, count), settings.few(count, 6 if name not in PART else 2))
        peer = series_of(engines[name], states[:part], right, warm[: 1 if name in PART else 3])
        own = series_of(engines["kernel"], states[:part], right, warm)
        (found,) = peer.against("support", name, {"kernel": own}, settings.rounds)
        outcome.comparisons.append(found)
        outcome.faults += peer.faults + own.faults
        times = figure(1e3 * peer.median), figure(1e3 * peer.mean)
        rows.append([name, f"{part}", *times, peer.effort_text, found.text])
    peers = [each for each in outcome.comparisons if each.peer != "kernel"]
    head = ["engine", "puzzles", "median, ms", "mean, ms", "effort, mean", "to the kernel"]
    words = [
        f"{count} minimal 9x9 puzzles (seed {SEED}) with 1 to {MOST} givens removed, "
        f"{settings.rounds} rounds; all called as engines. " + ahead("The kernel", peers, BAR),
        "",
        markdown(head, rows),
    ]
    outcome.text = "\n".join(words)
    return outcome
