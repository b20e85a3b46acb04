"""Speed as ratios within one run: the kernel and the human solver against solver libraries.

    python benchmarks/speed.py [--puzzles 2000] [--out benchmarks/README.md]

Every line times two sides that answer the same question on the same puzzles, one after the
other, both warmed up, each the best of three rounds.  The peers are used in the fastest way that
we know of, directly and not through this project's engines.  With --out the table replaces the
one between the marks in that file.
"""

from __future__ import annotations

import argparse
import platform
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numba import njit
from numpy.typing import NDArray

from gridcrux.corpus.sample import minimal
from gridcrux.corpus.study.measure import measure
from gridcrux.engines.kernel import search
from gridcrux.engines.sat import SatEngine
from gridcrux.grids.arrays import Geometry, Words, from_words, geometry
from gridcrux.grids.layout import NINE
from gridcrux.grids.state import State, bits
from gridcrux.logic.records import new_records
from gridcrux.logic.repertoire import Repertoire
from gridcrux.techniques.compiled.board import load_givens, new_board
from gridcrux.techniques.compiled.driver import run
from gridcrux.techniques.compiled.families import Plan, plan_of
from gridcrux.techniques.compiled.tables import Ints, Tables, tables
from gridcrux.techniques.repertoires import FIRST_FAMILY, LEVELS
from report import replace_section

Puzzles = NDArray[np.int8]
SEED = 20_26
AGAIN = 5
"""Routes of the same puzzle in one call, which hide what the call costs."""

SAT_SOLVERS = ("cadical153", "glucose4", "minisat22")


def best(action: Callable[[], Any], rounds: int = 3) -> float:
    """Seconds of the fastest of some rounds, after one to warm up."""
    action()
    times = []
    for _ in range(rounds):
        began = time.perf_counter()
        action()
        times.append(time.perf_counter() - began)
    return min(times)


# The rules for the peers: candidate k is variable k + 1.

RULES = [[k + 1 for k in bits(rule.mask)] for rule in NINE.rules]
PAIRS = [[-k - 1, -o - 1] for k in range(729) for o in bits(NINE.conflicts[k]) if o > k]


def literals(puzzle: NDArray[np.int8]) -> list[int]:
    """The givens as literals."""
    return [81 * (digit - 1) + cell + 1 for cell, digit in enumerate(puzzle.tolist()) if digit]


class IncrementalSat:
    """Rules loaded once, givens as assumptions; what is learnt is kept from puzzle to puzzle."""

    def __init__(self, name: str) -> None:
        from pysat.solvers import Solver

        self.solver = Solver(name=name, bootstrap_with=RULES + PAIRS)
        self.free = 730

    def unique(self, puzzle: NDArray[np.int8]) -> bool:
        givens = literals(puzzle)
        if not self.solver.solve(assumptions=givens):
            return False
        model = [v for v in self.solver.get_model()[:729] if v > 0]
        activation, self.free = self.free, self.free + 1
        self.solver.add_clause([-activation, *(-v for v in set(model) - set(givens))])
        second = self.solver.solve(assumptions=[*givens, activation])
        self.solver.add_clause([-activation])
        return not second

    def support(self, puzzle: NDArray[np.int8]) -> int:
        """Probe what is not seen in a model yet; each model rules out further probes."""
        givens = literals(puzzle)
        consistent, implied = self.solver.propagate(assumptions=givens)
        if not consistent:
            return 0
        closed = {-v for v in implied if v < 0}
        seen: set[int] = set()
        for variable in range(1, 730):
            if variable in seen or variable in closed:
                continue
            if self.solver.solve(assumptions=[*givens, variable]):
                seen.update(v for v in self.solver.get_model()[:729] if v > 0)
        return sum(1 << (variable - 1) for variable in seen)


def fastest_sat(puzzles: Puzzles, question: str) -> str:
    """The quickest of some python-sat solvers on a part of the puzzles."""
    trials = []
    for name in SAT_SOLVERS:
        trials.append((ask_all(name, question, puzzles, 1), name))
    return min(trials)[1]


def ask_all(name: str, question: str, puzzles: Puzzles, rounds: int) -> float:
    """Seconds in which one solver answers a question for all puzzles."""
    ask = getattr(IncrementalSat(name), question)
    return best(lambda: [ask(puzzle) for puzzle in puzzles], rounds)


def sat_seconds(puzzles: Puzzles, question: str) -> tuple[str, float]:
    """Seconds a puzzle by the quickest python-sat solver."""
    name = fastest_sat(puzzles[:100], question)
    return name, ask_all(name, question, puzzles, 2) / len(puzzles)


def reduced_sat_support(puzzles: Puzzles) -> tuple[str, float]:
    """Seconds a puzzle by this project's python-sat engine, which solves a reduced formula."""
    states = [State.from_digits(puzzle.tolist()) for puzzle in puzzles]
    engine = SatEngine()
    seconds = best(lambda: [engine.support(state) for state in states], 2) / len(states)
    return "reduced formula", seconds


