"""All comparisons of engines in one run: ratios with intervals, numbers that must be right.

    python benchmarks/suite.py [--quick] [--only NAME ...] [--rounds 5] [--out benchmarks/README.md]

Both sides of a ratio take turns in the same run.  With --out each case replaces its section of
that page, and the figures beside it.  Every run adds a line to a history (benchmarks/history).
The status is 1 if an answer was wrong or two engines disagreed, and never for being slow.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from cases.counting import counting
from cases.encodings import encodings
from cases.numbers import numbers
from cases.outcome import Outcome, Settings
from cases.record import changes, history, keep, run_of
from cases.scaling import scaling
from cases.support import support
from cases.uniqueness import uniqueness
from report import replace_section

CASES: dict[str, Callable[[Settings], Outcome]] = {
    "uniqueness": uniqueness,
    "support": support,
    "encodings": encodings,
    "counting": counting,
    "scaling": scaling,
    "numbers": numbers,
}
HISTORY = Path(__file__).parent / "history"
ROUNDS, QUICK_ROUNDS = 5, 3


def main(arguments: Sequence[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="little of everything")
    parser.add_argument("--only", action="append", choices=list(CASES), help="one case, or several")
    parser.add_argument("--rounds", type=int, help=f"turns of both sides; {ROUNDS}, or a few")
    parser.add_argument("--out", type=Path, help="page whose marked sections are replaced")
    parser.add_argument("--history", type=Path, help="file to which the run is added")
    options = parser.parse_args(arguments)
    rounds = options.rounds or (QUICK_ROUNDS if options.quick else ROUNDS)
    settings = Settings(options.quick, rounds, options.out.parent if options.out else None)
    outcomes: dict[str, Outcome] = {}
    seconds: dict[str, float] = {}
    for name in options.only or CASES:
        began = time.perf_counter()
        outcomes[name] = CASES[name](settings)
        seconds[name] = time.perf_counter() - began
        print(f"\n# {name}, {seconds[name]:.0f} s\n\n{outcomes[name].report}\n", flush=True)
        if options.out:
            replace_section(options.out, f"suite-{name}", outcomes[name].report)
    path = options.history or HISTORY / ("quick.jsonl" if options.quick else "full.jsonl")
    run = run_of([c for o in outcomes.values() for c in o.comparisons], seconds, rounds)
    for before in history(path)[-1:]:
        for change in changes(before, run):
            print(f"changed since {before['date']}: {change}")
    keep(path, run)
    faults = {fault for outcome in outcomes.values() for fault in outcome.faults}
    print(f"{sum(seconds.values()):.0f} s; {len(faults)} wrong or contradictory answers")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
