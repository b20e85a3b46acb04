"""How long the techniques take to compile on a new machine, and to load afterwards.

    python benchmarks/compilation.py [--out benchmarks/README.md]

Seconds of CPU in a fresh process: first with an empty cache folder, then with what that left.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from report import replace_section

PROBE = """
import json, time
begun = time.process_time()
told = {}
def note(what):
    global begun
    told[what] = time.process_time() - begun
    begun = time.process_time()
from gridcrux.grids.state import State
from gridcrux.techniques.compiled import families
from gridcrux.techniques.repertoires import EVERYTHING, FIRST_FAMILY
from gridcrux.techniques.solve import route
note("import")
route(State.empty(), FIRST_FAMILY)
note("singles, subsets, fish")
for technique in EVERYTHING:
    family = technique.number // families.FAMILY
    if family:
        families.plan_of(EVERYTHING.only(technique.name))
        name = families.FAMILIES[family]
        told[name] = told.get(name, 0) + time.process_time() - begun
        begun = time.process_time()
print(json.dumps(told))
"""


def probe(cache: str) -> dict[str, float]:
    """Seconds of each part, with a cache folder."""
    environment = {**os.environ, "NUMBA_CACHE_DIR": cache}
    done = subprocess.run(
        [sys.executable, "-c", PROBE], env=environment, capture_output=True, text=True, check=True
    )
    told: dict[str, float] = json.loads(done.stdout)
    return told


def report() -> str:
    with tempfile.TemporaryDirectory() as cache:
        cold, warm = probe(cache), probe(cache)
    lines = ["| part | first time, s | from cache, s |", "|---|---:|---:|"]
    lines += [f"| {part} | {cold[part]:.1f} | {warm[part]:.2f} |" for part in cold]
    lines.append(
        f"| all, without the import | {sum(cold.values()) - cold['import']:.1f} | "
        f"{sum(warm.values()) - warm['import']:.2f} |"
    )
    return "\n".join(lines)


def main(arguments: Sequence[str] | None = None) -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--out", type=Path, help="file whose marked table is replaced")
    options = parser.parse_args(arguments)
    text = report()
    print(text)
    if options.out:
        replace_section(options.out, "compilation", text)


if __name__ == "__main__":
    main()