def cp_seconds(puzzles: Puzzles) -> float:
    """Seconds a puzzle by CP-SAT: all-different over integers, one worker, two solutions asked."""
    from ortools.sat.python import cp_model

    class Two(cp_model.CpSolverSolutionCallback):
        def __init__(self) -> None:
            super().__init__()
            self.found = 0

        def on_solution_callback(self) -> None:
            self.found += 1
            if self.found == 2:
                self.stop_search()

    def unique(puzzle: NDArray[np.int8]) -> bool:
        model = cp_model.CpModel()
        cells = [
            model.new_int_var(digit or 1, digit or 9, "") for digit in map(int, puzzle.tolist())
        ]
        for house in NINE.houses:
            model.add_all_different([cells[cell] for cell in house.cells])
        solver, callback = cp_model.CpSolver(), Two()
        solver.parameters.num_workers = 1
        solver.parameters.enumerate_all_solutions = True
        solver.solve(model, callback)
        return callback.found == 1

    return best(lambda: [unique(p) for p in puzzles], 1) / len(puzzles)


def cover_seconds(puzzles: Puzzles) -> float:
    """Seconds a puzzle by the exact cover solver xcover: rows for what the givens leave open."""
    from xcover import covers_bool

    matrix = np.zeros((729, 324), bool)
    for column, rule in enumerate(NINE.rules):
        matrix[list(bits(rule.mask)), column] = True

    def unique(puzzle: NDArray[np.int8]) -> bool:
        closed = 0
        for literal in literals(puzzle):
            closed |= NINE.conflicts[literal - 1]
        found = covers_bool(matrix[list(bits(NINE.full & ~closed))])
        return next(found, None) is not None and next(found, None) is None

    return best(lambda: [unique(p) for p in puzzles], 2) / len(puzzles)


# This project's side.


def kernel_unique(puzzles: Puzzles, kind: int = search.PLANES) -> float:
    stack = search.new_stack(kind, geometry(NINE))
    counts = np.zeros(len(puzzles), np.int64)
    nodes = np.zeros_like(counts)

    def count() -> None:
        search.count_many(kind, geometry(NINE), stack, puzzles, 2, counts, nodes)

    seconds = best(count, 5) / len(puzzles)
    assert (counts == 1).all(), "a puzzle of the benchmark has not one solution"
    return seconds


@njit(cache=True)
def _support_many(
    tables_: Geometry, puzzles: Puzzles, stack: NDArray[np.uint32], supports: Words
) -> None:
    control = np.zeros(search.CONTROLS, np.int64)
    seen = np.zeros(stack.shape[1], np.uint32)
    for i in range(puzzles.shape[0]):
        search.start_support(control)
        seen[:] = 0
        search.load_givens(search.PLANES, tables_, stack[0], puzzles[i])
        search.support(search.PLANES, tables_, stack, control, seen, 1 << 60)
        search.read_words(search.PLANES, tables_, seen, supports[i])


def kernel_support(puzzles: Puzzles) -> tuple[float, list[int]]:
    stack = search.new_stack(search.PLANES, geometry(NINE))
    supports = np.zeros((len(puzzles), 12), np.uint64)

    def find() -> None:
        _support_many(geometry(NINE), puzzles, stack, supports)

    return best(find, 5) / len(puzzles), [from_words(row) for row in supports]


@njit(cache=True)
def _run_many(index: Tables, board: Ints, puzzles: Puzzles, plan: Plan, records: Ints) -> int:
    solved = 0
    nothing = np.empty(0, np.uint64)
    for i in range(puzzles.shape[0]):
        load_givens(index, board, puzzles[i])
        _, status = run(index, board, plan, nothing, -1, records)
        solved += status == 0
    return solved


def human(puzzles: Puzzles, rows: int) -> float:
    """Seconds a puzzle for the closure (rows = 1) or the recorded route (rows = 729)."""
    index = tables(NINE)
    board, records, plan = new_board(index), new_records(rows, NINE), plan_of(FIRST_FAMILY)
    return best(lambda: _run_many(index, board, puzzles, plan, records), 5) / len(puzzles)


@njit(cache=True)
def _run_again(
    index: Tables, board: Ints, puzzle: NDArray[np.int8], plan: Plan, records: Ints
) -> int:
    nothing = np.empty(0, np.uint64)
    status = 0
    for _ in range(AGAIN):
        load_givens(index, board, puzzle)
        _, status = run(index, board, plan, nothing, -1, records)
    return status


def route_seconds(puzzles: Puzzles, repertoire: Repertoire) -> NDArray[np.float64]:
    """Seconds of the recorded route of each puzzle, each the best of two."""
    index, plan = tables(NINE), plan_of(repertoire)
    board, records = new_board(index), new_records(729, NINE)
    _run_again(index, board, puzzles[0], plan, records)
    times = np.full(len(puzzles), np.inf)
    for _ in range(2):
        for i, puzzle in enumerate(puzzles):
            began = time.perf_counter()
            _run_again(index, board, puzzle, plan, records)
            times[i] = min(times[i], (time.perf_counter() - began) / AGAIN)
    return times


def sat_seconds_each(puzzles: Puzzles, name: str) -> NDArray[np.float64]:
    """Seconds of the uniqueness check of each puzzle by an incremental python-sat solver.

    Once each, after the others have warmed it up: what it learns from a puzzle would answer
    the same question again.
    """
    solver = IncrementalSat(name)
    times = []
    for puzzle in [*puzzles[-200:], *puzzles]:
        began = time.perf_counter()
        solver.unique(puzzle)
        times.append(time.perf_counter() - began)
    return np.array(times[200:])


def thinned(puzzles: Puzzles, removed: int) -> Puzzles:
    """The puzzles with some more givens removed at random."""
    random = np.random.default_rng(SEED)
    result = puzzles.copy()
    for puzzle in result:
        puzzle[random.permutation(np.flatnonzero(puzzle))[:removed]] = 0
    return result


def table(count: int) -> pd.DataFrame:
    puzzles = np.array([item.puzzle for item in minimal(count, SEED)])
    rows: list[dict[str, Any]] = []

    def add(what: str, ours: float, peer: str, theirs: float, bar: str) -> None:
        rows.append(
            {
                "question": what,
                "ours, us a puzzle": ours * 1e6,
                "peer": peer,
                "peer, us a puzzle": theirs * 1e6,
                "ratio": theirs / ours,
                "bar": bar,
            }
        )
        print(f"{what}: {ours * 1e6:.2f} us, {peer} {theirs * 1e6:.1f} us, {theirs / ours:.3g}x")

    unique = kernel_unique(puzzles)
    name, sat = sat_seconds(puzzles, "unique")
    add("uniqueness", unique, f"python-sat, incremental ({name})", sat, "60")
    add("uniqueness", unique, "CP-SAT, one worker", cp_seconds(puzzles[:60]), "500")
    add("uniqueness", unique, "xcover", cover_seconds(puzzles[:200]), "60")
    general = kernel_unique(puzzles, search.MASKS)
    add("uniqueness, kernel for any layout", general, f"python-sat ({name})", sat, "-")
    ours_all, theirs_all = 0.0, 0.0
    for removed in range(1, 7):
        fewer = thinned(puzzles, removed)
        ours, supports = kernel_support(fewer)
        sample = fewer[: max(50, count // 10)]
        name, theirs = min(
            [sat_seconds(sample, "support"), reduced_sat_support(sample)], key=lambda pair: pair[1]
        )
        checker = IncrementalSat(SAT_SOLVERS[0])
        for puzzle, support in zip(sample[:25], supports, strict=False):
            assert checker.support(puzzle) == support, "the engines disagree on support"
        ours_all, theirs_all = ours_all + ours, theirs_all + theirs
        add(f"support, {removed} givens removed", ours, f"python-sat ({name})", theirs, "40")
    add("support, 1 to 6 removed, mean", ours_all / 6, "python-sat", theirs_all / 6, "40")
    add("closure, whole first family", human(puzzles, 1), "python-sat uniqueness", sat, "4")
    add("route, whole first family", human(puzzles, 729), "python-sat uniqueness", sat, "-")
    each = sat_seconds_each(puzzles, fastest_sat(puzzles[:100], "unique"))
    for level in ("chains", "almost-locked-sets"):
        ours_each = route_seconds(puzzles, LEVELS[level])
        what, peer = f"route, level {level}", "python-sat uniqueness"
        add(f"{what}, median", float(np.median(ours_each)), peer, float(np.median(each)), "0.5")
        add(f"{what}, mean", float(ours_each.mean()), peer, float(each.mean()), "0.1")
    study = best(lambda: measure(puzzles, NINE, FIRST_FAMILY, 2)) / count
    add("study, all columns, one core", study, "1,000 puzzles a second", 1e-3, "1")
    return pd.DataFrame(rows)


def as_text(results: pd.DataFrame, count: int) -> str:
    lines = [
        f"Measured on {platform.machine()}, {count:,} minimal 9x9 puzzles (seed {SEED}).",
        "",
        "| " + " | ".join(results.columns) + " |",
        "|---|---:|---|---:|---:|---:|",
    ]
    for row in results.itertuples(index=False):
        lines.append(
            f"| {row[0]} | {row[1]:.2f} | {row[2]} | {row[3]:.1f} | {row[4]:.3g} | {row[5]} |"
        )
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--puzzles", type=int, default=2000)
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    text = as_text(table(options.puzzles), options.puzzles)
    print(text)
    if options.out:
        replace_section(options.out, "speed", text)


if __name__ == "__main__":
    main()
